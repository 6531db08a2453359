"""Distances with normal scatter of their own, against scipy's non-central chi-square distribution."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import special

from flipcheck.stack.normal import FAR
from flipcheck.stack.quasi_monte_carlo import rice

RADII = [0.05, 0.5, 2.0, 5.0, 10.0, 50.0, 300.0, 1e4]


def reference(rho: float, gap: np.ndarray) -> np.ndarray:
    return special.chndtr(rho**2, 2, (rho - gap) ** 2)


@pytest.mark.parametrize("rho", RADII)
def test_within(rho: float):
    """The integral, and the table made of it, agree with scipy for radii from tiny to huge."""
    gap = np.linspace(-FAR, min(rho, FAR), 301)

    assert np.abs(rice.within(rho, gap) - reference(rho, gap)).max() < 2e-6
    assert np.abs(rice.table(rho)(gap) - reference(rho, gap)).max() < 2.5e-6


def test_within_at_the_centre():
    """At the centre the distance has the Rayleigh distribution."""
    for rho in (0.3, 1.0, 3.0):
        assert 1.0 - math.exp(-0.5 * rho**2) == pytest.approx(rice.within(rho, np.array([rho]))[0], abs=5e-7)


def test_no_circle():
    """Nothing is within a circle without a radius."""
    assert [0.0, 0.0] == rice.within(0.0, np.array([-1.0, 0.0])).tolist()
    assert [0.0] == rice.within(-1.0, np.array([-2.0])).tolist()


@pytest.mark.parametrize(
    ("least", "most", "off"), [(4.0, 9.0, 5e-5), (0.5, 3.0, 5e-4), (-2.0, 6.0, 1e-3), (20.0, 60.0, 2e-5)]
)
def test_fan(least: float, most: float, off: float):
    """An uncertain radius: straight lines between the radii of a fan are good unless the radius may vanish."""
    rng = np.random.default_rng(1)
    radius = rng.uniform(max(least, 0.05), most, 4000)
    offset = rng.uniform(0.0, most + 4.0, 4000)
    expected = special.chndtr(radius**2, 2, offset**2)

    assert np.abs(rice.fan(least, most)(radius - offset, radius) - expected).max() < off


def test_fan_without_a_circle():
    """A radius that has shrunk to nothing lets nothing pass."""
    assert [0.0, 0.0] == rice.fan(-1.0, 2.0)(np.array([-1.0, -2.0]), np.array([0.0, -0.5])).tolist()


def test_mean():
    """The mean distance is that of the closed form with Bessel functions, near and far."""
    offset = np.linspace(0.0, 40.0, 401)
    half = offset**2 / 4.0
    closed = math.sqrt(math.pi / 2.0) * ((1.0 + 2.0 * half) * special.i0e(half) + 2.0 * half * special.i1e(half))

    np.testing.assert_allclose(rice.mean(offset), closed, rtol=0.0, atol=2e-6)
