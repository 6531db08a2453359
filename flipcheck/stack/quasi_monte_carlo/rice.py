"""A distance with normal scatter of its own: the Rice distribution, the non-central chi distribution of two degrees.

A point lies at a distance m from a centre and is scattered about its place with the standard deviation s along each
axis. Everything is in units of s here: rho for a radius, m for the offset. Source of the integrals: derived here from
the definition; scipy's non-central chi-square distribution agrees (tests/stack/test_rice.py).
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.normal import FAR, Table, cdf, density, gauss_legendre, grid

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

#: Most radii in a `Fan`, the step in 1 / (1 + radius) that is small enough, and gaps.
_RADII, _STEP, _GAPS = 65, 0.0015, 1025
#: Nodes along the chord, and around the circle.
_CHORD, _AROUND = 40, 48
#: Offsets up to which the mean distance is worked out; beyond it the series in 1/m is good to 1e-7.
_NEAR = 12.0


def within(rho: float, gap: Array) -> Array:
    """The chance that a point scattered about a place `gap` inside the rim (negative: outside) is within the circle.

    With x along the line from the centre to the point, the chance is the integral over x of the normal density at
    x - m times the chance that the other axis stays within the chord at x. Written in the angle at the centre it is
    smooth up to the rim.

    Parameters
    ----------
    rho: Radius of the circle, in standard deviations.
    gap: Radius minus offset, at most rho, in standard deviations, shape (N,).
    """
    if rho <= 0.0:
        return np.zeros_like(gap)
    nodes, weights = gauss_legendre(_CHORD)
    # from the near rim inwards, as far as anything within FAR of the rim can be scattered
    end = 2.0 * np.arcsin(np.sqrt(min(1.0, FAR / rho)))
    angle = 0.5 * end * (nodes + 1.0)
    chord = rho * np.sin(angle)
    inside = (2.0 * cdf(chord) - 1.0) * chord * (0.5 * end * weights)
    depth = 2.0 * rho * np.sin(0.5 * angle) ** 2
    near = np.minimum(gap, FAR)
    return np.clip(density(near[:, None] - depth) @ inside, 0.0, 1.0)


@lru_cache(maxsize=64)
def table(rho: float) -> Table:
    """`within` for one radius as a table over the gap."""
    steps = grid()
    return Table(within(rho, np.minimum(steps, rho)))


class Fan:
    """`within` for every radius from `least` to `most`, by straight lines in the gap and in 1 / (1 + radius)."""

    def __init__(self, least: float, most: float) -> None:
        least, most = max(least, 0.0), max(most, 0.0)
        self._first, last = 1.0 / (1.0 + most), 1.0 / (1.0 + least)
        self._count = min(_RADII, 2 + int((last - self._first) / _STEP))
        self._rows_per = (self._count - 1) / (last - self._first) if last > self._first else 0.0
        gaps = np.linspace(-FAR, FAR, _GAPS)
        radii = 1.0 / np.linspace(self._first, last, self._count) - 1.0
        # beyond the centre the offset comes back from the other side, so that the lines stay straight up to it
        self._values = np.array([within(rho, np.minimum(gaps, 2.0 * rho - gaps)) for rho in radii])

    def __call__(self, gap: Array, radius: Array) -> Array:
        """The chance for each gap and radius, shape (N,); none for a radius of 0 or less."""
        places = (1.0 / (1.0 + np.maximum(radius, 0.0)) - self._first) * self._rows_per
        row, along = _place(places, self._count)
        column, aside = _place((gap + FAR) * ((_GAPS - 1) / (2.0 * FAR)), _GAPS)
        corners = self._values.ravel()
        at = row * _GAPS + column
        chance = (1.0 - along) * ((1.0 - aside) * corners[at] + aside * corners[at + 1])
        at += _GAPS
        chance += along * ((1.0 - aside) * corners[at] + aside * corners[at + 1])
        chance *= radius > 0.0
        return chance


def _place(places: Array, count: int) -> tuple[NDArray[np.intp], Array]:
    """The step of a table of `count` values that each place falls into, and how far along that step it is."""
    places = np.clip(places, 0.0, count - 1.0)
    step = np.minimum(places.astype(np.intp), count - 2)
    places -= step
    return step, places


@lru_cache(maxsize=64)
def fan(least: float, most: float) -> Fan:
    """A `Fan` that several measures share."""
    return Fan(least, most)


def mean(offset: Array) -> Array:
    """Mean distance of a point scattered about a place at each offset, all in standard deviations, shape (N,).

    A length is pi / 2 times the mean over all directions of the absolute value of its shadow, and the shadow is normal.
    """
    angles = (np.arange(_AROUND) + 0.5) * (np.pi / _AROUND)
    shadow = np.minimum(offset, _NEAR)[:, None] * np.cos(angles)
    folded = shadow * (2.0 * cdf(shadow) - 1.0) + 2.0 * density(shadow)
    far = np.maximum(offset, _NEAR)
    series = far + 0.5 / far + 0.125 / far**3
    return np.where(offset < _NEAR, 0.5 * np.pi * folded.mean(axis=1), series)
