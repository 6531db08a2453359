"""How loose each thing may be: against answers worked out on paper, and by putting each limit back into its job."""

from __future__ import annotations

import math
from dataclasses import astuple, replace
from functools import cache
from typing import Any

import pytest

import flipcheck
from flipcheck.decide.limits.limits import TRIALS, MethodLimits, SourceLimit, limits
from flipcheck.errors import JobError
from flipcheck.job.records import Job, PinsMethod, SizeSpread
from flipcheck.stack.monte_carlo.streams import BLOCK
from flipcheck.stack.spreads import Normal, Spread
from tests.make import FENCE, PINS, PROBE, hole, make_job

#: Blanks that a limit is tried on, and the seed of their draws, which is not that of the limits.
BLANKS, SEED = 200_000, 77
GOAL = 0.95
#: How far a chance counted on those blanks may be from the goal that the limit was set for: 4 standard errors of both.
OFF = 4.0 * math.sqrt(GOAL * (1.0 - GOAL) * (1.0 / BLANKS + 1.0 / TRIALS))
#: As far as that, a limit worked out on paper may be off: 4 standard errors of a quantile, by the density of the error.
ONE, TWO = 1.6448536, 1.9599640  # 95 % points of the normal distribution, of one side and of two
DENSITY_ONE, DENSITY_TWO = (math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi) for z in (ONE, TWO))
OFF_ONE = 4.0 * math.sqrt(GOAL * (1.0 - GOAL) / TRIALS) / (ONE * DENSITY_ONE)
OFF_TWO = 4.0 * math.sqrt(GOAL * (1.0 - GOAL) / TRIALS) / (TWO * 2.0 * DENSITY_TWO)

ERRORS: dict[str, Any] = {
    "machine_squareness": {"std": 0.0003, "bias": 0.0001},
    "machine_scale_x": {"limit": 0.0002},
    "positioning": {"std": 0.01},
    "lost_motion": {"total": 0.03},
    "rehoming": {"limit": 0.02, "shape": "triangular"},
    "clamping_shift": {"std": 0.01},
    "seating": {"limit": 0.02, "shape": "arcsine"},
    "stock_squareness": {"limit": 0.0004},
    "stock_size": {"limit": 0.1, "shape": "normal", "sigmas": 2},
    "stock_straightness": {"std": 0.01},
    "stock_thickness": {"total": 0.2, "bias": -0.03},
    "fence_angle": {"std": 0.0001},
    "fence_position": {"std": 0.03},
    "stop_position": {"std": 0.02},
    "probe_repeatability": {"std": 0.01},
    "probe_radius": {"limit": 0.02},
    "bit_diameter": {"limit": 0.02, "shape": "trapezoid", "bias": -0.01},
    "bit_runout": 0.03,
    "eye_angle": {"std": 0.0002},
    "z_touch": {"std": 0.02},
    "bed_flatness": {"std": 0.03},
}
SEAT = {**hole(60.0, 40.0, "seat"), "allowed": 0.13}
BOLT = {"name": "bolt", "kind": "hole", "at": [150.0, 70.0], "bolt": 5.0, "hole_a": 5.2, "hole_b": 5.25}
SLOT = {"name": "slot", "kind": "slot", "at": [120.0, 80.0], "angle": math.radians(30.0), "allowed": 0.12}
RIM = {"name": "rim", "kind": "outline", "points": [[10, 10], [170, 10], [170, 100], [10, 100]], "allowed": 0.25}
FLOOR = {"name": "floor", "kind": "web", "at": [90, 50], "depth_a": 5, "depth_b": 4, "min_web": 2.85, "max_web": 3.3}
ROOMY = {**PINS, "hole": {"diameter": 6.08, "limit": 0.02}, "pin": {"diameter": 6.0, "std": 0.002, "bias": 0.004}}
BEFOREHAND = {
    **ROOMY,
    "holes": "beforehand",
    "hole_position": {"std": 0.012},
    "hole": {"diameter": 6.09, "limit": 0.02},
    "pin_play": {"limit": 0.01},
}
#: Each kind of method with some of the kinds of pairs.
JOBS = {
    "pins": (ROOMY, [SEAT, FLOOR]),
    "pins, pushed, holes by the bit": ({**ROOMY, "push": "left", "holes_by_bit": True}, [BOLT, SEAT]),
    "pins, a slot, holes beforehand": ({**BEFOREHAND, "second_hole": "slot"}, [SEAT]),
    "fence": (FENCE, [SLOT, RIM]),
    "fence of the machine": ({**FENCE, "set_by": "machine", "after_flip": "same side"}, [BOLT, SLOT]),
    "probe": (PROBE, [BOLT, FLOOR]),
    "probe by eye": ({**PROBE, "angle": "by eye", "middle": ["x"]}, [SEAT, RIM]),
}


def job_of(name: str) -> Job:
    """One of `JOBS`, with every error."""
    method, pairs = JOBS[name]
    return make_job(method, errors=ERRORS, pairs=pairs)


def of_one(job: Job, name: str | None = None, **options: Any) -> MethodLimits:
    """The limits of a job by one method: its first, unless named."""
    (method,) = limits(job, [name or job.methods[0].name], **options).methods
    return method


@cache
def of_job(name: str) -> MethodLimits:
    """The limits of one of `JOBS`."""
    return of_one(job_of(name))


@cache
def of_missed(case: str) -> MethodLimits:
    """The limits of one of `MISSED`."""
    example, name = MISSED[case]
    return of_one(flipcheck.built_in(example), name)


def source(found: MethodLimits, name: str) -> SourceLimit:
    """The limit of one error."""
    return next(limit for limit in found.sources if limit.source == name)


def scaled(spread: Spread, times: float) -> Spread:
    """A spread of so many times its size, about the same mean."""
    if isinstance(spread, Normal):
        limit = None if spread.limit is None else spread.limit * times
        return replace(spread, std=spread.std * times, limit=limit)
    return replace(spread, half=spread.half * times)  # type: ignore[call-arg]


def resized(job: Job, name: str, times: float) -> Job:
    """The job with one error of so many times its size in the table of errors, or in its first method."""
    method = job.methods[0]
    given = getattr(job.errors, name, None)
    if given is not None:
        changed = given * times if isinstance(given, float) else scaled(given, times)
        return job.model_copy(update={"errors": job.errors.model_copy(update={name: changed})})
    given = getattr(method, name)
    if isinstance(given, SizeSpread):
        changed = given.model_copy(update={"spread": scaled(given.spread, times)})
    else:
        changed = scaled(given, times)
    return with_method(job, **{name: changed})


def with_method(job: Job, **changes: Any) -> Job:
    """The job with its first method changed."""
    first, *others = job.methods
    return job.model_copy(update={"methods": (first.model_copy(update=changes), *others)})


def with_clearance(job: Job, clearance: float) -> Job:
    """The job with holes so much larger than the pins of its first method."""
    method = job.methods[0]
    assert isinstance(method, PinsMethod)
    hole = method.hole.model_copy(update={"diameter": method.pin.diameter + clearance})
    return with_method(job, hole=hole)


def by(job: Job, name: str) -> Job:
    """The job with one of its methods only."""
    return job.model_copy(update={"methods": tuple(method for method in job.methods if method.name == name)})


def chance(job: Job) -> float:
    """The chance by the first method of a job, on blanks that the limits know nothing of."""
    return flipcheck.check(job, trials=BLANKS, rng=SEED).methods[0].chance.estimate


@pytest.mark.parametrize("name", JOBS)
def test_largest_size_just_meets_the_goal(name: str):
    """Put back into the job, the largest size of each error gives the goal as its chance; any size, 50 times, more."""
    job = job_of(name)
    found = of_job(name)
    just = {limit.source: limit.factor for limit in found.sources if limit.factor not in (None, math.inf)}
    any_size = [limit.source for limit in found.sources if limit.factor == math.inf]
    chances = {source: chance(resized(job, source, factor)) for source, factor in just.items() if factor}

    assert dict.fromkeys(just, pytest.approx(GOAL, abs=OFF)) == chances
    for source in any_size:
        assert chance(resized(job, source, 50.0)) > GOAL - OFF


def test_no_size_will_do():
    """Errors of which no size will do miss the goal even at zero; the others reach it there."""
    job = by(flipcheck.built_in(), "fence and stop, same edge")
    found = of_one(job)
    none = [limit.source for limit in found.sources if limit.factor is None]

    assert {"seating", "positioning"} == {limit.source for limit in found.sources} - set(none)
    for source in none:
        assert GOAL + OFF > chance(resized(job, source, 0.0))
    assert GOAL < chance(resized(job, "seating", 0.0))


PINNED = [name for name in JOBS if name.startswith("pins")]


@pytest.mark.parametrize("name", PINNED)
def test_clearances_just_meet_the_goal(name: str):
    """Both ends of the range of clearances give the goal as their chance, and half-way between it is met."""
    job, pins = job_of(name), of_job(name).pins

    assert pins is not None
    assert pins.smallest is not None
    assert pins.largest is not None
    ends = [chance(with_clearance(job, clearance)) for clearance in (pins.smallest, pins.largest)]
    assert [pytest.approx(GOAL, abs=OFF)] * 2 == ends
    assert GOAL < chance(with_clearance(job, 0.5 * (pins.smallest + pins.largest)))


@pytest.mark.parametrize("name", PINNED)
def test_clearance_that_just_goes_on(name: str):
    """At the smallest clearance at which blanks go on often enough, as many as wanted do."""
    job, pins = job_of(name), of_job(name).pins

    assert pins is not None
    tight = flipcheck.check(with_clearance(job, pins.goes_on), trials=BLANKS, rng=SEED).methods[0]
    assert pytest.approx(tight.goes_on, abs=OFF) == GOAL


@pytest.mark.parametrize("name", PINNED)
def test_smallest_spacing_just_meets_the_goal(name: str):
    """Pins as close together as they may be, about the same middle, give the goal as their chance."""
    job, pins = job_of(name), of_job(name).pins

    assert pins is not None
    assert pins.smallest_spacing is not None
    half = 0.5 * pins.smallest_spacing
    assert 94.0 == pytest.approx(pins.spacing)
    moved = with_method(job, pins=((90.0, 55.0 - half), (90.0, 55.0 + half)))
    assert pytest.approx(chance(moved), abs=OFF) == GOAL


@pytest.mark.parametrize(
    ("flip", "at", "moved"),
    [
        ("left-right", (60.0, 40.0), lambda d: (90.0 - d, 40.0)),
        ("left-right", (120.0, 40.0), lambda d: (90.0 + d, 40.0)),
        ("front-back", (60.0, 40.0), lambda d: (60.0, 55.0 - d)),
        ("front-back", (60.0, 70.0), lambda d: (60.0, 55.0 + d)),
        ("diagonal", (60.0, 40.0), lambda d: (50.0 + d / math.sqrt(2.0), 50.0 - d / math.sqrt(2.0))),
        ("diagonal", (40.0, 60.0), lambda d: (50.0 - d / math.sqrt(2.0), 50.0 + d / math.sqrt(2.0))),
    ],
)
def test_reach_of_a_hole_just_meets_the_goal(flip: str, at: tuple[float, float], moved):
    """A hole moved straight away from the flip line, as far as it may lie, meets the goal just so."""
    errors = {"machine_squareness": {"std": 0.0005}, "fence_angle": {"std": 0.0008}, "positioning": {"std": 0.01}}
    fence = FENCE if flip != "diagonal" else {**FENCE, "contacts": [20.0, 90.0], "after_flip": "same side"}

    def of_hole(*place: float) -> Job:
        return make_job(fence, errors=errors, flip=flip, pairs=[hole(*place, "seat")])

    (reach,) = of_one(of_hole(*at)).holes
    assert reach.largest is not None
    assert at == pytest.approx(moved(reach.distance))
    assert pytest.approx(chance(of_hole(*moved(reach.largest))), abs=OFF) == GOAL


def test_a_hole_may_lie_anywhere_or_nowhere():
    """A hole that would pass beyond the edge of the blank may lie anywhere, one that fails on the line nowhere."""
    easy, hard = {**hole(60.0, 40.0, "easy"), "allowed": 1.0}, {**hole(60.0, 40.0, "hard"), "allowed": 0.001}
    job = make_job(FENCE, errors={"positioning": {"std": 0.01}}, pairs=[easy, hard])

    assert [("easy", 30.0, math.inf), ("hard", 30.0, None)] == [
        (reach.pair, reach.distance, reach.largest) for reach in of_one(job).holes
    ]


MISSED = {
    "several errors and a tighter fit": ("carrier", "dowels in holes drilled beforehand"),
    "several errors": ("carrier", "fence and stop, stop stays"),
    "one error": ("carrier", "probe the same corner"),
    "the clearance": ("panel", "wood dowels"),
    "several errors of a panel": ("panel", "fence cut by the machine"),
}


@pytest.mark.parametrize("case", MISSED)
def test_changes_reach_the_goal(case: str):
    """The changes named for a method that misses its goal give it the goal, and none of them is idle."""
    example, name = MISSED[case]
    job = by(flipcheck.built_in(example), name)
    changes = of_missed(case).changes

    assert changes is not None
    assert changes.factor is not None
    changed = job if changes.clearance is None else with_clearance(job, changes.clearance)
    for source in changes.sources:
        changed = resized(changed, source, changes.factor)
    assert pytest.approx(chance(changed), abs=OFF) == GOAL
    for source in changes.sources:
        assert chance(resized(changed, source, 1.0 / changes.factor)) < GOAL - OFF


def test_the_kinds_of_changes():
    """Which changes they are: one where one is enough, the clearance first, else a list that goes with a new fit."""
    found = {case: of_missed(case).changes for case in MISSED}

    assert {
        "several errors and a tighter fit": (("hole_position", "hole"), True),
        "several errors": (("stock_size", "seating", "positioning"), False),
        "one error": (("positioning",), False),
        "the clearance": ((), True),
        "several errors of a panel": (("positioning", "machine_squareness", "seating"), False),
    } == {case: (changes and changes.sources, bool(changes and changes.clearance)) for case, changes in found.items()}


def test_too_tight_a_fit_is_widened():
    """Pins that most blanks do not go onto get the smallest clearance that meets the goal."""
    tight = {**ROOMY, "hole": {"diameter": 6.03, "limit": 0.02}}
    found = of_one(make_job(tight, errors=ERRORS, pairs=[SEAT]))

    assert found.chance.estimate < 0.7
    assert found.pins is not None
    assert found.changes is not None
    assert ((), found.pins.smallest) == (found.changes.sources, found.changes.clearance)
    assert 0.05 < found.changes.clearance < 0.07


def test_a_goal_out_of_reach():
    """Where a known error alone spoils every part no list of changes is made up."""
    job = make_job(FENCE, errors={"rehoming": {"std": 0.01, "bias": 0.3}, "positioning": {"std": 0.01}})
    found = of_one(job)

    assert 0.0 == pytest.approx(found.chance.estimate, abs=1e-12)
    assert [None, None] == [limit.factor for limit in found.sources]
    assert found.changes is not None
    assert found.changes.factor is None


def test_nothing_to_change_where_the_goal_is_met():
    """A method that meets its goal needs no changes."""
    found = of_job("fence")

    assert GOAL < found.chance.estimate
    assert found.changes is None


def test_squareness_on_paper():
    """A machine out of square by g parts a hole 30 mm from the flip line by 2 g 30 mm: 0.1 mm in 95 of 100 parts."""
    job = make_job(PINS, errors={"machine_squareness": {"std": 0.0002}})
    found = source(of_one(with_clearance(job, 1e-6)), "machine_squareness")

    assert pytest.approx(found.largest, rel=OFF_TWO) == 0.1 / (2.0 * 30.0 * TWO)
    assert ("std", 0.0002) == (found.given_as, found.size)


def test_reach_on_paper():
    """By the same machine of 0.5 mm/m a hole may lie 0.1 mm / (2 x 0.0005 x 1.96) from the flip line."""
    job = make_job(PINS, errors={"machine_squareness": {"std": 0.0005}})
    (reach,) = of_one(with_clearance(job, 1e-6)).holes

    assert 30.0 == reach.distance
    assert pytest.approx(reach.largest, rel=OFF_TWO) == 0.1 / (2.0 * 0.0005 * TWO)


def test_bias_stays_on_paper():
    """A web of 3 mm in stock 0.06 mm too thick on average keeps 0.14 mm of room at its lower limit of 2.8 mm."""
    floor = {"name": "floor", "kind": "web", "at": [90, 50], "depth_a": 5, "depth_b": 4, "min_web": 2.8}
    job = make_job(FENCE, errors={"stock_thickness": {"std": 0.04, "bias": 0.06}}, pairs=[floor])

    assert pytest.approx(source(of_one(job), "stock_thickness").largest, rel=OFF_ONE) == 0.14 / ONE


def test_clearance_on_paper():
    """At the round hole of two, the other being a slot, play is even over a circle: 95 % of its area must do."""
    job = make_job({**PINS, "second_hole": "slot"}, errors={}, pairs=[hole(90.0, 8.0)])
    pins = of_one(job).pins

    assert pins is not None
    assert pins.smallest == pytest.approx(0.0, abs=1e-5)
    # the chance falls as (0.1 / c)^2: a slope of 2 x 0.95 for each time the clearance
    error = 4.0 * math.sqrt(GOAL * (1.0 - GOAL) / TRIALS) / (2.0 * GOAL)
    assert pytest.approx(pins.largest, rel=error) == 2.0 * 0.1 / math.sqrt(0.95)


def test_going_on_on_paper():
    """Two holes off by 0.02 mm along their line are off by 0.02 sqrt(2) to each other: the clearance takes it up."""
    method = {**PINS, "holes": "beforehand", "hole_position": {"std": 0.02}}
    pins = of_one(make_job(method, errors={})).pins

    assert pins is not None
    assert pytest.approx(pins.goes_on, rel=OFF_TWO) == TWO * 0.02 * math.sqrt(2.0)


def test_runout_on_paper():
    """Holes that a worn bit cuts too small for their bolt pass it once the runout makes up for it, or does more.

    But nobody is told to wish for runout: no change to an error is named, as the worn bit is what is in the way.
    """
    bolt = {"name": "bolt", "kind": "hole", "at": [60.0, 40.0], "bolt": 5.0, "hole_a": 5.02}
    errors = {"bit_runout": 0.01, "bit_diameter": {"std": 1e-6, "bias": -0.04}, "positioning": {"std": 1e-6}}
    found = of_one(make_job(FENCE, errors=errors, pairs=[bolt]))

    assert 0.0 == found.chance.estimate
    limit = source(found, "bit_runout")
    assert ("reading", 0.01, math.inf) == (limit.given_as, limit.size, limit.factor)
    assert found.changes is not None
    assert found.changes.factor is None


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ({"std": 0.01}, ("std", 0.01)),
        ({"limit": 0.02}, ("limit", 0.02)),
        ({"total": 0.02}, ("limit", 0.01)),
        ({"limit": 0.02, "shape": "normal", "sigmas": 2}, ("limit", 0.02)),
        ({"limit": 0.02, "shape": "triangular", "bias": 0.01}, ("limit", 0.02)),
    ],
)
def test_sizes_are_as_given(given: dict[str, Any], expected: tuple[str, float]):
    """A size is told as it was given: a standard deviation, or a limit to either side."""
    limit = source(of_one(make_job(FENCE, errors={"seating": given}), trials=1000), "seating")

    assert expected == (limit.given_as, limit.size)


def test_what_does_not_vary_has_no_limit():
    """A mere bias has no size, and an error that does not act on a method is not spoken of."""
    errors = {"seating": {"std": 0.0, "bias": 0.01}, "probe_radius": {"std": 0.01}, "positioning": {"std": 0.01}}
    found = of_one(make_job(FENCE, errors=errors), trials=1000)

    assert ["positioning"] == [limit.source for limit in found.sources]


def test_without_any_error():
    """Without errors every part is good, and there is nothing to limit."""
    found = of_one(make_job(FENCE), trials=1000)

    assert (1.0, ()) == (found.chance.estimate, found.sources)
    assert [math.inf] == [reach.largest for reach in found.holes]


def test_the_tightest_stands_first():
    """Errors are in the order of their limits, those that no size of helps last."""
    for example in ("carrier", "panel"):
        for method in limits(flipcheck.built_in(example), trials=BLOCK).methods:
            factors = [math.inf if limit.factor is None else limit.factor for limit in method.sources]
            assert sorted(factors) == factors
            none = [limit.factor is None for limit in method.sources]
            assert sorted(none) == none


def test_draws_are_those_of_check():
    """With the same trials and seed the chance is that of `check`, and the head of the answer is the job's."""
    job = job_of("pins")
    found = limits(job, trials=BLOCK + 1, rng=5)
    checked = flipcheck.check(job, trials=2 * BLOCK, rng=5)

    assert (2 * BLOCK, 5, job.left_out) == (found.trials, found.seed, found.left_out)
    for one, other in zip(astuple(checked.methods[0].chance), astuple(found.methods[0].chance), strict=True):
        assert one == pytest.approx(other, abs=1e-5)  # weights are evened out in another order
    assert checked.meets_goal is found.meets_goal is True


def test_a_seed_gives_one_answer():
    """The same seed gives the same answer, another seed another."""
    job = flipcheck.built_in()
    names = ["dowels in holes drilled beforehand", "fence and stop, same edge"]
    one = limits(job, names, trials=BLOCK)

    assert one == limits(job, names, trials=BLOCK)
    assert one != limits(job, names, trials=BLOCK, rng=2)


def test_methods_asked_for():
    """Methods come in the order asked for, each once; progress tells of each."""
    job = flipcheck.built_in()
    names = ["probe the same corner", "fence and stop, same edge"]
    done: list[int] = []
    found = limits(job, [*names, names[0]], trials=100, progress=done.append)

    assert names == [method.name for method in found.methods]
    assert [BLOCK, BLOCK] == done
    assert not found.meets_goal


def test_unknown_method():
    """A method that is not in the job is told with those that are."""
    with pytest.raises(JobError, match=r'\[unknown-method\]|"fense"') as refused:
        limits(make_job(FENCE), ["fense"])
    assert ["unknown-method"] == [problem.code for problem in refused.value.problems]


def test_impossible_job():
    """A job built in Python is looked at as one from a file is."""
    with pytest.raises(JobError, match="contacts") as refused:
        limits(make_job({**FENCE, "contacts": [20.0, 900.0]}))
    assert "beyond-edge" in [problem.code for problem in refused.value.problems]


def test_no_trials():
    """Without a trial nothing can be said."""
    with pytest.raises(ValueError, match="at least one trial is needed, not 0"):
        limits(make_job(FENCE), trials=0)


def test_wear_is_no_size_of_the_first_part():
    """Holes that wear are a matter of batches: no limit is told for them."""
    worn = {**PINS, "holes": "beforehand", "hole_position": {"std": 0.01}, "wear": {"limit": 0.001, "bias": 0.002}}
    found = of_one(make_job(worn), trials=1000)

    assert ["hole_position"] == [limit.source for limit in found.sources]


def test_a_known_change_is_told_as_a_change():
    """Half a kelvin to the digit, for a metal that grows by 23 ppm (from memory): how much of it there may be.

    Touched off at the corner, (60, 40) moves by 23 ppm times 72.1 mm for each kelvin: 0.1 mm at 60.3 K.
    """
    between = {"per_kelvin": 23e-6, "temperature": 0.5}
    (limit,) = of_one(make_job(PROBE, between=between), trials=1000).sources

    assert ("temperature", "change", 0.5) == (limit.source, limit.given_as, limit.size)
    assert 0.1 / (23e-6 * math.hypot(60.0, 40.0)) == pytest.approx(0.5 * limit.factor, rel=2e-3)
