"""What is asked of the outputs of a model: a distance, and whether it is within its limit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Span = tuple[Array, Array]


class Measure(Protocol):
    """One question about the outputs, shape (M, N), of a model."""

    def value(self, outputs: Array) -> Array:
        """The measured quantity, shape (N,)."""

    def passes(self, value: Array, outputs: Array) -> NDArray[np.bool_]:
        """Whether it is within its limit, shape (N,)."""

    def span(self, start: Array, step: Array) -> Span:
        """For which k the outputs start + k * step pass: from and to, each of shape (N,); from > to where for none."""


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

    def span(self, start: Array, step: Array) -> Span:
        a, b = start[[self.x, self.y]], step[[self.x, self.y]]
        if self.slack is None:
            return _cone_span(a, b, np.full(a.shape[1], self.limit), np.zeros(a.shape[1]))
        slack, grows = start[self.slack], step[self.slack]
        enough = _line_span(slack, grows, self.need, np.inf)
        return meet(enough, _cone_span(a, b, self.limit + slack, grows))


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

    def span(self, start: Array, step: Array) -> Span:
        span = _line_span(start[self.rows[0]], step[self.rows[0]], -self.limit, self.limit)
        for row in self.rows[1:]:
            span = meet(span, _line_span(start[row], step[row], -self.limit, self.limit))
        return span


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

    def span(self, start: Array, step: Array) -> Span:
        return _line_span(start[self.row], step[self.row], self.low, self.high)


def meet(one: Span, other: Span) -> Span:
    """What two spans have in common."""
    return np.maximum(one[0], other[0]), np.minimum(one[1], other[1])


def _line_span(a: Array, b: Array, low: float, high: float) -> Span:
    """For which k: low <= a + k b <= high."""
    still = b == 0.0
    b = np.where(still, 1.0, b)
    ends = (low - a) / b, (high - a) / b
    inside = (a >= low) & (a <= high)
    least = np.where(still, np.where(inside, -np.inf, np.inf), np.minimum(*ends))
    most = np.where(still, np.where(inside, np.inf, -np.inf), np.maximum(*ends))
    return least, most


def _cone_span(a: Array, b: Array, radius: Array, grows: Array) -> Span:
    """For which k: |a + k b| <= radius + k grows, with a and b of shape (2, N): between the roots of a quadratic."""
    square = (b * b).sum(axis=0) - grows * grows
    half = (a * b).sum(axis=0) - radius * grows
    rest = (a * a).sum(axis=0) - radius * radius
    with np.errstate(divide="ignore", invalid="ignore"):
        root = np.sqrt(np.maximum(half * half - square * rest, 0.0))
        one, two = (-half - root) / square, (-half + root) / square
    least, most = np.minimum(one, two), np.maximum(one, two)
    middle = radius - half / np.where(square == 0.0, 1.0, square) * grows
    closed = (square > 0.0) & (half * half >= square * rest) & (middle >= 0.0)
    still = (b == 0.0).all(axis=0) & (grows == 0.0)
    everywhere = still & (rest <= 0.0) & (radius >= 0.0)
    from_ = np.where(closed, least, np.where(everywhere, -np.inf, np.inf))
    to = np.where(closed, most, np.where(everywhere, np.inf, -np.inf))
    # the radius gains on the distance for ever: one side is open
    opens = (square < 0.0) & (grows > 0.0)
    closes = (square < 0.0) & (grows < 0.0)
    from_ = np.where(opens, most, np.where(closes, -np.inf, from_))
    to = np.where(opens, np.inf, np.where(closes, least, to))
    return from_, to
