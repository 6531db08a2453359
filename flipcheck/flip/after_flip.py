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


#: What is left of the larger face's effect below this share counts as cancelled; above the other, as doubled (where a
#: word ends is our choice; the numbers stand beside it).
_CANCELLED, _DOUBLED = 0.1, 1.5
#: A smaller share of the larger effect is rounding.
_NOTHING = 1e-6


def after_flip(life: Life, face_a: Array, face_b: Array) -> AfterFlip:
    """Judge an error by what it does by way of either face.

    Parameters
    ----------
    life: How long its draws last.
    face_a, face_b: Effects of one standard deviation of each of its rows by way of face A (as it enters D = e_B - e_A)
        and of face B, mm, shape (2, rows) for x and y, or (1, rows) for a height.
    """
    by_a, by_b, left = (float(np.linalg.norm(effect)) for effect in (face_a, face_b, face_a + face_b))
    larger = max(by_a, by_b)
    if min(by_a, by_b) <= _NOTHING * larger:
        return AfterFlip.ONCE
    shared = bool((np.abs(face_a).max(axis=0) * np.abs(face_b).max(axis=0)).max() > (_NOTHING * larger) ** 2)
    if life in (Life.SETUP, Life.CUT) or not shared:
        return AfterFlip.INDEPENDENT
    if left <= _CANCELLED * larger:
        return AfterFlip.CANCELS
    # judged the way it is left most: what doubles across the flip line may cancel along it
    most = np.linalg.svd(face_a + face_b)[0][:, 0]
    along_a, along_b, along = (float(np.linalg.norm(most @ effect)) for effect in (face_a, face_b, face_a + face_b))
    return AfterFlip.DOUBLES if along >= _DOUBLED * max(along_a, along_b) else AfterFlip.ONCE
