"""The rarer distributions of JCGM 101:2008, Table 1: what they state, and draws that follow them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from flipcheck.stack.monte_carlo.streams import BLOCK
from flipcheck.stack.rarer_spreads import CurvilinearTrapezoid, Exponential, Gamma, StudentT
from flipcheck.stack.spreads import Spread
from tests.stack.models import ERRORS_ALLOWED

DRAWS = 400_000


def trapezoid_cdf(half: float, inexact: float):
    """Share below x of a rectangle of half-width uniform in half ± inexact, averaged over that width by quadrature."""
    widths = half + inexact * np.polynomial.legendre.leggauss(400)[0]
    weights = np.polynomial.legendre.leggauss(400)[1] / 2.0
    return lambda x: np.clip((np.asarray(x)[..., None] / widths + 1.0) / 2.0, 0.0, 1.0) @ weights


# mean, standard deviation and distribution worked out from the definition; the rules are those of Table 1
SPREADS = {
    "t": (StudentT(0.3, 7.0, 1.5), 1.5, 0.3 * math.sqrt(7.0 / 5.0), stats.t(7.0, 1.5, 0.3).cdf, 5.0),
    "curvilinear trapezoid": (
        CurvilinearTrapezoid(0.4, 0.2),
        0.0,
        math.sqrt(0.8**2 / 12.0 + 0.2**2 / 9.0),
        trapezoid_cdf(0.4, 0.2),
        2.5,
    ),
    "exponential": (Exponential(2.5), 2.5, 2.5, stats.expon(scale=2.5).cdf, 9.0),
    "gamma": (Gamma(3), 4.0, 2.0, stats.gamma(4.0).cdf, 4.5),
}


def drawn(spread: Spread, count: int = DRAWS) -> np.ndarray:
    out = np.empty(count)
    spread.fill(np.random.default_rng(20_250_101), out)
    return out


@pytest.mark.parametrize("name", SPREADS)
def test_mean_and_standard_deviation_as_stated_and_as_drawn(name: str):
    """Each states the mean and standard deviation of its distribution, and its draws have them."""
    spread, mean, std, _, kurtosis = SPREADS[name]
    draws = drawn(spread)

    assert mean == spread.mean
    assert std == pytest.approx(spread.std, rel=1e-14)
    assert mean == pytest.approx(draws.mean(), abs=ERRORS_ALLOWED * std / math.sqrt(DRAWS))
    assert std == pytest.approx(draws.std(), abs=ERRORS_ALLOWED * std * math.sqrt((kurtosis - 1.0) / (4.0 * DRAWS)))


@pytest.mark.parametrize("name", SPREADS)
def test_draws_have_the_shape(name: str):
    """The draws pass a Kolmogorov-Smirnov test against the distribution (once in 10^4 seeds a true one would not)."""
    spread, _, _, cdf, _ = SPREADS[name]

    assert stats.kstest(drawn(spread, 50_000), cdf).pvalue > 1e-4


@pytest.mark.parametrize(
    ("spread", "beyond"),
    [
        (StudentT(0.3, 7.0, 1.5), lambda reach: 2.0 * stats.t.sf(reach / 0.3, 7.0)),
        (Exponential(2.5), lambda reach: stats.expon.sf((2.5 + reach) / 2.5)),
        (Gamma(3), lambda reach: stats.gamma.sf(4.0 + reach, 4.0)),
    ],
)
def test_reach_is_passed_once_in_ten_thousand_million_draws(spread: Spread, beyond):
    """What has no end reaches as far as one draw in 10^10 passes, and counts three standard deviations as its worst."""
    assert pytest.approx(beyond(spread.reach), rel=1e-6) == 1e-10
    assert 3.0 * spread.std == pytest.approx(spread.bound, rel=1e-15)


def test_a_doubtful_limit_is_never_passed_by_more_than_its_doubt():
    """A curvilinear trapezoid ends at the widest that its limits can be, and comes near."""
    spread = CurvilinearTrapezoid(0.4, 0.2, 1.0)
    draws = drawn(spread)

    assert pytest.approx(spread.bound, rel=1e-15) == 0.6
    assert spread.bound == spread.reach
    assert 0.59 < np.abs(draws - 1.0).max() <= 0.6 + 1e-12


def test_exponential_and_gamma_are_never_negative():
    """A size and a mean count have no negative draws."""
    assert drawn(Exponential(2.5)).min() >= 0.0
    assert drawn(Gamma(0)).min() >= 0.0


def test_few_degrees_of_freedom_have_no_standard_deviation():
    """Up to 2 degrees of freedom the standard deviation of a t distribution is infinite."""
    assert math.isinf(StudentT(1.0, 2.0).std)
    assert pytest.approx(StudentT(1.0, 2.5).std) == math.sqrt(5.0)


def test_readings_become_a_t_distribution():
    """2, 4 and 9: mean 5, s^2 = (9 + 1 + 16) / 2 = 13, scale sqrt(13 / 3), 2 degrees of freedom."""
    spread = StudentT.of_readings([2.0, 4.0, 9.0])

    assert spread.mean == 5.0
    assert math.sqrt(13.0 / 3.0) == pytest.approx(spread.scale, rel=1e-15)
    assert spread.dof == 2.0


def test_a_scatter_needs_two_readings():
    """One reading tells nothing of its scatter."""
    with pytest.raises(ValueError, match="a scatter needs two readings or more, not 1"):
        StudentT.of_readings([2.0])


@pytest.mark.parametrize("name", SPREADS)
def test_a_stream_means_the_same_numbers(name: str):
    """Two fills from one seed are alike, and fill the array they are given."""
    spread = SPREADS[name][0]
    first, second = drawn(spread, BLOCK), drawn(spread, BLOCK)

    assert np.array_equal(first, second)
    assert np.isfinite(first).all()
