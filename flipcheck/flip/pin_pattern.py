"""Registering on three or more dowel pins: one inequality a hole, counted from the least-squares fit of them all."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.frames import per_radian
from flipcheck.stack.contact.many_pins import ManyPins

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from flipcheck.flip.frames import Face, Point
    from flipcheck.flip.ledger import Ledger

    Array = NDArray[np.float64]


def pose_on_pattern(
    ledger: Ledger, face: Face, points: Sequence[Point], strays: Array, clearance: Array, nominal: float
) -> tuple[Array, Array]:
    """Shift (2, X) and turn (X,) of a blank on n pins with nothing to push it.

    Parameters
    ----------
    ledger, face: Where the draw of the pose is taken, and for which setup.
    points: Middles of the pins on the machine, mm.
    strays: How far each hole lies from its pin before the blank is moved, machine axes, shape (n, 2, X).
    clearance: Errors of the radial clearances, shape (n, X).
    nominal: The radial clearance without errors, mm.
    """
    count = len(points)
    middle = np.mean(points, axis=0)
    spokes = np.array([per_radian(point - middle) for point in np.asarray(points)])
    reach = float(np.sqrt(np.square(spokes).sum() / count))
    arms = spokes / reach
    # with arms counted from the middle, shift and turn of the fit are plain means
    fitted, turned = strays.mean(axis=0), np.einsum("ij,ijx->x", arms, strays) / count
    misfits = strays - fitted - arms[:, :, None] * turned
    forms = np.concatenate([misfits.reshape(2 * count, -1), clearance])
    offsets = np.repeat([0.0, nominal], [2 * count, count])
    play = ledger.rest("pin_clearance", face, forms, lambda key, forms: ManyPins(key, forms, offsets, arms))
    turn = (play[2] - turned) / reach
    shift = play[:2] - fitted - np.outer(per_radian(middle), turn)
    return shift, turn
