"""The fixture sheet: edges and corners met, the fit and height of pins, and wrong ways that look right, on paper."""

from __future__ import annotations

import math
from typing import Any

import pytest

from flipcheck.decide.fixture.sheet import FixtureSheet, fixture_sheet
from flipcheck.decide.fixture.wrong_ways import Wrong, WrongWay
from flipcheck.decide.results import MethodResult
from flipcheck.stack.intervals import Chance
from tests.make import FENCE, PINS, PROBE, make_job

WEB = {"name": "floor", "kind": "web", "at": [90.0, 10.0], "depth_a": 4.0, "depth_b": 5.0, "min_web": 1.0}


def sheet(method: dict[str, Any], **job: Any) -> FixtureSheet:
    """The fixture sheet of a method."""
    made = make_job(method, **job)
    return fixture_sheet(made, made.methods[0])


def met(of: FixtureSheet) -> dict[tuple[str, str], tuple[str, float, int]]:
    """By face and machine side: which edge is met, at which place of its axis, and the sign of the offset."""
    return {(one.face, one.side): (one.edge, one.at, one.sign) for one in of.edges}


def way(of: FixtureSheet, what: Wrong) -> WrongWay:
    """The wrong way of that kind."""
    (found,) = [one for one in of.wrong_ways if one.what is what]
    return found


def test_same_corner_after_a_left_right_turn():
    """The front-left corner of the blank lies front-right on the machine, and a bit stands beyond it in X."""
    of = sheet(PROBE)
    first, second = of.corners
    assert (("left", "front"), ("left", "front"), (0.0, 0.0)) == (first.machine, first.blank, first.at)
    assert (("right", "front"), ("left", "front"), (180.0, 0.0)) == (second.machine, second.blank, second.at)
    assert {
        ("A", "left"): ("left", 0.0, -1),
        ("A", "front"): ("front", 0.0, -1),
        ("B", "right"): ("left", 180.0, 1),
        ("B", "front"): ("front", 0.0, -1),
    } == met(of)


def test_same_side_after_a_left_right_turn():
    """The corner that keeps its machine side is another corner of the blank."""
    second = sheet(PROBE | {"after_flip": "same side"}).corners[1]
    assert (("left", "front"), ("right", "front"), (0.0, 0.0)) == (second.machine, second.blank, second.at)


@pytest.mark.parametrize(
    ("flip", "fence", "edge", "at"),
    [
        ("left-right", "front", "front", 0.0),
        ("front-back", "front", "back", 0.0),
        ("diagonal", "front", "left", 0.0),
        ("left-right", "back", "back", 110.0),
        ("diagonal", "back", "right", 180.0),
    ],
)
def test_fence_keeps_its_side(flip: str, fence: str, edge: str, at: float):
    """Which edge comes to a fence, and where that fence then stands."""
    method = FENCE | {"fence": fence, "contacts": [20.0, 90.0], "after_flip": "same side"}
    assert (edge, at, 1 if fence == "back" else -1) == met(sheet(method, flip=flip))["B", fence]


def test_pins_have_no_edges_and_no_corner():
    """Pins meet no edge."""
    of = sheet(PINS)
    assert ((), ()) == (of.edges, of.corners)


def test_clearance_and_turn_of_pins():
    """Clearance from 0.04 to 0.10 mm over 80 mm: the blank turns by clearance over distance."""
    method = PINS | {
        "pins": [[90.0, 15.0], [90.0, 95.0]],
        "pin": {"diameter": 6.0, "limit": 0.01},
        "hole": {"diameter": 6.07, "limit": 0.02},
    }
    fit = sheet(method).pins
    assert fit is not None
    assert pytest.approx((0.07, 0.04, 0.10)) == (fit.clearance.nominal, fit.clearance.low, fit.clearance.high)
    assert pytest.approx((5.99, 6.01, 6.05, 6.09)) == (fit.pin.low, fit.pin.high, fit.hole.low, fit.hole.high)
    assert pytest.approx((80.0, 0.07 / 80.0, 0.10 / 80.0)) == (fit.spacing, fit.turn, fit.largest_turn)
    assert 6.0 == fit.depth
    assert fit.goes_on is None


def test_play_and_the_bit_widen_the_clearance():
    """Play of 0.02 ± 0.01, a runout of 0.03 and a bit of -0.01 ± 0.005 more than nominal add to 0.05."""
    method = PINS | {"pin_play": {"limit": 0.01, "bias": 0.02}, "holes_by_bit": True}
    errors = {"bit_runout": 0.03, "bit_diameter": {"limit": 0.005, "bias": -0.01}}
    fit = sheet(method, errors=errors).pins
    assert fit is not None
    assert pytest.approx((6.05 + 0.015, 6.05 + 0.025)) == (fit.hole.low, fit.hole.high)
    assert pytest.approx((0.05 + 0.015 + 0.01, 0.05 + 0.025 + 0.03)) == (fit.clearance.low, fit.clearance.high)


def test_pins_too_thick_do_not_turn():
    """Where pin and hole interfere there is no play to turn in."""
    fit = sheet(PINS | {"hole": {"diameter": 5.9}}).pins
    assert fit is not None
    assert (0.0, 0.0) == (fit.turn, fit.largest_turn)


def test_share_that_goes_on_is_that_of_the_result():
    """The sheet takes it from the simulation."""
    job = make_job(PINS)
    result = MethodResult("pins", "pins", None, 0.987, Chance(0.9, 0.89, 0.91), ())
    fit = fixture_sheet(job, job.methods[0], result).pins
    assert fit is not None
    assert 0.987 == fit.goes_on


@pytest.mark.parametrize(
    ("pair", "tallest"),
    [
        ({"name": "seat", "kind": "hole", "at": [60.0, 40.0], "allowed": 0.1}, (10.5, 10.5)),
        (WEB, (5.5, 10.5)),
        (WEB | {"at": [90.0, 11.5]}, (10.5, 10.5)),
        ({"name": "bolt", "kind": "hole", "at": [90.0, 97.0], "bolt": 4.0, "hole_a": 4.5}, (10.5, 0.0)),
        ({"name": "bolt", "kind": "hole", "at": [90.0, 96.0], "bolt": 4.0, "hole_a": 4.5}, (10.5, 10.5)),
        ({"name": "rim", "kind": "outline", "points": [[60, 10], [120, 10], [90, 60]], "allowed": 0.1}, (0.0, 10.5)),
        ({"name": "slot", "kind": "slot", "at": [40.0, 103.0], "angle": 0.0, "allowed": 0.1}, (10.5, 0.0)),
    ],
)
def test_height_of_pins(pair: dict[str, Any], tallest: tuple[float, float]):
    """A millimetre below the thinnest blank of 11.5 mm, and below a cut that reaches over the pin of 6 mm."""
    fit = sheet(PINS, pairs=[pair], errors={"stock_thickness": {"limit": 0.4, "bias": -0.1}}).pins
    assert fit is not None
    assert pytest.approx(tallest) == tuple(height.tallest for height in fit.heights)


def test_a_slot_may_reach_a_pin_and_a_hole_does():
    """The length of a slot is not in the job: that it reaches the pin is not sure."""
    slot = {"name": "slot", "kind": "slot", "at": [40.0, 103.0], "angle": 0.0, "allowed": 0.1}
    bolt = {"name": "bolt", "kind": "hole", "at": [90.0, 97.0], "bolt": 4.0, "hole_a": 4.5}
    fit = sheet(PINS, pairs=[slot, bolt]).pins
    assert fit is not None
    assert [("slot", "B", 1.0, False), ("bolt", "B", 5.0, True)] == [
        (cut.pair, cut.face, pytest.approx(cut.distance), cut.sure) for cut in fit.heights[1].over
    ]


def test_pins_that_stand_in_both_setups_fear_both_cuts():
    """With holes made beforehand a pin stands under face A as well: the deeper cut of the two decides."""
    fit = sheet(PINS | {"holes": "beforehand"}, pairs=[WEB | {"depth_a": 7.0}]).pins
    assert fit is not None
    assert ["A", "B"] == [cut.face for cut in fit.heights[0].over]
    assert pytest.approx(12.0 - 7.0 - 1.0) == fit.heights[0].tallest


def test_pins_alike_at_both_ends_let_every_wrong_way_look_right():
    """Pins as far from the front edge as from the back edge, on the flip line."""
    ways = sheet(PINS).wrong_ways
    assert [(Wrong.OTHER_AXIS, "B"), (Wrong.NOT_TURNED, "A"), (Wrong.ROTATED, "A")] == [
        (one.what, one.face_up) for one in ways
    ]
    assert [0.0] * 3 == [pytest.approx(one.off, abs=1e-9) for one in ways]
    assert all(one.looks_right for one in ways)


def test_a_moved_pin_shows_the_wrong_turn():
    """Pins 8 mm from the front and 18 mm from the back edge: turned the wrong way the blank lies 10 mm off."""
    of = sheet(PINS | {"pins": [[90.0, 8.0], [90.0, 92.0]]})
    assert pytest.approx(10.0) == way(of, Wrong.OTHER_AXIS).off
    assert not way(of, Wrong.OTHER_AXIS).looks_right
    assert way(of, Wrong.NOT_TURNED).looks_right
    assert of.move is None


def test_the_move_proposed_does_what_it_says():
    """The pin proposed is moved 10 mm along the pin line, and the wrong turn then lies 10 mm off."""
    move = sheet(PINS).move
    assert move is not None
    assert (2, (90.0, 92.0)) == (move.pin, move.to)
    assert 10.0 == move.off == pytest.approx(way(sheet(PINS | {"pins": [[90.0, 8.0], move.to]}), Wrong.OTHER_AXIS).off)


def test_pins_beside_the_flip_line_show_a_blank_not_turned():
    """Holes 60 mm from the left edge hang on pins 120 mm from it: not turned, the blank lies 60 mm to the right."""
    of = sheet(PINS | {"pins": [[60.0, 8.0], [60.0, 102.0]]})
    assert pytest.approx(60.0) == way(of, Wrong.NOT_TURNED).off
    assert pytest.approx(60.0) == way(of, Wrong.OTHER_AXIS).off
    assert pytest.approx(0.0, abs=1e-9) == way(of, Wrong.ROTATED).off


def test_pins_on_a_slant_make_a_blank_not_turned_lie_crooked():
    """A pin line at atan(3/4) is mirrored by the turn: not turned, the blank lies crooked by what is left to 90°."""
    of = sheet(PINS | {"pins": [[50.0, 20.0], [130.0, 80.0]]})
    crooked = [one for one in of.wrong_ways if one.what is Wrong.CROOKED]
    assert [pytest.approx(0.5 * math.pi - 2.0 * math.atan(0.75))] * 2 == [one.crooked for one in crooked]
    assert not any(one.looks_right for one in crooked)


def test_three_pins_at_equal_distances_take_the_blank_crooked():
    """An equilateral triangle fits its pins after a third of a turn too, which is 30° off square, either way up."""
    high = 30.0 + 60.0 * math.sin(math.pi / 3.0)
    of = sheet(PINS | {"pins": [[60.0, 30.0], [120.0, 30.0], [90.0, high]]})
    crooked = {up: [one for one in of.wrong_ways if one.face_up == up and one.crooked > 0.01] for up in "AB"}

    for up, what in (("A", Wrong.CROOKED), ("B", Wrong.TURNED_CROOKED)):
        assert [what] * 2 == [one.what for one in crooked[up]]
        assert [pytest.approx(math.pi / 6.0)] * 2 == [one.crooked for one in crooked[up]]


@pytest.mark.parametrize(("method", "kind"), [(FENCE, "fence"), (PROBE, "probe")])
def test_without_pins_any_way_of_the_same_outline_looks_right(method: dict[str, Any], kind: str):
    """At a fence or a mark the outline tells nothing: three wrong ways look right, and no pin can be moved."""
    of = sheet(method)
    assert [True] * 3 == [one.looks_right for one in of.wrong_ways]
    assert (kind, None) == (of.kind, of.move)


def test_a_diagonal_turn_shows_a_blank_not_turned():
    """It lies along the machine where it should lie across: 180 mm in place of 110 mm."""
    of = sheet(PROBE | {"spacing": 60.0}, flip="diagonal")
    assert 70.0 == way(of, Wrong.NOT_TURNED).off
    assert way(of, Wrong.OTHER_AXIS).looks_right


def test_a_nearly_square_blank_can_be_laid_a_quarter_wrong():
    """Sides of 180 and 177 mm: a quarter turn is 3 mm off and looks right."""
    of = sheet(FENCE, blank={"size": [180.0, 177.0, 12.0]})
    assert (3.0, True) == (way(of, Wrong.QUARTER).off, way(of, Wrong.QUARTER).looks_right)


@pytest.mark.parametrize(
    ("zero_z", "levels"), [("bed", (8.0, 7.0)), ("top", (-4.0, -5.0)), ("top then bed", (-4.0, 7.0))]
)
def test_bottoms_of_a_web(zero_z: str, levels: tuple[float, float]):
    """Cuts of 4 and 5 mm in 12 mm end 8 and 7 mm above the bed, 4 and 5 mm below the top."""
    (level,) = sheet(PINS | {"zero_z": zero_z}, pairs=[WEB]).levels
    assert ("floor", *levels) == (level.pair, level.a, level.b)


def test_bottoms_in_a_skimmed_blank():
    """With 1 mm off face A the blank of 12 mm lies 11 mm thick: a cut of 5 mm ends 6 mm above the bed."""
    (level,) = sheet(PINS, pairs=[WEB], blank={"size": [180.0, 110.0, 12.0], "skim_a": 1.0}).levels
    assert (8.0, 6.0) == (level.a, level.b)


def test_pins_stand_lower_under_a_skimmed_blank():
    """Each pin ends 1 mm lower where 1 mm is off face A, whether a cut reaches over it or not."""
    plain, skimmed = (
        sheet(PINS, pairs=[WEB], blank={"size": [180.0, 110.0, 12.0], **skim}).pins for skim in ({}, {"skim_a": 1.0})
    )
    assert plain is not None
    assert skimmed is not None
    assert [1.0, 1.0] == [a.tallest - b.tallest for a, b in zip(plain.heights, skimmed.heights, strict=True)]


def test_a_face_that_is_not_cut_has_no_bottom():
    """A pocket in face A alone: nothing to set for face B."""
    (level,) = sheet(PINS, pairs=[WEB | {"depth_b": 0.0}]).levels
    assert (8.0, None) == (level.a, level.b)


def test_repr_is_short():
    """A sheet in a notebook is one line."""
    assert "FixtureSheet('pins', pins)" == repr(sheet(PINS))
