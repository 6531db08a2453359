"""A sweep is one check after the other: the same numbers, in order, with reasons where a job is impossible."""

from __future__ import annotations

import math
import pickle
from dataclasses import replace

import pytest

import flipcheck
from flipcheck.decide.check import check
from flipcheck.decide.compare import compare
from flipcheck.decide.sweep.results import Impossible, MethodPoint, PairPoint, Sweep, SweepPoint, Varied
from flipcheck.decide.sweep.sweep import SweepInterruptedError, sweep
from flipcheck.errors import JobError
from flipcheck.job.reader import parse_job
from flipcheck.stack.intervals import Chance
from tests.make import FENCE, PINS, PROBE, hole, make_job
from tests.test_cli import JOB as TEXT

JOB = parse_job(TEXT)
TRIALS = 500


def points_of(found: Sweep) -> list[SweepPoint]:
    assert len(found.done) == len(found.points)
    return list(found.done)


@pytest.mark.parametrize("plain", [False, True])
def test_points_are_single_runs(plain: bool):
    """Each point is what compare and check say, with the same seed, of the job with that number written in it."""
    found = sweep(JOB, "errors.seating=0:0.1:3", trials=TRIALS, rng=7, plain=plain)

    for point, seating in zip(points_of(found), (0.0, 0.05, 0.1), strict=True):
        job = parse_job(TEXT.replace("seating = { std = 0.05 }", f"seating = {{ std = {seating} }}"))
        compared = compare(job, trials=TRIALS, rng=7, plain=plain)
        assert (seating,) == point.values
        assert ("fence and stop", "two dowels", "touched corner") == tuple(method.name for method in point.methods)
        for method in point.methods:
            alone = check(job, method.name, trials=TRIALS, rng=7, plain=plain).methods[0]
            for expected in (alone, next(one for one in compared.methods if one.name == method.name)):
                assert (expected.chance, expected.goes_on) == (method.chance, method.goes_on)
                distances = [pair.distance and pair.distance.quantiles["p95"] for pair in expected.pairs]
                assert distances == [pair.p95 for pair in method.pairs]


def test_two_quantities():
    """All values of the second for each of the first; the point that is the job itself is the job's own answer."""
    vary = ["errors.seating=0.05:0.1:2", "methods[1].hole.diameter=6.06:6.1:3"]
    found = sweep(JOB, vary, trials=TRIALS)
    expected = [(x, y) for x in (0.05, 0.1) for y in (6.06, 6.08, 6.1)]

    assert expected == [point.values for point in points_of(found)]
    own = compare(JOB, trials=TRIALS)
    assert {m.name: m.chance for m in own.methods} == {m.name: m.chance for m in points_of(found)[0].methods}
    row = found.row("two dowels", 2)
    assert [points_of(found)[2].methods[1], points_of(found)[5].methods[1]] == list(row)


def test_what_a_sweep_says_of_itself():
    """What was varied, in which unit, over which values, and what the job gives."""
    found = sweep(JOB, "errors.machine_squareness.limit=0.1:1 mm/m:10", ["two dowels"], trials=50, rng=3)
    (varied,) = found.varied

    assert ("Plate", "mm", 0.9, "left-right", 50, 3) == (
        *(found.title, found.units, found.goal, found.flip),
        *(found.trials, found.seed),
    )
    assert ("errors.machine_squareness.limit", "mm/m", None) == (varied.key, varied.unit, varied.now)
    assert (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0) == varied.values
    assert ("two dowels",) == found.methods
    assert "machine_squareness" in JOB.left_out
    assert "machine_squareness" not in found.left_out
    assert "Sweep('Plate' over errors.machine_squareness.limit, 10 of 10 points)" == repr(found)
    assert found == pickle.loads(pickle.dumps(found))


@pytest.mark.parametrize(
    ("vary", "unit", "first", "last", "now"),
    [
        ("errors.positioning=0:0.1:3", "mm", 0.0, 0.1, 0.01),
        ("errors.positioning=0:4 thou:3", "thou", 0.0, 0.1016, 0.01 / 0.0254),
        ("errors.positioning=0 um:100um:3", "um", 0.0, 0.1, 10.0),
        ("errors.positioning = 100 um : 0 : 3", "um", 0.1, 0.0, 10.0),
        ("methods[1].hole.diameter=1/4 in:3/8 in:3", "in", 6.35, 9.525, 6.06 / 25.4),
        ("pairs[seat].at[0]=-1e1:1e1:2", "mm", -10.0, 10.0, 60.0),
    ],
)
def test_units_of_a_range(vary: str, unit: str, first: float, last: float, now: float):
    """A unit at either end holds for both; bare numbers are in the units of the job."""
    (varied,) = sweep(JOB, vary, trials=1).varied
    one = {"mm": 1.0, "thou": 0.0254, "um": 0.001, "in": 25.4}[unit]

    assert unit == varied.unit
    assert pytest.approx((first, last)) == (one * varied.values[0], one * varied.values[-1])
    assert pytest.approx(now) == varied.now


@pytest.mark.parametrize(
    ("vary", "code", "message"),
    [
        ("errors.seating", "sweep-range", "needed KEY=FROM:TO:N"),
        ("errors.seating=0:1", "sweep-range", "needed KEY=FROM:TO:N"),
        ("errors.seating=0:1:2:3", "sweep-range", "needed KEY=FROM:TO:N"),
        ("errors.seating=0:1:1", "sweep-range", "a whole number of values, 2 to 100,000; came 1"),
        ("errors.seating=0:1:0", "sweep-range", "a whole number of values"),
        ("errors.seating=0:1:-3", "sweep-range", "a whole number of values"),
        ("errors.seating=0:1:2.5", "sweep-range", "a whole number of values"),
        ("errors.seating=0:1:", "sweep-range", "a whole number of values, 2 to 100,000; came nothing"),
        ("errors.seating=0:1:1000000000000000000000", "sweep-range", "a whole number of values"),
        ("errors.seating=1:1:3", "sweep-range", "two ends that differ.* came 1 and 1"),
        ("errors.seating=1:1.0000000000001:3", "sweep-range", "two ends that differ"),
        ("errors.seating=nan:1:3", "sweep-range", 'came "nan"'),
        ("errors.seating=0:inf:3", "sweep-range", 'came "inf"'),
        ("errors.seating=-inf:0:3", "sweep-range", 'came "-inf"'),
        ("errors.seating=0:1e999:3", "sweep-range", "a number that is not absurd"),
        ("errors.seating=:1:3", "sweep-range", 'came ""'),
        ("errors.seating=0,1:1:3", "sweep-range", 'came "0,1"'),
        ("errors.seating=0 um:1 mm:3", "sweep-range", "one unit for both ends; came um and mm"),
        ("errors.seating=0:1 deg:3", "wrong-dimension", "needed a length"),
        ("errors.seating=0:1 furlogs:3", "unknown-unit", "needed a unit of length"),
        ("errors.seatin=0:1:3", "sweep-key", r"Try: errors\.seating"),
        (["errors.seating=0:1:400", "errors.positioning=0:1:400"], "sweep-range", "at most 100,000 points in all"),
        (["errors.seating=0:1:3", "errors.seating=1:2:3"], "sweep-twice", "two different quantities"),
        (["errors.seating=0:1:3", "errors.seating.std=1:2:3"], "sweep-twice", "two different quantities"),
        (["methods[1].pin.limit=0:1:3", "methods[two dowels].pin.total=0:1:3"], "sweep-twice", "change the same"),
        ([], "sweep-range", "one quantity or two to vary; came 0 of them"),
        (["errors.seating=0:1:3", "errors.positioning=0:1:3", "blank.size[0]=1:2:3"], "sweep-range", "came 3 of them"),
    ],
)
def test_ranges_that_are_none(vary: str | list[str], code: str, message: str):
    """What is no range is refused before anything is simulated."""
    with pytest.raises(JobError, match=message) as error:
        sweep(JOB, vary, trials=10**10)

    assert code == error.value.problems[0].code


def test_a_method_that_is_not_looked_at():
    """A quantity of another method would change nothing; an unknown method is refused as everywhere."""
    with pytest.raises(JobError, match=r"needed a quantity of a method that is looked at \(\"fence and stop\"\)"):
        sweep(JOB, "methods[two dowels].pin.diameter=5.9:6:2", ["fence and stop"])
    with pytest.raises(JobError, match="unknown-method"):
        sweep(JOB, "errors.seating=0:1:3", ["fense"])


def test_an_impossible_job_or_none_to_simulate():
    """A job that is impossible as it is, no trials and a negative seed are refused as by check."""
    job = make_job(FENCE, pairs=[hole(500.0, 40.0)])

    with pytest.raises(JobError, match="outside-blank"):
        sweep(job, "errors.seating.std=0:1:3")
    with pytest.raises(ValueError, match="at least one trial is needed, not 0"):
        sweep(JOB, "errors.seating=0:1:3", trials=0)
    with pytest.raises(ValueError, match="a seed is not negative"):
        sweep(JOB, "errors.seating=0:1:3", rng=-1)


def test_an_impossible_point_is_a_hole():
    """Where the part itself becomes impossible no method has a result, and the reason stands there."""
    found = sweep(JOB, "pairs[seat].at[0]=60:240:3", trials=50)
    here, there, beyond = points_of(found)

    assert [3, 3, 0] == [len(point.methods) for point in (here, there, beyond)]
    assert found.methods == tuple(gap.method for gap in beyond.impossible)
    reason = 'pairs "seat": at: needed a point on the blank, from (0, 0) to (180, 110) mm; came (240, 55) mm'
    assert {reason} == {gap.reason for gap in beyond.impossible}


def test_a_point_may_be_impossible_for_one_method():
    """The other methods have their results all the same."""
    found = sweep(JOB, "methods[two dowels].pins[0][1]=-20:8:2", trials=50)
    first, second = points_of(found)

    assert ["two dowels"] == [gap.method for gap in first.impossible]
    assert "a point on the blank" in first.impossible[0].reason
    assert ("fence and stop", "touched corner") == tuple(method.name for method in first.methods)
    assert (3, ()) == (len(second.methods), second.impossible)
    assert [None, second.methods[1]] == list(found.row("two dowels"))


def test_a_value_that_cannot_be_is_a_hole():
    """So is a negative spread."""
    found = sweep(JOB, "errors.seating=-0.1:0.1:2", ["fence and stop"], trials=50)
    first, second = points_of(found)

    reason = "errors.seating.std: needed a spread of 0 or more; came -0.1; try bias for a known one-sided error"
    assert (Impossible("fence and stop", reason),) == first.impossible
    assert 1 == len(second.methods)
    assert not found.empty


def test_nothing_but_holes():
    """A sweep without any result says so."""
    found = sweep(JOB, "errors.seating=-0.2:-0.1:2", trials=50)

    assert found.empty
    assert not found.meets_goal
    assert found.pair is None
    assert () == found.crossings


# what must be so


@pytest.mark.parametrize("method", [FENCE, PINS, PROBE], ids=lambda method: method["kind"])
@pytest.mark.parametrize(
    ("key", "errors"),
    [("errors.machine_squareness=0:2 mm/m:6", {}), ("errors.positioning=0.001:0.1:6", {"positioning": {"std": 0.01}})],
)
def test_a_larger_error_never_helps(method: dict, key: str, errors: dict):
    """With nothing but symmetric errors about zero the chance falls and the p95 grows with each of them."""
    job = make_job(method, errors={"machine_squareness": {"std": 0.0002}, **errors}, pairs=[hole(30.0, 90.0)])
    found = sweep(job, key, trials=1000)
    chances = [point.methods[0].chance.estimate for point in points_of(found)]
    p95 = [point.methods[0].pairs[0].p95 for point in points_of(found)]

    assert sorted(chances, reverse=True) == chances
    assert sorted(p95) == p95
    assert p95[0] < p95[-1]


def test_a_wider_limit_never_hurts_and_a_larger_hole_lets_more_blanks_on():
    """Counted on common random numbers they are monotone to the last trial."""
    wider = sweep(JOB, "pairs[seat].allowed=0.01:0.2:8", trials=TRIALS, plain=True)
    for name in wider.methods:
        chances = [method.chance.estimate for method in wider.row(name) if method]
        assert sorted(chances) == chances
    larger = sweep(JOB, "methods[1].hole.diameter=5.98:6.1:8", ["two dowels"], trials=TRIALS, plain=True)
    on = [method.goes_on for method in larger.row("two dowels") if method]
    assert sorted(on) == on
    assert on[0] < 0.1
    assert on[-1] > 0.9


# where the goal is crossed


def made(*chances: float | None, values: tuple[float, ...] | None = None, goal: float = 0.9) -> Sweep:
    """A sweep of one method over 0, 1, 2 ... with these chances; None where it has no result."""
    at = values or tuple(float(i) for i in range(len(chances)))
    points = [
        SweepPoint((x,), () if c is None else (method("only", c),), (Impossible("only", "why"),) if c is None else ())
        for x, c in zip(at, chances, strict=True)
    ]
    varied = Varied("errors.seating.std", ("errors", "seating", "std"), "mm", True, at, None)
    return Sweep("Plate", "mm", goal, "left-right", 100, 1, (), (varied,), ("only",), tuple(points))


def method(name: str, chance: float, *pairs: PairPoint) -> MethodPoint:
    known = Chance(chance, chance - 0.01, chance + 0.01)
    return MethodPoint(name, 1.0, known, pairs or (PairPoint("seat", "hole", 0.1, known, 0.05),))


def test_crossings_are_interpolated():
    """Half-way in chance is half-way between the neighbours; both directions are told."""
    falls, rises = made(0.98, 0.94, 0.86, 0.80, 0.92).crossings

    assert ("only", pytest.approx(1.5), (1.0, 2.0), False, None) == astuple(falls)
    assert ("only", pytest.approx(3.0 + 0.1 / 0.12), (3.0, 4.0), True, None) == astuple(rises)


def astuple(crossing):
    return crossing.method, crossing.value, crossing.between, crossing.rises, crossing.beside


def test_a_chance_that_is_the_goal_meets_it():
    """The goal is crossed where it is left, not before."""
    (crossing,) = made(0.98, 0.90, 0.80).crossings

    assert ((1.0, 2.0), 1.0) == (crossing.between, crossing.value)
    assert () == made(0.98, 0.90).crossings
    assert 1.0 == made(0.80, 0.90).crossings[0].value


def test_no_crossing_over_a_hole():
    """Where a neighbour has no result nothing is said of what lies between."""
    assert () == made(0.98, None, 0.80).crossings
    assert () == made(0.98, 0.95).crossings
    assert () == replace(made(0.98, 0.80), points=(made(0.98, 0.80).points[0], None)).crossings


def test_a_falling_sweep():
    """From large to small the crossing lies at the same place."""
    (crossing,) = made(0.8, 0.98, values=(2.0, 1.0)).crossings

    assert (pytest.approx(2.0 - 0.1 / 0.18), (2.0, 1.0), True) == (crossing.value, crossing.between, crossing.rises)


def test_crossings_of_two_quantities():
    """One for each value of the second quantity."""
    found = sweep(
        JOB, ["errors.seating=0.001:0.2:5", "pairs[seat].allowed=0.08:0.12:2"], ["fence and stop"], trials=TRIALS
    )

    assert [0.08, 0.12] == [crossing.beside for crossing in found.crossings]
    tight, wide = (crossing.value for crossing in found.crossings)
    assert tight < wide


def test_a_crossing_is_where_the_goal_is():
    """A check at the place that was interpolated gives the goal, nearly."""
    found = sweep(JOB, "errors.seating=0.01:0.06:11", ["fence and stop"], trials=4000)
    (crossing,) = found.crossings
    job = parse_job(TEXT.replace("seating = { std = 0.05 }", f"seating = {{ std = {crossing.value} }}"))

    assert pytest.approx(0.9, abs=0.005) == check(job, trials=4000).methods[0].chance.estimate


def test_the_pair_that_misses_most():
    """The pair shown is the one with the lowest chances; a web only where there is nothing else."""
    seat, bolt = (PairPoint(name, "hole", 0.1, Chance(c, 0, 1), 0.05) for name, c in (("seat", 0.9), ("bolt", 0.8)))
    web = PairPoint("floor", "web", None, Chance(0.1, 0, 1), 2.1)
    unknown = PairPoint("none goes on", "hole", 0.1, Chance(math.nan, 0, 1), math.nan)
    one = made(0.98, 0.97)

    def of(*pairs: PairPoint) -> str | None:
        point = SweepPoint((0.0,), (method("only", 0.9, *pairs),), ())
        return replace(one, points=(point, None)).pair

    assert "bolt" == of(seat, bolt, web)
    assert "seat" == of(seat, unknown)
    assert "floor" == of(web)


# interrupted


def test_an_interrupt_keeps_what_is_done():
    """The KeyboardInterrupt that comes holds the points that were done."""
    done = []

    def progress(count: int) -> None:
        done.append(count)
        if len(done) == 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt) as stopped:
        sweep(JOB, "errors.seating=0.01:0.06:11", ["fence and stop"], trials=TRIALS, progress=progress)

    assert isinstance(stopped.value, SweepInterruptedError)
    found, whole = stopped.value.sweep, sweep(JOB, "errors.seating=0.01:0.06:11", ["fence and stop"], trials=TRIALS)
    assert [1, 1, 1] == done
    assert (*whole.points[:3], *([None] * 8)) == found.points
    assert 3 == len(found.done)


def test_it_is_public():
    """`flipcheck.sweep` is it."""
    assert sweep is flipcheck.sweep
