"""What each error does after the turn: the answers that can be worked out on paper.

Each effect is read off the model's coefficients: mm of misalignment (B minus A, blank frame) per mm or rad of error.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from flipcheck.flip.model import flip_model
from tests.make import FENCE, LENGTH, PINS, PROBE, WIDTH, effects, make_job, model_of

ONE = {"std": 0.001}
POINTS = [(20.0, 15.0), (150.0, 15.0), (60.0, 90.0)]
MACHINE_FENCE = {**FENCE, "set_by": "machine"}


def effect(method: dict[str, Any], source: str, **head: Any) -> np.ndarray:
    """Effects of the only draw of a source at `POINTS`, shape (points, 2)."""
    found = effects(model_of(method, {source: ONE}, *POINTS, **head), source)
    assert found.shape[2] == 1
    return found[:, :, 0]


def test_fence_angle_is_a_pure_rotation_of_twice_the_angle():
    """A fence turned by f leaves side B turned by 2 f against side A."""
    field = effect(FENCE, "fence_angle")
    along_x, along_y = (field[1] - field[0]) / 130.0, (field[2] - field[0] - 40.0 * np.array([0.0, 2.0])) / 75.0

    assert pytest.approx([0.0, 2.0]) == along_x
    assert pytest.approx([-2.0, 0.0]) == along_y


@pytest.mark.parametrize(("flip", "expected"), [("left-right", 0.0), ("front-back", -2.0)])
def test_fence_position_cancels_along_the_flip_line_and_doubles_across(flip: str, expected: float):
    """A front fence that is out by d cancels in a left-right turn and doubles in a front-back turn."""
    assert effect(FENCE, "fence_position", flip=flip) == pytest.approx(np.array([[0.0, expected]] * 3))


def test_stop_that_stays_and_meets_the_opposite_edge_doubles():
    """One stop, mirrored: its error enters twice across the flip line."""
    assert effect({**FENCE, "after_flip": "same side"}, "stop_position") == pytest.approx(np.array([[-2.0, 0.0]] * 3))


def test_stop_moved_to_keep_its_edge_is_two_independent_stops():
    """Two stops, each with a draw of its own that enters once."""
    found = effects(model_of(FENCE, {"stop_position": ONE}, *POINTS), "stop_position")

    assert found.shape == (3, 2, 2)
    assert np.abs(found[:, 0]) == pytest.approx(np.ones((3, 2)))
    assert found[:, 1] == pytest.approx(np.zeros((3, 2)))


def test_stop_along_the_flip_line_cancels():
    """A left stop is met by the same edge, in the same direction, before and after a front-back turn."""
    assert effect(FENCE, "stop_position", flip="front-back") == pytest.approx(np.zeros((3, 2)))


def test_blank_size_is_nothing_with_the_same_edge():
    """The right edge is never met when the stop follows the left one."""
    assert not effects(model_of(FENCE, {"stock_size": ONE}, *POINTS), "stock_size").any()


def test_blank_size_enters_once_with_the_same_side():
    """A stop that stays meets the right edge after the turn, and the length of the blank enters in full."""
    found = effect({**FENCE, "after_flip": "same side"}, "stock_size")

    assert np.abs(found) == pytest.approx(np.array([[1.0, 0.0]] * 3))


@pytest.mark.parametrize("method", [FENCE, PROBE, {**PROBE, "middle": ["x"]}], ids=["fence", "probe", "middle"])
def test_squareness_of_the_blank_is_nothing_at_the_same_edges(method: dict[str, Any]):
    """Edges out of square by any angle are met at the same places before and after."""
    found = effects(model_of(method, {"stock_squareness": ONE}, *POINTS), "stock_squareness")

    assert found.size > 0
    assert found == pytest.approx(np.zeros_like(found))


@pytest.mark.parametrize(
    ("change", "expected"),
    [({}, [0.0, 0.0]), ({"after_flip": "same side"}, [2.0, 0.0]), ({"middle": ["x", "y"]}, [0.0, 0.0])],
    ids=["same physical corner", "same machine corner", "middle of two edges"],
)
def test_stylus_radius(change: dict[str, Any], expected: list[float]):
    """A stylus radius cancels at the same physical corner, doubles at the same machine corner, is nothing midway."""
    found = np.abs(effect({**PROBE, **change}, "probe_radius"))

    assert found == pytest.approx(np.array([expected] * 3))


def test_stock_width_does_not_matter_at_the_same_physical_corner():
    """Touching off the same physical corner on both faces makes the width of the stock irrelevant (common practice, no
    source)."""
    assert not effects(model_of(PROBE, {"stock_size": ONE}, *POINTS), "stock_size").any()


@pytest.mark.parametrize(
    ("method", "origin"),
    [(MACHINE_FENCE, 30.0), (FENCE, 0.0), (PROBE, 35.0), ({**PROBE, "middle": ["x"]}, 35.0)],
    ids=["machine-set stop", "hand-set stop", "touched off", "middle"],
)
def test_machine_squareness_with_the_angle_along_x(method: dict[str, Any], origin: float):
    """D_x = 2 g (y - y0), with y0 where X was set: the stop, the touch, or the machine's zero for a hand-set stop."""
    expected = np.array([[2.0 * (y - origin), 0.0] for _, y in POINTS])

    assert effect(method, "machine_squareness") == pytest.approx(expected)


def test_machine_squareness_with_pins_on_a_flip_line_along_y():
    """D_y = 2 g (x - x_line) and D_x = 0."""
    expected = np.array([[0.0, 2.0 * (x - 90.0)] for x, _ in POINTS])

    assert effect(PINS, "machine_squareness") == pytest.approx(expected)
    assert effect({**PINS, "bed_holes": "same stroke"}, "machine_squareness") == pytest.approx(expected)


def test_machine_squareness_with_pins_and_a_diagonal_turn():
    """A diagonal turn leaves a pure rotation, which the pins take out: nothing."""
    pins = {**PINS, "pins": [[10.0, 15.0], [95.0, 100.0]]}

    assert effect(pins, "machine_squareness", flip="diagonal") == pytest.approx(np.zeros((3, 2)))


@pytest.mark.parametrize("method", [PINS, MACHINE_FENCE, PROBE], ids=["pins", "fence", "probe"])
@pytest.mark.parametrize("axis", ["machine_scale_x", "machine_scale_y"])
def test_scale_is_nothing(method: dict[str, Any], axis: str):
    """A wrong scale shrinks both faces alike about holes cut with face A, or about the same physical edges."""
    assert effect(method, axis) == pytest.approx(np.zeros((3, 2)))


@pytest.mark.parametrize(
    ("middle", "expected"), [([], np.sqrt(2.0)), (["x"], 1.0)], ids=["one edge", "middle of two edges"]
)
def test_repeatability_of_touches(middle: list[str], expected: float):
    """Touches scatter anew in each setup: sqrt 2 sigma across, or sigma for the middle of two edges."""
    method = {**PROBE, "middle": middle, "angle": "by eye", "spacing": None}
    found = effects(model_of(method, {"probe_repeatability": ONE}, *POINTS), "probe_repeatability")

    assert pytest.approx([expected] * 3) == np.sqrt(np.square(found[:, 0]).sum(axis=1))


def test_runout_of_a_stopped_bit_has_one_phase_for_both_axes():
    """Each setup adds one eccentricity vector, of length e = TIR / 2: e / sqrt 2 per axis and setup."""
    model = model_of(PROBE, {"bit_runout": 0.04}, *POINTS)
    found = effects(model, "bit_runout")

    assert [2, 2] == [source.rows for source in model.linear.sources]
    assert pytest.approx(0.02 / np.sqrt(2.0)) == model.linear.stds[0]
    assert np.abs(found[0]) == pytest.approx(np.array([[1.0, 0.0, 1.0, 0.0], [0.0, 1.0, 0.0, 1.0]]))


def test_runout_with_the_phase_kept():
    """A phase that is marked and kept cancels along the flip line and doubles across it."""
    found = effects(model_of({**PROBE, "same_phase": True}, {"bit_runout": 0.04}, *POINTS), "bit_runout")

    assert np.abs(found[0]) == pytest.approx(np.array([[2.0, 0.0], [0.0, 0.0]]))


def test_runout_does_not_act_on_a_probe_stylus():
    """A probe of its own does not run out with the bit."""
    assert not effects(model_of({**PROBE, "stylus": "probe"}, {"bit_runout": 0.04}, *POINTS), "bit_runout").size


def test_dowels_set_by_the_machine_do_not_know_the_fence_or_the_edges():
    """Dowels set by the machine keep the blank square to it: no fence, no edge (common practice, no source)."""
    errors = {"fence_angle": ONE, "stock_squareness": ONE, "stock_size": ONE, "probe_radius": ONE}
    model = model_of(PINS, errors, *POINTS)

    assert () == model.linear.sources


def test_homing_again_acts_on_pins_and_fence_but_not_on_a_probe():
    """A zero lost between the faces enters once where it is not touched off again."""
    assert 2 == effects(model_of(PINS, {"rehoming": ONE}, *POINTS), "rehoming").shape[2]
    assert 2 == effects(model_of(FENCE, {"rehoming": ONE}, *POINTS), "rehoming").shape[2]
    assert 0 == effects(model_of(PROBE, {"rehoming": ONE}, *POINTS), "rehoming").shape[2]


@pytest.mark.parametrize(
    ("method", "draws"),
    [(PINS, 2), ({**PINS, "holes": "beforehand"}, 4), (FENCE, 4), (PROBE, 0)],
    ids=["pins with face A", "pins beforehand", "fence", "probe"],
)
def test_clamping_shift_acts_where_the_blank_is_seated(method: dict[str, Any], draws: int):
    """Clamping shifts a seated blank in each setup; a probe touches off the clamped blank."""
    assert draws == effects(model_of(method, {"clamping_shift": ONE}, *POINTS), "clamping_shift").shape[2]


def test_positioning_of_one_feature_is_its_own_two_cuts():
    """With a perfect registration each pair has one scatter a face: sqrt 2 sigma per axis."""
    model = model_of(FENCE, {"positioning": ONE}, *POINTS)
    found = effects(model, "positioning")

    assert pytest.approx(np.full((3, 2), np.sqrt(2.0))) == np.sqrt(np.square(found).sum(axis=2))


def test_rail_meets_the_same_high_spots_again():
    """Straightness: a rail bears on the same two spots of the same edge again, two contacts meet other places of it."""
    fence = {**FENCE, "stop_at": 30.0}
    rail = effects(model_of({**fence, "rail": True}, {"stock_straightness": ONE}, (90.0, 0.0)), "stock_straightness")
    contacts = effects(model_of(fence, {"stock_straightness": ONE}, (90.0, 0.0)), "stock_straightness")

    # spots at 20 and 150 of the front edge and one of the left edge
    assert 3 == rail.shape[2]
    assert 5 == contacts.shape[2]


def test_contacts_symmetric_about_the_flip_line_meet_the_same_places():
    """Straightness cancels where both contacts lie symmetrically about the flip line."""
    fence = {**FENCE, "contacts": [30.0, 150.0]}
    found = effects(model_of(fence, {"stock_straightness": ONE}, *POINTS), "stock_straightness")

    assert found == pytest.approx(np.zeros_like(found))


@pytest.mark.parametrize(
    ("zero", "thick", "bed"),
    [("bed", -1.0, 2), ("top", 1.0, 0), ("top then bed", 0.0, 1)],
    ids=lambda value: str(value),
)
def test_thickness_of_the_blank_in_a_web(zero: str, thick: float, bed: int):
    """Zeroed on the bed in both setups a thick blank thins the web, on top in both it thickens it; else nothing."""
    web = {"name": "floor", "kind": "web", "at": [60, 40], "depth_a": 5, "depth_b": 4, "min_web": 2.5}
    errors = {"stock_thickness": ONE, "bed_flatness": ONE, "z_touch": ONE}
    job = make_job({**PINS, "zero_z": zero}, pairs=[web], errors=errors)
    linear = flip_model(job, job.methods[0]).linear
    by_name: dict[str, list[float]] = {}
    for source, rows in zip(linear.sources, linear.source_rows, strict=True):
        by_name.setdefault(source.name, []).extend(linear.coefficients[0, rows])

    assert [thick] == by_name["stock_thickness"]
    assert [-1.0] * bed == by_name.get("bed_flatness", [])
    assert [1.0, 1.0] == by_name["z_touch"]
    assert pytest.approx(3.0) == linear.centre[0]


def test_play_turns_the_blank_by_twice_the_clearance_over_the_spacing():
    """Largest turn (c1 + c2) / B: two pins 94 mm apart and 0.025 mm of radial clearance."""
    linear = model_of(PINS, {}, (90.0, 55.0), (90.0 + 94.0 / 2, 55.0)).linear
    rows = linear.contact_rows[0]
    turned = linear.coefficients[:, rows] @ [0.0, 0.025, -0.025]

    assert pytest.approx(0.0) == turned[0]
    assert pytest.approx(0.025) == abs(turned[3] - turned[1])


def test_fence_turns_about_the_middle_of_its_side():
    """A hand-set back fence that is turned leaves the middle of its own side where it is."""
    fence = {**FENCE, "fence": "back", "stop": "right"}
    found = effects(model_of(fence, {"fence_angle": ONE}, (LENGTH / 2, WIDTH)), "fence_angle")

    assert pytest.approx(0.0, abs=1e-12) == found[0, 1, 0]


def test_bit_opens_holes_by_its_diameter_and_by_the_whole_runout():
    """A bit 0.01 too thick that runs out by 0.04 cuts 0.05 wider: half of it is radial clearance, all of it is room.

    A bolt has as much more room, and never fewer than the narrower hole has: 6.0 in holes of 6.2 and 6.5 passes
    nominally for 0.35, and the slack may be 0.2 less before it does not go into the narrower one.
    """
    errors = {"bit_diameter": {"std": 0.001, "bias": 0.01}, "bit_runout": 0.04}
    bolt = {"name": "bolt", "kind": "hole", "at": [60, 40], "bolt": 6.0, "hole_a": 6.2, "hole_b": 6.5}
    job = make_job({**PINS, "holes_by_bit": True}, errors=errors, pairs=[bolt])
    model = flip_model(job, job.methods[0])
    linear, (target,) = model.linear, model.targets
    measure = target.measure

    assert (target.x, target.y) == (measure.x, measure.y)
    assert linear.contacts[0].forms[1:] @ linear.source_means == pytest.approx([0.025, 0.025])
    assert linear.expected[measure.slack] == pytest.approx(0.05)
    assert (measure.limit, measure.need) == pytest.approx((0.35, -0.2))


@pytest.mark.parametrize(
    ("errors", "corner"),
    [
        ({"fence_angle": ONE}, (178.0, 30.0)),
        ({"fence_angle": ONE, "rehoming": {"std": 5.0}}, (178.0, 30.0)),
        ({"fence_angle": {"std": 1e-5}, "machine_squareness": ONE}, (100.0, 105.0)),
    ],
    ids=["turned", "turned and shifted", "sheared"],
)
def test_exposed_corner_of_an_outline(errors: dict[str, Any], corner: tuple[float, float]):
    """x and y of an outline speak of the corner that scatters most.

    A fence out by f turns all by 2 f about (90, 30): the corner farthest from there moves most, however much all shift
    together. A machine out of square shears by 2 g y, and 1 mm/m of that outdoes a hundredth of it in the fence.
    """
    rim = {"name": "rim", "kind": "outline", "points": [[10, 20], [178, 30], [100, 105]], "allowed": 0.1}
    job = make_job(FENCE, errors=errors, pairs=[rim])
    (target,) = flip_model(job, job.methods[0]).targets

    assert corner == target.at


def test_limits_of_a_slot_and_an_outline():
    """What the job allows is what the pair is judged by; across a slot at 90 degrees only x counts."""
    slot = {"name": "latch", "kind": "slot", "at": [60, 30], "angle": np.pi / 2, "allowed": 0.2}
    rim = {"name": "rim", "kind": "outline", "points": [[10, 20], [178, 30], [100, 105]], "allowed": 0.3}
    job = make_job(FENCE, errors={"rehoming": ONE}, pairs=[slot, rim])
    model = flip_model(job, job.methods[0])
    across, step = model.linear.measures
    (row,) = across.rows

    assert [(0.2, 0.2), (0.3, 0.3)] == [(t.allowed, t.measure.limit) for t in model.targets]
    assert [1.0, 0.0] == pytest.approx(np.abs(model.linear.coefficients[row]))
    assert 6 == len(step.rows)


def test_pushed_pins_lie_off_by_their_mean_clearance():
    """Holes that are 0.02 wider than nominal on average: pushed left the blank lies 0.025 + 0.01 off, and so D_x."""
    pushed = {**PINS, "push": "left", "hole": {"diameter": 6.05, "limit": 0.001, "bias": 0.02}}
    model = model_of(pushed, {}, *POINTS)

    for target in model.targets:
        assert model.linear.expected[[target.x, target.y]] == pytest.approx([-0.035, 0.0])


@pytest.mark.parametrize(("use", "allowed", "has_slack"), [("bolt", 0.2, True), ("countersink", 0.1, False)])
def test_room_of_a_bolt_grows_with_the_bit_that_of_its_head_does_not(use: str, allowed: float, has_slack: bool):
    """4.0 in 4.2: 0.2 where both holes are drilled, half of it where a cone centres the head."""
    bolt = {"name": "bolt", "kind": "hole", "at": [60, 40], "use": use, "bolt": 4.0, "hole_a": 4.2}
    job = make_job(PINS, errors={"bit_diameter": ONE}, pairs=[bolt])
    model = flip_model(job, job.methods[0])
    (measure,) = model.linear.measures

    assert measure.limit == pytest.approx(allowed)
    assert has_slack == (measure.slack is not None)
    assert "pins" == model.linear.name
