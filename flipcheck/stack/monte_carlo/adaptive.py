"""As many trials as it takes: the adaptive procedure of JCGM 101:2008, 7.9, and the verdict of its clause 8."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.errors import StackError
from flipcheck.stack.coverage import Interval, check_coverage, numerical_tolerance, shortest, symmetric

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from flipcheck.stack.budget import FirstOrder
    from flipcheck.stack.monte_carlo.trials import Simulation

    Array = NDArray[np.float64]

#: Trials of an adaptive run unless told otherwise: at most this many (40 MB of samples).
CEILING = 5_000_000


class Ends(StrEnum):
    """Which coverage interval is meant."""

    SYMMETRIC = "symmetric"
    SHORTEST = "shortest"


@dataclass(frozen=True)
class Goal:
    """When an adaptive run has settled.

    Attributes
    ----------
    coverage: Share that the interval holds.
    digits: Significant digits of u that shall stand.
    ends: The interval whose ends are watched.
    fraction: Share of the numerical tolerance of those digits that is allowed; 1/5 to validate (JCGM 101:2008, 8.2).
    ceiling: Most trials.
    """

    coverage: float = 0.95
    digits: int = 2
    ends: Ends = Ends.SYMMETRIC
    fraction: float = 1.0
    ceiling: int = CEILING


@dataclass(frozen=True, eq=False)
class Settling:
    """Where an adaptive run ended.

    Attributes
    ----------
    samples: All values, in the order drawn, shape (trials,).
    tolerance: What had to be met at the end.
    settled: Whether it was met before the ceiling.
    """

    samples: Array
    tolerance: float
    settled: bool


def interval(ordered: Array, coverage: float, ends: Ends) -> Interval:
    """The coverage interval of the kind asked for, from sorted draws."""
    return shortest(ordered, coverage) if ends is Ends.SHORTEST else symmetric(ordered, coverage)


def settle(draws: Iterator[Array], goal: Goal) -> Settling:
    """Draw until the estimate, u and both ends of the interval have settled.

    Source: JCGM 101:2008, 7.9.4: batches of M = max(100 / (1 - p), 10^4) trials; after each, from the second on, twice
    the standard deviation of the average over batches of y, u, y_low and y_high must not pass the numerical tolerance.

    Raises
    ------
    StackError: for a ceiling below two batches, or a coverage that is not between 0 and 1.
    """
    check_coverage(goal.coverage)
    size = max(math.ceil(round(100.0 / (1.0 - goal.coverage), 6)), 10_000)
    if goal.ceiling < 2 * size:
        raise StackError(f"a ceiling of at least {2 * size} trials, which are two batches", str(goal.ceiling))
    batches: list[Array] = []
    found: list[tuple[float, float, float, float]] = []
    for batch in _batches(draws, size):
        batches.append(batch)
        ends = interval(np.sort(batch), goal.coverage, goal.ends)
        found.append((float(batch.mean()), float(batch.std(ddof=1)), ends.low, ends.high))
        if len(batches) == 1:
            continue
        u = _pooled(np.array(found), size)
        tolerance = goal.fraction * numerical_tolerance(u, goal.digits) if u else 0.0
        scatter = np.std(found, axis=0, ddof=1) / math.sqrt(len(found))
        settled = bool((2.0 * scatter <= tolerance).all())
        if settled or (len(batches) + 1) * size > goal.ceiling:
            break
    return Settling(np.concatenate(batches), tolerance, settled)


def _batches(draws: Iterator[Array], size: int) -> Iterator[Array]:
    """The same values in batches of another size."""
    held = np.empty(0)
    while True:
        while len(held) < size:
            held = np.concatenate([held, next(draws)])
        yield held[:size]
        held = held[size:]


def _pooled(found: Array, size: int) -> float:
    """Standard deviation of all values, from the means and standard deviations of batches, shape (batches, 4)."""
    means, stds = found[:, 0], found[:, 1]
    square = (size - 1) * np.square(stds).sum() + size * np.square(means - means.mean()).sum()
    return math.sqrt(float(square) / (size * len(found) - 1))


@dataclass(frozen=True, eq=False)
class Verdict:
    """Whether first order may be used for a stack (JCGM 101:2008, clause 8).

    Attributes
    ----------
    first_order: The first-order result.
    simulation: The simulation it is compared with.
    interval: The simulation's interval of the kind that was compared.
    tolerance: Numerical tolerance delta of so many digits of u.
    """

    first_order: FirstOrder
    simulation: Simulation
    interval: Interval
    tolerance: float

    @property
    def low_difference(self) -> float:
        """d_low: distance of the two lower ends."""
        return abs(self.first_order.interval.low - self.interval.low)

    @property
    def high_difference(self) -> float:
        """d_high: distance of the two upper ends."""
        return abs(self.first_order.interval.high - self.interval.high)

    @property
    def holds(self) -> bool:
        """Whether both distances are within the tolerance; a simulation that has not settled cannot tell."""
        return max(self.low_difference, self.high_difference) <= self.tolerance and self.simulation.settled is not False
