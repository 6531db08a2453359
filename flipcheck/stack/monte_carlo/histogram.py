"""Quantiles from whole-number histograms: the same for any order of the trials, in memory that does not grow."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.measures import Band
from flipcheck.stack.worst_case import directions, pose_reach

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from flipcheck.stack.linear import LinearModel
    from flipcheck.stack.measures import Measure

    Array = NDArray[np.float64]
    Counts = NDArray[np.int64]

#: Bins of a histogram. The error of a quantile is then a few hundredths of its standard error at a million trials.
BINS = 6000

#: Standard deviations spanned on either side; what falls beyond (once in 10^10 trials) goes into the end bins.
_SPAN = 7.0

#: Directions around a circle in which the reach of a distance is worked out.
_AROUND = 72


@dataclass(frozen=True)
class Range:
    """The span of values that a histogram divides into `BINS` equal bins."""

    low: float
    high: float

    def quantile(self, share: float, counts: Counts, ends: Array) -> float:
        """The value below which `share` > 0 of the trials counted lie, linear inside its bin; NaN if none were."""
        running = np.cumsum(counts)
        if not running[-1]:
            return math.nan
        rank = share * running[-1]
        at = int(np.searchsorted(running, rank))
        before = running[at - 1] if at else 0
        place = at + (rank - before) / counts[at]
        value = self.low + place * (self.high - self.low) / BINS
        return float(np.clip(value, *ends))


def count(ranges: Sequence[Range], values: Array) -> Counts:
    """How many of the values, shape (Q, N), fall into the bins of each range, shape (Q, BINS)."""
    bins = places(ranges, values, BINS)
    bins += BINS * np.arange(len(ranges))[:, None]
    return np.bincount(bins.ravel(), minlength=BINS * len(ranges)).reshape(-1, BINS)


def places(ranges: Sequence[Range], values: Array, bins: int) -> NDArray[np.intp]:
    """In which of so many bins of its range each value lies, shape (Q, N); what is beyond goes into the end bins."""
    low, high = np.array([[span.low, span.high] for span in ranges]).T
    scaled = values - low[:, None]
    scaled *= (bins / (high - low))[:, None]
    np.clip(scaled, 0.0, bins - 1.0, out=scaled)  # before the cast: faster, and what is cut off falls the same way
    return scaled.astype(np.intp)


def ranges(model: LinearModel) -> tuple[Range, ...]:
    """A range for each measure of a model, wide enough for every value that its draws give."""
    return tuple(_range(model, measure) for measure in model.measures)


def _range(model: LinearModel, measure: Measure) -> Range:
    outputs, weights = directions(measure, _AROUND)
    expected = weights @ model.expected[outputs]
    towards = weights @ model.coefficients[outputs]
    scatter = np.sqrt(np.square(towards[:, : model.stds.size]) @ np.square(model.stds))
    reach = np.minimum(model.draw_widths(towards, "reach").sum(axis=1), _SPAN * scatter)
    reach += pose_reach(model, towards)
    # a hair wider, so that a value on the edge falls inside, and a job without any error still has a range
    margin = 1e-6 * float(np.max(np.abs(expected) + reach)) + 1e-9
    if isinstance(measure, Band):
        middle, half = float(expected[0]), float(reach[0]) + margin
        return Range(middle - half, middle + half)
    # what keeps below these along all directions tried reaches no farther than the corners between them
    corner = math.cos(math.pi / _AROUND)
    return Range(0.0, float(np.max(np.abs(expected) + reach)) / corner + margin)
