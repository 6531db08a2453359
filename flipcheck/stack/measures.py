"""What is asked of the outputs of a model: a distance, and whether it is within its limit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


class Measure(Protocol):
    """One question about the outputs, shape (M, N), of a model."""

    def value(self, outputs: Array) -> Array:
        """The measured quantity, shape (N,)."""

    def passes(self, value: Array, outputs: Array) -> NDArray[np.bool_]:
        """Whether it is within its limit, shape (N,)."""


@dataclass(frozen=True)
class Radius:
    """The length of a two-dimensional output (its rows `x` and `y`) is at most `limit`.

    Where the limit itself is uncertain, row `slack` adds to it; and slack must be at least `need`, or nothing passes.
    """

    x: int
    y: int
    limit: float
    slack: int | None = None
    need: float = -np.inf

    def value(self, outputs: Array) -> Array:
        x, y = outputs[self.x], outputs[self.y]
        square = x * x
        square += y * y
        return np.sqrt(square, out=square)

    def passes(self, value: Array, outputs: Array) -> NDArray[np.bool_]:
        if self.slack is None:
            return value <= self.limit
        slack = outputs[self.slack]
        within: NDArray[np.bool_] = (value - slack <= self.limit) & (slack >= self.need)
        return within


@dataclass(frozen=True)
class Largest:
    """The largest absolute value among the output rows `rows` is at most `limit`."""

    rows: tuple[int, ...]
    limit: float

    def value(self, outputs: Array) -> Array:
        largest = np.abs(outputs[self.rows[0]])
        other = np.empty_like(largest)
        for row in self.rows[1:]:
            np.abs(outputs[row], out=other)
            np.maximum(largest, other, out=largest)
        return largest

    def passes(self, value: Array, outputs: Array) -> NDArray[np.bool_]:  # noqa: ARG002
        return value <= self.limit


@dataclass(frozen=True)
class Band:
    """The output row `row` lies between `low` and `high`."""

    row: int
    low: float
    high: float

    def value(self, outputs: Array) -> Array:
        return outputs[self.row]

    def passes(self, value: Array, outputs: Array) -> NDArray[np.bool_]:  # noqa: ARG002
        within: NDArray[np.bool_] = (value >= self.low) & (value <= self.high)
        return within
