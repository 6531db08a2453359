"""What the repeats of a run on evenly spread points together say about a model."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.estimate import MeanStd, covariance, mean_std
from flipcheck.stack.intervals import from_repeats, half_width
from flipcheck.stack.quasi_monte_carlo.conditional import AsDrawn
from flipcheck.stack.quasi_monte_carlo.replicates import BINS, COARSE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.stack.intervals import Chance
    from flipcheck.stack.quasi_monte_carlo.replicates import Counter, Sums

    Array = NDArray[np.float64]

#: Less than any trial weighs.
_NONE = 1e-300
#: How near a quantile is sought, in parts of the range.
_NEAR = 1e-7
#: How far to either side of a quantile, in parts of it, the density there is taken.
_BESIDE = 0.01


class ReplicateEstimate:
    """The estimate of a run counted by `replicates.Counter`."""

    def __init__(self, counter: Counter, sums: Sums) -> None:
        self._counter, self._sums = counter, sums
        self._weight = float(sums.weight.sum())
        self._kept: dict[int, tuple[Array, Array]] = {}

    @property
    def trials(self) -> int:
        return round(self._sums.trials.sum())

    @property
    def goes_on(self) -> float:
        return float(self._sums.on.sum() / self._sums.trials.sum())

    @property
    def repeats(self) -> Array:
        """The chance by each repeat alone, shape (S,); NaN for one without trials."""
        sums = self._sums
        with np.errstate(invalid="ignore"):
            return sums.on / sums.trials * np.where(sums.weight > 0.0, sums.good / sums.weight, 0.0)

    @property
    def chance(self) -> Chance:
        estimate = self.goes_on * float(self._sums.good.sum()) / self._weight if self._weight else 0.0
        return from_repeats(min(estimate, 1.0), self.repeats, self.trials)

    def passed(self, q: int) -> Chance:
        passed = self._sums.passed[q]
        with np.errstate(invalid="ignore"):
            repeats = passed / self._sums.weight
        estimate = min(float(passed.sum()) / self._weight, 1.0) if self._weight else math.nan
        return from_repeats(estimate, repeats, round(self._sums.on.sum()))

    def quantile(self, q: int, share: float) -> float:
        if not self._weight:
            return math.nan
        span, ask = self._counter.ranges[q], self._counter.conditionals[q]
        running = np.cumsum(self._sums.histogram[q]) / self._weight
        at = min(int(np.searchsorted(running, share)), BINS - 1)
        before = running[at - 1] if at else 0.0
        within = (share - before) / (running[at] - before) if running[at] > before else 0.0
        drawn = float(np.clip(span.low + (at + within) * (span.high - span.low) / BINS, *self._sums.ends[q]))
        if isinstance(ask, AsDrawn):
            return drawn
        return self._root(q, share, drawn)

    def _root(self, q: int, share: float, start: float) -> float:
        """Where the distribution of measure q passes a share: by the Illinois variant of the false position."""
        step = float(self._counter.scatter.stds[q])
        low = high = start
        miss_low = miss_high = self._below(q, start) - share
        while miss_low > 0.0:
            low, high, miss_high = low - step, low, miss_low
            miss_low = self._below(q, low) - share
        while miss_high < 0.0:
            high, low, miss_low = high + step, high, miss_high
            miss_high = self._below(q, high) - share
        near = _NEAR * (self._counter.ranges[q].high - self._counter.ranges[q].low)
        last = 0
        while high - low > near and miss_high > miss_low:
            middle = high - miss_high * (high - low) / (miss_high - miss_low)
            miss = self._below(q, middle) - share
            if abs(miss) < 1e-9:
                return middle
            if miss > 0.0:
                high, miss_high = middle, miss
                miss_low *= 0.5 if last > 0 else 1.0
                last = 1
            else:
                low, miss_low = middle, miss
                miss_high *= 0.5 if last < 0 else 1.0
                last = -1
        return 0.5 * (low + high)

    def _below(self, q: int, value: float) -> float:
        """The share of the trials in which measure q reads at most `value`."""
        return float(self._below_by_repeat(q, value).sum()) / self._weight

    def _below_by_repeat(self, q: int, value: float) -> Array:
        histogram, offsets = self._coarse(q)
        below = self._counter.conditionals[q].below(value, offsets.ravel())
        return histogram @ below.reshape(offsets.shape).mean(axis=0)

    def _coarse(self, q: int) -> tuple[Array, Array]:
        """The coarse histogram of measure q, shape (S, COARSE), and two offsets for each, shape (2, COARSE).

        The two stand for all in the bin: they have their mean and, of a function averaged over them, leave out nothing
        below the third order.
        """
        kept = self._kept
        if q not in kept:
            span, counts = self._counter.ranges[q], self._sums.histogram[q].reshape(COARSE, -1)
            total = np.maximum(counts.sum(axis=1), _NONE)
            places = np.arange(BINS).reshape(COARSE, -1) * ((span.high - span.low) / BINS)
            middle = (counts * places).sum(axis=1) / total
            std = np.sqrt((counts * np.square(places - middle[:, None])).sum(axis=1) / total)
            mean = self._sums.moments[q] / total
            kept[q] = self._sums.coarse[q], np.array([mean - std, mean + std])
        return kept[q]

    def quantile_error(self, q: int, share: float) -> float:
        place = self.quantile(q, share)
        if not np.all(self._sums.weight):
            return math.nan
        below = self._below_by_repeat(q, place) / self._sums.weight
        aside = _BESIDE * max(abs(place), float(self._counter.scatter.stds[q]))
        density = (self._below(q, place + aside) - self._below(q, place - aside)) / (2.0 * aside) if aside else 0.0
        half = half_width(below)
        return half / density if density else 0.0 if not half else math.inf

    def value(self, q: int) -> MeanStd:
        ask = self._counter.conditionals[q]
        offset = mean_std(self._sums.values[:, q], self._weight, float(self._counter.middles[q]))
        if isinstance(ask, AsDrawn) or not self._weight:
            return offset
        histogram, offsets = self._coarse(q)
        readings = ask.mean(offsets.ravel()).reshape(offsets.shape).mean(axis=0)
        shares = histogram.sum(axis=0) / self._weight
        mean = float(shares @ readings)
        square = offset.std**2 + offset.mean**2 + ask.axes * ask.std**2
        return MeanStd(mean, math.sqrt(max(square - mean * mean, 0.0)))

    def output(self, row: int) -> MeanStd:
        mean, std = mean_std(self._sums.outputs[:, row], self._weight, float(self._counter.model.expected[row]))
        return MeanStd(mean, math.sqrt(std**2 + self._counter.scatter.variances[row]))

    def pose_covariance(self) -> Array:
        return covariance(self._sums.poses, self._weight)
