"""One block of trials of a model on evenly spread points: what many trials share is spread evenly, not at random.

All normal errors that reach more than one measure act together through a few sums, so they are drawn as those sums:
fewer dimensions, filled more evenly. What acts on one measure alone is not drawn at all where it is normal
(`own_scatter`), and is drawn at random where there would be too many dimensions.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from flipcheck.stack.contact.play import Given
from flipcheck.stack.linear import CONTACT_ROWS
from flipcheck.stack.monte_carlo.additions import Additions
from flipcheck.stack.monte_carlo.draws import Draws, Plan
from flipcheck.stack.monte_carlo.streams import BLOCK
from flipcheck.stack.normal import inverse
from flipcheck.stack.quasi_monte_carlo.sobol import DIMENSIONS, Sobol
from flipcheck.stack.spreads import Circle, Normal, WithQuantile

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from flipcheck.stack.linear import LinearModel
    from flipcheck.stack.quasi_monte_carlo.own_scatter import OwnScatter
    from flipcheck.stack.quasi_monte_carlo.sobol import Kept
    from flipcheck.stack.sources import Source

    Array = NDArray[np.float64]

#: Below this share of a sum's own variance nothing new is left in it.
_NOTHING = 1e-12


class Block(NamedTuple):
    """One block of trials: outputs (M, BLOCK), contact rows (3 C, BLOCK), who goes on, and what each trial counts."""

    outputs: Array
    poses: Array
    on: NDArray[np.bool_]
    weight: Array


class QuasiPlan:
    """A model made ready for evenly spread points.

    Parameters
    ----------
    model: The model.
    scatter: Which of its sources are not drawn, and which act alone: on one measure at most.
    seed: Of the run.
    kept: As of `Sobol`.
    """

    def __init__(self, model: LinearModel, scatter: OwnScatter, seed: int, kept: Kept | None = None) -> None:
        self.model, self._seed = model, seed
        self._plan = Plan(model)
        sources = range(len(model.sources))
        normal = [i for i in sources if isinstance(model.sources[i].spread, Normal) and not scatter.acts_alone(i)]
        columns = model.rows_of(normal)
        together = factor(self._plan.onto[:, columns] * model.stds[columns])
        self._together = [Additions(effect[:, None]) for effect in together.T]
        columns = np.concatenate([columns, model.rows_of(sorted(scatter.known))])
        self._means = self._plan.onto[:, columns] @ model.source_means[columns]
        names = [f"{c.key}/{i}" for c in model.contacts for i in range(c.points)]
        names += [f"normal/{i}" for i in range(len(self._together))]
        self._evenly: list[int] = []
        for i in sorted(set(sources) - scatter.known - set(normal), key=lambda i: (scatter.acts_alone(i), i)):
            source = model.sources[i]
            if _has_quantile(source) and len(names) + _points(source) <= DIMENSIONS:
                names += [f"{source.key}/{row}" for row in range(_points(source))]
                self._evenly.append(i)
        self._at_random = sorted(set(sources) - scatter.known - set(normal) - set(self._evenly))
        self._sobol = Sobol(seed, names, kept)

    def sample(self, number: int, widen: float = 0.0) -> Block:
        """The block of that number, with every radial clearance larger by `widen`, mm."""
        points = self._sobol.block(number)
        poses = [np.array([next(points) for _ in range(contact.points)]) for contact in self.model.contacts]
        sums = self._sums(number, points)
        if widen:
            self._plan.widen(sums, widen)
        return self._hang(sums, poses, Draws(self._seed, number))

    def short(self, number: int) -> Array:
        """How much too small all radial clearances are for each blank of a block to go on, mm, shape (BLOCK,)."""
        points = itertools.islice(self._sobol.block(number), sum(c.points for c in self.model.contacts), None)
        plays = zip(self.model.contacts, self._plan.play(self._sums(number, points)), strict=True)
        shorts = [contact.short_of(*play) for contact, play in plays]
        return np.max(shorts, axis=0) if shorts else np.full(BLOCK, -np.inf)

    def _sums(self, number: int, points: Iterator[Array]) -> Array:
        """What the sources of each trial add up to, shape (K + M + F, BLOCK)."""
        sums = self._plan.add_sources(Draws(self._seed, number), self._at_random, self._plan.room(), self._means)
        for addition in self._together:
            addition.add(inverse(next(points))[None], sums)
        for i in self._evenly:
            self._plan.add(i, _values(self.model.sources[i], points), sums)
        return sums

    def _hang(self, sums: Array, points: list[Array], draws: Draws) -> Block:
        on, weight = np.ones(BLOCK, dtype=bool), np.ones(BLOCK)
        poses = np.empty((CONTACT_ROWS * len(self.model.contacts), BLOCK))
        for i, (contact, form) in enumerate(zip(self.model.contacts, self._plan.play(sums), strict=True)):
            pose = poses[CONTACT_ROWS * i : CONTACT_ROWS * (i + 1)]
            rng = Given(points[i]) if contact.points else draws.stream(contact.key)
            here, counts = contact.draw(rng, *form, out=pose)
            if counts is not None:
                weight *= counts
            on &= here
        self._plan.add_poses(sums, poses)
        outputs = self._plan.mix(sums)
        self._plan.shift(outputs)
        return Block(outputs, poses, on, weight)


def _has_quantile(source: Source) -> bool:
    return isinstance(source.spread, Circle) or hasattr(source.spread, "quantile")


def _points(source: Source) -> int:
    return 1 if isinstance(source.spread, Circle) else source.rows


def _values(source: Source, points: Iterator[Array]) -> Array:
    """The rows of a source, shape (rows, BLOCK), from as many evenly spread points as it takes."""
    if isinstance(source.spread, Circle):
        places = np.empty((2, BLOCK))
        source.spread.xy(next(points), places)
        return places
    assert isinstance(source.spread, WithQuantile)
    return np.array([source.spread.quantile(next(points)) for _ in range(source.rows)])


def factor(effects: Array) -> Array:
    """The fewest columns that give sums the same covariance as independent unit normals do through `effects`.

    Cholesky's factor, row by row, without the columns in which nothing new is left; both of shape (sums, columns).
    """
    factor = np.zeros((len(effects), 0))
    for row in range(len(effects)):
        covariance = effects @ effects[row] - factor @ factor[row]
        own = float(effects[row] @ effects[row])
        if covariance[row] > _NOTHING * own:
            column = covariance / math.sqrt(covariance[row])
            column[:row] = 0.0
            factor = np.column_stack([factor, column])
    factor[np.abs(factor) < 1e-9 * np.abs(factor).max(axis=1, keepdims=True, initial=0.0)] = 0.0
    return factor
