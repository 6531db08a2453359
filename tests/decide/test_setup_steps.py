"""The steps of a setup sheet: their order, which corner is zeroed where, which sign, what to beware of where."""

from __future__ import annotations

from typing import Any

import pytest

from flipcheck.decide.fixture.sheet import fixture_sheet
from flipcheck.decide.setup.step import Action, Caution, Stage, Step
from flipcheck.decide.setup.steps import setup_steps
from tests.make import FENCE, PINS, PROBE, make_job

METHODS: list[dict[str, Any]] = [
    PINS,
    PINS | {"holes": "beforehand"},
    PINS | {"bed_holes": "same stroke", "push": "left"},
    FENCE,
    FENCE | {"after_flip": "same side", "set_by": "machine", "rail": True},
    PROBE,
    PROBE | {"angle": "fence", "fence": "front", "contacts": [20.0, 150.0], "spacing": None},
    PROBE | {"angle": "by eye", "middle": ["x", "y"], "spacing": None},
]


def steps(method: dict[str, Any], **job: Any) -> tuple[Step, ...]:
    """The steps of a method."""
    made = make_job(method, **job)
    return setup_steps(made, made.methods[0], fixture_sheet(made, made.methods[0]))


def of(all_steps: tuple[Step, ...], action: Action) -> list[Step]:
    """The steps of one action."""
    return [step for step in all_steps if step.action is action]


@pytest.mark.parametrize("method", METHODS, ids=str)
def test_order_of_work(method: dict[str, Any]):
    """Every method goes through every stage once, in the order of the shop."""
    assert list(Stage) == list(dict.fromkeys(step.stage for step in steps(method)))
    places = [list(Stage).index(step.stage) for step in steps(method)]
    assert sorted(places) == places


@pytest.mark.parametrize("method", METHODS, ids=str)
def test_cautions_stand_where_they_matter(method: dict[str, Any]):
    """The plate comes off at each zero of Z, clamps are checked twice, dowels come out before face B is cut."""
    found = steps(method)
    assert [(Caution.PLATE_OFF,)] * 2 == [step.cautions for step in of(found, Action.ZERO_Z)]
    assert [Caution.CLAMPS, Caution.CLAMPS_MIRRORED] == [step.cautions[0] for step in of(found, Action.CLAMP)]
    assert (Caution.BODY, Caution.RULES) == found[0].cautions
    dowels = [step.stage for step in found if Caution.PINS_OUT in step.cautions]
    assert ([Stage.CUT_B] if method["kind"] == "pins" else []) == dowels


def test_touching_the_same_corner():
    """The left edge is touched on the left, then on the right: X is 0 less, then 180 and more, by half the bit."""
    touches = of(steps(PROBE), Action.TOUCH)
    assert [
        ("A", "y", "front", "front", 0.0, -1),
        ("A", "x", "left", "left", 0.0, -1),
        ("B", "y", "front", "front", 0.0, -1),
        ("B", "x", "right", "left", 180.0, 1),
    ] == [(step.face, step.axis, step.side, step.edge, step.at, step.sign) for step in touches]
    assert [(25.0, 0.0), (0.0, 35.0), (155.0, 0.0), (180.0, 35.0)] == [step.spots[0].at for step in touches]


def test_touching_the_same_side():
    """Another edge has come to the same side; the numbers stay as they were."""
    touches = of(steps(PROBE | {"after_flip": "same side"}), Action.TOUCH)
    assert ("B", "left", "right", 0.0, -1) == (
        touches[3].face,
        touches[3].side,
        touches[3].edge,
        touches[3].at,
        touches[3].sign,
    )


def test_back_edge_is_touched_from_behind():
    """After a front-back turn the front edge lies at the back: Y is 110 and more there."""
    touch = of(steps(PROBE, flip="front-back"), Action.TOUCH)[2]
    assert ("y", "back", "front", 110.0, 1) == (touch.axis, touch.side, touch.edge, touch.at, touch.sign)


def test_middle_of_two_edges():
    """Half-way between left and right is half the length, whatever the bit."""
    middles = of(steps(METHODS[-1]), Action.MIDDLE)
    assert [("y", 55.0, 0), ("x", 90.0, 0)] * 2 == [(step.axis, step.at, step.sign) for step in middles]
    assert [(0.0, 35.0), (180.0, 35.0)] == [spot.at for spot in middles[1].spots]


def test_angle_comes_between_the_two_touches():
    """The program is turned before X is touched, at the second place along the same edge."""
    first = [step for step in steps(PROBE) if step.stage is Stage.ZERO_A]
    angle = of(tuple(first), Action.ANGLE)[0]
    assert [Action.TOUCH, Action.ANGLE, Action.TOUCH, Action.ZERO_Z] == [step.action for step in first[-4:]]
    assert [(25.0, 0.0), (145.0, 0.0)] == [spot.at for spot in angle.spots]


@pytest.mark.parametrize(("method", "count"), [(PINS, 1), (FENCE, 1), (PROBE, 0)])
def test_homing_matters_to_pins_and_fence(method: dict[str, Any], count: int):
    """A probe finds the blank anew; pins and fence stand where the zero says."""
    assert count == len(of(steps(method), Action.NO_HOMING))


def test_zero_of_pins_is_kept():
    """X and Y are zeroed once, at the blank, and kept for face B."""
    found = steps(PINS)
    assert ["A"] == [step.face for step in of(found, Action.ZERO_XY)]
    assert ["B"] == [step.face for step in of(found, Action.KEEP_XY)]


def test_bed_holes_bored_separately_are_bored_after_face_a():
    """Off the flip line the bed holes lie elsewhere than the holes of the blank, under it: they wait for the turn."""
    found = steps(PINS | {"pins": [[60.0, 8.0], [60.0, 102.0]]})
    (bed,) = of(found, Action.BORE_BED)
    assert Stage.TURN is bed.stage
    assert [(120.0, 8.0), (120.0, 102.0)] == [spot.at for spot in bed.spots]
    assert [(60.0, 8.0), (60.0, 102.0)] == [spot.at for spot in of(found, Action.BORE_PIN_HOLES)[0].spots]


def test_bed_holes_of_one_stroke_are_not_bored_again():
    """One stroke through blank and bed."""
    found = steps(PINS | {"bed_holes": "same stroke"})
    assert [] == of(found, Action.BORE_BED)
    assert "same stroke" == of(found, Action.BORE_PIN_HOLES)[0].detail


@pytest.mark.parametrize(
    ("pins", "holes"),
    [([[90.0, 8.0], [90.0, 102.0]], 2), ([[20.0, 55.0], [160.0, 55.0]], 2), ([[20.0, 55.0], [150.0, 55.0]], 4)],
)
def test_bed_holes_for_holes_made_beforehand(pins: list[list[float]], holes: int):
    """Both setups need pins; places that serve both are bored once."""
    (bed,) = of(steps(PINS | {"holes": "beforehand", "pins": pins}), Action.BORE_BED)
    assert (Stage.ZERO_A, holes) == (bed.stage, len(bed.spots))


def test_push_only_where_the_blank_is_pushed():
    """Holes cut with face A: the blank is pushed in setup B alone."""
    assert [("B", "left")] == [(step.face, step.side) for step in of(steps(METHODS[2]), Action.PUSH)]


def test_stop_moves_with_its_edge():
    """The stop meets the left edge on the left, then on the right at X = 180."""
    stops = of(steps(FENCE), Action.SET_STOP)
    assert [("A", "left", "left", 0.0, "hand"), ("B", "right", "left", 180.0, "moved")] == [
        (step.face, step.side, step.edge, step.at, step.detail) for step in stops
    ]


def test_stop_stays():
    """The stop stays on the left and meets the right edge."""
    stop = of(steps(METHODS[4]), Action.SET_STOP)[1]
    assert ("left", "right", "stays") == (stop.side, stop.edge, stop.detail)


@pytest.mark.parametrize(
    ("flip", "corner"),
    [("left-right", ("right", "front")), ("front-back", ("left", "back")), ("diagonal", ("left", "front"))],
)
def test_where_the_mark_comes_to_lie(flip: str, corner: tuple[str, str]):
    """The front-left corner of the blank, after each turn."""
    (turn,) = of(steps(PROBE | {"spacing": 60.0}, flip=flip), Action.TURN_OVER)
    assert corner == turn.corner


def test_the_pair_pointed_at_is_the_farthest():
    """Of two holes the one farther from the flip line, with its distances from the nearest edges."""
    pairs = [{"name": f"{x:g}", "kind": "hole", "at": [x, 30.0], "allowed": 0.1} for x in (80.0, 20.0)]
    (point,) = of(steps(PINS, pairs=pairs), Action.POINT_AT)
    assert ("20", (160.0, 30.0)) == (point.spots[0].name, point.spots[0].at)
    assert [("right", "left", 20.0), ("front", "front", 30.0)] == [
        (ruler.side, ruler.edge, ruler.distance) for ruler in point.rulers
    ]


def test_edges_that_are_cut_off_are_not_measured_from():
    """A part cut out with face A is measured from its own edges: here 8 and 5 mm inside those of the blank."""
    nest = {"name": "nest", "kind": "nest", "clearance": 0.3, "outline": "with face A"}
    pairs = [{"name": "hole", "kind": "hole", "at": [20.0, 30.0], "allowed": 0.1}]
    for method, expected in ((nest | {"rectangle": [[8, 5], [170, 100]]}, [12.0, 25.0]), (PINS, [20.0, 30.0])):
        (point,) = of(steps(method, pairs=pairs), Action.POINT_AT)
        assert expected == [ruler.distance for ruler in point.rulers]


def test_walls_meet_the_edges_that_are_left():
    """The walls of a nest stand where the cut outline lies after the turn, not where the blank ended."""
    nest = {
        "name": "nest",
        "kind": "nest",
        "clearance": 0.3,
        "outline": "with face A",
        "rectangle": [[8, 5], [170, 100]],
    }
    job = make_job(nest)
    met = {edge.side: edge.at for edge in fixture_sheet(job, job.methods[0]).edges}

    assert {"front": 5.0, "back": 100.0, "left": 10.0, "right": 172.0} == met


def test_nothing_to_point_at():
    """A job of webs alone has no place to point at."""
    web = {"name": "floor", "kind": "web", "at": [90, 55], "depth_a": 4, "depth_b": 5, "min_web": 1}
    assert [] == of(steps(PINS, pairs=[web]), Action.POINT_AT)


def test_thickness_with_its_error():
    """A known bias shifts the thickness that should be found."""
    step = steps(PINS, errors={"stock_thickness": {"limit": 0.4, "bias": -0.1}})[0]
    assert (Action.MEASURE_THICKNESS, 11.9, 0.4) == (step.action, step.size, step.limit)


@pytest.mark.parametrize(("units", "depth"), [("mm", 0.2), ("in", 0.2032)])
def test_depth_of_the_scratch(units: str, depth: float):
    """A round number in the units of the job: 0.2 mm, or 8 thousandths."""
    assert depth == of(steps(PINS, units=units), Action.SCRATCH)[0].size
