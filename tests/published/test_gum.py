"""JCGM 100:2008 (the GUM), H.1 and G.4; the budget of JCGM GUM-5:2026, section 15; NIST TN 1900, example 13."""

from __future__ import annotations

import math

import pytest

from flipcheck.decide.validation.published_stacks import bars, end_gauge, expansion
from flipcheck.stack.rarer_spreads import StudentT
from flipcheck.stack.spreads import Exactly, Normal
from flipcheck.stack.stack import Stack
from flipcheck.stack.terms import Term
from tests.stack.models import ERRORS_ALLOWED


def test_end_gauge():
    """H.1: u 32, 16 degrees of freedom and U 93 at 99 %; 31.71 and 92.62 as printed by a public statistics package."""
    found = end_gauge().first_order(0.99)

    assert found.value == 50_000_838.0
    assert pytest.approx(found.u, abs=0.5) == 32.0
    assert pytest.approx(found.u, abs=0.5e-4) == 31.7106
    assert math.floor(found.dof) == 16
    assert pytest.approx(found.dof, abs=0.005) == 16.66  # recomputed with these rounded inputs
    assert pytest.approx(found.k, abs=0.005) == 2.92  # from memory
    assert pytest.approx(found.expanded, abs=0.5) == 93.0
    assert pytest.approx(found.expanded, abs=0.005) == 92.62


def test_contributions_of_the_end_gauge():
    """H.1: 25, 9.7 and, from memory, 2.9 and 16.6 nm; 16.675 and 2.900 recomputed; the other two do not count."""
    found = {part.name: part.u for part in end_gauge().first_order().contributions}
    expected = {"standard": 25.0, "difference": 9.7, "d_expansion": 2.900, "d_temperature": 16.675}

    assert {**expected, "expansion": 0.0, "temperature": 0.0} == pytest.approx(found, abs=0.5e-3)


def test_end_gauge_beyond_first_order():
    """H.1: 34 with second-order terms (33.91115 as printed by a package); the simulation finds it, first order not."""
    trials = 1_000_000
    found = end_gauge().monte_carlo(trials, rng=100)
    error = ERRORS_ALLOWED * found.u * math.sqrt(2.2 / (4.0 * trials))  # kurtosis below 3.2

    assert pytest.approx(found.u, abs=0.5) == 34.0
    assert pytest.approx(found.u, abs=error) == 33.911150
    assert end_gauge().first_order().u < 33.911150 - 2.0


def test_welch_satterthwaite():
    """G.4.1: 0.57 with 9 degrees of freedom and 0.25 well known make 12.8 (seen as quoted in public tests)."""
    stack = Stack([Term("a", Normal(0.57), dof=9), Term("b", Normal(0.25))])

    assert pytest.approx(stack.first_order().dof, abs=0.05) == 12.8


# Table G.2, from memory; agrees with recomputed quantiles
TABLE_G2 = {1: 12.706, 2: 4.303, 5: 2.571, 10: 2.228, 16: 2.120, 20: 2.086, 50: 2.009, math.inf: 1.960}


@pytest.mark.parametrize("dof", TABLE_G2)
def test_coverage_factors(dof: float):
    """Table G.2, 95 %: the coverage factor of a single input with so many degrees of freedom."""
    found = Stack([Term("a", Normal(1.0), dof=dof)]).first_order()

    assert TABLE_G2[dof] == pytest.approx(found.k, abs=0.5e-3)


def test_readings_and_rectangular_corrections():
    """GUM-5, section 15: mean 10005.7, its u 0.7, u 9.9 and U 19.4 kN (seen as quoted in public tests)."""
    readings = bars().terms[0].spread
    found = bars().first_order()

    assert isinstance(readings, StudentT)
    assert pytest.approx(readings.scale, abs=0.05) == 0.7
    assert pytest.approx(readings.mean, abs=0.05) == 10005.7
    assert pytest.approx(found.u, abs=0.05) == 9.9
    assert pytest.approx(found.expanded, abs=0.05) == 19.4


def test_thermal_expansion_coefficient():
    """NIST TN 1900, example 13: 1.7266e-5 with u 1.76e-6 per K (seen as quoted in public tests)."""
    found = expansion().first_order()

    assert pytest.approx(found.value, abs=0.5e-9) == 1.7266e-5
    assert pytest.approx(found.u, abs=0.5e-8) == 1.76e-6


def test_a_loaded_budget_is_no_wider_for_an_exact_correction():
    """Clause 3.2.4: a correction that is known exactly moves the result and adds nothing to its uncertainty."""
    moved = Stack([*bars().terms, Term("shift", Exactly(-5.7))]).first_order()

    assert pytest.approx(moved.value) == bars().nominal - 5.7
    assert bars().first_order().u == moved.u
