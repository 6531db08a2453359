"""What lasts, after the readings: the job's own spreads brought up to date, and which of them made the mismatch."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.decide.first_article.expected import seen_at, stroke_variance, title_of
from flipcheck.decide.first_article.fit import PATTERN_DOUBT
from flipcheck.decide.first_article.results import Cause
from flipcheck.stack.least_squares import root, updated
from flipcheck.stack.monte_carlo.streams import stream

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from flipcheck.decide.first_article.expected import Expected
    from flipcheck.decide.first_article.fit import Fitted
    from flipcheck.flip.frames import Point
    from flipcheck.flip.model import FlipModel
    from flipcheck.job.readings.records import Diagonals
    from flipcheck.job.records import Job

    Array = NDArray[np.float64]

#: How many times as large as what was seen the unknown may be, where the job does not explain what was seen.
_OPEN = 3.0
_DRAWS = 20_000
#: Patterns that correlate more than this are the same to any reading.
_ALIKE = 0.98
_UNEXPLAINED, _SQUARENESS = "unexplained", "machine_squareness"


@dataclass(frozen=True, eq=False)
class Lasting:
    """What lasts with the machine, as a normal distribution.

    Attributes
    ----------
    expected: What the job expects.
    effect: What each row does to the field, shape (6, L): the rows of `expected`, then the terms of the pattern where
        the job does not explain it.
    names: The cause of each row.
    mean, covariance: Off the mean of its source, after the readings, shapes (L,) and (L, L).
    stds: Standard deviation before, shape (L,).
    """

    expected: Expected
    effect: Array
    names: tuple[str, ...]
    mean: Array
    covariance: Array
    stds: Array

    @property
    def field(self) -> Array:
        """The mean field after the readings, shape (6,)."""
        return self.expected.mean + self.effect @ self.mean


def brought_up_to_date(
    job: Job, model: FlipModel, expected: Expected, fitted: Fitted | None, diagonals: Sequence[Diagonals]
) -> Lasting:
    """The lasting errors after the readings; a pattern that the job does not explain gets terms of its own."""
    sources = [model.linear.sources[i] for i in expected.sources]
    names = tuple(title_of(source) for source in sources for _ in range(source.rows))
    effect, stds = expected.effect, expected.stds
    if fitted and is_unexplained(fitted, expected):
        effect = np.hstack([effect, fitted.fields])
        stds = np.concatenate([stds, _OPEN * _sizes(fitted)])
        names += (_UNEXPLAINED,) * len(fitted.values)
    seen = list(_squareness_seen(job, diagonals, names, model, expected))
    if fitted:
        seen.append((fitted.seen @ effect, fitted.values - fitted.seen @ expected.mean, fitted.covariance))
    mean, covariance = updated(np.zeros(len(stds)), np.diag(np.square(stds)), seen)
    return Lasting(expected, effect, names, mean, covariance, stds)


def is_unexplained(fitted: Fitted, expected: Expected) -> bool:
    """Whether the job cannot explain the pattern: too far from what it expects, or real with nothing that lasts."""
    pattern = fitted.pattern
    return pattern.unexplained < PATTERN_DOUBT or (pattern.real and not len(expected.rows))


def causes_of(model: FlipModel, lasting: Lasting, places: Sequence[Point], seed: int) -> tuple[Cause, ...]:
    """Every cause, the likeliest to make most of the mismatch first."""
    groups = {name: [i for i, other in enumerate(lasting.names) if other == name] for name in lasting.names}
    if not groups:
        return ()
    seen = np.vstack([seen_at(at) for at in places])
    forms = seen @ lasting.effect
    means = _source_means(model, lasting)
    draws = stream(seed, "first article", 0).standard_normal((len(lasting.mean), _DRAWS))
    spread = root(lasting.covariance)
    drawn = (means + lasting.mean)[:, None] + spread @ draws[: spread.shape[1]]
    sizes = np.array([np.square(forms[:, rows] @ drawn[rows]).mean(axis=0) for rows in groups.values()])
    first = np.bincount(sizes.argmax(axis=0), minlength=len(groups)) / _DRAWS
    alike = _alike(forms * lasting.stds, groups)
    found = []
    for k, (name, rows) in enumerate(groups.items()):
        made = forms[:, rows] @ (means + lasting.mean)[rows]
        acting = [i for i in rows if np.abs(forms[:, i]).max() > 1e-12]
        one = acting[0] if len(acting) == 1 and name != _UNEXPLAINED else None
        found.append(
            Cause(
                source=name,
                part=_part(model, lasting, one),
                largest=float(first[k]),
                size=float(np.sqrt(2.0 * np.mean(np.square(made)))),
                value=None if one is None else float(means[one] + lasting.mean[one]),
                std=None if one is None else float(np.sqrt(lasting.covariance[one, one])),
                before=None if one is None else float(lasting.stds[one]),
                alike=alike[name],
            )
        )
    return tuple(sorted(found, key=lambda cause: -cause.largest))


def _sizes(fitted: Fitted) -> Array:
    """What the unknown may be like in each term: as large as what was seen, and at least as what is not known of it."""
    halves = [0.5 * (term.high - term.low) for term in fitted.pattern.terms]
    return np.maximum(np.abs(fitted.values), np.maximum(halves, 1e-9))


def _squareness_seen(
    job: Job, diagonals: Sequence[Diagonals], names: Sequence[str], model: FlipModel, expected: Expected
) -> list[tuple[Array, Array, Array]]:
    """What the diagonals say of the machine's squareness, if that acts on the mismatch at all."""
    if _SQUARENESS not in names:
        return []
    at = names.index(_SQUARENESS)
    before = float(model.linear.source_means[expected.rows[at]])
    width = len(names)
    form = np.zeros((1, width))
    form[0, at] = 1.0
    own = stroke_variance(job) ** 0.5 * 2.0**0.5
    return [
        (form, np.array([d.squareness - before]), np.array([[d.squareness_u(own) ** 2 + 1e-14]])) for d in diagonals
    ]


def _source_means(model: FlipModel, lasting: Lasting) -> Array:
    """Mean of each row in the job; of what the job does not know, nothing."""
    means = model.linear.source_means[lasting.expected.rows]
    return np.concatenate([means, np.zeros(len(lasting.mean) - len(means))])


def _part(model: FlipModel, lasting: Lasting, row: int | None) -> str:
    if row is None:
        return ""
    linear, places = model.linear, lasting.expected.sources
    sources = [i for i in places for _ in linear.rows_of([i])]
    return linear.sources[sources[row]].part


def _alike(forms: Array, groups: dict[str, list[int]]) -> dict[str, tuple[str, ...]]:
    """For each cause those whose patterns correlate with it, by the covariance that each gives to the readings."""
    patterns = {name: forms[:, rows] @ forms[:, rows].T for name, rows in groups.items() if name != _UNEXPLAINED}
    sizes = {name: float(np.linalg.norm(pattern)) for name, pattern in patterns.items()}
    alike: dict[str, tuple[str, ...]] = dict.fromkeys(groups, ())
    for name, pattern in patterns.items():
        alike[name] = tuple(
            other
            for other, theirs in patterns.items()
            if other != name
            and sizes[name] * sizes[other] > 0.0
            and float((pattern * theirs).sum()) > _ALIKE * sizes[name] * sizes[other]
        )
    return alike
