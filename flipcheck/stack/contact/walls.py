"""The pose of a rectangular blank with play between four walls: a pocket that it is dropped into.

The pose (t_x, t_y, a) is counted from the middle of the blank; a is its turn times `lever`, so that all three are mm.
Each wall is met at its two ends. What is free there, the gap, is a linear form of the errors; the blank goes in where
one pose leaves all eight gaps open. See docs/explanation/more-ways.md for the derivation.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from flipcheck.stack.contact.play import Given

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.stack.contact.play import Drawn, Spans

    Array = NDArray[np.float64]

#: Walls in the order of their gaps, two of each: at the end towards plus, then at the end towards minus.
WALLS: tuple[Literal["right", "left", "back", "front"], ...] = ("right", "left", "back", "front")


@dataclass(frozen=True, eq=False)
class Walls:
    """A blank between four walls in one setup.

    Attributes
    ----------
    key: Name of its random stream.
    forms: Coefficients of the eight gaps over the source rows, counted from the pose that the errors move linearly,
        shape (8, R).
    offsets: The gaps without errors, mm.
    half: Half of the blank along x and along y, mm.
    push: +1 or -1 for x and for y where the blank is pushed towards plus or minus, 0 where it is not.
    """

    key: str
    forms: Array
    offsets: Array
    half: tuple[float, float]
    push: tuple[int, int]

    @property
    def lever(self) -> float:
        """What the turn is multiplied by to be a length: half of the diagonal, mm."""
        return math.hypot(*self.half)

    @property
    def widening(self) -> Array:
        """Every gap is a radial clearance."""
        return np.ones(8)

    def parts(self, values: Array) -> tuple[Array]:
        """The gaps as they are."""
        return (values,)

    def short_of(self, *parts: Array) -> Array:
        """How much too small the gaps are: for the width at an end of either pair of walls, or for the turn."""
        (gaps,) = parts
        x, y = _Room.across_x(gaps, self.half), _Room.across_y(gaps, self.half)
        short = np.maximum(-0.5 * x.width, -0.5 * y.width)
        both = 1.0 / x.rate + 1.0 / y.rate
        for one, other in ((x, y), (y, x)):
            # widened by w, the least turn falls and the largest grows by 2 w over the rate
            np.maximum(short, -0.5 * (one.up / one.rate + other.down / other.rate) / both, out=short)
        return short

    def draw(self, rng: np.random.Generator | Given, *parts: Array, out: Array) -> Drawn:
        """Draw the pose; see `Play.draw`."""
        (gaps,) = parts
        on: NDArray[np.bool_] = self.short_of(gaps) < 0.0
        if not on.all():
            gaps = np.where(on, gaps, 1.0)
        x, y = _Room.across_x(gaps, self.half), _Room.across_y(gaps, self.half)
        sx, sy = self.push
        points = rng.random((self.points, gaps.shape[1]))
        least, most = np.maximum(x.least, y.least), np.minimum(x.most, y.most)
        turn = np.clip(self._flush(gaps), least, most) if sx or sy else _turn(x, y, least, most, points)
        for row, room, side in ((0, x, sx), (1, y, sy)):
            low, high = room.ends(turn)
            share = 0.5 * (1 + side) if side else points[row - 2]
            out[row] = low + share * (high - low)
        np.multiply(turn, self.lever, out=out[2])
        if not on.all():
            out *= on
        return on, None

    def closes(self) -> Array:
        """How much of each gap a pose takes, shape (8, 3)."""
        right, left = _moves(self.half, self.lever)[:2], -_moves(self.half, self.lever)[:2]
        back, front = _moves(self.half, self.lever)[2:], -_moves(self.half, self.lever)[2:]
        return np.concatenate([right, left, back, front])

    def follows(self) -> Array:
        """The pose that gaps move linearly, shape (3, 8).

        With nothing to push it, the least-squares fit of its four ends to the middles between the walls. Pushed: one
        edge flush with its wall, and across the other walls the mean of both ends, of the gaps of the wall that it is
        pushed against, or of the middles.
        """
        fit = 0.5 * _moves(self.half, self.lever).T @ _MIDDLES
        if not any(self.push):
            return fit
        for axis, side in enumerate(self.push):
            if side:
                fit[axis] = _row(_ends(axis, side), (0.5 * side, 0.5 * side))
        side, span = self.push[self.first], 2.0 * self.half[1 - self.first] / self.lever
        lean = _SIGN[self.first] * side / span
        fit[2] = _row(_ends(self.first, side), (lean, -lean))
        return fit

    @property
    def carried(self) -> Array:
        """Nothing: poses are counted from where the errors move the blank linearly."""
        return np.zeros((3, 8))

    @property
    def points(self) -> int:
        """Numbers that a pose takes: six where nothing pushes it, two against one wall, none in a corner."""
        return {0: 6, 1: 2, 2: 0}[abs(self.push[0]) + abs(self.push[1])]

    @property
    def first(self) -> int:
        """The axis across which the blank is pushed with a whole edge: of a corner that of the longer edge."""
        sx, sy = self.push
        return 1 if sy and (not sx or self.half[0] >= self.half[1]) else 0

    def _flush(self, gaps: Array) -> Array:
        """The turn at which the edge that is pushed lies against its wall, rad."""
        side = self.push[self.first]
        plus, minus = gaps[_ends(self.first, side)]
        return _SIGN[self.first] * side * (plus - minus) / (2.0 * self.half[1 - self.first])

    def mean_pose(self, values: Array) -> Array:
        """In the middle of the play, or at the walls that it is pushed against."""
        pose = np.zeros((3, 1))
        if any(self.push):
            self.draw(Given(np.full((self.points, 1), 0.5)), values[:, None], out=pose)
        return pose[:, 0]

    def support(self, alphas: Array, spans: Spans) -> Array:
        """See `Play.support`; an upper bound, met where the errors allow the pose that it stands for."""
        if any(self.push):
            return self._pushed(alphas, spans)
        half = _half_widths(spans)
        return np.minimum(self._by_ends(alphas, half), self._rigid(alphas, half, spans))

    def _pushed(self, alphas: Array, spans: Spans) -> Array:
        """Flush with the wall that it is pushed to, or turned by what keeps a tight nest from letting it lie flush.

        Against the walls that it is pushed to it lies where they stand without errors: `follows` takes these out.
        """
        lows, highs = spans(np.array([*_TURNING, *np.eye(8)]))
        w, h = self.half
        turn = max(float((-lows[:4] / (2.0 * np.array([h, h, w, w]))).max()), 0.0)
        a, b, c = np.abs(alphas).T
        reach: Array = turn * (a * h + b * w + c * self.lever)
        for axis, side in enumerate(self.push):
            alpha, gaps = alphas[:, axis], highs[4 + 4 * axis : 8 + 4 * axis]
            if not side:
                reach = reach + np.maximum(alpha * gaps[:2].min(), -alpha * gaps[2:].min())
                continue
            reach = reach + alpha * side * self._at_wall(spans, axis)
            if axis != self.first:
                tilt = np.abs(spans(_row(_ends(axis, side), (0.5, -0.5))[None])).max()
                reach = reach + np.maximum(-side * alpha * tilt, 0.0)
        return reach

    def _at_wall(self, spans: Spans, axis: int) -> float:
        """The mean gap of a wall that the blank is pushed against, which no error changes."""
        low, high = spans(_row(_ends(axis, self.push[axis]), (0.5, 0.5))[None])
        return float(0.5 * (low[0] + high[0]))

    def _by_ends(self, alphas: Array, half: Array) -> Array:
        """From how far each end may be moved, shape (4,): the pose is the least-squares fit to its four ends."""
        bound: Array = 0.5 * np.abs(alphas @ _moves(self.half, self.lever).T) @ half
        return bound

    def _rigid(self, alphas: Array, half: Array, spans: Spans) -> Array:
        """Between walls as wide as the widest end, with its middle as far out as it may be: a turn costs room."""
        reach = half + np.abs(spans(_MIDDLES)).max(axis=0)
        x, y = reach[:2].max(), reach[2:].max()
        most = min(x / self.half[1], y / self.half[0])
        a, b, c = np.abs(alphas).T
        turned = a * (x - self.half[1] * most) + b * (y - self.half[0] * most) + c * self.lever * most
        return np.maximum(a * x + b * y, turned)


#: A turn carries the end at plus y towards minus x, and the end at plus x towards plus y.
_SIGN = (-1.0, 1.0)


def _ends(axis: int, side: int) -> list[int]:
    """The two gaps of a wall: `axis` 0 for right (side +1) and left (-1), 1 for back and front."""
    first = 4 * axis + (0 if side > 0 else 2)
    return [first, first + 1]


def _row(places: list[int], values: tuple[float, float]) -> Array:
    row = np.zeros(8)
    row[places] = values
    return row


#: What of the gaps adds up to the room that is left to turn, one way and the other, across x and across y.
_TURNING = np.array([_row([a, b], (1.0, 1.0)) for a, b in ((0, 3), (1, 2), (4, 7), (5, 6))])
#: Widths at the four ends, and where the middle between the walls lies there.
_WIDTHS = np.array([_row([a, a + 2], (1.0, 1.0)) for a in (0, 1, 4, 5)])
_MIDDLES = np.array([_row([a, a + 2], (0.5, -0.5)) for a in (0, 1, 4, 5)])


def _half_widths(spans: Spans) -> Array:
    """Half of the largest width at each of the four ends, shape (4,)."""
    half: Array = 0.5 * np.maximum(spans(_WIDTHS)[1], 0.0)
    return half


def _moves(half: tuple[float, float], lever: float) -> Array:
    """How each of the four ends moves with the pose, shape (4, 3)."""
    w, h = half
    return np.array([[1.0, 0.0, -h / lever], [1.0, 0.0, h / lever], [0.0, 1.0, w / lever], [0.0, 1.0, -w / lever]])


@dataclass(frozen=True, eq=False)
class _Room:
    """What a pair of opposite walls leaves: at a turn so many rad, min(width, up + rate turn, down - rate turn)."""

    gaps: Array
    tilt: float
    width: Array
    up: Array
    down: Array

    @classmethod
    def across_x(cls, gaps: Array, half: tuple[float, float]) -> _Room:
        plus_high, minus_high, plus_low, minus_low = right_left = gaps[:4]
        width = np.minimum(plus_high + plus_low, minus_high + minus_low)
        return cls(right_left, -half[1], width, plus_high + minus_low, minus_high + plus_low)

    @classmethod
    def across_y(cls, gaps: Array, half: tuple[float, float]) -> _Room:
        plus_high, minus_high, plus_low, minus_low = back_front = gaps[4:]
        width = np.minimum(plus_high + plus_low, minus_high + minus_low)
        return cls(back_front, half[0], width, minus_high + plus_low, plus_high + minus_low)

    @property
    def rate(self) -> float:
        return 2.0 * abs(self.tilt)

    @property
    def least(self) -> Array:
        return -self.up / self.rate

    @property
    def most(self) -> Array:
        return self.down / self.rate

    def bends(self) -> tuple[Array, Array]:
        """Turns between which the width alone counts."""
        return (self.width - self.up) / self.rate, (self.down - self.width) / self.rate

    def length(self, turn: Array) -> Array:
        """How far the blank may be moved across at a turn, mm; not below nothing."""
        free = np.minimum(self.up + self.rate * turn, self.down - self.rate * turn)
        return np.maximum(np.minimum(free, self.width), 0.0)

    def ends(self, turn: Array) -> tuple[Array, Array]:
        """From where to where its middle may be moved at a turn."""
        plus_high, minus_high, plus_low, minus_low = self.gaps
        tilt = self.tilt * turn
        return np.maximum(-plus_low - tilt, tilt - minus_low), np.minimum(plus_high - tilt, minus_high + tilt)


def _turn(x: _Room, y: _Room, least: Array, most: Array, points: Array) -> Array:
    """Draw the turn: its density is the area that is free for the middle, the product of both lengths.

    Between two bends both lengths are straight lines, and (X0 (1 - s) + X1 s) (Y0 (1 - s) + Y1 s) is a mixture of the
    densities of the smallest, the middle and the largest of three uniform numbers.
    """
    nodes = np.sort([least, *(np.clip(bend, least, most) for room in (x, y) for bend in room.bends()), most], axis=0)
    along_x, along_y = x.length(nodes), y.length(nodes)
    steps = np.diff(nodes, axis=0)
    weights = steps * np.array(
        [
            2.0 * along_x[:-1] * along_y[:-1],
            along_x[:-1] * along_y[1:] + along_x[1:] * along_y[:-1],
            2.0 * along_x[1:] * along_y[1:],
        ]
    )
    running = np.cumsum(weights.reshape(-1, weights.shape[-1]), axis=0)
    chosen = np.minimum((running <= points[0] * running[-1]).sum(axis=0), len(running) - 1)
    rank, piece = np.divmod(chosen, len(steps))
    every = np.arange(len(chosen))
    share = np.sort(points[1:4], axis=0)[rank, every]
    turn: Array = nodes[piece, every] + share * steps[piece, every]
    return turn
