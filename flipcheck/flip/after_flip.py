"""What the turn does to an error: cancels, counts once, doubles, or is drawn anew on each face."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.sources import Life

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


class AfterFlip(StrEnum):
    """What becomes of an error when the part is turned over."""

    CANCELS = "cancels"
    ONCE = "once"
    DOUBLES = "doubles"
    INDEPENDENT = "independent"


#: Halfway, in variance, between nothing and once (1/2 in size), and between once and double (3/2 in size).
_CANCELLED, _DOUBLED = 0.25, 2.25


def after_flip(life: Life, face_a: Array, face_b: Array) -> AfterFlip:
    """Judge an error by what it does by way of either face.

    Parameters
    ----------
    life: How long its draws last.
    face_a, face_b: Effects of one standard deviation of each of its rows by way of face A (as it enters D = e_B - e_A)
        and of face B, mm, shape (2, rows) for x and y, or (1, rows) for a height.
    """
    by_a, by_b = float(np.square(face_a).sum()), float(np.square(face_b).sum())
    larger = max(by_a, by_b)
    if min(by_a, by_b) <= 1e-12 * larger:
        return AfterFlip.ONCE
    shared = bool((np.abs(face_a).max(axis=0) * np.abs(face_b).max(axis=0)).max() > 1e-12 * larger)
    if life in (Life.SETUP, Life.CUT) or not shared:
        return AfterFlip.INDEPENDENT
    both = float(np.square(face_a + face_b).sum()) / larger
    if both <= _CANCELLED:
        return AfterFlip.CANCELS
    return AfterFlip.DOUBLES if both >= _DOUBLED else AfterFlip.ONCE
