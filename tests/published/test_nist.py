"""NIST/SEMATECH e-Handbook of Statistical Methods; Newcombe's difference, exact intervals, touches of a probe."""

from __future__ import annotations

import math

import pytest

from flipcheck.decide.validation.published_stacks import PROBE
from flipcheck.stack.intervals import clopper_pearson, independent_difference
from flipcheck.stack.rarer_spreads import StudentT
from flipcheck.stack.spreads import Normal
from flipcheck.stack.stack import Stack
from flipcheck.stack.terms import Term

PROCESS = Stack([Term("x", Normal(2.0), 16.0)])


def test_capability():
    """6.1.6: Cp 1.0, Cpk 0.6667, upper 0.6667 and lower 1.3333 (seen as quoted in a public known-answer test)."""
    found = PROCESS.capability(8.0, 20.0)

    expected = (1.0, 0.6667, 0.6667, 1.3333)
    assert expected == pytest.approx((found.cp, found.cpk, found.upper, found.lower), abs=0.5e-4)


def test_share_outside_the_limits():
    """The same process, computed here: 0.0227818 lie outside."""
    assert pytest.approx(1.0 - PROCESS.chance(8.0, 20.0), abs=0.5e-7) == 0.0227818


# parts per million beyond one limit and beyond both, computed here; published roundings of the last column for 1, 4/3,
# 5/3 and 2: 2700, 63, 0.6 and 0.002 (seen at second hand)
FALLOUT = [
    (0.5, 66_807.2, 133_614.4),
    (1.0, 1_349.898, 2_699.796),
    (4.0 / 3.0, 31.6712, 63.3425),
    (1.5, 3.39767, 6.79535),
    (5.0 / 3.0, 0.286652, 0.573303),
    (2.0, 9.86588e-4, 1.973175e-3),
]


@pytest.mark.parametrize(("cpk", "one", "both"), FALLOUT)
def test_fallout_of_a_centred_process(cpk: float, one: float, both: float):
    """Capability and fallout belong together, down to parts per thousand million."""
    stack = Stack([Term("x", Normal(1.0))])
    limit = 3.0 * cpk

    assert cpk == pytest.approx(stack.capability(-limit, limit).cpk)
    assert one == pytest.approx(1e6 * stack.chance(low=limit), rel=2e-6)
    assert both == pytest.approx(1e6 * (stack.chance(low=limit) + stack.chance(high=-limit)), rel=2e-6)


def test_exact_interval():
    """7.2.4.1: 4 of 20, exact 90 % interval 0.071354 to 0.401029 (page seen).

    The upper end recomputes to 0.4010281: its last digit is that of the page's root finder, so 2e-6 are allowed.
    """
    chance = clopper_pearson(4, 20, confidence=0.90)

    assert (0.071354, 0.401029) == pytest.approx((chance.low, chance.high), abs=2e-6)
    assert (0.0713539, 0.4010281) == pytest.approx((chance.low, chance.high), abs=0.5e-7)


# R. G. Newcombe, Stat. Med. 17 (1998) 857-872, Table I, 95 %, exact (seen as quoted by public test files)
EXACT = [
    (81, 263, 0.2527, 0.3676),
    (15, 148, 0.0578, 0.1617),
    (0, 20, 0.0, 0.1684),
    (1, 29, 0.0009, 0.1776),
]


@pytest.mark.parametrize(("count", "trials", "low", "high"), EXACT)
def test_exact_intervals_of_newcombe(count: int, trials: int, low: float, high: float):
    """Four rows of Table I, to half a unit of the fourth decimal."""
    chance = clopper_pearson(count, trials)

    assert (low, high) == pytest.approx((chance.low, chance.high), abs=0.5e-4)


# values from R 3.6.2 (seen in the test file of scipy)
FROM_R = [
    (20, 100, 0.95, 0.1266555521, 0.2918426891, 0.5e-10),
    (3, 50, 0.99, 0.006872485, 0.202706269, 0.5e-9),
    (0, 10, 0.95, 0.0, 0.3084971, 0.5e-7),
]


@pytest.mark.parametrize(("count", "trials", "confidence", "low", "high", "digit"), FROM_R)
def test_exact_intervals_from_r(count: int, trials: int, confidence: float, low: float, high: float, digit: float):
    """Exact intervals to half a unit of the last digit."""
    chance = clopper_pearson(count, trials, confidence)

    assert (low, high) == pytest.approx((chance.low, chance.high), abs=digit)


def test_difference_of_two_rates():
    """R. G. Newcombe, Stat. Med. 17 (1998) 873-890, method 10: 56/70 less 48/80 is 0.0524 to 0.3339 (second hand)."""
    found = independent_difference(56, 70, 48, 80)

    assert (0.0524, 0.3339) == pytest.approx(found, abs=0.5e-4)
    assert (0.0524315, 0.3338727) == pytest.approx(found, abs=0.5e-7)


def test_touches_of_a_probe():
    """Eleven touches of a switch (softsolder.com, 2010-12-07): range 0.001997 as published, the rest computed here."""
    found = StudentT.of_readings(PROBE)

    assert pytest.approx(max(PROBE) - min(PROBE), abs=0.5e-6) == 0.001997
    assert pytest.approx(found.mean, abs=0.5e-6) == 26.304408
    assert pytest.approx(found.scale * math.sqrt(11.0), abs=0.5e-6) == 0.000847
    assert pytest.approx(found.scale, abs=0.5e-6) == 0.000255
    assert found.dof == 10.0
