"""The closed set of distributions: standard deviation, bounds, and draws that follow them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from flipcheck.stack.sources import Life, Source
from flipcheck.stack.spreads import Arcsine, Circle, Exactly, Normal, Spread, Trapezoid, Triangular, Uniform
from tests.stack.models import ERRORS_ALLOWED

DRAWS = 400_000
LOW, HIGH = 0.7, 1.3
HALF, MIDDLE = 0.3, 1.0
TOP = 0.4

# standard deviations of JCGM 101:2008, Table 1, for limits a and b: rectangular and arcsine seen in public guides, the
# others from memory
SPREADS = {
    "normal": (Normal(0.2, MIDDLE), 0.2, stats.norm(MIDDLE, 0.2)),
    "rectangular": (Uniform(HALF, MIDDLE), (HIGH - LOW) / math.sqrt(12.0), stats.uniform(LOW, HIGH - LOW)),
    "triangular": (Triangular(HALF, MIDDLE), (HIGH - LOW) / math.sqrt(24.0), stats.triang(0.5, LOW, HIGH - LOW)),
    "arcsine": (Arcsine(HALF, MIDDLE), (HIGH - LOW) / math.sqrt(8.0), stats.arcsine(LOW, HIGH - LOW)),
    "trapezoid": (
        Trapezoid(HALF, MIDDLE, TOP),
        (HIGH - LOW) * math.sqrt((1.0 + TOP**2) / 24.0),
        stats.trapezoid((1.0 - TOP) / 2.0, (1.0 + TOP) / 2.0, LOW, HIGH - LOW),
    ),
}
BOUNDED = [name for name in SPREADS if name != "normal"]


def drawn(spread: Spread, count: int = DRAWS) -> np.ndarray:
    out = np.empty(count)
    spread.fill(np.random.default_rng(20_250_101), out)
    return out


@pytest.mark.parametrize("name", SPREADS)
def test_standard_deviation_is_that_of_the_table(name: str):
    """Each spread states the standard deviation that JCGM 101:2008, Table 1, gives for it."""
    spread, expected, _ = SPREADS[name]

    assert expected == pytest.approx(spread.std, rel=1e-14)
    assert spread.mean == MIDDLE


@pytest.mark.parametrize("name", SPREADS)
def test_draws_have_the_mean_and_standard_deviation(name: str):
    """Mean and standard deviation of the draws agree with the table within their standard errors."""
    spread, std, law = SPREADS[name]
    draws = drawn(spread)
    of_std = std * math.sqrt((float(law.stats("k")) + 2.0) / (4.0 * DRAWS))

    assert pytest.approx(draws.mean(), abs=ERRORS_ALLOWED * std / math.sqrt(DRAWS)) == MIDDLE
    assert pytest.approx(draws.std(), abs=ERRORS_ALLOWED * of_std) == std


@pytest.mark.parametrize("name", SPREADS)
def test_draws_have_the_shape(name: str):
    """The draws pass a Kolmogorov-Smirnov test against the distribution (once in 10^4 seeds a true one would not)."""
    spread, _, law = SPREADS[name]

    assert stats.kstest(drawn(spread), law.cdf).pvalue > 1e-4


@pytest.mark.parametrize("name", BOUNDED)
def test_no_draw_passes_the_limits(name: str):
    """Limited spreads reach their limits, as far as their tails allow, and never pass them."""
    spread, _, law = SPREADS[name]
    draws = drawn(spread)
    seldom = 1e-8  # the chance that no draw comes beyond the quantile asked for is exp(-DRAWS * share)
    share = -math.log(seldom) / DRAWS

    assert LOW - 1e-12 <= draws.min() <= law.ppf(share)
    assert law.ppf(1.0 - share) <= draws.max() <= HIGH + 1e-12
    assert HALF == spread.bound == spread.reach


def test_a_normal_counts_three_standard_deviations_as_its_worst():
    """Three standard deviations stand for the worst case of a normal error (common practice, no source)."""
    assert pytest.approx(Normal(0.2).bound) == 0.6


def test_a_normal_takes_the_limit_that_was_given():
    """A user who says what counts as the worst case is believed."""
    spread = Normal(0.2, limit=0.5)

    assert spread.bound == 0.5
    assert spread.std == 0.2


def test_reach_of_a_normal_is_passed_less_than_once_in_ten_thousand_million_draws():
    """The reach of a normal error is as far out as its description says."""
    assert stats.norm.sf(Normal(1.0).reach) * 2.0 < 1e-10
    assert Normal(2.0).reach == 2.0 * Normal(1.0).reach


def test_a_trapezoid_lies_between_triangle_and_rectangle():
    """Without a flat top a trapezoid is a triangle, with all of it flat a rectangle."""
    assert pytest.approx(Trapezoid(0.3, top=0.0).std) == Triangular(0.3).std
    assert pytest.approx(Trapezoid(0.3, top=1.0).std) == Uniform(0.3).std


def circle(radius: float = 0.02) -> np.ndarray:
    out = np.empty((2, DRAWS))
    Circle(radius).fill_xy(np.random.default_rng(3), out)
    return out


def test_circle_is_always_at_its_radius():
    """A runout of unknown phase is never nearer to the axis, or farther, than the eccentricity."""
    assert np.abs(np.hypot(*circle()) - 0.02).max() < 1e-15


def test_circle_takes_one_phase_for_both_axes_and_every_phase_alike():
    """The phase behind the two axes is one, and uniform."""
    x, y = circle()

    assert stats.kstest(np.arctan2(y, x), stats.uniform(-math.pi, 2.0 * math.pi).cdf).pvalue > 1e-4


@pytest.mark.parametrize("axis", [0, 1])
def test_circle_seen_along_one_axis_is_arcsine(axis: int):
    """Along one axis a circle of radius e is arcsine with standard deviation e / sqrt 2 (the fourth moment is 3/8)."""
    shadow = circle()[axis]
    std = 0.02 / math.sqrt(2.0)
    of_std = std * math.sqrt((1.5 - 1.0) / (4.0 * DRAWS))

    assert stats.kstest(shadow, stats.arcsine(-0.02, 0.04).cdf).pvalue > 1e-4
    assert pytest.approx(shadow.std(), abs=ERRORS_ALLOWED * of_std) == std
    assert pytest.approx(Circle(0.02).std, rel=1e-14) == std


def test_circle_axes_are_uncorrelated_though_not_independent():
    """The product of both axes averages nothing, the product of their squares e^4 / 8 and not e^4 / 4."""
    x, y = circle(1.0)

    assert pytest.approx((x * y).mean(), abs=ERRORS_ALLOWED * math.sqrt(0.125 / DRAWS)) == 0.0
    assert pytest.approx((x * x * y * y).mean(), abs=ERRORS_ALLOWED * math.sqrt(1.0 / 128.0 / DRAWS)) == 0.125


def test_circle_states_its_mean_and_bounds():
    """No mean, and the radius as bound and reach."""
    spread = Circle(0.02)

    assert spread.mean == 0.0
    assert spread.bound == spread.reach == 0.02


def test_a_source_of_two_rows_draws_each_axis_anew():
    """An error per axis is two independent draws of one stream."""
    out = np.empty((2, DRAWS))
    source = Source("positioning", "pair seat, setup A", Normal(1.0), Life.CUT, rows=2)
    source.fill(np.random.default_rng(5), out)

    assert pytest.approx(np.corrcoef(out)[0, 1], abs=ERRORS_ALLOWED / math.sqrt(DRAWS)) == 0.0
    assert source.key == "positioning/pair seat, setup A"


def test_a_source_on_a_circle_fills_both_rows_at_once():
    """A source whose spread is a circle gives x and y of one draw."""
    out = np.empty((2, 1000))
    Source("bit_runout", "setup A", Circle(0.02), Life.SETUP, rows=2).fill(np.random.default_rng(5), out)

    assert pytest.approx(np.hypot(*out)) == np.full(1000, 0.02)


def test_a_known_value_does_not_scatter():
    """A value known exactly shifts what it acts on and adds nothing to any spread."""
    spread = Exactly(0.03)

    assert drawn(spread, 5).tolist() == [0.03] * 5
    assert (spread.mean, spread.std, spread.bound, spread.reach) == (0.03, 0.0, 0.0, 0.0)


@pytest.mark.parametrize("name", BOUNDED)
def test_quantiles_are_those_of_the_shape(name: str):
    """Half of the values lie below the mean, and every other share below where the distribution says (scipy)."""
    spread, _, law = SPREADS[name]
    shares = np.array([1e-6, 0.05, 0.3, 0.5, 0.625, 0.97, 1.0 - 1e-6])

    assert spread.quantile(shares) == pytest.approx(law.ppf(shares), abs=1e-9)
