"""Where everything lies in both setups: worked out on paper for a blank of 180 x 110 mm."""

from __future__ import annotations

import math

import pytest

from flipcheck.decide.fixture.layout import Layout, Locator, layouts
from flipcheck.decide.survey import survey
from flipcheck.flip.model import flip_model
from tests.make import FENCE, PINS, PROBE, hole, make_job

FLIPS = ("left-right", "front-back", "diagonal")


def laid_out(method: dict, flip: str = "left-right", **head: object) -> tuple[Layout, Layout]:
    job = make_job(method, flip=flip, **head)
    return layouts(job, job.methods[0])


def named(layout: Layout, name: str) -> Locator:
    return next(locator for locator in layout.locators if locator.name == name)


def places(layout: Layout) -> dict[str, tuple[float, float]]:
    return {locator.name: locator.machine for locator in layout.locators}


@pytest.mark.parametrize(
    ("flip", "seat", "datum", "ends", "size"),
    [
        ("left-right", (120.0, 40.0), (180.0, 0.0), ((90.0, 0.0), (90.0, 110.0)), (180.0, 110.0)),
        ("front-back", (60.0, 70.0), (0.0, 110.0), ((0.0, 55.0), (180.0, 55.0)), (180.0, 110.0)),
        ("diagonal", (40.0, 60.0), (0.0, 0.0), ((0.0, 0.0), (110.0, 110.0)), (110.0, 180.0)),
    ],
)
def test_a_turn_moves_points_as_on_paper(flip, seat, datum, ends, size):
    """The pair at (60, 40), the marked corner, the flip line and the size of the blank after each turn."""
    a, b = laid_out(PINS, flip)

    assert ((60.0, 40.0),) == a.pairs[0].machine
    assert (seat,) == b.pairs[0].machine
    assert ((60.0, 40.0),) == b.pairs[0].blank
    assert ((0.0, 0.0), datum) == (a.datum, b.datum)
    assert (ends, ends) == (a.flip_line, b.flip_line)
    assert ((180.0, 110.0), size) == (a.placing.size, b.placing.size)
    assert ("A", "B", flip) == (a.face, b.face, b.flip)


@pytest.mark.parametrize(
    ("flip", "edges"),
    [
        ("left-right", {"front": "front", "back": "back", "left": "right", "right": "left"}),
        ("front-back", {"front": "back", "back": "front", "left": "left", "right": "right"}),
        ("diagonal", {"front": "left", "back": "right", "left": "front", "right": "back"}),
    ],
)
def test_which_edge_lies_where(flip, edges):
    """A turn swaps left and right, or front and back, or front with left and back with right."""
    a, b = laid_out(PINS, flip)

    assert {side: side for side in edges} == a.edges
    assert edges == b.edges


@pytest.mark.parametrize("flip", FLIPS)
def test_the_flip_line_stays(flip):
    """Every point of the flip line lies at the same place of the machine in both setups."""
    a, b = laid_out(PINS, flip)

    for end in a.flip_line:
        assert end == pytest.approx(b.placing.to_machine(end))


def test_pins_cut_with_face_a():
    """Setup A cuts holes at the pins' places, setup B has the pins standing where the holes have come to lie."""
    a, b = laid_out(PINS | {"pins": [[30.0, 20.0], [150.0, 90.0]]})

    assert [("pin hole 1", "pin hole", (30.0, 20.0), 6.05), ("pin hole 2", "pin hole", (150.0, 90.0), 6.05)] == [
        (one.name, one.role, one.machine, one.diameter) for one in a.locators
    ]
    assert [("pin 1", "pin", (150.0, 20.0), 6.0), ("pin 2", "pin", (30.0, 90.0), 6.0)] == [
        (one.name, one.role, one.machine, one.diameter) for one in b.locators
    ]
    assert [(30.0, 20.0), (150.0, 90.0)] == [one.blank for one in b.locators]
    assert [False, False] == [one.stays for one in b.locators]


def test_pins_on_the_flip_line_stay():
    """A pin on the flip line stands where its hole was bored."""
    a, b = laid_out(PINS)

    assert {"pin hole 1": (90.0, 8.0), "pin hole 2": (90.0, 102.0)} == places(a)
    assert {"pin 1": (90.0, 8.0), "pin 2": (90.0, 102.0)} == places(b)
    assert all(one.stays for one in (*a.locators, *b.locators))


def test_holes_made_beforehand_sit_on_pins_twice():
    """With holes made beforehand pins stand in both setups; pins that mirror each other serve both holes."""
    a, b = laid_out(PINS | {"holes": "beforehand", "pins": [[14.0, 55.0], [166.0, 55.0]], "push": "back"})

    assert {"pin 1": (14.0, 55.0), "pin 2": (166.0, 55.0)} == places(a)
    assert {"pin 1": (166.0, 55.0), "pin 2": (14.0, 55.0)} == places(b)
    assert all(one.stays and one.role == "pin" for one in (*a.locators, *b.locators))
    assert (("back",), ("back",)) == (a.push, b.push)


@pytest.mark.parametrize(("push", "expected"), [("none", ((), ())), ("left", ((), ("left",)))])
def test_push_acts_where_the_blank_sits_on_pins(push, expected):
    """Holes cut with face A are not pushed against anything in setup A."""
    assert expected == tuple(layout.push for layout in laid_out(PINS | {"push": push}))


def test_a_stop_follows_its_edge():
    """The stop meets the left edge again, at the other end of the machine; the fence keeps its contacts."""
    a, b = laid_out(FENCE)

    assert {"fence 1": (20.0, 0.0), "fence 2": (150.0, 0.0), "stop": (0.0, 30.0)} == places(a)
    assert {"fence 1": (20.0, 0.0), "fence 2": (150.0, 0.0), "stop": (180.0, 30.0)} == places(b)
    assert ("right", "left", (0.0, 30.0), False) == (
        named(b, "stop").side,
        named(b, "stop").edge,
        named(b, "stop").blank,
        named(b, "stop").stays,
    )
    assert [(160.0, 0.0), (30.0, 0.0)] == [named(b, f"fence {number}").blank for number in (1, 2)]


def test_a_stop_that_stays_meets_another_edge():
    """The stop at the left of the machine meets the right edge after the turn."""
    _, b = laid_out(FENCE | {"after_flip": "same side"})
    stop = named(b, "stop")

    assert ((0.0, 30.0), (180.0, 30.0), "left", "right", True) == (
        stop.machine,
        stop.blank,
        stop.side,
        stop.edge,
        stop.stays,
    )


def test_a_diagonal_turn_swaps_fence_and_stop():
    """The left edge comes to the front fence, the front edge to the left stop."""
    _, b = laid_out(FENCE | {"after_flip": "same side", "contacts": [20.0, 100.0]}, "diagonal")

    assert ("left", (0.0, 100.0)) == (named(b, "fence 2").edge, named(b, "fence 2").blank)
    assert ("front", (30.0, 0.0)) == (named(b, "stop").edge, named(b, "stop").blank)


@pytest.mark.parametrize(
    ("flip", "fence", "contacts", "expected"),
    [
        ("left-right", "front", [20.0, 150.0], [(160.0, 0.0), (30.0, 0.0)]),
        ("front-back", "front", [20.0, 150.0], [(20.0, 0.0), (150.0, 0.0)]),
        ("front-back", "left", [20.0, 100.0], [(0.0, 90.0), (0.0, 10.0)]),
        ("left-right", "back", [20.0, 150.0], [(160.0, 110.0), (30.0, 110.0)]),
    ],
)
def test_the_same_edge_bears_on_a_rail_with_the_same_spots(flip, fence, contacts, expected):
    """The spots go with the edge; an edge that meets the rail for the first time bears at the contacts."""
    stop = {"front": "left", "left": "front", "back": "left"}[fence]
    stop_at = {"stop": stop, "stop_at": 30.0, "after_flip": "same side"}
    _, b = laid_out(FENCE | {"fence": fence, "contacts": contacts, "rail": True} | stop_at, flip)

    assert expected == [pytest.approx(named(b, f"rail {number}").machine) for number in (1, 2)]


def test_the_same_corner_is_touched_again():
    """Front-left of the blank comes to the front right of the machine; touches keep their distance from it."""
    a, b = laid_out(PROBE)

    assert {"touch Y": (25.0, 0.0), "touch X": (0.0, 35.0), "touch for the angle": (145.0, 0.0)} == places(a)
    assert {"touch Y": (155.0, 0.0), "touch X": (180.0, 35.0), "touch for the angle": (35.0, 0.0)} == places(b)
    assert (("left", "front"), ("right", "front")) == (a.corner, b.corner)
    assert ["front", "left", "front"] == [one.edge for one in b.locators]


def test_the_same_machine_corner_is_another_corner_of_the_blank():
    """What comes to the front left of the machine is the front-right corner of the blank."""
    _, b = laid_out(PROBE | {"after_flip": "same side"})

    assert {"touch Y": (25.0, 0.0), "touch X": (0.0, 35.0), "touch for the angle": (145.0, 0.0)} == places(b)
    assert ["front", "right", "front"] == [one.edge for one in b.locators]
    assert ("left", "front") == b.corner


def test_the_middle_takes_opposite_touches():
    """Each middle adds a touch of the opposite edge, straight across."""
    a, _ = laid_out(PROBE | {"middle": ["x", "y"], "angle": "by eye", "corner": "back-right"})

    assert {
        "touch Y": (155.0, 110.0),
        "touch Y, opposite": (155.0, 0.0),
        "touch X": (180.0, 75.0),
        "touch X, opposite": (0.0, 75.0),
    } == places(a)


def test_a_probe_may_lie_on_a_fence():
    """The contacts of its fence come first."""
    a, _ = laid_out(PROBE | {"angle": "fence", "fence": "left", "contacts": [10.0, 90.0]})

    assert ["fence 1", "fence 2", "touch Y", "touch X"] == [one.name for one in a.locators]
    assert (0.0, 90.0) == named(a, "fence 2").machine


@pytest.mark.parametrize("flip", FLIPS)
@pytest.mark.parametrize("corner", ["front-left", "front-right", "back-left", "back-right"])
@pytest.mark.parametrize("after", ["same corner", "same side"])
def test_the_touches_are_those_of_the_model(flip, corner, after):
    """The physics draws a repeatability for each touch under its place: the layout lists the same places."""
    method = PROBE | {"corner": corner, "after_flip": after, "middle": ["x", "y"], "spacing": 60.0}
    job = make_job(method, flip=flip, errors={"probe_repeatability": {"std": 0.01}})
    drawn = {source.part for source in flip_model(job, job.methods[0]).linear.sources}
    listed = set()
    for layout in layouts(job, job.methods[0]):
        for touch in layout.locators:
            along = touch.machine[0 if touch.side in ("front", "back") else 1]
            listed.add(f"touch {touch.side} at {along:.6g}, setup {layout.face}")

    assert drawn == listed


@pytest.mark.parametrize(
    ("flip", "angle", "expected"),
    [
        ("left-right", 30.0, 150.0),
        ("front-back", 30.0, 150.0),
        ("diagonal", 30.0, 60.0),
        ("left-right", 0.0, 0.0),
        ("front-back", 0.0, 0.0),
        ("diagonal", 0.0, 90.0),
        ("left-right", 90.0, 90.0),
    ],
)
def test_a_slot_turns_with_the_blank(flip, angle, expected):
    """A mirrored slot leans the other way; its direction has no sign."""
    slot = {"name": "slot", "kind": "slot", "at": [60.0, 30.0], "angle": math.radians(angle), "allowed": 0.2}
    a, b = laid_out(PINS, flip, pairs=[slot])

    assert angle == pytest.approx(math.degrees(a.pairs[0].angle))
    assert expected == pytest.approx(math.degrees(b.pairs[0].angle), abs=1e-9)


def test_pairs_keep_their_order_and_their_numbers():
    """Corners stay in the order of the job; a bolt hole and a web have a size in each setup."""
    pairs = [
        {"name": "rim", "kind": "outline", "points": [[10.0, 10.0], [170.0, 10.0], [10.0, 100.0]], "allowed": 0.1},
        {"name": "bolt", "kind": "hole", "at": [20.0, 30.0], "bolt": 4.0, "hole_a": 4.5, "hole_b": 5.0},
        {"name": "web", "kind": "web", "at": [50.0, 50.0], "depth_a": 5.0, "depth_b": 4.0, "min_web": 2.0},
    ]
    a, b = laid_out(PINS, pairs=pairs)

    assert ((170.0, 10.0), (10.0, 10.0), (170.0, 100.0)) == b.pairs[0].machine
    assert [(4.5, None), (5.0, None)] == [(side.pairs[1].diameter, side.pairs[1].depth) for side in (a, b)]
    assert [(None, 5.0), (None, 4.0)] == [(side.pairs[2].diameter, side.pairs[2].depth) for side in (a, b)]
    assert ["outline", "hole", "web"] == [pair.kind for pair in b.pairs]


@pytest.mark.parametrize(
    ("zero_z", "expected"), [("bed", ("bed", "bed")), ("top", ("top", "top")), ("top then bed", ("top", "bed"))]
)
def test_where_z_is_touched_off(zero_z, expected):
    """On the bed, on the blank, or on the blank for face A alone."""
    assert expected == tuple(layout.zero_z for layout in laid_out(PINS | {"zero_z": zero_z}))


def test_a_layout_says_what_it_is():
    """The text for a debugger is short."""
    a, _ = laid_out(PINS)

    assert "Layout('pins', face A, 2 locators, 1 pairs)" == repr(a)


def limits_of(pair: dict) -> tuple[tuple[float, float], ...]:
    job = make_job(PINS, errors={"machine_squareness": {"std": 0.001}}, pairs=[pair])
    return survey(job, trials=1).clouds[0].normals


def test_a_cloud_knows_which_way_a_slot_is_judged():
    """Across its long axis."""
    slot = {"name": "slot", "kind": "slot", "at": [60.0, 30.0], "angle": math.pi / 2, "allowed": 0.2}

    assert pytest.approx((-1.0, 0.0)) == limits_of(slot)[0]


def test_a_cloud_knows_the_normals_of_the_corner_of_an_outline():
    """One normal for each of the two sides of a triangle that meet at the corner that is looked at."""
    corners = [[0.0, 0.0], [180.0, 0.0], [180.0, 110.0]]
    outline = {"name": "rim", "kind": "outline", "points": corners, "allowed": 0.1}
    far = limits_of(outline)

    # squareness doubles with the distance from the flip line: the corners on the right and the one on the left tie, and
    # the first of them is looked at; the sides that meet there run along (180, 110) and along x
    slope = math.hypot(110.0, 180.0)
    assert [pytest.approx((-110.0 / slope, 180.0 / slope)), pytest.approx((0.0, -1.0))] == list(far)


def test_a_hole_is_judged_by_its_distance():
    """There are no directions to tell."""
    assert () == limits_of(hole(60.0, 40.0))
