"""The normal distribution, against scipy's."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import special

from flipcheck.stack import normal


def test_inverse():
    """The deviate is that of scipy to the last digits, in the middle and in both tails."""
    shares = np.concatenate([np.logspace(-10.5, -1, 500), np.linspace(0.1, 0.9, 801), 1.0 - np.logspace(-1, -10, 500)])

    np.testing.assert_allclose(normal.inverse(shares), special.ndtri(shares), rtol=0.0, atol=1e-13)


@pytest.mark.parametrize(("share", "deviate"), [(0.25, -0.6744897501960817), (1e-3, -3.090232306167814)])
def test_inverse_as_published(share: float, deviate: float):
    """The test values of M. J. Wichura, Applied Statistics 37 (1988) 477-484 (from memory)."""
    assert deviate == pytest.approx(normal.inverse(np.array([share]))[0], abs=1e-14)


def test_inverse_of_the_impossible():
    """Nothing and everything are far away, but not infinitely far."""
    low, high = normal.inverse(np.array([0.0, 1.0]))

    assert special.ndtri(normal.LEAST) == pytest.approx(low, abs=1e-9)
    assert -low == pytest.approx(high, abs=1e-5)  # 1 - LEAST has lost digits


def test_cdf():
    """The table is as good as it says, also beyond its ends."""
    x = np.linspace(-12.0, 12.0, 100_001)

    assert np.abs(normal.cdf(x) - special.ndtr(x)).max() < 5.5e-7


def test_density():
    """The density integrates to the distribution function."""
    x = np.linspace(-9.0, 1.0, 20_001)

    assert special.ndtr(1.0) == pytest.approx(float(np.trapezoid(normal.density(x), x)), abs=1e-8)


def test_gauss_legendre():
    """The rule is exact for polynomials of degree 2n - 1."""
    nodes, weights = normal.gauss_legendre(5)

    assert 2.0 / 9.0 == pytest.approx(float(weights @ nodes**8), abs=1e-14)
