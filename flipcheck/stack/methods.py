"""The classic ways to add up tolerances (arithmetic, root of squares, inflated, with shifted means), and to allot them.

Each is written once, for half-widths h_i = |a_i| T_i of the terms towards a direction. In a chain there is one; in the
plane the result is the largest over all directions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.errors import StackError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    #: Half-widths of the terms in each direction, shape (D, S), to what they add up to, shape (D,).
    Adding = Callable[[Array], Array]


@dataclass(frozen=True)
class Limits:
    """Where a stack ends up by one of the classic methods.

    Attributes
    ----------
    nominal: Its value with every term at its mean; in the plane the length of that.
    low, high: The ends; in the plane of the length, which is never negative.
    """

    nominal: float
    low: float
    high: float

    @property
    def tolerance(self) -> float:
        """How far the upper end lies above the nominal; in a chain the lower end lies as far below."""
        return self.high - self.nominal


@dataclass(frozen=True)
class Allocation:
    """Tolerances scaled to meet a target.

    Attributes
    ----------
    factor: What the free tolerances are multiplied by.
    tolerances: Tolerance T of every term, fixed ones included.
    """

    factor: float
    tolerances: Mapping[str, float]


def arithmetic(h: Array) -> Array:
    """Every term at its bound, all in the worst sense: sum of h_i."""
    return h.sum(axis=-1)


def root_of_squares(h: Array) -> Array:
    """Root of the sum of h_i^2."""
    return np.sqrt(np.square(h).sum(axis=-1))


def inflated(factors: Array) -> Adding:
    """Root of the sum of (c_i h_i)^2.

    Source: F. Scholz, ISSTECH-95-030 (1995), as restated in public notes; c_i = 3 sigma_i / T_i.
    """
    return lambda h: root_of_squares(factors * h)


def shifted(shares: Array, factors: Array) -> Adding:
    """Sum of eta_i h_i plus root of the sum of ((1 - eta_i) c_i h_i)^2: a share eta of a tolerance is a shifted mean.

    Source: as for `inflated`.
    """
    return lambda h: arithmetic(shares * h) + root_of_squares((1.0 - shares) * factors * h)


def limits(adding: Adding, middles: Array, widths: Array, nominal: float, *, plane: bool) -> Limits:
    """The ends by one method.

    Parameters
    ----------
    adding: The method.
    middles: Mean of the stack towards each direction, shape (D,).
    widths: Half-width of each term towards each direction, shape (D, S).
    nominal: Mean of the stack; in the plane its length.
    plane: Whether the directions go round the plane; otherwise there is one.
    """
    halves = adding(widths)
    if not plane:
        return Limits(nominal, nominal - float(halves[0]), nominal + float(halves[0]))
    # a convex set lies as far from the origin as the best line between them, and reaches as far as its support
    nearest = max(float(np.max(middles - halves)), 0.0)
    return Limits(nominal, nearest, float(np.max(middles + halves)))


def allocate(
    target: float, tolerances: Mapping[str, float], coefficients: Mapping[str, float], fixed: set[str], *, rss: bool
) -> Allocation:
    """Scale the free tolerances by one factor, so that all together just meet the target.

    Source: K. W. Chase, ADCATS 99-6 (1999), proportional scaling (from memory). Arithmetic: (target - sum of the fixed
    |a| T) / (sum of the free ones); by root of squares: the root of that quotient of squares.

    Raises
    ------
    StackError: if the fixed ones alone pass the target, or nothing is free.
    """
    power = 2 if rss else 1
    parts = {name: (abs(coefficients[name]) * t) ** power for name, t in tolerances.items()}
    held = math.fsum(part for name, part in parts.items() if name in fixed)
    free = math.fsum(part for name, part in parts.items() if name not in fixed)
    left = target**power - held
    if not free:
        raise StackError("a term with a tolerance that is free to be scaled", "none")
    if not (target > 0.0 and left > 0.0):
        raise StackError(f"a target above {held ** (1.0 / power):.6g}, which the fixed terms use up", f"{target:g}")
    factor = (left / free) ** (1.0 / power)
    return Allocation(factor, {name: t if name in fixed else factor * t for name, t in tolerances.items()})
