"""Intervals of counted shares and of the difference between two, against tables."""

from __future__ import annotations

import pytest

from flipcheck.stack.intervals import clopper_pearson, independent_difference, wilson

# R. G. Newcombe, Stat. Med. 17 (1998) 857-872, Table I, 95 %: score interval and exact interval (seen as quoted by
# public test files)
NEWCOMBE = [
    (81, 263, (0.2553, 0.3662), (0.2527, 0.3676)),
    (15, 148, (0.0624, 0.1605), (0.0578, 0.1617)),
    (0, 20, (0.0, 0.1611), (0.0, 0.1684)),
    (1, 29, (0.0061, 0.1718), (0.0009, 0.1776)),
]


@pytest.mark.parametrize(("count", "trials", "score", "exact"), NEWCOMBE)
def test_newcombe_table_1(count: int, trials: int, score: tuple[float, float], exact: tuple[float, float]):
    """Four rows of Table I, to half a unit of the fourth decimal, by Wilson's and by Clopper and Pearson's method."""
    for chance, expected in ((wilson(count, trials), score), (clopper_pearson(count, trials), exact)):
        assert expected == pytest.approx((chance.low, chance.high), abs=0.5e-4)


def test_newcombe_difference_of_two_shares():
    """R. G. Newcombe, Stat. Med. 17 (1998) 873-890, method 10: 56 of 70 against 48 of 80, 0.0524 to 0.3339 (seen at
    second hand).
    """
    assert pytest.approx(independent_difference(56, 70, 48, 80), abs=0.5e-4) == (0.0524, 0.3339)


@pytest.mark.parametrize(
    ("z", "expected", "digit"),
    [
        (1.645, 0.09577, 0.5e-5),  # the page's own z and result (seen)
        (1.645, 0.0957701, 0.5e-7),  # recomputed with the page's z
        (1.6448536269514722, 0.0957727, 0.5e-7),  # recomputed with the exact z
    ],
)
def test_nist_one_sided_limit(z: float, expected: float, digit: float):
    """NIST/SEMATECH e-Handbook of Statistical Methods 7.2.4.1: 26 of 200, one-sided 95 % lower limit (page seen)."""
    assert expected == pytest.approx(wilson(26, 200, z=z).low, abs=digit)


def test_nist_exact_limits():
    """NIST/SEMATECH e-Handbook 7.2.4.1: 4 of 20, exact 90 % interval 0.071354 to 0.401029 (page seen).

    The upper limit is 0.4010281 when recomputed: the last digit printed is that of the page's root finder.
    """
    chance = clopper_pearson(4, 20, 0.90)

    assert pytest.approx(chance.low, abs=0.5e-6) == 0.071354
    assert pytest.approx(chance.high, abs=1.0e-6) == 0.401029
    assert (chance.low, chance.high) == pytest.approx((0.0713539, 0.4010281), abs=0.5e-7)


# count, trials, confidence, exact limits: values from R 3.6.2 (seen in the test file of scipy) and half a unit of their
# last digit
EXACT = [
    (20, 100, 0.95, 0.1266555521, 0.2918426891, 0.5e-10),
    (3, 50, 0.99, 0.006872485, 0.202706269, 0.5e-9),
    (0, 10, 0.95, 0.0, 0.3084971, 0.5e-7),
]


@pytest.mark.parametrize(("count", "trials", "confidence", "low", "high", "digit"), EXACT)
def test_exact_limits_from_r(count: int, trials: int, confidence: float, low: float, high: float, digit: float):
    """Exact intervals at 95 and 99 %, to half a unit of the last digit."""
    chance = clopper_pearson(count, trials, confidence)

    assert (low, high) == pytest.approx((chance.low, chance.high), abs=digit)


def test_score_limits_from_r():
    """3 and 0 of 10, 95 %: values from R 3.6.2 (seen in the test file of scipy), to half a unit of the last digit."""
    three, none = wilson(3, 10), wilson(0, 10)

    assert (three.low, three.high) == pytest.approx((0.1077913, 0.6032219), abs=0.5e-7)
    assert (none.low, none.high) == pytest.approx((0.0, 0.2775328), abs=0.5e-7)
