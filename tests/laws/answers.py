"""What an answer says, in figures that can be compared: exact ones of the model, and chances that were simulated."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pytest

from flipcheck import Job
from flipcheck.flip.model import FlipModel, flip_model
from flipcheck.flip.targets import Target
from flipcheck.job.records import OutlinePair
from flipcheck.stack.intervals import Chance
from flipcheck.stack.monte_carlo.simulate import simulate as monte_carlo
from flipcheck.stack.monte_carlo.streams import BLOCK
from flipcheck.stack.quasi_monte_carlo.simulate import simulate as quasi_monte_carlo
from flipcheck.stack.worst_case import bounds

Array = Any
#: Of lengths that should be the same to the last bits, mm.
BITS = 1e-9
NANOMETRE = 1e-6
#: A worst case is the largest of a row of directions, a quarter of a degree apart, and of places in the play.
ROUND = 3e-5
#: By how many times the half of their 95 % intervals two simulations may differ; over five standard errors.
APART = 2.5


@dataclass(frozen=True, eq=False)
class Figures:
    """Exact figures of one pair, mm.

    Mean and covariance by each source have shapes (2,) and (2, 2), of a web (1,) and (1, 1); of an outline they are
    those at its most exposed corner, number `corner`.
    """

    corner: int | None
    mean: Array
    covariance: dict[str, Array] = field(repr=False)
    worst: float
    rss: float


def model_of(job: Job) -> FlipModel:
    """The model of the first method."""
    return flip_model(job, job.methods[0])


def figures(job: Job) -> list[Figures]:
    """The figures of every pair by the first method."""
    model = model_of(job)
    return [_figures(model, target) for target in model.targets]


def rows_of(target: Target) -> list[int]:
    """The outputs in x and in y; of a web its thickness."""
    return [target.measure.row] if target.x is None or target.y is None else [target.x, target.y]


def _figures(model: FlipModel, target: Target) -> Figures:
    linear, rows = model.linear, rows_of(target)
    covariance: dict[str, Array] = {}
    for source, columns in zip(linear.sources, linear.source_rows, strict=True):
        effect = linear.coefficients[rows][:, columns] * source.spread.std
        covariance[source.name] = covariance.get(source.name, 0.0) + effect @ effect.T
    limits = bounds(linear, target.measure)
    corner = target.pair.points.index(target.at) if isinstance(target.pair, OutlinePair) else None
    return Figures(corner, linear.expected[rows] - linear.centre[rows], covariance, limits.worst, limits.rss)


def assert_same(one: list[Figures], other: list[Figures], *, factor: float = 1.0, mirror: Array | None = None) -> None:
    """Both say the same, `other` in lengths `factor` times as large and in axes that `mirror` (2, 2) turns."""
    for a, b in zip(one, other, strict=True):
        assert pytest.approx(factor * a.worst, rel=ROUND, abs=BITS) == b.worst
        assert pytest.approx(factor * a.rss, rel=ROUND, abs=BITS) == b.rss
        if a.corner != b.corner:
            continue  # two corners of an outline are exposed alike
        turn = np.eye(len(a.mean)) if mirror is None or len(a.mean) == 1 else mirror
        assert pytest.approx(factor * turn @ a.mean, rel=1e-7, abs=BITS) == b.mean
        nothing = np.zeros_like(turn)
        for source in {*a.covariance, *b.covariance}:
            seen = b.covariance.get(_renamed(source, mirror), nothing)
            expected = factor**2 * turn @ a.covariance.get(source, nothing) @ turn.T
            assert pytest.approx(expected, rel=1e-7, abs=NANOMETRE**2) == seen, source


def _renamed(source: str, mirror: Array | None) -> str:
    """The scale of one axis is that of the other where the axes are swapped."""
    swapped = mirror is not None and mirror[0, 0] == 0.0 and source.startswith("machine_scale_")
    return source[:-1] + ("y" if source.endswith("x") else "x") if swapped else source


@dataclass(frozen=True)
class Simulated:
    """Chances of the first method of a job: that a blank goes on, that all is well, and of each pair."""

    goes_on: float
    chances: tuple[Chance, ...]
    p95: tuple[float, ...]
    p95_error: tuple[float, ...]

    def in_order(self, order: list[int]) -> Simulated:
        """The same with the pairs in another order."""
        whole, *pairs = self.chances
        picked = (tuple(row[i] for i in order) for row in (pairs, self.p95, self.p95_error))
        chances, p95, p95_error = picked
        return Simulated(self.goes_on, (whole, *chances), p95, p95_error)


def simulated(job: Job, *, plain: bool = False, seed: int = 1) -> Simulated:
    """The first method of a job, worked out on one block of trials."""
    model = model_of(job).linear
    simulate = monte_carlo if plain else quasi_monte_carlo
    run = simulate([model], BLOCK, seed)
    (told,) = run.estimates
    pairs = range(len(job.pairs))
    return Simulated(
        told.goes_on,
        (told.chance, *(told.passed(q) for q in pairs)),
        tuple(told.quantile(q, 0.95) for q in pairs),
        tuple(told.quantile_error(q, 0.95) for q in pairs),
    )


def assert_chances_agree(one: Simulated, other: Simulated) -> None:
    """Two simulations tell the same chances within what their trials leave open."""
    on = 0.5 * (one.goes_on + other.goes_on)
    # standard error of a difference of two shares; plus a few single blanks where the share is nearly 0 or 1
    assert abs(one.goes_on - other.goes_on) <= 5.0 * np.sqrt(2.0 * on * (1.0 - on) / BLOCK) + 5.0 / BLOCK
    for a, b in zip(one.chances, other.chances, strict=True):
        assert abs(a.estimate - b.estimate) <= APART * (half(a) + half(b)) + 1e-9


def half(chance: Chance) -> float:
    """Half of the 95 % interval of a chance."""
    return 0.5 * (chance.high - chance.low)
