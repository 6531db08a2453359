"""Which draws the two faces share: wrong sharing leaves every spread right and every answer wrong.

Draws every source by itself, independently of the engine, and correlates what reaches a point by way of face A with
what reaches it by way of face B. D = e_B - e_A, so the part by way of A is minus the error of face A.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from flipcheck.flip.model import FlipModel
from flipcheck.flip.wear import growth
from flipcheck.stack.contact.two_pins import Hang
from tests.make import FENCE, PINS, PROBE, model_of

ONE = {"std": 0.001}
POINT = (140.0, 90.0)
TRIALS = 20_000

MACHINE_FENCE = {**FENCE, "set_by": "machine"}
SAME_SIDE = {**FENCE, "after_flip": "same side"}
BEFOREHAND = {**PINS, "holes": "beforehand"}
PAIRED = {**BEFOREHAND, "pins": [[30.0, 55.0], [150.0, 55.0]]}


def faces(model: FlipModel) -> np.ndarray:
    """Simulated parts of x and y by way of face A and of face B, shape (2, 2, N)."""
    rng = np.random.default_rng(20)
    rows = np.zeros((model.by_face.shape[2], TRIALS))
    for source, place in zip(model.linear.sources, model.linear.source_rows, strict=True):
        source.fill(rng, rows[place])
    target = model.targets[0]
    return model.by_face[:, [target.x, target.y]] @ rows


def correlation(method: dict[str, Any], errors: dict[str, Any], **head: Any) -> float:
    """Correlation of the two faces along the axis on which the error acts most."""
    by_face = faces(model_of(method, errors, POINT, **head))
    axis = int(np.argmax(by_face.std(axis=2).min(axis=0)))
    return float(np.corrcoef(by_face[:, axis])[0, 1])


@pytest.mark.parametrize(
    ("method", "error"),
    [
        (FENCE, "fence_angle"),
        (SAME_SIDE, "stop_position"),
        (MACHINE_FENCE, "machine_squareness"),
        (PINS, "machine_squareness"),
        (PROBE, "machine_squareness"),
        ({**PROBE, "after_flip": "same side"}, "probe_radius"),
    ],
    ids=lambda value: value if isinstance(value, str) else value["name"],
)
def test_what_lasts_with_the_machine_is_the_same_on_both_faces(method: dict[str, Any], error: str):
    """One draw for both faces: here it doubles, so the parts by way of A and of B agree fully."""
    assert pytest.approx(1.0) == correlation(method, {error: ONE})


@pytest.mark.parametrize(
    ("method", "error", "head"),
    [
        (FENCE, "fence_position", {}),
        (FENCE, "stop_position", {"flip": "front-back"}),
        (PROBE, "probe_radius", {}),
        (MACHINE_FENCE, "machine_scale_y", {}),
        (FENCE, "stock_squareness", {}),
        (PROBE, "stock_squareness", {}),
        (BEFOREHAND, "hole_position", {}),
    ],
    ids=lambda value: value if isinstance(value, str) else None,
)
def test_what_lasts_and_acts_the_same_way_on_both_faces_cancels(
    method: dict[str, Any], error: str, head: dict[str, Any]
):
    """One draw for both faces that cancels: the parts by way of A and of B are opposite."""
    errors = {error: ONE}
    if error == "hole_position":
        method, errors = {**method, "hole_position": ONE}, {}

    assert pytest.approx(-1.0) == correlation(method, errors, **head)


@pytest.mark.parametrize(
    ("method", "error"),
    [
        (FENCE, "stop_position"),
        (FENCE, "seating"),
        (FENCE, "clamping_shift"),
        (FENCE, "positioning"),
        (FENCE, "lost_motion"),
        (PROBE, "probe_repeatability"),
        (PROBE, "positioning"),
        ({**PROBE, "angle": "by eye", "spacing": None}, "eye_angle"),
        (BEFOREHAND, "clamping_shift"),
    ],
    ids=lambda value: value if isinstance(value, str) else value["name"],
)
def test_what_is_drawn_anew_on_each_face_is_independent(method: dict[str, Any], error: str):
    """Two draws: no correlation beyond four standard errors of one of nothing."""
    assert pytest.approx(0.0, abs=4.0 / np.sqrt(TRIALS)) == correlation(method, {error: ONE})


def test_runout_is_independent_unless_its_phase_is_kept():
    """The phase is drawn anew in each setup, or kept for both."""
    assert pytest.approx(0.0, abs=4.0 / np.sqrt(TRIALS)) == correlation(PROBE, {"bit_runout": 0.02})
    assert pytest.approx(1.0, abs=1e-9) == abs(correlation({**PROBE, "same_phase": True}, {"bit_runout": 0.02}))


def test_bed_pins_belong_to_their_place():
    """Pins on the flip line stand where they stood; of two that change places each hole meets the other's pin."""
    on_line = model_of(BEFOREHAND, {"positioning": ONE}, POINT).linear.sources
    swapped = model_of(PAIRED, {"positioning": ONE}, POINT).linear.sources
    moved = model_of({**PAIRED, "pins": [[30.0, 55.0], [140.0, 55.0]]}, {"positioning": ONE}, POINT).linear.sources

    assert 2 == sum(source.name == "locator_positioning" for source in on_line)
    assert 2 == sum(source.name == "locator_positioning" for source in swapped)
    assert 4 == sum(source.name == "locator_positioning" for source in moved)


def test_holes_and_pins_keep_their_sizes():
    """Sizes and play are drawn once a hole or pin, whichever setup it is hung in."""
    sizes = {
        "pin": {"diameter": 6.0, "limit": 0.01},
        "hole": {"diameter": 6.05, "limit": 0.01},
        "pin_play": {"limit": 0.01},
    }
    model = model_of({**BEFOREHAND, **sizes}, {}, POINT).linear
    first, second = model.contacts

    assert ["hole_size", "pin_size", "pin_play"] * 2 == [source.name for source in model.sources]
    assert first.forms[1:] == pytest.approx(second.forms[1:])
    assert first.key != second.key


def test_machine_set_locators_and_cuts_scatter_apart():
    """The stroke that made a locator scatters once for all; the cuts of a feature scatter in each setup."""
    names = {source.key for source in model_of(MACHINE_FENCE, {"positioning": ONE}, POINT).linear.sources}

    assert 2 == sum(name.startswith("positioning/pair") for name in names)
    assert 4 == sum(name.startswith("locator_positioning/") for name in names)


def test_same_stroke_makes_the_hole_and_its_bed_hole():
    """A stroke through blank and bed errs once: hole and pin share its scatter."""
    same = model_of({**PINS, "bed_holes": "same stroke"}, {"positioning": ONE}, POINT).linear.sources
    apart = model_of(PINS, {"positioning": ONE}, POINT).linear.sources

    assert 2 == sum("pin hole" in source.part for source in same)
    assert 0 == sum(source.name == "locator_positioning" for source in same)
    assert 2 == sum(source.name == "locator_positioning" for source in apart)


def test_same_stroke_along_the_flip_line_cancels():
    """The scatter of a common stroke along the flip line moves hole and pin alike: no pitch error."""
    model = model_of({**PINS, "bed_holes": "same stroke"}, {"positioning": ONE}, POINT).linear

    assert model.contacts[0].forms[0] == pytest.approx(np.zeros(model.stds.size))


def test_diagonal_turn_moves_a_back_fence():
    """After a diagonal turn of an oblong blank a back fence stands elsewhere: another fence, another draw."""
    back = {**FENCE, "fence": "back", "stop": "left", "contacts": [20.0, 90.0], "after_flip": "same side"}
    front = {**back, "fence": "front"}

    assert 2 == len(model_of(back, {"fence_position": ONE}, POINT, flip="diagonal").linear.sources)
    assert 1 == len(model_of(front, {"fence_position": ONE}, POINT, flip="diagonal").linear.sources)


def test_diagonal_turn_leaves_a_left_fence_where_it_is():
    """The left side of the machine is at x = 0 before and after, the right one is not where the blank is oblong."""
    left = {**FENCE, "fence": "left", "stop": "front", "contacts": [20.0, 90.0], "after_flip": "same side"}

    for side, fences in (("left", 1), ("right", 2)):
        errors = {"fence_position": ONE, "fence_angle": ONE}
        assert 2 * fences == len(model_of({**left, "fence": side}, errors, POINT, flip="diagonal").linear.sources)


@pytest.mark.parametrize(
    ("change", "hang", "push"),
    [
        ({}, Hang.LOOSE, 0.0),
        ({"second_hole": "slot"}, Hang.SLOT, 0.0),
        # u runs from (90, 8) to (90, 102), so n points to the left
        ({"push": "left"}, Hang.PUSHED, 1.0),
        ({"push": "right"}, Hang.PUSHED, -1.0),
    ],
    ids=["loose", "slot", "left", "right"],
)
def test_what_decides_how_a_blank_hangs(change: dict[str, Any], hang: Hang, push: float):
    """Nothing, a slot, or a push across the line of the pins."""
    (contact,) = model_of({**PINS, **change}, {}, POINT).linear.contacts

    assert (hang, push) == (contact.hang, contact.push)


def test_nothing_wears_at_a_fence():
    """Without contacts there are no forms that could grow."""
    model = model_of(FENCE, {"seating": ONE}, POINT)

    assert (0, model.linear.stds.size) == growth(model).shape


def test_a_stroke_through_blank_and_bed_acts_by_both():
    """Both strokes out by (e, e): the holes shift what is cut in B by (e, e), the pins by (e, -e), in the blank's axes.

    The hole is off by F e, the pin by e, and the blank goes where they meet: it lies (2 e, 0) too far right, half of it
    by either, and along the flip line the halves cancel.
    """
    model = model_of({**PINS, "bed_holes": "same stroke"}, {"positioning": ONE}, POINT)
    rows = [r for s, r in zip(model.linear.sources, model.linear.source_rows, strict=True) if "pin hole" in s.part]
    both = sum(model.by_face[:, :, r] for r in rows) @ np.ones(2)

    assert 2 == len(rows)
    assert both == pytest.approx(np.array([[1.0, 1.0], [1.0, -1.0]]))


def test_wear_of_the_first_part():
    """Hung twice, in holes made beforehand: in setup B each hole is wider by one wear, half of it on the radius."""
    model = model_of({**BEFOREHAND, "wear": {"limit": 0.001, "bias": 0.002}}, {}, POINT).linear
    first, second = model.contacts

    assert ["wear/bed hole 1", "wear/bed hole 2"] == [source.key for source in model.sources]
    assert first.forms[1:] == pytest.approx(np.zeros((2, 2)))
    assert second.forms[1:] == pytest.approx(0.5 * np.eye(2))
