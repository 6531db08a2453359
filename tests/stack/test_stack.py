"""The general tolerance stack: chains, sums in the plane and functions, by every method."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from flipcheck.errors import StackError
from flipcheck.stack.monte_carlo.streams import BLOCK, stream
from flipcheck.stack.monte_carlo.trials import Drawing, collect
from flipcheck.stack.rarer_spreads import StudentT
from flipcheck.stack.spreads import Circle, Exactly, Normal, Triangular, Uniform
from flipcheck.stack.stack import Stack
from flipcheck.stack.terms import Term
from tests.stack.models import ERRORS_ALLOWED

# a chain of T = 3, 4 and 12 (times coefficients 1, -1, 0.5 of the last): 3, 4 and 12 again
CHAIN = Stack(
    [
        Term("a", Uniform(3.0), 100.0),
        Term("b", Normal(4.0 / 3.0), 40.0, -1.0),
        Term("c", Triangular(24.0, 2.0), 20.0, 0.5),
    ]
)


def test_nominal_counts_the_offsets_of_the_spreads():
    """100 - 40 + (20 + 2) / 2 = 71."""
    assert CHAIN.nominal == 71.0


def test_worst_case_adds_bounds():
    """3 + 4 + 12 = 19 either way."""
    found = CHAIN.worst_case()

    assert (52.0, 71.0, 90.0) == pytest.approx((found.low, found.nominal, found.high))
    assert pytest.approx(found.tolerance) == 19.0


def test_rss_adds_squares():
    """3, 4 and 12 make 13."""
    assert pytest.approx(CHAIN.rss().tolerance) == 13.0
    assert pytest.approx(CHAIN.rss().low) == 58.0


def test_inflated_rss_counts_a_tolerance_by_its_spread():
    """Uniform counts by sqrt 3, normal by 1, triangular by sqrt 1.5, unless told otherwise."""
    assert math.sqrt(27.0 + 16.0 + 216.0) == pytest.approx(CHAIN.inflated_rss().tolerance)
    assert math.sqrt(27.0 + 64.0 + 216.0) == pytest.approx(CHAIN.inflated_rss({"b": 2.0}).tolerance)
    assert pytest.approx(CHAIN.inflated_rss(1.5).tolerance) == 19.5


def test_mean_shift_takes_its_share_off_the_squares():
    """A third of 3 and all of 12 shifted: 1 + 12 + sqrt(2^2 + 4^2), or with factors 1 + 12 + sqrt(3 * 2^2 + 4^2)."""
    shares = {"a": 1.0 / 3.0, "c": 1.0}

    assert 13.0 + math.sqrt(20.0) == pytest.approx(CHAIN.mean_shift(shares).tolerance)
    assert 13.0 + math.sqrt(28.0) == pytest.approx(CHAIN.mean_shift(shares, inflated=True).tolerance)
    assert 13.0 + math.sqrt(4.0 + 36.0) == pytest.approx(
        CHAIN.mean_shift(shares, factors={"a": 1.0, "b": 1.5}).tolerance
    )


@given(st.floats(0.0, 1.0))
def test_mean_shift_lies_between_squares_and_worst_case(share: float):
    """Without a shift it is the root of squares, with all of it the worst case, and in between it lies in between."""
    found = CHAIN.mean_shift(share).tolerance

    assert 13.0 - 1e-9 <= found <= 19.0 + 1e-9
    assert pytest.approx(CHAIN.mean_shift(0.0).tolerance) == 13.0
    assert pytest.approx(CHAIN.mean_shift(1.0).tolerance) == 19.0


def test_allocation_scales_what_is_free():
    """With 12 fixed, 7 are free: to 15.5 by half; of the squares 25 are free, to sqrt(144 + 6.25) by half too."""
    worst = CHAIN.allocate(15.5, ["c"], "worst case")
    squares = CHAIN.allocate(math.sqrt(150.25), ["c"])

    assert pytest.approx(worst.factor) == 0.5
    assert pytest.approx(squares.factor) == 0.5
    assert {"a": 1.5, "b": 2.0, "c": 24.0} == pytest.approx(dict(worst.tolerances))


def test_allocation_of_tenths_of_a_millimetre():
    """What is left of a target may be small: 0.1 is fixed, 0.2 is free, to 0.5 by twice."""
    small = Stack([Term("bought", Uniform(0.1)), Term("cut", Uniform(0.2))])

    assert pytest.approx(2.0) == small.allocate(0.5, ["bought"], "worst case").factor
    assert pytest.approx(2.0) == small.allocate(math.hypot(0.1, 0.4), ["bought"]).factor


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda: CHAIN.allocate(11.0, ["c"], "worst case"), "needed a target above 12, which the fixed terms use up"),
        (lambda: CHAIN.allocate(11.0, ["c"]), "needed a target above 12, which the fixed terms use up; came 11"),
        (lambda: CHAIN.allocate(-1.0), "needed a target above 0, which the fixed terms use up; came -1"),
        (lambda: CHAIN.allocate(20.0, "abc"), "needed a term with a tolerance that is free to be scaled; came none"),
        (lambda: CHAIN.allocate(20.0, ["d"]), r"needed the name of a term \(a, b, c\); came 'd'$"),
        (lambda: CHAIN.allocate(20.0, method="wc"), "needed 'worst case' or 'rss'; came 'wc'"),
        (lambda: CHAIN.mean_shift(1.5), r"needed shares of the tolerances from 0 to 1; came 1\.5"),
        (lambda: CHAIN.mean_shift(float("nan")), "needed shares of the tolerances from 0 to 1; came nan"),
        (lambda: CHAIN.mean_shift({"aa": 0.5}), r"needed the name of a term \(a, b, c\); came 'aa'. Try: 'a'"),
        (lambda: CHAIN.first_order(coverage=95), r"needed a coverage between 0 and 1; came 95\. Try: 0\.95"),
        (lambda: CHAIN.monte_carlo("more"), "needed a whole number of trials, or \"auto\"; came 'more'"),
        (lambda: CHAIN.monte_carlo(1e5), r"needed a whole number of trials, or \"auto\"; came 100000\.0"),
        (lambda: CHAIN.monte_carlo(0), "needed at least 1 trial; came 0"),
        (lambda: CHAIN.monte_carlo(10, coverage=2.0), r"needed a coverage between 0 and 1; came 2"),
        (lambda: CHAIN.chance(2.0, 1.0), "needed a lower limit that is not above the upper one; came 2 and 1"),
        (lambda: CHAIN.capability(2.0, 1.0), "needed a lower limit that is not above the upper one; came 2 and 1"),
        (lambda: CHAIN.along(0.0), "needed a stack of the plane to look along a direction; came a stack of single"),
    ],
)
def test_questions_without_an_answer_are_refused(ask, message: str):
    """What cannot be answered is told with what was needed and what came."""
    with pytest.raises(StackError, match=message):
        ask()


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Stack([]), "needed at least one term; came none"),
        (lambda: Term("", Uniform(1.0)), "needed a name for every term; came an empty one"),
        (lambda: Stack([Term("a", Uniform(1.0))] * 2), "needed a name of its own for every term; came 'a' 2 times"),
        (lambda: Term("a", Uniform(1.0), math.nan), "needed finite numbers in term 'a'; came nan, 0, 1"),
        (lambda: Term("a", Uniform(-1.0)), "needed a spread of 0 or more in term 'a'; came Uniform"),
        (lambda: Term("a", Normal(1.0), dof=0.5), r"needed at least 1 degree of freedom in term 'a'; came 0\.5"),
        (
            lambda: Term("a", Circle(1.0), 2.0),
            "needed no nominal and a single coefficient for the circle 'a'; came Term",
        ),
        (
            lambda: Stack([Term("a", Uniform(1.0), coefficient=(1, 0)), Term("b", Uniform(1.0))]),
            "needed a pair of coefficients for 'b', as others have; came 1",
        ),
        (
            lambda: Stack([Term("a", Circle(1.0))], function=lambda a: a),
            "needed a single number without a coefficient for 'a' of a function; came Term",
        ),
        (
            lambda: Stack.of(lambda a: a, b=Uniform(1.0)),
            "needed a function of b; came missing a required argument: 'a'",
        ),
        (lambda: Term("a", 0.1), r"needed a spread for term 'a', such as Uniform\(0\.1\); came 0\.1"),
        (
            lambda: Term("a", Uniform(1.0), coefficient=(1, 2, 3)),
            r"needed one coefficient or a pair of them in term 'a'; came \(1, 2, 3\)",
        ),
        (lambda: Stack.of(lambda: 1.0, a=1.0), "needed a function of a; came got an unexpected keyword argument 'a'"),
        (lambda: Stack.of(lambda a: a, a=Uniform(1.0), dof={"b": 3}), r"needed the name of a term \(a\); came 'b'"),
    ],
)
def test_terms_that_do_not_fit_are_refused(make, message: str):
    """A stack that makes no sense is refused when it is made."""
    with pytest.raises(StackError, match=message):
        make()


PAIR = [Term("a", Normal(3.0)), Term("b", Normal(4.0), coefficient=-1.0)]


@pytest.mark.parametrize(
    ("correlations", "message"),
    [
        ({("a", "c"): 0.5}, r"needed the name of a term \(a, b\); came 'c'"),
        ({("a", "a"): 0.5}, r"needed one correlation for each pair of different terms; came a second for \('a', 'a'\)"),
        ({("a", "b"): 0.5, ("b", "a"): 0.4}, r"one correlation for each pair .* came a second for \('b', 'a'\)"),
        ({("a", "b"): 1.5}, r"needed a correlation of 'a' and 'b' from -1 to 1; came 1\.5"),
    ],
)
def test_correlations_that_do_not_fit_are_refused(correlations, message: str):
    """Unknown names, a term with itself, two values for one pair and values beyond 1 are refused."""
    with pytest.raises(StackError, match=message):
        Stack(PAIR, correlations)


def test_correlations_that_contradict_each_other_are_refused():
    """Three terms cannot all run against each other."""
    terms = [Term(name, Normal(1.0)) for name in "abc"]
    with pytest.raises(StackError, match="needed correlations that can hold together"):
        Stack(terms, {("a", "b"): -0.9, ("b", "c"): -0.9, ("a", "c"): -0.9})


def test_correlation_changes_first_order():
    """3 and 4 with r make sqrt(25 - 24 r) for a difference: 5 without, 1 at 1 and 7 at -1."""
    for r, u in ((0.0, 5.0), (1.0, 1.0), (-1.0, 7.0), (0.5, math.sqrt(13.0))):
        found = Stack(PAIR, {("a", "b"): r}).first_order()
        assert u == pytest.approx(found.u)
        assert 1.0 - 25.0 / u**2 == pytest.approx(found.correlated, abs=1e-12)
        assert pytest.approx(sum(part.share for part in found.contributions) + found.correlated) == 1.0


@pytest.mark.parametrize("r", [0.5, -0.8, 1.0])
def test_correlation_changes_the_draws(r: float):
    """The draws of a difference have the same spread as first order gives, and their own spreads stay."""
    trials = 200_000
    found = Stack(PAIR, {("a", "b"): r}).monte_carlo(trials, rng=4)
    u = math.sqrt(25.0 - 24.0 * r)
    alone = Stack.of(lambda a, b: b, a=Normal(3.0), b=Normal(4.0), correlations={("a", "b"): r}).monte_carlo(
        trials, rng=4
    )

    assert u == pytest.approx(found.u, abs=ERRORS_ALLOWED * u / math.sqrt(2.0 * trials))
    assert pytest.approx(alone.u, abs=ERRORS_ALLOWED * 4.0 / math.sqrt(2.0 * trials)) == 4.0
    assert pytest.approx(found.mean, abs=ERRORS_ALLOWED * u / math.sqrt(trials)) == 0.0


def test_draws_of_other_correlated_spreads_are_refused():
    """A coefficient tells how normal terms hang together, and not how others do; first order needs no more."""
    stack = Stack([Term("a", Uniform(3.0)), Term("b", Normal(4.0))], {("a", "b"): 0.5})
    with pytest.raises(
        StackError, match=r"needed normal terms where they are correlated .*; came 'a', Uniform\. Try: first"
    ):
        stack.monte_carlo(100)

    assert math.sqrt(3.0 + 16.0 + math.sqrt(3.0) * 4.0) == pytest.approx(stack.first_order().u)


def test_budget_tells_who_contributes():
    """Variances 3, 16/9 and (0.5 * 24)^2 / 6 = 24, in the order of the terms, as shares of their sum."""
    found = CHAIN.first_order()
    total = 3.0 + 16.0 / 9.0 + 24.0

    assert ["a", "b", "c"] == [part.name for part in found.contributions]
    assert [1.0, -1.0, 0.5] == [part.coefficient for part in found.contributions]
    assert [math.sqrt(3.0), 4.0 / 3.0, math.sqrt(24.0)] == pytest.approx([part.u for part in found.contributions])
    assert [3.0 / total, 16.0 / 9.0 / total, 24.0 / total] == pytest.approx([p.share for p in found.contributions])
    assert math.sqrt(total) == pytest.approx(found.u)
    assert found.correlated == 0.0
    assert math.isinf(found.dof)
    assert 71.0 + 1.959963985 * math.sqrt(total) == pytest.approx(found.interval.high)


def test_exact_terms_have_no_part_in_the_budget():
    """A term without spread shifts the nominal and contributes nothing."""
    stack = Stack([Term("a", Normal(1.0)), Term("shim", Exactly(0.5))])

    assert stack.nominal == 0.5
    assert ["a"] == [part.name for part in stack.first_order().contributions]
    assert Stack([Term("shim", Exactly(0.5))]).first_order().u == 0.0
    assert pytest.approx(stack.inflated_rss().tolerance) == 3.0


def test_a_mean_of_few_readings_counts_as_the_gum_counts_it():
    """s / sqrt n with n - 1 degrees of freedom in first order; the whole t distribution in the draws."""
    stack = Stack([Term("a", StudentT(2.0, 4.0))])
    found, drawn = stack.first_order(), stack.monte_carlo(200_000, rng=1)

    assert (2.0, 4.0) == (found.u, found.dof)
    assert 2.0 * stats.t.ppf(0.975, 4) == pytest.approx(found.expanded, rel=1e-9)
    density = stats.t.pdf(stats.t.ppf(0.975, 4), 4) / 2.0
    error = ERRORS_ALLOWED * math.sqrt(0.025 * 0.975 / 200_000) / density
    assert found.interval.high == pytest.approx(drawn.symmetric.high, abs=error)


def test_degrees_of_freedom_are_truncated():
    """12.8 effective degrees of freedom count as 12 in the coverage factor (JCGM 100:2008, G.4.1)."""
    found = Stack([Term("a", Normal(0.57), dof=9), Term("b", Normal(0.25))]).first_order()

    assert pytest.approx(found.dof, abs=0.05) == 12.8
    assert stats.t.ppf(0.975, 12) == pytest.approx(found.k, rel=1e-9)


def test_degrees_of_freedom_beside_a_correlated_pair():
    """A pair that is well known and correlated counts as one: u^4 / (u_c^4 / nu) with the whole u."""
    terms = [*PAIR, Term("c", Normal(2.0), dof=4)]
    found = Stack(terms, {("a", "b"): 1.0}).first_order()

    assert math.sqrt(5.0) == pytest.approx(found.u)
    assert 25.0 / (16.0 / 4.0) == pytest.approx(found.dof)


def test_degrees_of_freedom_of_correlated_terms_are_refused():
    """The Welch-Satterthwaite formula holds for independent terms only."""
    stack = Stack([Term("a", Normal(1.0), dof=5), Term("b", Normal(1.0))], {("a", "b"): 0.5})
    with pytest.raises(StackError, match=r"needed independent terms where degrees of freedom are finite .*; came 'a'"):
        stack.first_order()


def test_chance_and_capability_of_a_chain():
    """Mean 71 and variance 3 + 16/9 + 24: from normal tables, and Cp and Cpk by their definition."""
    std = math.sqrt(3.0 + 16.0 / 9.0 + 24.0)

    assert stats.norm.cdf(2.0) - stats.norm.cdf(-1.0) == pytest.approx(CHAIN.chance(71.0 - std, 71.0 + 2.0 * std))
    assert stats.norm.sf(9.0) == pytest.approx(CHAIN.chance(low=71.0 + 9.0 * std), rel=1e-9, abs=0.0)
    assert CHAIN.chance() == 1.0
    assert CHAIN.chance(71.0, 71.0) == 0.0  # limits may be the same
    found = CHAIN.capability(71.0 - 3.0 * std, 71.0 + 6.0 * std)
    assert (1.5, 1.0, 2.0, 1.0) == pytest.approx((found.cp, found.lower, found.upper, found.cpk))
    assert pytest.approx(CHAIN.capability(-math.inf, 71.0 + 4.5 * std).cpk) == 1.5


def test_chance_of_an_exact_stack_is_all_or_nothing():
    """Without scatter the nominal is inside or not, and there is no capability."""
    stack = Stack([Term("a", Exactly(1.0))])

    assert (1.0, 0.0) == (stack.chance(0.5, 1.0), stack.chance(high=0.9))
    with pytest.raises(StackError, match="needed a stack that scatters; came a standard deviation of 0"):
        stack.capability(0.0, 2.0)


def test_no_standard_deviation_no_chance():
    """Two degrees of freedom leave a t distribution without a standard deviation."""
    stack = Stack([Term("a", StudentT(1.0, 2.0))])
    for ask in (stack.chance, stack.worst_case, stack.inflated_rss):
        with pytest.raises(
            StackError, match="needed a finite standard deviation of 'a'; came an infinite one, as of 2"
        ):
            ask()

    assert stack.first_order().u == 1.0


def test_counted_chance_agrees_with_the_exact_one():
    """Of two uniform terms of half-width 1, the sum lies beyond 1.5 with probability 1/32."""
    trials = 200_000
    found = Stack([Term("a", Uniform(1.0)), Term("b", Uniform(1.0))]).monte_carlo(trials, rng=8).chance(high=1.5)

    assert pytest.approx(found.estimate, abs=ERRORS_ALLOWED * math.sqrt(31.0 / 1024.0 / trials)) == 31.0 / 32.0
    assert found.low < found.estimate < found.high


# ---- the plane ----

PLANE = Stack(
    [
        Term("x", Uniform(3.0), coefficient=(1.0, 0.0)),
        Term("y", Uniform(4.0), coefficient=(0.0, 1.0)),
        Term("runout", Circle(2.0)),
    ]
)


def test_worst_case_in_the_plane_is_the_farthest_corner():
    """The corner at (3, 4) lies 5 from the middle, and the circle adds 2 towards it; the nearest is the middle."""
    found = PLANE.worst_case()

    assert pytest.approx(found.high, rel=3e-6) == 7.0
    assert (0.0, 0.0) == (found.nominal, found.low)


def test_worst_case_in_the_plane_off_the_middle():
    """Moved by (9, 12), the corner lies 20 + 2 off; the near corner (6, 8) lies 10 off, less the circle of 2."""
    moved = Stack([*PLANE.terms, Term("off", Exactly(0.0), 3.0, (3.0, 4.0))])
    found = moved.worst_case()

    assert pytest.approx(found.nominal) == 15.0
    assert (8.0, 22.0) == pytest.approx((found.low, found.high), rel=3e-6)
    assert pytest.approx(found.tolerance, rel=1e-5) == 7.0


def test_exact_length_in_the_plane():
    """A length without any scatter is its own worst case, in whatever direction it lies."""
    found = Stack([Term("off", Exactly(0.7), coefficient=(0.3, 0.4))]).worst_case()

    assert pytest.approx(found.nominal, rel=1e-12) == 0.35
    assert (found.nominal, found.nominal) == pytest.approx((found.low, found.high), rel=3e-6)
    assert found.low <= found.nominal <= found.high + 1e-15


def test_rss_in_the_plane_is_the_largest_of_all_directions():
    """Towards a direction w the squares are 9 w_x^2 + 16 w_y^2 + 4: largest along y, sqrt 20."""
    assert math.sqrt(20.0) == pytest.approx(PLANE.rss().high, rel=1e-6)


def test_along_a_direction_the_plane_is_a_chain():
    """Towards 3-4-5: 0.6 * 3 + 0.8 * 4 + 2 = 7; variances 0.36 * 3 + 0.64 * 16/3, and 2 of the circle's shadow."""
    chain = PLANE.along(math.atan2(4.0, 3.0))

    assert pytest.approx(chain.worst_case().high) == 7.0
    assert 0.36 * 3.0 + 0.64 * 16.0 / 3.0 + 2.0 == pytest.approx(chain.first_order().u ** 2)
    assert pytest.approx(PLANE.along(0.0).worst_case().high) == 5.0


def test_what_a_length_does_not_have_is_refused():
    """First order, coefficients, capability and allocation are for single numbers; the hint says where to go."""
    for ask, what in (
        (PLANE.first_order, "a first-order result"),
        (PLANE.validate, "a first-order result"),
        (lambda: PLANE.coefficients, "a coefficient"),
        (lambda: PLANE.capability(0.0, 1.0), "a capability"),
        (lambda: PLANE.allocate(1.0), "an allocation"),
    ):
        with pytest.raises(StackError, match=rf"needed a stack of single numbers for {what}; .*Try: along\(angle\)"):
            ask()


def test_circles_are_not_correlated():
    """A coefficient between a single number and a point on a circle means nothing."""
    with pytest.raises(StackError, match=r"needed correlations between single numbers; came \('x', 'runout'\)"):
        Stack(PLANE.terms, {("x", "runout"): 0.5})


def test_draws_in_the_plane_are_lengths():
    """Two normal components of 0.3: the length is Rayleigh, chance 1 - exp(-r^2 / 0.18), as first order has it too."""
    terms = [Term("x", Normal(0.3), coefficient=(0.6, 0.8)), Term("y", Normal(0.3), coefficient=(-0.8, 0.6))]
    trials = 200_000
    found = Stack(terms).monte_carlo(trials, rng=6)
    share = 1.0 - math.exp(-(0.5**2) / 0.18)

    assert share == pytest.approx(Stack(terms).chance(high=0.5), rel=1e-9)
    assert 1.0 - math.exp(-(0.5**2) / 0.18) - (1.0 - math.exp(-(0.2**2) / 0.18)) == pytest.approx(
        Stack(terms).chance(0.2, 0.5), rel=1e-9
    )
    assert share == pytest.approx(
        found.chance(high=0.5).estimate, abs=ERRORS_ALLOWED * math.sqrt(share * (1.0 - share) / trials)
    )
    assert Stack(terms).chance() == 1.0


def test_draws_of_a_circle_keep_its_radius():
    """A single circle is always as far off as its radius, times its coefficient."""
    found = Stack([Term("runout", Circle(0.02), coefficient=1.5)]).monte_carlo(1000, rng=1)

    assert (0.03, 0.03) == pytest.approx((found.samples[0], found.samples[-1]))


def test_correlated_components_lie_on_a_line():
    """Components correlated by 1 and of one size lie on the diagonal: within sqrt 2 sigma as one is within sigma."""
    terms = [Term("x", Normal(1.0), coefficient=(1, 0)), Term("y", Normal(1.0), coefficient=(0, 1))]
    found = Stack(terms, {("x", "y"): 1.0})

    assert stats.norm.cdf(1.0) - stats.norm.cdf(-1.0) == pytest.approx(found.chance(high=math.sqrt(2.0)), rel=1e-9)


# ---- functions ----


def wedge(height, angle, width=10.0):
    """Any function will do: what a leaning wall is off at a height, with a default that nobody asks for."""
    return height * np.tan(angle) + width


def test_a_function_to_first_order():
    """Slopes tan(angle) and height / cos^2(angle) at the means, which are spreads' means or plain numbers."""
    stack = Stack.of(wedge, height=Uniform(0.1, 20.0), angle=Normal(0.001, 0.2), width=12)

    assert 20.0 * math.tan(0.2) + 12.0 == pytest.approx(stack.nominal)
    expected = [math.tan(0.2), 20.0 / math.cos(0.2) ** 2, 0.0]
    assert expected == pytest.approx(list(stack.coefficients.values()), rel=1e-9)
    tolerance = math.tan(0.2) * 0.1 + 20.0 / math.cos(0.2) ** 2 * 0.003
    assert tolerance == pytest.approx(stack.worst_case().tolerance, rel=1e-9)


def test_a_length_at_nothing_is_drawn_but_not_linearised():
    """The Rayleigh mean 1.2533 sigma comes from the draws; first order and the classic methods are refused."""
    stack = Stack.of(lambda x, y: np.hypot(x, y), x=Normal(0.3), y=Normal(0.3))
    found = stack.monte_carlo(200_000, rng=2)
    std = 0.3 * math.sqrt(2.0 - math.pi / 2.0)

    assert 0.3 * math.sqrt(math.pi / 2.0) == pytest.approx(found.mean, abs=ERRORS_ALLOWED * std / math.sqrt(200_000))
    for ask in (stack.first_order, stack.worst_case, stack.rss, stack.chance, stack.validate):
        with pytest.raises(StackError, match="needed a derivative by 'x' at 0; came none"):
            ask()


def test_terms_of_a_function_may_have_nominals():
    """A term comes to the function as nominal plus spread, and one that is exact as a plain float."""
    came = set()

    def product(a, b):
        came.add(type(b))
        return a * b

    stack = Stack([Term("a", Uniform(0.1, 0.5), 2.0), Term("b", Exactly(1.0), 3.0)], function=product)
    found = stack.monte_carlo(5000, rng=1)

    assert {float} == came
    assert pytest.approx(stack.nominal) == 10.0
    assert 9.6 - 1e-12 <= found.samples[0] < 9.61
    assert 10.39 < found.samples[-1] <= 10.4 + 1e-12


def branching(a, b):
    return a if a > b else b * math.cos(a - b)


def blind(a, b):
    """Looks at all trials at once, which is not what is meant."""
    return np.max([np.max(a), np.max(b)]) + 0.0 * a


@pytest.mark.parametrize(
    ("function", "of_arrays"),
    [
        (branching, lambda a, b: np.where(a > b, a, b * np.cos(a - b))),
        (blind, np.maximum),
        (lambda a, b: max(a, b), np.maximum),
        (lambda a, b: float(np.max([a, b])), np.maximum),
        (lambda a, b: a + b * (1.0 if np.ndim(b) == 0 else 1.00001), np.add),  # arrays nearly right
    ],
)
def test_functions_of_single_numbers_are_called_trial_by_trial(function, of_arrays):
    """A function that cannot take arrays, or gets them wrong, gives what its counterpart for arrays gives."""
    inputs = {"a": Uniform(1.0, 2.0), "b": Uniform(1.0, 2.1)}
    one, many = (Stack.of(f, **inputs).monte_carlo(20_000, rng=5) for f in (function, lambda a, b: of_arrays(a, b)))

    assert np.array_equal(many.samples, one.samples)


def test_a_function_of_arrays_is_not_called_trial_by_trial():
    """One call a block, and a few single ones to see that it is right about arrays."""
    sizes = []

    def added(a, b):
        sizes.append(np.size(a))
        return a + b

    Stack.of(added, a=Uniform(1.0), b=Uniform(0.5)).monte_carlo(2 * BLOCK, rng=1)

    assert 2 == sizes.count(BLOCK)
    assert len(sizes) < 20


def test_a_function_and_a_chain_of_the_same_terms_draw_the_same():
    """Streams go by the names of the terms, whichever way they are added up."""
    chain = Stack([Term("a", Uniform(1.0, 5.0)), Term("b", Normal(0.2), 3.0, -2.0)])
    function = Stack.of(lambda a, b: a - 2.0 * b, a=Uniform(1.0, 5.0), b=Normal(0.2, 3.0))
    first, second = chain.monte_carlo(50_000, rng=3), function.monte_carlo(50_000, rng=3)

    assert first.samples == pytest.approx(second.samples, rel=1e-12)


@pytest.mark.parametrize(
    ("function", "message"),
    [
        (
            lambda x: np.log(x),
            r"needed a value of the function in every trial, as at x = -0\.\d+; came [1-9]\d* of 16384 without",
        ),
        (lambda x: math.log(x), r"needed a value of the function in every trial, as at x = -0\.\d+; came .+"),
        (lambda x: 1.0 / 0.0 if x > 1.0 else x, r"in every trial, as at x = 1\.\d+; came .*division by zero"),
    ],
)
def test_a_function_without_a_value_in_some_trial_is_refused(function, message: str):
    """One trial without a value spoils them all; the message gives one such set of inputs."""
    with pytest.raises(StackError, match=message):
        Stack.of(function, x=Uniform(1.0, 0.9)).monte_carlo(1000, rng=1)


def test_a_function_that_never_works_is_refused_before_drawing():
    """A function without a value at the nominal inputs is told in those terms."""
    with pytest.raises(StackError, match="needed a value of the function at x = -5; came"):
        Stack.of(lambda x: math.log(x), x=Uniform(1.0, -5.0)).monte_carlo(1000, rng=1)


# ---- draws ----


def raw(stack: Stack, seed: int, trials: int) -> np.ndarray:
    """Draws in the order they are drawn."""
    return collect(Drawing(stack.terms, np.eye(len(stack.terms)), stack.function).draws(seed), trials)


def test_the_same_seed_gives_the_same_bytes():
    """Seeds count, 0 too, and the one that was used is kept so that it can be used again."""
    first, second = CHAIN.monte_carlo(30_000, rng=0), CHAIN.monte_carlo(30_000, rng=0)
    fresh = CHAIN.monte_carlo(100)

    assert first.samples.tobytes() == second.samples.tobytes()
    assert first.seed == 0
    assert not np.array_equal(first.samples, CHAIN.monte_carlo(30_000, rng=1).samples)
    assert np.array_equal(CHAIN.monte_carlo(100, rng=fresh.seed).samples, fresh.samples)


@pytest.mark.parametrize("short", [1, 1000, BLOCK, BLOCK + 1])
def test_a_longer_run_begins_with_the_shorter(short: int):
    """The first draws do not depend on how many are wanted."""
    longer = raw(CHAIN, 9, 2 * BLOCK + 5)

    assert np.array_equal(raw(CHAIN, 9, short), longer[:short])
    assert np.array_equal(np.sort(longer), CHAIN.monte_carlo(2 * BLOCK + 5, rng=9).samples)


def test_an_added_term_leaves_the_draws_of_the_others_alone():
    """A new term with nothing to add changes nothing."""
    more = Stack([Term("new", Uniform(1.0), coefficient=0.0), *CHAIN.terms])

    assert raw(more, 9, 1000) == pytest.approx(raw(CHAIN, 9, 1000), rel=1e-12)


def test_terms_are_drawn_independently():
    """Two terms of one kind do not share their draws: their sum has the variance of both together."""
    trials = 200_000
    found = Stack([Term("a", Normal(1.0)), Term("b", Normal(1.0), coefficient=-1.0)]).monte_carlo(trials, rng=0)

    root2 = math.sqrt(2.0)
    assert root2 == pytest.approx(found.u, abs=ERRORS_ALLOWED * root2 / math.sqrt(2.0 * trials))


@given(st.integers(0, 2**32))
def test_no_draw_passes_the_worst_case(seed: int):
    """Terms with limits never add up to more than the worst case."""
    stack = Stack([Term("a", Uniform(1.0), 5.0), Term("b", Triangular(2.0), 1.0, -1.0)])
    found, ends = stack.monte_carlo(2000, rng=seed), stack.worst_case()

    assert ends.low <= found.samples[0]
    assert found.samples[-1] <= ends.high


def test_what_a_simulation_tells():
    """Mean, u, its error, quantiles and intervals of a uniform term of half-width 1, within four standard errors."""
    trials = 400_000
    found = Stack([Term("a", Uniform(1.0))]).monte_carlo(trials, rng=1, coverage=0.9)
    std = 1.0 / math.sqrt(3.0)
    of_end = ERRORS_ALLOWED * math.sqrt(0.05 * 0.95 / trials) * 2.0

    assert trials == found.trials
    assert pytest.approx(found.mean, abs=ERRORS_ALLOWED * std / math.sqrt(trials)) == 0.0
    assert std == pytest.approx(found.u, abs=ERRORS_ALLOWED * std * math.sqrt(0.8 / (4.0 * trials)))
    assert std / math.sqrt(trials) == pytest.approx(found.error, rel=0.01)
    assert pytest.approx(found.quantile(0.95), abs=of_end) == 0.9
    assert (-0.9, 0.9) == pytest.approx((found.symmetric.low, found.symmetric.high), abs=of_end)
    assert found.shortest.width <= found.symmetric.width
    assert found.coverage == 0.9
    assert (None, None) == (found.settled, found.tolerance)
    assert repr(found).startswith("Simulation(400000 trials, seed 1: ")


def test_samples_are_sorted_and_cannot_be_changed():
    """Records are frozen, their arrays too."""
    found = CHAIN.monte_carlo(100, rng=1)

    assert (np.diff(found.samples) >= 0.0).all()
    with pytest.raises(ValueError, match="read-only"):
        found.samples[0] = 0.0


def test_chance_counts_its_limits_as_inside():
    """A draw that lies on a limit is within it."""
    found = Stack([Term("a", Exactly(1.0))]).monte_carlo(50, rng=1)

    assert found.chance(1.0, 1.0).estimate == 1.0
    assert found.chance(1.1, 2.0).estimate == 0.0
    assert found.chance().estimate == 1.0


def test_a_single_trial_has_no_scatter():
    """One draw gives a mean and nothing else; two differ by sqrt 2 of what they tell of their scatter."""
    two = CHAIN.monte_carlo(2, rng=1)

    assert math.isnan(CHAIN.monte_carlo(1, rng=1).u)
    assert (two.samples[1] - two.samples[0]) / math.sqrt(2.0) == pytest.approx(two.u)


def test_stacks_are_told_by_their_terms():
    """The repr names the terms."""
    assert repr(CHAIN) == "Stack(a, b, c)"


def test_importing_loads_numpy_at_most():
    """scipy and uncertainties wait until they are needed."""
    code = (
        "import sys, flipcheck.stack.stack; "
        "print([name for name in ('scipy', 'uncertainties', 'matplotlib', 'pint') if name in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert run.stdout == "[]\n"


def test_blocks_follow_each_other():
    """The second block of a term is the second of its own stream: that is what a seed means."""
    draws = Drawing([Term("a", Uniform(1.0))], np.eye(1), None).draws(4)
    for block in range(3):
        expected = np.empty(BLOCK)
        Uniform(1.0).fill(stream(4, "a/", block), expected)
        assert np.array_equal(expected, next(draws))
