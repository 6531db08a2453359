"""Turns and frames: where a point of the blank lies on the machine, and the algebra of small rigid motions.

The blank frame has its origin at the front-left corner with face A up, x to the right, y to the back. The machine frame
has the same origin, at the nominal place of the blank on the bed, in both setups. A point of the blank is called b, a
point of the machine m; k is the unit vector upwards, so that k x m = (-m_y, m_x).

Shapes: whatever is linear in the errors carries them on its last axis X. A *field* is a displacement that varies over
the blank in straight lines; its shape is (2, 3, X): for x and y a constant, a slope along x and a slope along y.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.job.records import Blank, Side

    Array = NDArray[np.float64]

Face: TypeAlias = Literal["A", "B"]
Point: TypeAlias = tuple[float, float]

#: Outward normals of the sides of a blank, or of the machine.
NORMALS: dict[Side, Point] = {"front": (0.0, -1.0), "back": (0.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}

#: The side across the blank, or the machine, from each.
OPPOSITE: dict[Side, Side] = {"front": "back", "back": "front", "left": "right", "right": "left"}
#: Number of the axis along which a side runs: 0 for x, 1 for y.
ALONG: dict[Side, int] = {"front": 0, "back": 0, "left": 1, "right": 1}

FACES: tuple[Face, Face] = ("A", "B")

_TURNS = {
    "left-right": [[-1.0, 0.0], [0.0, 1.0]],
    "front-back": [[1.0, 0.0], [0.0, -1.0]],
    "diagonal": [[0.0, 1.0], [1.0, 0.0]],
}


@dataclass(frozen=True, eq=False)
class Placing:
    """How the blank lies on the machine in one setup: m = matrix @ b + offset.

    Attributes
    ----------
    face: The face that is cut.
    matrix: A mirror or a swap of the axes, its own inverse, shape (2, 2).
    offset: Where the blank's origin comes to lie, mm, shape (2,).
    size: Width and depth of the blank as it lies on the machine, mm.
    """

    face: Face
    matrix: Array
    offset: Array
    size: Point

    def to_machine(self, b: Point) -> Point:
        """The machine point of a point of the blank."""
        x, y = self.matrix @ b + self.offset
        return float(x), float(y)

    def to_blank(self, m: Point) -> Point:
        """The point of the blank at a machine point."""
        x, y = self.matrix @ (np.asarray(m) - self.offset)
        return float(x), float(y)

    def edge_at(self, side: Side) -> Side:
        """The physical edge (named as with face A up) that lies at a machine side; or the other way about."""
        x, y = self.matrix @ NORMALS[side]
        return next(name for name, normal in NORMALS.items() if normal == (x, y))

    def on_side(self, side: Side, along: float) -> Point:
        """The machine point on a side of the blank, `along` mm from the machine's axis."""
        across = self.inward(side, 0.0)
        return (along, across) if ALONG[side] == 0 else (across, along)

    def middle_of(self, side: Side) -> Point:
        """The machine point in the middle of a side of the blank."""
        return self.on_side(side, 0.5 * self.size[ALONG[side]])

    def inward(self, side: Side, distance: float) -> float:
        """The machine coordinate, x or y, of what lies `distance` mm inward from a side of the blank."""
        return distance if side in ("front", "left") else self.size[1 - ALONG[side]] - distance

    def field_to_blank(self, field: Array) -> Array:
        """A field over the machine, in machine axes, as one over the blank, in blank axes; shape (2, 3, X) both."""
        turned = np.einsum("ij,jcx->icx", self.matrix, field)
        constant = turned[:, 0] + np.einsum("icx,c->ix", turned[:, 1:], self.offset)
        slopes = np.einsum("icx,cd->idx", turned[:, 1:], self.matrix)
        return np.concatenate([constant[:, None], slopes], axis=1)


def placing(flip: str, blank: Blank, face: Face) -> Placing:
    """How the blank lies when `face` is cut and the turn between the faces is `flip`."""
    length, width = blank.length, blank.width
    if face == "A":
        return Placing(face, np.eye(2), np.zeros(2), (length, width))
    matrix = np.array(_TURNS[flip])
    offset = {"left-right": (length, 0.0), "front-back": (0.0, width), "diagonal": (0.0, 0.0)}[flip]
    size = (width, length) if flip == "diagonal" else (length, width)
    return Placing(face, matrix, np.array(offset), size)


def per_radian(m: Point | Array) -> Array:
    """k x m: how a point moves, for each radian, when everything turns about the origin."""
    return np.array([-m[1], m[0]])


def rigid(shift: Array, turn: Array) -> Array:
    """The field of a rigid motion: shift (2, X) plus turn (X,) about the origin; shape (2, 3, X)."""
    nothing = np.zeros_like(turn)
    return np.array([[shift[0], nothing, -turn], [shift[1], turn, nothing]])


def at(field: Array, point: Point | Array) -> Array:
    """The value of a field at a point, shape (2, X)."""
    return field[:, 0] + field[:, 1] * point[0] + field[:, 2] * point[1]
