"""What a run has to say about one model, however it was counted."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple, Protocol

import numpy as np

from flipcheck.stack.intervals import wilson

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.stack.intervals import Chance
    from flipcheck.stack.monte_carlo.histogram import Range
    from flipcheck.stack.monte_carlo.simulate import Origin, Tally

    Array = NDArray[np.float64]

#: Shares on either side of a quantile between which the density there is taken.
_BESIDE = 0.01


class MeanStd(NamedTuple):
    """Mean and standard deviation; NaN where no trial goes on."""

    mean: float
    std: float


class Estimate(Protocol):
    """Results of one model with Q measures, M outputs and C contacts.

    All but `chance` and `goes_on` are of the trials that go on.
    """

    @property
    def trials(self) -> int:
        """Trials run."""

    @property
    def goes_on(self) -> float:
        """Share of trials in which the blank goes onto its pins (1 where there are none)."""

    @property
    def chance(self) -> Chance:
        """Share of trials that go on and pass every measure."""

    def passed(self, q: int) -> Chance:
        """Share that passes measure q."""

    def quantile(self, q: int, share: float) -> float:
        """The value of measure q below which a share of the trials lies."""

    def quantile_error(self, q: int, share: float) -> float:
        """Half-width of the 95 % interval of that quantile; NaN where no trial goes on."""

    def value(self, q: int) -> MeanStd:
        """Of the value of measure q."""

    def output(self, row: int) -> MeanStd:
        """Of one output."""

    def pose_covariance(self) -> Array:
        """Covariance of the contact rows drawn, shape (3 C, 3 C); NaN where no trial goes on."""


class Counted:
    """The estimate of trials that were counted one by one."""

    def __init__(self, tally: Tally, origin: Origin, ranges: tuple[Range, ...]) -> None:
        self._tally, self._origin, self._ranges = tally, origin, ranges

    @property
    def trials(self) -> int:
        return self._tally.trials

    @property
    def goes_on(self) -> float:
        return self._tally.on / self._tally.trials

    @property
    def chance(self) -> Chance:
        return wilson(self._tally.good, self._tally.trials)

    def passed(self, q: int) -> Chance:
        return wilson(int(self._tally.passed[q]), self._tally.on)

    def quantile(self, q: int, share: float) -> float:
        return self._ranges[q].quantile(share, self._tally.histogram[q], self._tally.ends[q])

    def quantile_error(self, q: int, share: float) -> float:
        if not self._tally.on:
            return math.nan
        below, above = self.quantile(q, share - _BESIDE), self.quantile(q, share + _BESIDE)
        # the standard error of a quantile is that of its share, divided by the density there
        return 2.0 * math.sqrt(share * (1.0 - share) / self._tally.on) * (above - below) / (2.0 * _BESIDE)

    def value(self, q: int) -> MeanStd:
        return mean_std(self._tally.values[:, q], self._tally.on, float(self._origin.values[q]))

    def output(self, row: int) -> MeanStd:
        return mean_std(self._tally.outputs[:, row], self._tally.on, float(self._origin.outputs[row]))

    def pose_covariance(self) -> Array:
        return covariance(self._tally.poses, self._tally.on)


def mean_std(sums: Array, count: float, middle: float) -> MeanStd:
    """From the sum and the sum of squares, shape (2,), counted from `middle`."""
    if not count:
        return MeanStd(math.nan, math.nan)
    off = float(sums[0]) / count
    variance = float(sums[1]) / count - off * off
    return MeanStd(middle + off, math.sqrt(max(variance, 0.0) * count / max(count - 1, 1)))


def sums_about(rows: Array, middles: Array, weight: Array | None = None) -> Array:
    """Sums and sums of squares of rows (R, N), each counted from its middle (R,), with weights (N,); shape (2, R)."""
    off = rows - middles[:, None]
    weighed = off if weight is None else off * weight
    return np.array([weighed.sum(axis=1), np.einsum("rn,rn->r", weighed, off)])


def products(rows: Array, weight: Array | None = None) -> Array:
    """The sum of the products of each two rows, shape (rows, rows), of rows (rows, N) with weights (N,)."""
    return np.einsum("in,jn->ij", rows if weight is None else rows * weight, rows)


def covariance(sums: Array, count: float) -> Array:
    """From sums, the first row, and sums of products, the others; NaN for a count of nothing."""
    with np.errstate(invalid="ignore"):
        mean = sums[0] / np.float64(count)
        return sums[1:] / np.float64(count) - np.outer(mean, mean)
