"""Which method is recommended, and why."""

from __future__ import annotations

import pytest

import flipcheck
from flipcheck.decide.compare import recommend
from flipcheck.decide.results import MethodResult, PairResult, StackEntry
from flipcheck.flip.after_flip import AfterFlip
from flipcheck.stack.intervals import Chance, wilson
from flipcheck.stack.sources import Life
from tests.make import FENCE, PINS, PROBE, hole, make_job

NO_TIES: dict[str, set[str]] = {}


def way(name: str, chance: float, minutes: float | None = None, goes_on: float = 1.0) -> MethodResult:
    """A method with a known chance, decided by one pair and its largest source."""
    entry = StackEntry("machine_squareness", Life.MACHINE, AfterFlip.DOUBLES, 0.1, 0.0, None, 0.8, 0.3, 0.8)
    pair = PairResult(
        "far corner", "hole", 0.1, None, None, Chance(chance, 0, 1), None, None, None, None, None, 0.3, 0.2, (entry,)
    )
    trials = 1_000_000
    return MethodResult(name, "fence", minutes, goes_on, wilson(round(chance * trials), trials), (pair,))


def test_least_minutes_of_those_that_reach_the_goal():
    """Of the methods that reach the goal the quickest is taken, not the surest."""
    advice = recommend([way("dowels", 0.999, 12), way("fence", 0.97, 3), way("by eye", 0.5, 0)], 0.95, NO_TIES)

    assert ("fence", True) == (advice.method, advice.meets_goal)
    assert (
        "of the 2 methods that reach the goal it takes the least extra work per part (3 minutes): "
        "97.00 % against a goal of 95 %."
    ) == advice.reason


def test_highest_chance_where_no_minutes_are_given():
    """Without minutes the surest method is taken."""
    advice = recommend([way("dowels", 0.999), way("fence", 0.97)], 0.95, NO_TIES)

    assert ("dowels", True) == (advice.method, advice.meets_goal)
    assert "the highest chance, 99.900 %, against a goal of 95 %; 2 of 2 methods reach it." == advice.reason


def test_surest_where_minutes_are_equal():
    """Among equally quick methods the surest is taken."""
    assert "dowels" == recommend([way("dowels", 0.999, 3), way("fence", 0.97, 3)], 0.95, NO_TIES).method


def test_none_reaches_the_goal():
    """The best is named all the same, with the source that hurts most where it is decided."""
    advice = recommend([way("dowels", 0.93, 9), way("fence", 0.70, 1)], 0.95, NO_TIES)

    assert ("dowels", False) == (advice.method, advice.meets_goal)
    assert (
        "no method reaches the goal of 95 %; this one comes nearest, 93.00 %. "
        'What hurts most: machine_squareness, 80 % of the scatter at "far corner".'
    ) == advice.reason


def test_none_reaches_the_goal_for_want_of_going_on():
    """Where most misses are blanks that do not go onto their pins, that is what hurts most."""
    advice = recommend([way("dowels", 0.90, goes_on=0.92)], 0.95, NO_TIES)

    assert advice.reason.endswith("What hurts most: 8.0 % of the blanks do not go onto their pins.")


def test_tie_is_said():
    """Differences that the trials cannot resolve are called a tie."""
    advice = recommend([way("dowels", 0.9801), way("probe", 0.98), way("fence", 0.97)], 0.95, {"dowels": {"probe"}})

    assert ("probe",) == advice.ties
    assert advice.reason.endswith('These trials cannot tell its chance from that of "probe": a tie.')


def test_goal_within_the_interval_is_said():
    """A chance so near the goal that the trials do not settle it is told."""
    advice = recommend([way("dowels", 0.9501)], 0.95, NO_TIES)

    assert advice.meets_goal
    assert advice.reason.endswith("these trials do not settle whether it is met.")


ERRORS = {"machine_squareness": {"std": 0.0004}, "stock_size": {"limit": 0.2}, "probe_repeatability": {"std": 0.01}}


def test_same_method_under_two_names_ties():
    """Two methods that differ in name alone meet the same draws: the same chance, and a tie."""
    job = make_job(PINS, {**PINS, "name": "twin"}, FENCE, errors=ERRORS, pairs=[hole(170, 100)])
    result = flipcheck.compare(job, trials=20_000)
    chances = {method.name: method.chance for method in result.methods}

    assert chances["pins"] == chances["twin"]
    assert result.recommendation is not None
    assert {"pins", "twin"} >= {*result.recommendation.ties} != set()


def test_methods_compared_are_methods_checked():
    """Common random numbers change no method's own answer, to the last bit; the best stands first."""
    job = make_job(PINS, {**PINS, "name": "loose", "hole": {"diameter": 6.2}}, FENCE, PROBE, errors=ERRORS)
    result = flipcheck.compare(job, trials=20_000, rng=8)
    chances = [method.chance.estimate for method in result.methods]

    assert sorted(chances, reverse=True) == chances
    for method in result.methods:
        assert flipcheck.check(job, method.name, trials=20_000, rng=8).methods == (method,)


def test_some_methods():
    """Only the methods named are compared."""
    job = make_job(PINS, FENCE, PROBE)
    result = flipcheck.compare(job, ["probe", "fence"], trials=10)

    assert {"probe", "fence"} == {method.name for method in result.methods}


def test_same_corner_beats_same_side_where_the_stock_varies():
    """The width of the stock enters with the same side only, so the same corner wins (common practice, no source)."""
    job = make_job({**PROBE, "name": "same side", "after_flip": "same side"}, PROBE, errors=ERRORS)
    result = flipcheck.compare(job, trials=20_000)

    assert "probe" == result.methods[0].name
    assert result.methods[0].chance.low > result.methods[1].chance.high
    assert result.recommendation is not None
    assert () == result.recommendation.ties


@pytest.mark.parametrize("chances", [(0.95, 0.95), (0.99, 0.90)])
def test_meets_goal(chances: tuple[float, float]):
    """The goal counts as met from the goal on."""
    assert recommend([way("one", chances[0]), way("two", chances[1])], 0.95, NO_TIES).meets_goal
