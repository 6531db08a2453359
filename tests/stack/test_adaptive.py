"""The adaptive procedure: when it stops, and what it says about it."""

from __future__ import annotations

import math
from itertools import repeat

import numpy as np
import pytest
from scipy import stats

from flipcheck.errors import StackError
from flipcheck.stack.monte_carlo.adaptive import Ends, Goal, _pooled, settle
from flipcheck.stack.spreads import Exactly, Normal, Uniform
from flipcheck.stack.stack import Stack
from flipcheck.stack.terms import Term
from tests.stack.models import ERRORS_ALLOWED

BATCH = 10_000
LINE = Stack([Term("a", Normal(0.1), 5.0), Term("b", Uniform(0.2))])


def test_a_constant_settles_at_once():
    """Two batches are the least; of a value without scatter they are enough."""
    found = settle(repeat(np.full(BATCH, 3.0)), Goal())

    assert len(found.samples) == 2 * BATCH
    assert found.settled
    assert found.tolerance == 0.0


def batches(*means: float, std: float = 1.0):
    """Batches that are all alike but for their means."""
    alike = std * stats.norm.ppf((np.arange(BATCH) + 0.5) / BATCH)
    for mean in means:
        yield alike + mean


def test_it_stops_at_the_first_batch_that_meets_the_tolerance():
    """Batch means 0 and d differ by a standard deviation of the average of d / 2: settled up to d = tolerance.

    With u = 1.0 and two digits the tolerance is 0.05; by then a third batch at the middle makes it d / sqrt 12.
    """
    assert len(settle(batches(0.0, 0.0499), Goal()).samples) == 2 * BATCH
    third = settle(batches(0.0, 0.0501, 0.02505, 9.0), Goal())
    assert len(third.samples) == 3 * BATCH
    assert third.settled


@pytest.mark.parametrize(("coverage", "size"), [(0.95, 10_000), (0.99, 10_000), (0.999, 100_000), (0.9997, 333_334)])
def test_a_batch_has_enough_values_for_its_ends(coverage: float, size: int):
    """M is the least whole number of at least 100 / (1 - p), and not below 10^4 (JCGM 101:2008, 7.9.4)."""
    found = settle(repeat(np.full(BATCH, 3.0)), Goal(coverage=coverage))

    assert 2 * size == len(found.samples)


def test_the_scatter_of_all_batches_is_that_of_all_values():
    """u is the standard deviation of all values drawn so far, with their number less one (JCGM 101:2008, 7.9.4)."""
    values = np.random.default_rng(2).normal([[0.0], [3.0], [-1.0], [8.0]], size=(4, 5))
    found = [(batch.mean(), batch.std(ddof=1), 0.0, 0.0) for batch in values]

    assert values.ravel().std(ddof=1) == pytest.approx(_pooled(np.array(found), 5), rel=1e-12)


def test_every_result_is_watched():
    """A mean that stands still and a u within 0.03 are not enough where the ends move by 1.96 times 0.03."""
    wide = settle((std * batch for std, batch in zip([1.0, 1.03, 1.015], batches(0, 0, 0), strict=True)), Goal())

    assert len(wide.samples) == 3 * BATCH


def test_the_tolerance_goes_by_the_scatter_of_all_batches_together():
    """Two batches of u = 1 about -10 and 10 have u = 10.05 together, whose second digit is a whole one."""
    found = settle(batches(-10.0, 10.0), Goal(ceiling=2 * BATCH))

    assert found.tolerance == 0.5
    assert not found.settled


def test_the_ceiling_ends_it_unsettled():
    """At its ceiling a run stops and says that it did not settle."""
    found = LINE.monte_carlo("auto", rng=1, digits=4, ceiling=45_000)

    assert found.trials == 40_000
    assert found.settled is False
    assert pytest.approx(found.tolerance) == 0.5e-4


def test_a_ceiling_below_two_batches_is_refused():
    """Two batches are the least from which a scatter can be had; a coverage of 99.9 % makes them larger."""
    with pytest.raises(
        StackError, match=r"needed a ceiling of at least 20000 trials, which are two batches; came 19999"
    ):
        LINE.monte_carlo("auto", ceiling=19_999)
    with pytest.raises(StackError, match=r"at least 200000 trials, which are two batches; came 150000"):
        LINE.monte_carlo("auto", coverage=0.999, ceiling=150_000)


def test_a_settled_run_is_as_good_as_it_says():
    """Mean, u and both ends lie within the tolerance of the closed form, which two standard errors meet in 95 of 100.

    Here twice the tolerance, so that four standard errors are allowed.
    """
    found = LINE.monte_carlo("auto", rng=7, digits=2)
    u = math.hypot(0.1, 0.2 / math.sqrt(3.0))
    of_b = -0.2 + 0.4 * (np.arange(4000) + 0.5) / 4000

    def share_below(end: float) -> float:
        return float(stats.norm.cdf((end - 5.0 - of_b) / 0.1).mean())

    assert found.settled
    assert found.tolerance == 0.005
    assert pytest.approx(found.mean, abs=2.0 * found.tolerance) == 5.0
    assert u == pytest.approx(found.u, abs=2.0 * found.tolerance)
    density = 0.5  # of the result near its ends, per unit; a tolerance of the end is this share
    for end, share in ((found.symmetric.low, 0.025), (found.symmetric.high, 0.975)):
        assert share == pytest.approx(share_below(end), abs=2.0 * found.tolerance * density)


def test_an_adaptive_run_is_the_beginning_of_a_long_one():
    """The draws are those of a run of fixed length with the same seed."""
    found = LINE.monte_carlo("auto", rng=3)

    assert np.array_equal(LINE.monte_carlo(found.trials, rng=3).samples, found.samples)
    assert found.trials % BATCH == 0


def test_it_takes_as_many_trials_as_theory_says():
    """Twice the standard error sqrt(p (1 - p) / M) / f of the ends at one sigma must be 0.005 for three digits of 1.00.

    That is at M = 363 000; the count is a matter of chance, so the median of nine may be off by a factor of 1.5.
    """
    share = stats.norm.sf(1.0)
    theory = (2.0 * math.sqrt(share * (1.0 - share)) / stats.norm.pdf(1.0) / 0.005) ** 2
    line = Stack([Term("a", Normal(1.0))])
    counts = [line.monte_carlo("auto", rng=seed, digits=3, coverage=1.0 - 2.0 * share).trials for seed in range(9)]

    assert theory / 1.5 < np.median(counts) < theory * 1.5


def test_verdict_of_a_normal_chain_holds():
    """First order is exact for a chain of normal terms; the simulation has to agree within its own tolerance."""
    found = Stack([Term("a", Normal(0.3), 1.0), Term("b", Normal(0.4))]).validate(1, rng=2)

    assert found.holds
    assert pytest.approx(found.tolerance) == 0.05
    assert pytest.approx(found.simulation.tolerance) == 0.01
    assert 1.0 - 1.959964 * 0.5 == pytest.approx(found.first_order.interval.low, abs=1e-6)
    assert max(found.low_difference, found.high_difference) < ERRORS_ALLOWED / 2.0 * 0.01


def test_verdict_of_a_skew_function_does_not_hold():
    """A square at nothing has a first-order interval of no width; its draws spread over [0, 1.96^2 0.25] and beyond."""
    found = Stack.of(lambda x: x * x, x=Normal(0.5)).validate(1, rng=2)

    assert not found.holds
    assert found.first_order.u == 0.0
    assert stats.chi2.ppf(0.975, 1) * 0.25 == pytest.approx(found.high_difference, abs=2.0 * found.simulation.tolerance)


def test_an_unsettled_simulation_proves_nothing():
    """A run that stopped at its ceiling does not make a verdict, however near its ends came to lie."""
    found = Stack([Term("a", Normal(1.0)), Term("b", Normal(1.0))]).validate(2, rng=0, ceiling=20_000)

    assert found.simulation.settled is False
    assert max(found.low_difference, found.high_difference) <= found.tolerance
    assert not found.holds


def test_verdict_on_the_shortest_interval():
    """The interval compared is of the kind asked for."""
    stack = Stack.of(lambda x: x * x, x=Normal(0.5, 0.1))
    short, even = (stack.validate(1, rng=2, ends=ends) for ends in ("shortest", "symmetric"))

    assert short.interval.width < even.interval.width
    assert short.interval == short.simulation.shortest
    assert even.interval == even.simulation.symmetric


def test_kinds_of_ends_are_known_by_name():
    """Anything else than the two kinds of interval is refused as Python does it."""
    assert {"symmetric", "shortest"} == {ends.value for ends in Ends}
    with pytest.raises(ValueError, match="'longest' is not a valid Ends"):
        LINE.monte_carlo("auto", ends="longest")


def test_nothing_to_validate_without_scatter():
    """A stack of exact values has no digits of u to agree on."""
    with pytest.raises(StackError, match="needed a standard uncertainty above 0 to take digits of; came 0"):
        Stack([Term("a", Exactly(2.0))]).validate()


def test_a_verdict_has_a_seed():
    """The same seed draws the same values, and says so; another one draws others."""
    stack = Stack([Term("a", Normal(0.3), 1.0), Term("b", Uniform(0.4))])
    first, again, other = (stack.validate(1, rng=seed).simulation for seed in (5, 5, 6))

    assert 5 == first.seed
    assert np.array_equal(first.samples, again.samples)
    assert not np.array_equal(first.samples[:BATCH], other.samples[:BATCH])
