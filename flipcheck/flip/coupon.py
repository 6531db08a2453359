"""What a measured coupon tells that can be typed in: the shift and the turn that fit its misalignments best.

A coupon is a part cut like all others, with every aligned pair (not a web) measured in x and y; of an outline all its
corners. Least squares, each pair with the same weight.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.frames import Point, per_radian
from flipcheck.job.records import OutlinePair

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.flip.model import FlipModel
    from flipcheck.flip.targets import Target

    Array = NDArray[np.float64]

#: Measured places nearer to their middle than this (mm, root mean square) tell no turn.
_ONE_PLACE = 0.5


def readings(model: FlipModel) -> Array:
    """The rigid field of misalignment, shift and turn, that is read from one coupon.

    Returns
    -------
    Coefficients over the 6 components of the field of misalignment (those of `frames`: for x, then y, a constant, a
    slope along x and a slope along y) and over what each output has to itself, shape (6, 6 + M).
    """
    outputs = len(model.linear.centre)
    places = _places(model.targets)
    weights = np.array([weight for _, weight, _ in places])
    if not places:
        return np.zeros((6, 6 + outputs))
    points = np.array([point for point, _, _ in places])
    middle = weights @ points
    arms = points - middle
    square = float(weights @ np.square(arms).sum(axis=1))
    seen = [_seen(point, target, outputs) for point, _, target in places]
    shift = np.tensordot(weights, seen, 1)
    turn = np.zeros(6 + outputs)
    if square > _ONE_PLACE**2:
        turn = sum(w * per_radian(a) @ s for w, a, s in zip(weights, arms, seen, strict=True)) / square
    x, y = shift - np.outer(per_radian(middle), turn)
    return np.array([x, 0.0 * turn, -turn, y, turn, 0.0 * turn])


def _places(targets: tuple[Target, ...]) -> list[tuple[Point, float, Target]]:
    """Where a coupon is measured, with what weight, and for which pair; the weights add to 1."""
    aligned = [target for target in targets if target.at is not None]
    places: list[tuple[Point, float, Target]] = []
    for target in aligned:
        points = target.pair.points if isinstance(target.pair, OutlinePair) else (target.at,)
        places += [(point, 1.0 / (len(aligned) * len(points)), target) for point in points if point is not None]
    return places


def _seen(point: Point, target: Target, outputs: int) -> Array:
    """The misalignment of a pair at a point: the field there, and the scatter of the pair's own cuts; (2, 6 + M)."""
    seen = np.zeros((2, 6 + outputs))
    for axis, row in enumerate((target.x, target.y)):
        assert row is not None
        seen[axis, 3 * axis : 3 * axis + 3] = 1.0, *point
        seen[axis, 6 + row] = 1.0
    return seen
