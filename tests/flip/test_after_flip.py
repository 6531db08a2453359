"""The word for what the turn does to an error."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from flipcheck.decide.check import check
from flipcheck.flip.after_flip import after_flip
from flipcheck.stack.sources import Life
from tests.make import FENCE, PINS, PROBE, hole, make_job

ONE = {"std": 0.001}


@pytest.mark.parametrize(
    ("method", "errors", "flip", "expected"),
    [
        (FENCE, {"fence_angle": ONE}, "left-right", {"fence_angle": "doubles"}),
        (FENCE, {"fence_position": ONE}, "left-right", {"fence_position": "cancels"}),
        (FENCE, {"fence_position": ONE}, "front-back", {"fence_position": "doubles"}),
        (FENCE, {"stop_position": ONE}, "left-right", {"stop_position": "independent"}),
        (FENCE, {"stop_position": ONE}, "front-back", {"stop_position": "cancels"}),
        ({**FENCE, "after_flip": "same side"}, {"stop_position": ONE}, "left-right", {"stop_position": "doubles"}),
        ({**FENCE, "after_flip": "same side"}, {"stock_size": ONE}, "left-right", {"stock_size": "once"}),
        (FENCE, {"seating": ONE, "rehoming": ONE}, "left-right", {"seating": "independent", "rehoming": "once"}),
        (PROBE, {"probe_radius": ONE}, "left-right", {"probe_radius": "cancels"}),
        ({**PROBE, "after_flip": "same side"}, {"probe_radius": ONE}, "left-right", {"probe_radius": "doubles"}),
        (PROBE, {"machine_squareness": ONE}, "left-right", {"machine_squareness": "doubles"}),
        (PINS, {"machine_squareness": ONE}, "left-right", {"machine_squareness": "doubles"}),
        (PINS, {"machine_scale_x": ONE}, "left-right", {"machine_scale_x": "cancels"}),
        (PINS, {"positioning": ONE}, "left-right", {"positioning": "independent", "locator_positioning": "once"}),
        (
            {**PINS, "bed_holes": "same stroke"},
            {"machine_squareness": ONE, "positioning": ONE},
            "left-right",
            {"machine_squareness": "doubles", "positioning": "independent"},
        ),
    ],
)
def test_after_flip(method: dict[str, Any], errors: dict[str, Any], flip: str, expected: dict[str, str]):
    """Each source of a stack says in one word what became of it."""
    job = make_job(method, errors=errors, flip=flip, pairs=[hole(150.0, 90.0)])
    stack = check(job, trials=100).methods[0].pairs[0].stack

    assert expected == {entry.source: entry.after_flip.value for entry in stack if entry.source != "pin_clearance"}


@pytest.mark.parametrize(("holes", "expected"), [("with face A", "once"), ("beforehand", "independent")])
def test_play_on_pins(holes: str, expected: str):
    """The blank hangs on its pins once, or anew in each setup."""
    stack = check(make_job({**PINS, "holes": holes}), trials=100).methods[0].pairs[0].stack

    assert [("pin_clearance", expected)] == [(entry.source, entry.after_flip.value) for entry in stack]


@pytest.mark.parametrize("size", [1.0, 1e-9, 1e6])
@pytest.mark.parametrize(
    ("face_a", "face_b", "expected"),
    [
        ([[1.0], [0.5]], [[1.0], [-0.5]], "doubles"),
        ([[1.0], [0.0]], [[-0.95], [0.0]], "cancels"),
        ([[1.0], [0.0]], [[0.3], [0.0]], "once"),
        # two draws, each of which acts by one face but for what rounding leaves
        ([[1.0, 0.0]], [[1e-15, 1.0]], "independent"),
    ],
)
def test_the_word_does_not_hang_on_the_size(
    size: float, face_a: list[list[float]], face_b: list[list[float]], expected: str
):
    """What doubles, cancels or is drawn anew does so in nanometres and in metres."""
    assert expected == after_flip(Life.BLANK, size * np.array(face_a), size * np.array(face_b))
