"""The chance that a measure is passed, given all but its own normal scatter, and the distribution of its value.

A `Conditional` stands for one measure of a model. Its offset is what the measure would read without the scatter; the
answers say what the scatter makes of it. Where no scatter of a measure can be worked out, the offset is the value.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

import numpy as np

from flipcheck.stack.measures import Band, Largest, Measure, Radius
from flipcheck.stack.normal import cdf, density
from flipcheck.stack.quasi_monte_carlo import rice

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.stack.linear import LinearModel

    Array = NDArray[np.float64]


class Conditional(Protocol):
    """What is asked of one measure. N trials; offsets as `Measure.value` gives them, in mm."""

    std: float  # of its own scatter along each axis, mm
    axes: int  # along how many axes it scatters

    @property
    def measure(self) -> Measure:
        """The measure it stands for."""

    def passes(self, offset: Array, outputs: Array) -> Array:
        """The chance of passing, given the offset and the outputs that it comes from, shape (N,)."""

    def below(self, value: float, offset: Array) -> Array:
        """The chance that the measure reads at most `value`, given each offset, shape (N,)."""

    def mean(self, offset: Array) -> Array:
        """The mean reading given each offset, mm, shape (N,)."""


def conditional(model: LinearModel, measure: Measure, std: float) -> Conditional:
    """The question that a measure asks where its own scatter has the standard deviation `std` along each axis."""
    if not std:
        return AsDrawn(measure)
    if isinstance(measure, Radius):
        return InCircle(model, measure, std)
    if isinstance(measure, Band):
        return InBand(measure, std)
    if isinstance(measure, Largest):
        return Across(measure, std)
    raise TypeError(f"no scatter can be worked out for {measure!r}")


class AsDrawn:
    """Nothing is worked out: a trial passes or it does not."""

    std, axes = 0.0, 0

    def __init__(self, measure: Measure) -> None:
        self.measure = measure

    def passes(self, offset: Array, outputs: Array) -> Array:
        return self.measure.passes(offset, outputs).astype(float)

    def below(self, value: float, offset: Array) -> Array:
        return (offset <= value).astype(float)

    def mean(self, offset: Array) -> Array:
        return offset


class InCircle:
    """A distance with scatter of its own in x and y."""

    axes = 2

    def __init__(self, model: LinearModel, measure: Radius, std: float) -> None:
        self.measure, self.std = measure, std
        least = most = measure.limit / std
        if measure.slack is not None:
            middle = model.expected[measure.slack] + measure.limit
            reach = float(model.half_widths(model.coefficients[[measure.slack]], "reach").sum())
            least, most = (middle - reach) / std, (middle + reach) / std
        self._table, self._fan = rice.table(most), rice.fan(least, most) if most > least else None

    def passes(self, offset: Array, outputs: Array) -> Array:
        measure = self.measure
        if measure.slack is None:
            return self._table((measure.limit - offset) / self.std)
        slack = outputs[measure.slack]
        radius = (measure.limit + slack) / self.std
        gap = radius - offset / self.std
        chance = self._fan(gap, radius) if self._fan else self._table(gap)
        chance *= slack >= measure.need
        return chance

    def below(self, value: float, offset: Array) -> Array:
        return rice.within(value / self.std, (value - offset) / self.std)

    def mean(self, offset: Array) -> Array:
        return self.std * rice.mean(offset / self.std)


class InBand:
    """A height with scatter of its own."""

    axes = 1

    def __init__(self, measure: Band, std: float) -> None:
        self.measure, self.std = measure, std

    def passes(self, offset: Array, outputs: Array) -> Array:  # noqa: ARG002
        chance = cdf((self.measure.high - offset) / self.std)
        chance -= cdf((self.measure.low - offset) / self.std)
        return chance

    def below(self, value: float, offset: Array) -> Array:
        return cdf((value - offset) / self.std)

    def mean(self, offset: Array) -> Array:
        return offset


class Across:
    """A distance across one line, its sign left out, with scatter of its own."""

    axes = 1

    def __init__(self, measure: Largest, std: float) -> None:
        self.measure, self.std = measure, std

    def passes(self, offset: Array, outputs: Array) -> Array:  # noqa: ARG002
        return self.below(self.measure.limit, offset)

    def below(self, value: float, offset: Array) -> Array:
        if value < 0.0:
            return np.zeros_like(offset)
        chance = cdf((value - offset) / self.std)
        chance -= cdf((-value - offset) / self.std)
        return chance

    def mean(self, offset: Array) -> Array:
        scaled = offset / self.std
        return self.std * (scaled * (2.0 * cdf(scaled) - 1.0) + 2.0 * density(scaled))
