"""What the blank grows between the faces, by moisture and by heat.

A point b of face A sits at b + G b when setup B is cut, with a strain G that is the same all over the blank: so much
along the grain, so much across it. It is counted from the corner of the blank; whatever holds or finds the blank in
setup B takes a common shift and turn out again, so that the constraint equations alone say which point stays.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.frames import at
from flipcheck.stack.sources import Life

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.flip.frames import Face, Point
    from flipcheck.flip.ledger import Ledger
    from flipcheck.job.between import Between

    Array = NDArray[np.float64]

#: Names of the sources.
MOVING = ("moisture", "temperature")


class Movement:
    """How far each point of the blank has moved when a face is cut: not at all for face A."""

    def __init__(self, ledger: Ledger, between: Between | None) -> None:
        self._ledger, self._between = ledger, between

    def field(self, face: Face) -> Array:
        """The displacement over the blank, blank axes, shape (2, 3, X)."""
        field = self._ledger.zeros(2, 3)
        for (along, across, _), grain, draw in self._changes(face):
            c, s = np.cos(grain), np.sin(grain)
            xx, yy, xy = along * c * c + across * s * s, along * s * s + across * c * c, (along - across) * c * s
            field = field + np.array([[0.0, xx, xy], [0.0, xy, yy]])[..., None] * draw
        return field

    def moved(self, b: Point, face: Face) -> Array:
        """How far the point b of the blank has moved, blank axes, shape (2, X)."""
        return at(self.field(face), b)

    def through(self, face: Face) -> Array:
        """The strain through the thickness, shape (X,)."""
        strain = self._ledger.zeros()
        for (_, _, thickness), _, draw in self._changes(face):
            strain = strain + thickness * draw
        return strain

    def _changes(self, face: Face) -> list[tuple[tuple[float, float, float], float, Array]]:
        """Growth for each unit of a change, the direction of the grain, and the change itself (X,)."""
        if self._between is None or face == "A":
            return []
        found = []
        for name in MOVING:
            change, growth = getattr(self._between, name), self._between.growth(name)
            if change is not None and growth is not None:
                draw = self._ledger.take(name, "", change.spread, Life.BLANK, face)[0]
                found.append((growth, self._between.grain or 0.0, draw))
        return found
