"""Lever arms worked out on paper: by how many faces a source acts, which way, over what arm, counted from where."""

from __future__ import annotations

import math
from typing import Any

import pytest

import flipcheck
from flipcheck.flip.lever import Lever
from tests.make import FENCE, PINS, PROBE, hole, make_job

SLOPE = {"std": 0.0003}
SIZE = {"std": 0.01}


def lever(method: dict[str, Any], source: str, at: tuple[float, float], spread: Any = SLOPE, **head: Any) -> Lever:
    """The lever of a source at a hole pair, where no other error acts."""
    job = make_job(method, errors={source: spread}, pairs=[hole(*at)], **head)
    (found,) = (e.lever for e in flipcheck.check(job, trials=1).methods[0].pairs[0].stack if e.source == source)
    assert found is not None
    return found


@pytest.mark.parametrize("x", [20.0, 160.0])
def test_squareness_about_the_flip_line(x: float):
    """Pins on the flip line x = 90 mm: each half is off along it by g times 70 mm, to opposite sides."""
    found = lever(PINS, "machine_squareness", (x, 40.0))

    assert (0.0003, 2, True) == (found.size, found.faces, found.slope)
    assert (0.0, 140.0, 70.0) == pytest.approx((found.across, found.along, found.arm))
    assert ("x", pytest.approx(90.0)) == found.line
    assert found.from_flip_line
    assert found.centre is None


def test_squareness_about_the_touched_place():
    """A probe that touches the left edge at y = 35 mm is off across the flip line by g times the way from there."""
    found = lever(PROBE, "machine_squareness", (20.0, 55.0))

    assert (40.0, 0.0, 20.0, 2) == pytest.approx((found.across, found.along, found.arm, found.faces))
    assert ("y", pytest.approx(35.0)) == found.line
    assert not found.from_flip_line


@pytest.mark.parametrize(
    ("flip", "at", "centre", "across", "along"),
    [
        # the fence turns the blank about its own middle, x = 90, and the stop keeps the side at y = 30
        ("left-right", (160.0, 40.0), (90.0, 30.0), 20.0, 140.0),
        ("left-right", (90.0, 80.0), (90.0, 30.0), 100.0, 0.0),
        # front to back the stop stands at y = 30 and then at 80 of the blank: half-way is the middle of the blank
        ("front-back", (20.0, 55.0), (90.0, 55.0), 140.0, 0.0),
        ("front-back", (160.0, 40.0), (90.0, 55.0), 140.0, 30.0),
    ],
)
def test_fence_angle_turns_about_a_point(
    flip: str, at: tuple[float, float], centre: tuple[float, float], across: float, along: float
):
    """A fence out of line turns both halves, to opposite sides, about the place that fence and stop leave alone."""
    found = lever(FENCE, "fence_angle", at, flip=flip)

    assert (2, None) == (found.faces, found.line)
    assert centre == pytest.approx(found.centre)
    assert (across, along) == pytest.approx((found.across, found.along), abs=1e-9)
    assert math.hypot(across, along) / 2.0 == math.dist(at, centre) == pytest.approx(found.arm)


def test_arms_that_differ_have_no_origin():
    """At (90, 40) one face has an arm of 10 mm from the stop, the other of 40: what counts is 30, from no one place."""
    found = lever(FENCE, "fence_angle", (90.0, 40.0), flip="front-back")

    assert (1, None, None, False) == (found.faces, found.line, found.centre, found.from_flip_line)
    assert (0.0, 30.0, 30.0) == pytest.approx((found.across, found.along, found.arm), abs=1e-9)


def test_squareness_of_stock_has_an_arm_but_no_line():
    """A stop at y = 30 mm that meets another edge after the turn: each leans by its own angle, over 30 mm."""
    found = lever({**FENCE, "after_flip": "same side"}, "stock_squareness", (160.0, 40.0))

    assert (1, 30.0) == pytest.approx((found.faces, found.arm))
    assert (None, None) == (found.line, found.centre)


@pytest.mark.parametrize(
    ("method", "source", "flip", "faces", "across", "along"),
    [
        (FENCE, "fence_position", "left-right", 0, 0.0, 0.0),
        (FENCE, "fence_position", "front-back", 2, 2.0, 0.0),
        ({**FENCE, "after_flip": "same side"}, "stop_position", "left-right", 2, 2.0, 0.0),
        ({**FENCE, "after_flip": "same side"}, "stock_size", "left-right", 1, 1.0, 0.0),
        # two locators, a draw each
        (FENCE, "stop_position", "left-right", 1, math.sqrt(2.0), 0.0),
        # one draw along X and one along Y
        (FENCE, "rehoming", "left-right", 1, 1.0, 1.0),
        (FENCE, "rehoming", "front-back", 1, 1.0, 1.0),
        (PROBE, "probe_radius", "left-right", 0, 0.0, 0.0),
    ],
)
def test_lengths(method: dict[str, Any], source: str, flip: str, faces: int, across: float, along: float):
    """A length acts as it is: by none of the faces, by one or both, across the flip line, along it or both ways."""
    found = lever(method, source, (60.0, 40.0), SIZE, flip=flip)

    assert (0.01, faces, False) == (found.size, found.faces, found.slope)
    assert (across, along) == pytest.approx((found.across, found.along), abs=1e-9)
    assert (1.0 if faces else 0.0) == pytest.approx(found.arm, abs=1e-9)
    assert (None, None, False) == (found.line, found.centre, found.from_flip_line)


def test_scale_cancels_about_the_flip_line():
    """Travel that is too long moves both halves of a hole alike where pins stand on the flip line."""
    found = lever(PINS, "machine_scale_x", (20.0, 40.0))

    assert (0, 0.0, True) == (found.faces, pytest.approx(found.arm, abs=1e-9), found.slope)


def test_the_diagonal():
    """After a diagonal turn about x = y, rehoming still acts both ways; squareness acts along the line that it is."""
    fence = {**FENCE, "contacts": [20.0, 90.0], "after_flip": "same side"}
    both = lever(fence, "rehoming", (60.0, 40.0), SIZE, flip="diagonal")
    position = lever(fence, "fence_position", (60.0, 40.0), SIZE, flip="diagonal")

    assert (1.0, 1.0) == pytest.approx((both.across, both.along))
    # the front edge is moved up by the fence, then the left edge to the right: D = (1, -1), across the line x = y
    assert (math.sqrt(2.0), 0.0) == pytest.approx((position.across, position.along), abs=1e-9)


def test_squareness_about_a_flip_line_along_x():
    """Pins on y = 55, turned front to back: off along X by 2 g times the way from the flip line."""
    found = lever(
        {**PINS, "pins": [[20.0, 55.0], [160.0, 55.0]]}, "machine_squareness", (60.0, 90.0), flip="front-back"
    )

    assert (0.0, 70.0, 35.0, 2) == pytest.approx((found.across, found.along, found.arm, found.faces))
    assert ("y", pytest.approx(55.0)) == found.line
    assert found.from_flip_line


def test_half_a_millimetre_off_is_another_line():
    """Pins that stand half a millimetre beside the flip line: counted from the pins, not from the flip line."""
    found = lever({**PINS, "pins": [[90.5, 8.0], [90.5, 102.0]]}, "machine_squareness", (20.0, 40.0))

    assert ("x", pytest.approx(90.5)) == found.line
    assert not found.from_flip_line


CORNER = PROBE | {"spacing": 60.0}


def warmed(rates: Any, grain: float, warmer: Any = None, method: dict[str, Any] = CORNER, **head: Any) -> Lever:
    """The lever at (60, 40) of half a kelvin, give or take 0.1; touched off at the front-left corner."""
    between = {"per_kelvin": rates, "temperature": warmer or {"std": 0.1, "bias": 0.5}, "grain": grain}
    job = make_job(method, between=between, pairs=[hole(60, 40)], **head)
    (found,) = (e.lever for e in flipcheck.check(job, trials=1).methods[0].pairs[0].stack if e.source == "temperature")
    assert found is not None
    return found


def test_growth_goes_out_from_the_corner():
    """By 0.0005 along X and 0.001 along Y for each kelvin, from where the blank is touched; by face B alone."""
    found = warmed([0.0005, 0.001, 0.0], 0.0)

    assert (True, 1, None) == (found.grows, found.faces, found.line)
    assert (0.0, 0.0) == pytest.approx(found.centre, abs=1e-9)
    assert (0.5, 0.1) == pytest.approx((found.mean, found.size))
    assert (0.03, 0.04) == pytest.approx((found.across, found.along))
    assert math.hypot(0.03, 0.04) == pytest.approx(found.arm)


def test_a_known_change_has_no_size_but_the_same_arms():
    """Half a kelvin to the digit: nothing scatters, and what it does for each kelvin stays."""
    found = warmed([0.0005, 0.001, 0.0], 0.0, 0.5)

    assert (0.0, 0.5) == pytest.approx((found.size, found.mean))
    assert (0.03, 0.04) == pytest.approx((found.across, found.along))


def test_growth_across_the_grain_goes_out_from_a_line():
    """Grain along X or along Y, and nothing along it: from the front edge, or from the left one."""
    assert ("y", pytest.approx(0.0, abs=1e-9)) == warmed([0.0, 0.0005, 0.0], 0.0).line
    assert ("x", pytest.approx(0.0, abs=1e-9)) == warmed([0.0, 0.0005, 0.0], math.pi / 2).line


def test_growth_from_a_line_askew():
    """Grain at 45 degrees: all moves away from a line that is neither x = ... nor y = ..., unless a touch turns it."""
    by_eye = {**PROBE, "angle": "by eye", "spacing": None}
    found = warmed([0.0, 0.0005, 0.0], math.pi / 4, method=by_eye)

    assert (None, None) == (found.line, found.centre)


def test_growth_of_a_metal_is_small_and_has_a_centre_all_the_same():
    """1.5 ppm for each kelvin, less than nearly all metals grow (from memory)."""
    assert (0.0, 0.0) == pytest.approx(warmed(1.5e-6, 0.0).centre, abs=1e-6)


def test_strongest_draw_of_several():
    """At x = 160 the contact at x = 150 counts most: 140 / 130 along Y, and from the stop at 30 10 / 130 along X."""
    found = lever(FENCE, "seating", (160.0, 40.0), SIZE)

    assert math.hypot(140.0, 10.0) / 130.0 == pytest.approx(found.arm)
    assert (None, None, 0.0) == (found.line, found.centre, found.mean)


def test_nothing_is_counted_from_a_diagonal():
    """After a diagonal turn no x = ... and no y = ... is the flip line, not even where growth is counted from."""
    found = warmed([0.0, 0.0005, 0.0], 0.0, flip="diagonal")

    assert found.line is not None
    assert not found.from_flip_line


def test_only_growth_has_a_mean():
    """A gap of 0.02 on average is no growth between the faces."""
    found = lever(FENCE, "seating", (160.0, 40.0), {"std": 0.01, "bias": 0.02})

    assert (False, 0.0) == (found.grows, found.mean)
