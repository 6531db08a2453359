"""What `check` answers, against what can be worked out by hand or told from its own parts."""

from __future__ import annotations

import math

import numpy as np
import pytest

import flipcheck
from flipcheck.decide.results import MethodResult
from flipcheck.errors import JobError
from flipcheck.stack.monte_carlo.streams import BLOCK
from tests.make import FENCE, PINS, PROBE, hole, make_job

TRIALS = 200_000
EVERY = {
    "machine_squareness": {"std": 0.0003},
    "positioning": {"std": 0.01},
    "lost_motion": {"total": 0.03},
    "clamping_shift": {"std": 0.01},
    "rehoming": {"std": 0.01},
    "seating": {"limit": 0.02},
    "stock_size": {"limit": 0.3},
    "stock_squareness": {"limit": 0.001},
    "stop_position": {"std": 0.02},
    "fence_angle": {"std": 0.0002},
    "probe_repeatability": {"std": 0.01},
    "probe_radius": {"limit": 0.02},
    "bit_runout": 0.03,
    "z_touch": {"std": 0.02},
    "stock_thickness": {"limit": 0.1},
    "bed_flatness": {"std": 0.03},
}
PAIRS = [
    hole(60.0, 40.0, "seat"),
    {"name": "slot", "kind": "slot", "at": [120.0, 80.0], "angle": math.radians(30.0), "allowed": 0.08},
    {"name": "rim", "kind": "outline", "points": [[10, 10], [170, 10], [170, 100], [10, 100]], "allowed": 0.2},
    {"name": "floor", "kind": "web", "at": [90, 50], "depth_a": 5, "depth_b": 4, "min_web": 2.8},
]
BEFOREHAND = {**PINS, "holes": "beforehand", "hole_position": {"std": 0.02}, "hole": {"diameter": 6.2, "limit": 0.02}}
ROOMY = {**PINS, "hole": {"diameter": 6.2, "limit": 0.02}}
METHODS = [ROOMY, {**ROOMY, "push": "left"}, BEFOREHAND, FENCE, PROBE]


def ways(method: dict) -> MethodResult:
    """The result of one method with all errors and all kinds of pairs."""
    return flipcheck.check(make_job(method, errors=EVERY, pairs=PAIRS), trials=TRIALS).methods[0]


@pytest.mark.parametrize("method", METHODS, ids=["pins", "pushed", "beforehand", "fence", "probe"])
def test_stack_explains_what_was_drawn(method: dict):
    """The standard deviations of a stack add up, squared, to those of the simulation: none is missing or twice.

    The stack of pins knows nothing of blanks that did not go on; their share here is below a part in a thousand.
    """
    result = ways(method)

    assert result.goes_on > 0.999
    for pair in result.pairs:
        if pair.web is not None:
            drawn = [pair.web.std]
            stack = [math.sqrt(sum((entry.std_z or 0.0) ** 2 for entry in pair.stack))]
        else:
            assert pair.x is not None
            assert pair.y is not None
            drawn = [pair.x.std, pair.y.std]
            stack = [math.sqrt(sum(getattr(entry, f"std_{axis}") ** 2 for entry in pair.stack)) for axis in "xy"]
        assert stack == pytest.approx(drawn, rel=4.0 / math.sqrt(2.0 * TRIALS) + 5e-4)


@pytest.mark.parametrize("method", METHODS, ids=["pins", "pushed", "beforehand", "fence", "probe"])
def test_shares_add_to_one(method: dict):
    """The shares of a stack are of one whole, the largest first."""
    for pair in ways(method).pairs:
        shares = [entry.share for entry in pair.stack]

        assert pytest.approx(1.0) == sum(shares)
        assert sorted(shares, reverse=True) == shares


@pytest.mark.parametrize("method", METHODS, ids=["pins", "pushed", "beforehand", "fence", "probe"])
def test_worst_case_is_beyond_every_source_alone(method: dict):
    """The arithmetic worst case is at least the root sum of squares, and at least what any one source can do."""
    for pair in ways(method).pairs:
        assert pair.worst_case >= pair.rss
        assert all(pair.worst_case >= entry.worst for entry in pair.stack)


def test_no_errors_no_misalignment():
    """A fence in a shop without errors gives nothing but zeros, and every part is good."""
    result = flipcheck.check(make_job(FENCE, pairs=PAIRS), trials=1000)
    seat, slot, rim, floor = result.methods[0].pairs

    for pair in (seat, slot, rim):
        assert pair.distance is not None
        assert (0.0, 0.0) == (pair.distance.mean, pair.distance.std)
        assert {"p50": 0.0, "p95": 0.0, "p99": 0.0} == pair.distance.quantiles
        assert (0.0, 0.0, ()) == (pair.worst_case, pair.rss, pair.stack)
    assert floor.web is not None
    assert (3.0, 0.0, 3.0) == (floor.web.mean, floor.web.std, floor.web.quantiles["p95"])
    assert 1.0 == result.methods[0].chance.estimate


def test_pushed_without_other_errors_shifts_by_the_clearance():
    """Pushed to the left in setup B alone, every feature lands a radial clearance off, without scatter."""
    pair = flipcheck.check(make_job({**PINS, "push": "left"}), trials=1000).methods[0].pairs[0]

    assert pair.x is not None
    assert pair.y is not None
    assert pytest.approx((-0.025, 0.0), abs=1e-12) == (pair.x.mean, pair.x.std)
    assert pytest.approx((0.0, 0.0), abs=1e-12) == (pair.y.mean, pair.y.std)


def test_pushed_to_the_same_machine_side_twice_doubles_across_the_flip_line():
    """Holes made beforehand, pushed across the flip line for both faces: twice the clearance; along it: nothing."""
    across = flipcheck.check(make_job({**PINS, "holes": "beforehand", "push": "left"}), trials=1000)
    level = {**PINS, "pins": [[20.0, 55.0], [160.0, 55.0]], "holes": "beforehand", "push": "front"}
    along = flipcheck.check(make_job(level), trials=1000)

    assert pytest.approx(0.05) == abs(across.methods[0].pairs[0].x.mean)
    assert pytest.approx(0.0, abs=1e-12) == along.methods[0].pairs[0].y.mean


def test_blanks_that_cannot_go_on():
    """Pins larger than their holes: no blank goes on, the chance is nil, and nothing is said of the pairs."""
    tight = {**PINS, "hole": {"diameter": 5.9}}
    result = flipcheck.check(make_job(tight), trials=1000).methods[0]

    assert (0.0, 0.0) == (result.goes_on, result.chance.estimate)
    assert result.pairs[0].distance is not None
    assert math.isnan(result.pairs[0].distance.quantiles["p95"])
    assert (0.0, 1.0) == (result.pairs[0].chance.low, result.pairs[0].chance.high)


@pytest.mark.parametrize(("runout", "expected"), [(0.0, 0.0), (0.005, 0.0), (0.03, 1.0)])
def test_bolt_needs_the_smaller_hole(runout: float, expected: float):
    """A bolt of 5.99 mm in holes of 6 and 6.4 mm, cut 0.02 mm too thin, passes only where runout widens them."""
    pair = {"name": "bolt", "kind": "hole", "at": [60, 40], "bolt": 5.99, "hole_a": 6.0, "hole_b": 6.4}
    errors = {"bit_runout": runout, "bit_diameter": {"std": 0.0, "bias": -0.02}}

    assert (
        expected == flipcheck.check(make_job(FENCE, pairs=[pair], errors=errors), trials=100).methods[0].chance.estimate
    )


def test_goal_and_method_by_name():
    """The first method runs unless another is named."""
    job = make_job(PINS, FENCE)

    assert "pins" == flipcheck.check(job, trials=10).methods[0].name
    assert "fence" == flipcheck.check(job, "fence", trials=10).methods[0].name


def test_unknown_method():
    """A method that the job does not have is refused, with the nearest name."""
    with pytest.raises(
        JobError, match=r'needed the name of a method of this job \("pins", "fence"\); came "fense"'
    ) as refused:
        flipcheck.check(make_job(PINS, FENCE), "fense", trials=10)

    assert '"fence"' == refused.value.problems[0].hint


def test_added_error_leaves_other_draws_alone():
    """An error that acts on heights alone changes nothing sideways, to the last bit."""
    few = {name: EVERY[name] for name in EVERY if name not in {"z_touch", "bed_flatness", "stock_thickness"}}
    with_all = flipcheck.check(make_job(PINS, errors=EVERY, pairs=PAIRS), trials=5000).methods[0]
    without = flipcheck.check(make_job(PINS, errors=few, pairs=PAIRS), trials=5000).methods[0]

    for one, other in zip(without.pairs[:3], with_all.pairs[:3], strict=True):
        assert (one.chance, one.x, one.y, one.distance) == (other.chance, other.x, other.y, other.distance)
    assert without.pairs[3].web != with_all.pairs[3].web


def test_same_seed_same_answer_for_any_number_of_threads():
    """One, two and three threads give the same result, to the last bit."""
    job = make_job(BEFOREHAND, errors=EVERY, pairs=PAIRS)
    one, two, three = (flipcheck.check(job, trials=5 * BLOCK + 7, rng=4, threads=n) for n in (1, 2, 3))

    assert one == two == three
    assert one != flipcheck.check(job, trials=5 * BLOCK + 7, rng=5)


def test_seed_is_kept():
    """Whatever the run is seeded with, the result says what gives it again."""
    job = make_job(PINS, errors=EVERY)
    for rng in (None, 0, np.random.SeedSequence(7), np.random.default_rng(7)):
        first = flipcheck.check(job, trials=100, rng=rng)

        assert first == flipcheck.check(job, trials=100, rng=first.seed)


def test_left_out():
    """Errors that the job does not give are told, in the order of the table."""
    result = flipcheck.check(make_job(PINS, errors={"positioning": {"std": 0.01}}), trials=10)

    assert "positioning" not in result.left_out
    assert ("machine_squareness", "machine_scale_x", "machine_scale_y", "lost_motion") == result.left_out[:4]
