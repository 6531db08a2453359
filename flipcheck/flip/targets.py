"""What each pair of features looks at: points of the field of misalignment, directions, heights, and limits."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.frames import Point, at
from flipcheck.flip.height import nominal_web, web
from flipcheck.job.records import HolePair, OutlinePair, SlotPair
from flipcheck.job.uses import limit_of
from flipcheck.stack.measures import Band, Largest, Measure, Radius

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.flip.ledger import Ledger
    from flipcheck.flip.machine import Machine
    from flipcheck.flip.movement import Movement
    from flipcheck.job.records import Job, Method, Pair, WebPair

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class Target:
    """Where one pair stands among the outputs of its model.

    Attributes
    ----------
    pair: The pair's record.
    measure: The question asked of the outputs.
    x, y: Rows of the misalignment in x and y; None for a web, which has none. Of an outline: at its most exposed
        corner.
    at: The point of the blank that x and y speak of, mm; None for a web.
    allowed: The limit without errors, mm; None for a web.
    normals: Unit vectors, blank frame, along which x and y are judged: across a slot, or along both normals that meet
        at the corner of an outline; none for a hole, which is judged by its distance, and for a web.
    """

    pair: Pair
    measure: Measure
    x: int | None
    y: int | None
    at: Point | None
    allowed: float | None
    normals: tuple[Point, ...] = ()


class Targets:
    """Collects the outputs of a model, pair by pair."""

    def __init__(
        self,
        job: Job,
        method: Method,
        ledger: Ledger,
        machine: Machine,
        movement: Movement,
        matrix_b: Array,
        misalignment: Array,
    ) -> None:
        self.targets: list[Target] = []
        self._job, self._method, self._ledger, self._machine = job, method, ledger, machine
        self._movement = movement
        self._matrix_b, self._misalignment = matrix_b, misalignment
        self._mix: list[Array] = []
        self._own: list[Array] = []
        self._centre: list[float] = []

    def add(self, pair: Pair) -> None:
        """Add what `pair` looks at."""
        if isinstance(pair, HolePair):
            self._hole(pair)
        elif isinstance(pair, SlotPair):
            self._slot(pair)
        elif isinstance(pair, OutlinePair):
            self._outline(pair)
        else:
            self._web(pair)

    def mix(self) -> Array:
        """How each output depends on the field of misalignment, shape (M, 6)."""
        return np.array(self._mix)

    def own(self) -> Array:
        """What each output has besides, shape (M, X)."""
        return np.array(self._own)

    def centre(self) -> Array:
        """Each output without errors, shape (M,)."""
        return np.array(self._centre)

    def _hole(self, pair: HolePair) -> None:
        x, y = self._xy(pair.at, self._cuts(pair))
        allowed = limit_of(pair)
        measure = Radius(x, y, allowed)
        if pair.bolt is not None and pair.use in (None, "bolt"):
            # the largest round to pass is min(a, b, (a + b) / 2 - D); both holes grow by runout and the bit's error
            assert pair.hole_a is not None
            assert pair.hole_b is not None
            slack = self._output(np.zeros(6), self._machine.bit_growth("B"), 0.0)
            measure = Radius(x, y, allowed, slack, pair.bolt - min(pair.hole_a, pair.hole_b))
        self.targets.append(Target(pair, measure, x, y, pair.at, allowed))

    def _slot(self, pair: SlotPair) -> None:
        cuts = self._cuts(pair)
        x, y = self._xy(pair.at, cuts)
        across = self._across(pair.at, pair.across, cuts)
        allowed = limit_of(pair)
        self.targets.append(Target(pair, Largest((across,), allowed), x, y, pair.at, allowed, (pair.across,)))

    def _outline(self, pair: OutlinePair) -> None:
        """The step at each corner, along both normals that meet there. One cut, so one scatter for all corners."""
        cuts = self._cuts(pair)
        sides = list(zip(pair.points, (*pair.points[1:], pair.points[0]), strict=True))
        normals = [_normal(*side) for side in sides]
        rows = [self._across(end, normal, cuts) for side, normal in zip(sides, normals, strict=True) for end in side]
        exposed = max(pair.points, key=lambda point: self._ledger.variance(at(self._misalignment, point)))
        corner = pair.points.index(exposed)
        x, y = self._xy(exposed, cuts)
        allowed = limit_of(pair)
        meeting = normals[corner - 1], normals[corner]
        self.targets.append(Target(pair, Largest(tuple(rows), allowed), x, y, exposed, allowed, meeting))

    def _web(self, pair: WebPair) -> None:
        deviation = web(self._ledger, self._job, self._method.zero_z, pair, self._movement)
        row = self._output(np.zeros(6), deviation, nominal_web(pair, self._job.blank))
        self.targets.append(Target(pair, Band(row, *pair.limits), None, None, None, None))

    def _cuts(self, pair: Pair) -> Array:
        """The scatter of the pair's own two cuts, B minus A, blank axes, shape (2, X)."""
        what = f"pair {pair.name}"
        return self._matrix_b @ self._machine.cut(what, "B") - self._machine.cut(what, "A")

    def _xy(self, point: Point, cuts: Array) -> tuple[int, int]:
        return self._across(point, (1.0, 0.0), cuts), self._across(point, (0.0, 1.0), cuts)

    def _across(self, point: Point, normal: Point, cuts: Array) -> int:
        """The component along `normal` of the misalignment at a point."""
        return self._output(np.outer(normal, [1.0, *point]).ravel(), np.asarray(normal) @ cuts, 0.0)

    def _output(self, mix: Array, own: Array, centre: float) -> int:
        self._mix.append(mix)
        self._own.append(own)
        self._centre.append(centre)
        return len(self._centre) - 1


def _normal(start: Point, end: Point) -> Point:
    """The unit vector square to a side of an outline, to the right of the way from its start to its end."""
    x, y = end[0] - start[0], end[1] - start[1]
    return y / math.hypot(x, y), -x / math.hypot(x, y)
