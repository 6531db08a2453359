"""The exact interval of a share, and the interval of the difference of two independent shares."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from flipcheck.stack.intervals import clopper_pearson, independent_difference
from tests.stack.models import ERRORS_ALLOWED


@pytest.mark.parametrize(("count", "trials", "confidence"), [(3, 10, 0.95), (1, 29, 0.95), (81, 263, 0.99)])
def test_exact_ends_leave_half_of_the_doubt_on_either_side(count: int, trials: int, confidence: float):
    """At the lower end as many or more are counted once in 2 / (1 - confidence), at the upper end as few or fewer."""
    chance = clopper_pearson(count, trials, confidence)
    half = 0.5 * (1.0 - confidence)

    assert count / trials == chance.estimate
    assert half == pytest.approx(stats.binom.sf(count - 1, trials, chance.low), rel=1e-9)
    assert half == pytest.approx(stats.binom.cdf(count, trials, chance.high), rel=1e-9)


def test_none_and_all_keep_within_zero_and_one():
    """Nothing counted of 10 reaches from 0 to 1 - 0.025^(1/10); everything counted mirrors it."""
    none, every = clopper_pearson(0, 10), clopper_pearson(10, 10)

    assert none.low == 0.0
    assert every.high == 1.0
    assert 1.0 - 0.025**0.1 == pytest.approx(none.high, rel=1e-12)
    assert 0.025**0.1 == pytest.approx(every.low, rel=1e-12)


def test_nothing_is_known_without_trials():
    """No trials leave everything open."""
    chance = clopper_pearson(0, 0)

    assert math.isnan(chance.estimate)
    assert (chance.low, chance.high) == (0.0, 1.0)
    assert independent_difference(0, 0, 3, 5) == (-1.0, 1.0)
    assert independent_difference(3, 5, 0, 0) == (-1.0, 1.0)


def test_difference_turns_round_with_its_order():
    """Second less first is the mirror image of first less second."""
    low, high = independent_difference(9, 10, 3, 10)
    back = independent_difference(3, 10, 9, 10)

    assert 0.0 < low < 0.6 < high < 1.0
    assert (-high, -low) == pytest.approx(back, rel=1e-12)


def test_difference_covers_what_it_says_on_average():
    """Of 4000 pairs of counts from shares 0.8 and 0.6, 95 % of the intervals hold 0.2, within four standard errors."""
    rng = np.random.default_rng(5)
    runs = 4000
    pairs = zip(rng.binomial(200, 0.8, runs), rng.binomial(150, 0.6, runs), strict=True)
    intervals = [independent_difference(int(a), 200, int(b), 150) for a, b in pairs]
    held = sum(low <= 0.2 <= high for low, high in intervals)

    assert pytest.approx(held / runs, abs=ERRORS_ALLOWED * math.sqrt(0.95 * 0.05 / runs)) == 0.95
