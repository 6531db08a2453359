"""Cosine and sine of many angles at once, by one tangent: numpy's cosine and sine together cost several times more."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


def cos_sin(turns: Array, cosine: Array, sine: Array) -> None:
    """Fill `cosine` and `sine` with those of each number of full turns, all of shape (N,), to a few units in 10^16.

    With t the tangent of half the angle they are 2 / (1 + t^2) - 1 and 2 t / (1 + t^2).
    """
    half = np.tan(math.pi * turns)
    np.multiply(half, half, out=sine)
    sine += 1.0
    np.divide(2.0, sine, out=cosine)
    np.multiply(half, cosine, out=sine)
    cosine -= 1.0
