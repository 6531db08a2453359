"""Intervals of counted shares and of the difference between two."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from flipcheck.stack.intervals import Z95, clopper_pearson, independent_difference, paired_difference, wilson


def test_z95_is_the_two_sided_95_per_cent_point():
    """The constant agrees with the normal distribution."""
    assert pytest.approx(stats.norm.ppf(0.975), rel=1e-15) == Z95


@pytest.mark.parametrize(("count", "trials"), [(0, 20), (3, 10), (81, 263), (20, 20), (999_999, 1_000_000)])
def test_wilson_ends_are_where_the_score_test_just_rejects(count: int, trials: int):
    """Each end p of the interval solves |count - n p| = z sqrt(n p (1 - p)), or is 0 or 1 at the edges."""
    chance = wilson(count, trials)

    assert count / trials == chance.estimate
    for end, edge in ((chance.low, count == 0), (chance.high, count == trials)):
        if edge:
            assert end == (0.0 if count == 0 else 1.0)
        else:
            expected = Z95 * math.sqrt(trials * end * (1.0 - end))
            assert expected == pytest.approx(abs(count - trials * end), rel=1e-7)


@pytest.mark.parametrize("trials", [1, 20, 1_000_000])
def test_none_and_all_keep_within_zero_and_one(trials: int):
    """Nothing counted reaches up from 0 exactly to z^2 / (n + z^2), everything counted mirrors it."""
    none, every = wilson(0, trials), wilson(trials, trials)
    expected = Z95**2 / (trials + Z95**2)

    assert none.low == 0.0
    assert every.high == 1.0
    assert expected == pytest.approx(none.high, rel=1e-12)
    assert expected == pytest.approx(1.0 - every.low, rel=1e-9)


def test_nothing_is_known_without_trials():
    """No trials leave the whole span open and give no estimate."""
    chance = wilson(0, 0)

    assert math.isnan(chance.estimate)
    assert (chance.low, chance.high) == (0.0, 1.0)


def test_a_wider_z_gives_a_wider_interval():
    """More confidence costs width on both sides."""
    narrow, wide = wilson(30, 100, z=1.0), wilson(30, 100, z=3.0)

    assert wide.low < narrow.low < 0.3 < narrow.high < wide.high


def test_wilson_covers_what_it_says_on_average():
    """Over evenly spread true shares, 95 % intervals of 60 trials hold the truth 95 % of the time, give or take 1 %.

    Coverage is summed exactly over all counts, so nothing here is random.
    """
    trials, counts = 60, np.arange(61)
    lows, highs = np.array([(c.low, c.high) for c in (wilson(int(k), trials) for k in counts)]).T
    shares = (np.arange(400) + 0.5) / 400
    covered = [stats.binom.pmf(counts, trials, p)[(lows <= p) & (p <= highs)].sum() for p in shares]

    assert pytest.approx(np.mean(covered), abs=0.01) == 0.95


def test_paired_difference_has_the_sign_of_first_minus_second():
    """More trials in which only the first succeeds make the difference positive."""
    low, high = paired_difference(80, 20, 1000)

    assert 0.0 < low < 0.06 < high


def test_paired_difference_turns_round_with_its_arguments():
    """Second against first is first against second with the other sign."""
    low, high = paired_difference(80, 20, 1000)

    assert pytest.approx(paired_difference(20, 80, 1000), rel=1e-12) == (-high, -low)


def test_no_difference_seen_is_not_taken_for_none():
    """When the two never differ, the interval still has a width: z / (n + 2) on either side."""
    low, high = paired_difference(0, 0, 1000)

    assert pytest.approx((low, high), rel=1e-12) == (-Z95 / 1002.0, Z95 / 1002.0)


def test_paired_difference_without_trials():
    """With no trials the interval is 0 give or take z / 2, that is nearly everything from -1 to 1."""
    assert pytest.approx(paired_difference(0, 0, 0), rel=1e-12) == (-Z95 / 2.0, Z95 / 2.0)


@pytest.mark.parametrize(("first", "second"), [(0.10, 0.10), (0.20, 0.05), (0.08, 0.04), (0.45, 0.25)])
def test_paired_difference_covers_what_it_says(first: float, second: float):
    """95 % intervals of the difference hold the truth with a chance between 93 and 99 %, and on a simulation too.

    The exact coverage is summed over all outcomes of 80 trials. An adjusted interval of this kind is known to be a
    little too wide rather than too narrow (Agresti and Min 2005, from memory).
    """
    trials, z = 80, Z95
    only_first, only_second = (axis.ravel() for axis in np.meshgrid(np.arange(81), np.arange(81)))
    possible = only_first + only_second <= trials
    only_first, only_second = only_first[possible], only_second[possible]
    ends = np.array(
        [paired_difference(int(b), int(c), trials, z) for b, c in zip(only_first, only_second, strict=True)]
    )
    inside = (ends[:, 0] <= first - second) & (first - second <= ends[:, 1])
    counts = np.column_stack([only_first, only_second, trials - only_first - only_second])
    coverage = stats.multinomial.pmf(counts, trials, [first, second, 1.0 - first - second])[inside].sum()

    assert 0.93 <= coverage <= 0.99

    runs = 4000
    drawn = np.random.default_rng(7).multinomial(trials, [first, second, 1.0 - first - second], runs)
    held = [
        low <= first - second <= high for low, high in (paired_difference(int(b), int(c), trials) for b, c, _ in drawn)
    ]
    assert pytest.approx(np.mean(held), abs=4.0 * math.sqrt(coverage * (1.0 - coverage) / runs)) == coverage


@pytest.mark.parametrize(("count", "trials"), [(0, 20), (7, 20), (20, 20)])
def test_exact_ends_leave_the_tails_they_should(count: int, trials: int):
    """At each end of the exact interval a count as far out as this one has a chance of just 2.5 %."""
    chance = clopper_pearson(count, trials)

    if count == 0:
        assert chance.low == 0.0
    else:
        assert stats.binom.sf(count - 1, trials, chance.low) == pytest.approx(0.025, rel=1e-9)
    if count == trials:
        assert chance.high == 1.0
    else:
        assert stats.binom.cdf(count, trials, chance.high) == pytest.approx(0.025, rel=1e-9)
    assert count / trials == chance.estimate


def test_exact_interval_without_trials():
    """No trials leave the whole span open and give no estimate."""
    chance = clopper_pearson(0, 0)

    assert math.isnan(chance.estimate)
    assert (chance.low, chance.high) == (0.0, 1.0)


def test_independent_difference_turns_round_with_its_arguments():
    """Second against first is first against second with the other sign, and the first is the better one here."""
    low, high = independent_difference(90, 100, 30, 50)

    assert 0.0 < low < 0.3 < high
    assert pytest.approx(independent_difference(30, 50, 90, 100), rel=1e-12) == (-high, -low)


@pytest.mark.parametrize(("first_trials", "second_trials"), [(0, 10), (10, 0), (0, 0)])
def test_independent_difference_without_trials(first_trials: int, second_trials: int):
    """Without trials of either the difference may be anything."""
    assert independent_difference(0, first_trials, 0, second_trials) == (-1.0, 1.0)


def test_independent_difference_at_its_edges_stays_within_one():
    """All against none: the upper end is exactly 1."""
    low, high = independent_difference(20, 20, 0, 20)

    assert high == 1.0
    assert 0.7 < low < 1.0
