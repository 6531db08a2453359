"""The chance that a normally distributed point of the plane lies within a circle about the origin, without simulation.

Rayleigh, Rice and Hoyt distributions are its special cases. Integrated over one principal axis; exact to about 1e-12.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.normal import gauss_legendre

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

#: Nodes of the quadrature, and how many standard deviations of the narrower axis it needs to reach.
_NODES, _REACH = 200, 10.0


def normal_in_circle(mean: Array, covariance: Array, radius: float) -> float:
    """P(|X| <= radius) for X normal in the plane.

    Parameters
    ----------
    mean: Its mean, shape (2,).
    covariance: Its covariance, positive semi-definite, shape (2, 2).
    radius: Radius of the circle, in the unit of `mean`.

    Raises
    ------
    ValueError: if the covariance has a negative eigenvalue (beyond rounding).
    """
    if radius <= 0.0:
        return 0.0
    variances, axes = np.linalg.eigh(covariance)
    if variances[0] < -max(1e-9 * abs(variances[1]), (1e-8 * radius) ** 2):
        raise ValueError("a covariance has no negative eigenvalue")
    (narrow, wide), (m_narrow, m_wide) = np.sqrt(np.maximum(variances, 0.0)), axes.T @ mean
    if wide == 0.0:
        return float(math.hypot(m_narrow, m_wide) <= radius)
    if narrow < 1e-9 * wide:
        half = math.sqrt(max(radius**2 - m_narrow**2, 0.0)) if abs(m_narrow) <= radius else -1.0
        return normal_between(-half, half, m_wide, wide) if half >= 0.0 else 0.0
    return _over_narrow_axis(radius, float(m_narrow), float(narrow), float(m_wide), float(wide))


def _over_narrow_axis(radius: float, m_narrow: float, narrow: float, m_wide: float, wide: float) -> float:
    """Integrate the chance of the chord along the wide axis over the narrow one.

    The place across is radius * sin t, which takes the root out of the ends of the chord.
    """
    low, high = (np.clip((m_narrow + sign * _REACH * narrow) / radius, -1.0, 1.0) for sign in (-1.0, 1.0))
    ends = math.asin(low), math.asin(high)
    nodes, weights = gauss_legendre(_NODES)
    t = 0.5 * (ends[1] - ends[0]) * nodes + 0.5 * (ends[1] + ends[0])
    across, half = radius * np.sin(t), radius * np.cos(t)
    density = np.exp(-0.5 * ((across - m_narrow) / narrow) ** 2) / (narrow * math.sqrt(2.0 * math.pi))
    chord = _below((half - m_wide) / wide) - _below((-half - m_wide) / wide)
    return float(0.5 * (ends[1] - ends[0]) * (weights * density * chord * half).sum())


def normal_between(low: float, high: float, mean: float, std: float) -> float:
    """P(low <= X <= high) for X normal on the line; a known value where `std` is 0."""
    if std == 0.0:
        return float(low <= mean <= high)
    above, below = _below(np.array([(high - mean) / std, (low - mean) / std]))
    return float(above - below)


def _below(z: Array) -> Array:
    """The standard normal distribution function; for a few hundred values, without loading scipy for them."""
    return np.array([0.5 * math.erfc(-value / math.sqrt(2.0)) for value in z])
