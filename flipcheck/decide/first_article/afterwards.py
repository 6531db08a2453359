"""What is left to chance: the job's model with what lasts replaced by what is now known of it, and a correction."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.least_squares import root
from flipcheck.stack.quasi_monte_carlo.simulate import simulate
from flipcheck.stack.sources import Life, Source
from flipcheck.stack.spreads import Exactly, Normal

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from flipcheck.decide.first_article.causes import Lasting
    from flipcheck.decide.first_article.fit import Fitted
    from flipcheck.stack.contact.play import Play
    from flipcheck.stack.intervals import Chance
    from flipcheck.stack.linear import LinearModel

    Array = NDArray[np.float64]


def chances(
    models: Sequence[LinearModel],
    trials: int,
    seed: int,
    threads: int | None,
    progress: Callable[[int], None] | None,
) -> list[Chance]:
    """The chance of each model, on the same points."""
    run = simulate(models, trials, seed, threads=threads, progress=progress)
    return [estimate.chance for estimate in run.estimates]


class Afterwards:
    """Makes models of the parts to come.

    Each source that lasts and acts on the mismatch is taken out of the job's model. In its place come independent
    normal draws that together have the covariance after the readings, and one constant for the mean and the correction.
    """

    def __init__(self, linear: LinearModel, lasting: Lasting, fitted: Fitted | None) -> None:
        self._linear, self._lasting = linear, lasting
        self._keep = np.ones(linear.stds.size, dtype=bool)
        self._keep[lasting.expected.rows] = False
        self._spread = root(lasting.covariance)
        self._beyond = _beyond(fitted)

    @property
    def spread_fields(self) -> Array:
        """The fields of the independent draws of what lasts, shape (6, N)."""
        return self._lasting.effect @ self._spread

    def model(self, change: Array, *, mean: Array | None = None, spread_fields: Array | None = None) -> LinearModel:
        """The model of parts made with a correction.

        Parameters
        ----------
        change: What the correction adds to the field, shape (6,).
        mean: What lasts, off the mean of its sources, in place of that after the readings, shape (L,).
        spread_fields: What the draws of what lasts do to the field, in place of `spread_fields`.
        """
        linear, lasting = self._linear, self._lasting
        mean = lasting.mean if mean is None else mean
        own = len(lasting.expected.rows)
        unknown = lasting.effect[:, own:]
        shared = self._of_rows(linear.shared, mean[:own])
        draws = slice(int(self._keep.sum()), shared.shape[1] - 1)
        shared[:, draws] += unknown @ self._spread[own:]
        if spread_fields is not None:
            shared[:, draws] += spread_fields - self.spread_fields
        shared[:, -1] += unknown @ mean[own:] + change
        rows = linear.stds.size
        beyond = self._beyond.shape[1]
        nothing = np.zeros((len(linear.own), beyond))
        contacts = [
            _over(
                contact, np.hstack([self._of_rows(contact.forms, mean[:own]), np.zeros((len(contact.forms), beyond))])
            )
            for contact in linear.contacts
        ]
        return replace(
            linear,
            sources=self._sources(),
            contacts=tuple(contacts),
            shared=np.hstack([shared, self._beyond, linear.shared[:, rows:]]),
            own=np.hstack([self._of_rows(linear.own, mean[:own]), nothing, linear.own[:, rows:]]),
        )

    def _of_rows(self, forms: Array, mean: Array) -> Array:
        """Forms over the old rows as forms over the new: those kept, the draws of what lasts, and the constant."""
        expected = self._lasting.expected
        lasting = forms[:, expected.rows]
        constant = lasting @ (self._linear.source_means[expected.rows] + mean)
        kept = forms[:, : self._keep.size][:, self._keep]
        return np.column_stack([kept, lasting @ self._spread[: len(expected.rows)], constant])

    def _sources(self) -> tuple[Source, ...]:
        linear, gone = self._linear, set(self._lasting.expected.sources)
        kept = [source for i, source in enumerate(linear.sources) if i not in gone]
        drawn = [Source("what lasts", str(i), Normal(1.0), Life.MACHINE) for i in range(self._spread.shape[1])]
        constant = Source("what lasts", "mean", Exactly(1.0), Life.MACHINE)
        beyond = [Source("unknown scatter", str(i), Normal(1.0), Life.SETUP) for i in range(self._beyond.shape[1])]
        return (*kept, *drawn, constant, *beyond)


def _over(contact: Play, forms: Array) -> Play:
    """A contact whose play depends on other rows, shape (F, R)."""
    changed: Play = replace(contact, forms=forms)  # type: ignore[type-var]  # every kind of play is a record
    return changed


def _beyond(fitted: Fitted | None) -> Array:
    """Fields of the scatter that the parts show beyond what the job expects, shape (6, N)."""
    if fitted is None:
        return np.zeros((6, 0))
    return fitted.fields @ root(fitted.excess)
