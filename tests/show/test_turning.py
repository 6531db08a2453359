"""What the turn does, in a sentence with its lever arm: sentences that were worked out on paper."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

import flipcheck
from flipcheck.decide.results import StackEntry
from flipcheck.flip.after_flip import AfterFlip
from flipcheck.flip.lever import Lever
from flipcheck.show.turning import turning, turnings
from flipcheck.stack.sources import Life
from tests.make import FENCE, PINS, PROBE, hole, make_job

SLOPE = {"std": 0.0003}
SIZE = {"std": 0.01}
SAME_SIDE = {**FENCE, "after_flip": "same side"}


def stack(
    method: dict[str, Any], errors: dict[str, Any], at: tuple[float, float], **head: Any
) -> tuple[StackEntry, ...]:
    """The stack of a hole pair."""
    job = make_job(method, errors=errors, pairs=[hole(*at)], **head)
    return flipcheck.check(job, trials=1).methods[0].pairs[0].stack


@pytest.mark.parametrize(
    ("method", "source", "spread", "flip", "at", "sentence"),
    [
        (
            PINS,
            "machine_squareness",
            SLOPE,
            "left-right",
            (160.0, 40.0),
            "doubles along the flip line: 2 x 0.3 mm/m x 70 mm from the flip line",
        ),
        (
            PROBE,
            "machine_squareness",
            SLOPE,
            "left-right",
            (20.0, 57.5),
            "doubles across the flip line: 2 x 0.3 mm/m x 22.5 mm from y = 35 mm",
        ),
        (
            FENCE,
            "fence_angle",
            SLOPE,
            "left-right",
            (120.0, 70.0),
            "doubles across and along the flip line: 2 x 0.3 mm/m x 50 mm from the point (90, 30)",
        ),
        (
            FENCE,
            "fence_angle",
            SLOPE,
            "front-back",
            (90.0, 40.0),
            "counts once along the flip line: 0.3 mm/m x 30 mm of lever arm",
        ),
        (FENCE, "fence_position", SIZE, "front-back", (60.0, 40.0), "doubles across the flip line: 2 x 0.010 mm"),
        (SAME_SIDE, "stop_position", SIZE, "left-right", (60.0, 40.0), "doubles across the flip line: 2 x 0.010 mm"),
        (SAME_SIDE, "stock_size", SIZE, "left-right", (60.0, 40.0), "counts once across the flip line: 0.010 mm"),
        (FENCE, "rehoming", SIZE, "left-right", (60.0, 40.0), "counts once across and along the flip line: 0.010 mm"),
        (FENCE, "fence_position", SIZE, "left-right", (60.0, 40.0), "cancels: it acts the same way on both faces"),
        (
            FENCE,
            "positioning",
            SIZE,
            "left-right",
            (60.0, 40.0),
            "new on each face: two draws that know nothing of each other",
        ),
    ],
)
def test_sentences(method: dict[str, Any], source: str, spread: Any, flip: str, at: tuple[float, float], sentence: str):
    """Face, direction, size and arm of one source, as they come out on paper."""
    (entry,) = (entry for entry in stack(method, {source: spread}, at, flip=flip) if entry.source == source)

    assert sentence == turning(entry, "mm")


def test_inches():
    """Lengths and places are in the units of the job, slopes stay in mm/m."""
    (slope,) = stack(FENCE, {"fence_angle": SLOPE}, (120.0, 70.0))
    (size,) = stack(SAME_SIDE, {"stop_position": {"std": 0.0254}}, (60.0, 40.0))

    expected = "doubles across and along the flip line: 2 x 0.3 mm/m x 1.97 in from the point (3.54, 1.18)"
    assert expected == turning(slope, "in")
    assert "doubles across the flip line: 2 x 0.0010 in" == turning(size, "in")


def test_a_length_with_a_factor():
    """A length that acts by half of itself says so; a place at the origin has no sign and no decimals."""
    half = Lever(0.008, 2, 1.0, 0.0, 0.5, False, None, None, False)
    entry = StackEntry("locator", Life.MACHINE, AfterFlip.DOUBLES, 0.008, 0.0, None, 1.0, 0.03, 1.0, half)
    turned = replace(half, slope=True, size=0.001, arm=50.0, centre=(-0.01, 12.34))

    assert "doubles across the flip line: 2 x 0.50 x 0.008 mm" == turning(entry, "mm")
    expected = "doubles across the flip line: 2 x 1 mm/m x 50 mm from the point (0, 12.3)"
    assert expected == turning(replace(entry, lever=turned), "mm")


def test_without_a_lever():
    """What has no lever, such as the play on pins, has the bare word."""
    play = StackEntry("pin_clearance", Life.SETUP, AfterFlip.ONCE, 0.01, 0.01, None, 1.0, 0.03, 1.0, None)

    assert "counts once" == turning(play, "mm")


def test_one_line_a_source_and_one_for_all_that_are_alike():
    """Sources that double or count once have a line each, in their order; those that cancel or come anew share one."""
    errors = {
        "fence_position": SIZE,
        "machine_scale_y": {"std": 0.0001},
        "fence_angle": SLOPE,
        "positioning": SIZE,
        "clamping_shift": SIZE,
        "rehoming": {"std": 0.001},
    }
    assert [
        "fence_angle: doubles across and along the flip line: 2 x 0.3 mm/m x 50 mm from the point (90, 30).",
        "rehoming: counts once across and along the flip line: 0.001 mm.",
        "fence_position, machine_scale_y: cancels: it acts the same way on both faces.",
        "clamping_shift, positioning: new on each face: two draws that know nothing of each other.",
    ] == turnings(stack(FENCE, errors, (120.0, 70.0)), "mm")


def test_nothing_to_say():
    """A web has heights and no levers."""
    floor = {"name": "floor", "kind": "web", "at": [90, 50], "depth_a": 5, "depth_b": 4, "min_web": 2.8}
    job = make_job(FENCE, errors={"z_touch": SIZE}, pairs=[floor])

    assert [] == turnings(flipcheck.check(job, trials=1).methods[0].pairs[0].stack, "mm")
