"""The edges of a real blank: out of square, out of parallel, out of size, not straight, and grown between the faces."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.frames import NORMALS
from flipcheck.job.methods import SAME_SPOT
from flipcheck.stack.sources import Life

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.flip.frames import Face, Point
    from flipcheck.flip.ledger import Ledger
    from flipcheck.flip.movement import Movement
    from flipcheck.job.records import Blank, Errors, Side

    Array = NDArray[np.float64]


class Edges:
    """The four edges, named as they lie with face A up. The front edge is the datum; each blank has its own."""

    def __init__(self, ledger: Ledger, errors: Errors, blank: Blank, movement: Movement) -> None:
        self._ledger, self._errors, self._blank, self._movement = ledger, errors, blank, movement

    def deviation(self, edge: Side, b: Point, face: Face) -> Array:
        """How far outward the real edge lies at the point b of the blank, mm, shape (X,)."""
        return self._as_sawn(edge, b, face) + np.asarray(NORMALS[edge]) @ self._movement.moved(b, face)

    def _as_sawn(self, edge: Side, b: Point, face: Face) -> Array:
        spot = self._ledger.place(f"{edge} edge", b, SAME_SPOT)
        waviness = self._take("stock_straightness", spot, face)
        if edge == "front":
            return waviness
        if edge == "back":
            lean = self._take("stock_parallelism", "back edge", face)
            return waviness + self._take("stock_size", "y", face) + lean * (b[0] - 0.5 * self._blank.length)
        lean = self._take("stock_squareness", f"{edge} edge", face)
        if edge == "left":
            return waviness - lean * b[1]
        return waviness + self._take("stock_size", "x", face) + lean * b[1]

    def _take(self, name: str, part: str, face: Face) -> Array:
        return self._ledger.take(name, part, getattr(self._errors, name), Life.BLANK, face)[0]
