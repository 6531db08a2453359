"""The plan of a setup: to scale, mirrored as the blank is, with coordinates good enough to drill from."""

from __future__ import annotations

import math

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.patches import Circle, Polygon, Rectangle

import flipcheck
from flipcheck.show.drawing import drawing_size, setup_drawing
from flipcheck.show.drawing.ordinates import apart
from tests.make import FENCE, PINS, PROBE, hole, make_job
from tests.show.pictures import ODD, drawn, outside, overlapping, said, shown, too_small, words

FLIPS = ("left-right", "front-back", "diagonal")
SLOT = {"name": "slot", "kind": "slot", "at": [60.0, 30.0], "angle": math.radians(30.0), "allowed": 0.2}
RIM = {"name": "rim", "kind": "outline", "points": [[20.0, 20.0], [80.0, 20.0], [80.0, 60.0]], "allowed": 0.1}
WEB = {"name": "web", "kind": "web", "at": [50.0, 70.0], "depth_a": 5.0, "depth_b": 4.0, "min_web": 2.0}
BOLT = {"name": "bolt", "kind": "hole", "at": [20.0, 30.0], "bolt": 4.0, "hole_a": 4.5, "hole_b": 5.0}

OUTLINE = {
    "name": "outline",
    "kind": "nest",
    "clearance": 0.4,
    "outline": "with face A",
    "rectangle": [[10.0, 15.0], [150.0, 100.0]],
}

METHODS = {
    "pins": PINS,
    "pins beforehand, pushed": PINS | {"holes": "beforehand", "pins": [[14.0, 20.0], [100.0, 55.0]], "push": "back"},
    "pins in one stroke": PINS | {"bed_holes": "same stroke"},
    "fence": FENCE | {"after_flip": "same side", "contacts": [20.0, 100.0]},
    "rail at the back": FENCE | {"after_flip": "same side", "contacts": [20.0, 100.0], "fence": "back", "rail": True},
    "fence at the right": FENCE
    | {"fence": "right", "contacts": [20.0, 90.0], "stop": "front", "after_flip": "same side"},
    "probe": PROBE | {"spacing": 60.0},
    "probe, middles, same side": PROBE | {"middle": ["x", "y"], "angle": "by eye", "after_flip": "same side"},
    "probe on a fence": PROBE | {"angle": "fence", "fence": "left", "contacts": [20.0, 90.0], "corner": "back-right"},
    "nest": {"name": "nest", "kind": "nest", "clearance": 0.4, "push": "back-left", "after_flip": "second pocket"},
    "outline in a nest": OUTLINE | {"after_flip": "second pocket"},
    "bores": {"name": "bores", "kind": "bores", "bores": [[10.0, 50.0], [100.0, 50.0]], "diameter": 8.0},
}


def plan(method, face="A", **head):
    job = make_job(method, **head)
    chosen = job.methods[0]
    return drawn(lambda ax: setup_drawing(job, chosen, face, ax), drawing_size(job, chosen))


def tagged(ax, name):
    return next(child for child in ax.get_children() if child.get_gid() == name)


def numbers(ax, axis):
    """The ordinates along an axis: number and place."""
    return [
        (text.get_text(), text.xy[0 if axis == "x" else 1])
        for text in shown(ax)
        if text.get_gid() == f"ordinate {axis}"
    ]


def rings(ax):
    return {tuple(np.round(patch.center, 6)): 2.0 * patch.radius for patch in ax.patches if isinstance(patch, Circle)}


@pytest.mark.parametrize("face", ["A", "B"])
@pytest.mark.parametrize("flip", FLIPS)
@pytest.mark.parametrize("name", METHODS)
def test_every_method_can_be_read_after_every_turn(name, flip, face):
    """Nothing is clipped, nothing lies on anything else, nothing is smaller than 7 points; settings are as before."""
    before = dict(mpl.rcParams)
    method = METHODS[name]
    if flip == "diagonal" and name == "pins in one stroke":
        method = method | {"pins": [[10.0, 10.0], [100.0, 100.0]]}
    ax = plan(method, face, flip=flip, pairs=[hole(60, 40), SLOT, RIM, WEB, BOLT])

    assert [] == outside(ax)
    assert [] == overlapping(ax, but=(face,))
    assert [] == too_small(ax)
    assert before == dict(mpl.rcParams)


@pytest.mark.parametrize(("name", "face"), [("carrier", "A"), ("carrier", "B"), ("panel", "A"), ("panel", "B")])
def test_the_built_in_examples_can_be_read(name, face):
    """Every method of both examples."""
    job = flipcheck.built_in(name)
    for method in job.methods:
        ax = drawn(lambda ax, m=method: setup_drawing(job, m, face, ax), drawing_size(job, method))
        assert [] == outside(ax)
        assert [] == overlapping(ax, but=(face,))


@pytest.mark.parametrize("size", [[8.0, 5.0, 1.0], [3000.0, 1500.0, 18.0], [2440.0, 120.0, 18.0], [50.0, 900.0, 5.0]])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_tiny_large_and_long_blanks(size, units):
    """A sheet is found for each of them."""
    length, width, _ = size
    pins = PINS | {
        "pins": [[0.2 * length, 0.5 * width], [0.8 * length, 0.5 * width]],
        "pin": {"diameter": 0.1 * min(size[:2])},
        "hole": {"diameter": 0.11 * min(size[:2])},
    }
    for face in ("A", "B"):
        ax = plan(pins, face, units=units, blank={"size": size}, pairs=[hole(0.4 * length, 0.3 * width)])
        assert [] == outside(ax)
        assert [] == too_small(ax)


def test_the_blank_is_to_scale_in_the_units_of_the_job():
    """A millimetre along X is as long on paper as one along Y; inches are inches."""
    ax = plan(PINS, units="in")
    blank = tagged(ax, "blank")
    box = ax.get_window_extent()

    assert pytest.approx((180.0 / 25.4, 110.0 / 25.4)) == (blank.get_width(), blank.get_height())
    assert pytest.approx(180.0 / 110.0, rel=1e-3) == box.width / box.height
    assert {"X, in", "Y, in"} <= set(words(ax))


@pytest.mark.parametrize(
    ("flip", "seat", "corner"),
    [
        ("left-right", (120.0, 40.0), (180.0, 0.0)),
        ("front-back", (60.0, 70.0), (0.0, 110.0)),
        ("diagonal", (40.0, 60.0), (0.0, 0.0)),
    ],
)
def test_setup_b_shows_the_blank_turned(flip, seat, corner):
    """The seat and the marked corner lie where they lie on the machine."""
    a, b = (plan(PINS | {"pins": [[20.0, 15.0], [160.0, 90.0]]}, face, flip=flip) for face in ("A", "B"))

    assert (60.0, 40.0) in rings(a)
    assert seat in rings(b)
    assert (0.0, 0.0) == tuple(tagged(a, "datum").get_xy()[0])
    assert corner == tuple(tagged(b, "datum").get_xy()[0])
    assert "front-left of A" in words(a)
    assert "front-left of A" in words(b)


def test_an_outline_that_is_cut_with_face_a():
    """Setup A shows where it will be, setup B that it lies alone in the nest, with its own corner marked."""
    a, b = (plan(OUTLINE, face) for face in ("A", "B"))

    assert ((0.0, 0.0), 180.0, 110.0) == corner_and_sides(tagged(a, "blank"))
    assert ((10.0, 15.0), 140.0, 85.0) == corner_and_sides(tagged(a, "outline"))
    assert ((30.0, 15.0), 140.0, 85.0) == corner_and_sides(tagged(b, "blank"))
    assert ((0.0, 0.0), 180.0, 110.0) == corner_and_sides(tagged(b, "outline"))
    assert (170.0, 15.0) == tuple(tagged(b, "datum").get_xy()[0])


def corner_and_sides(rectangle):
    return rectangle.get_xy(), rectangle.get_width(), rectangle.get_height()


def test_the_marked_corner_stays_inside():
    """The triangle lies on the blank in both setups."""
    for face in ("A", "B"):
        corners = tagged(plan(PINS, face), "datum").get_xy()
        assert (corners >= -1e-9).all()
        assert (corners <= np.array([180.0, 110.0]) + 1e-9).all()


def test_setups_are_named():
    """Which setup, which face, which turn, the part, the method, the size of the blank."""
    a, b = plan(PINS, "A", flip="diagonal"), plan(PINS, "B", flip="diagonal")

    assert "Setup A, face A up" in words(a)
    assert "Setup B, face B up" in words(b)
    assert "to be turned over on its diagonal about the flip line" in said(a)
    assert "has been turned over on its diagonal about the flip line" in said(b)
    assert 'plate, by "pins". Blank 180 x 110 x 12 mm as it lies.' in words(a)
    assert 'plate, by "pins". Blank 110 x 180 x 12 mm as it lies.' in words(b)


def test_edges_keep_their_names():
    """After a left-right turn the right edge lies at the left of the machine."""
    ax = plan(PINS, "B")
    left = next(text for text in shown(ax) if text.get_text() == "left edge")
    right = next(text for text in shown(ax) if text.get_text() == "right edge")

    assert right.xy[0] < 30.0
    assert left.xy[0] > 150.0


def test_pins_and_holes_are_to_scale():
    """A hole to be cut is open and as large as the hole, a standing pin is full and as large as the pin."""
    a, b = plan(PINS, "A"), plan(PINS, "B")
    faces = [{patch.get_facecolor() for patch in ax.patches if isinstance(patch, Circle)} for ax in (a, b)]

    assert 6.05 == rings(a)[(90.0, 8.0)]
    assert 6.0 == rings(b)[(90.0, 8.0)]
    assert mpl.colors.to_rgba("white") in faces[0]
    assert mpl.colors.to_rgba("#a63d12") in faces[1]


def test_a_bolt_hole_has_its_size_in_each_setup():
    """4.5 mm from face A, 5 mm from face B; other holes are drawn as a dashed sign, and that is said."""
    a, b = (plan(PINS, face, pairs=[BOLT, hole(60, 40)]) for face in ("A", "B"))

    assert (4.5, 5.0) == (rings(a)[(20.0, 30.0)], rings(b)[(160.0, 30.0)])
    assert "bolt, dia. 5" in words(b)
    assert "A dashed ring stands for a hole of a size that the job does not give." in said(a)


def test_ordinates_count_from_the_origin():
    """Both ends, pins and pairs, each number at its place; in setup B those of the machine."""
    ax = plan(PINS, "B", pairs=[hole(60, 40), hole(33.25, 70)])

    assert [("0", 0.0), ("90", 90.0), ("120", 120.0), ("146.75", 146.75), ("180", 180.0)] == numbers(ax, "x")
    assert [("0", 0.0), ("8", 8.0), ("40", 40.0), ("70", 70.0), ("102", 102.0), ("110", 110.0)] == [
        (text, pytest.approx(at, abs=4.0)) for text, at in numbers(ax, "y")
    ]


def test_too_many_ordinates_leave_the_ends():
    """Numbers that cannot stand side by side are left to the table."""
    pairs = [hole(10.0 + 2.0 * i, 5.0 + 1.6 * i, f"pair {i}") for i in range(60)]
    ax = plan(PINS, pairs=pairs)

    assert ["0", "110"] == [text for text, _ in numbers(ax, "y")]
    assert "pair 59" in words(ax)
    assert {"128.0", "99.4"} <= set(words(ax))


def test_numbers_move_apart_and_keep_their_order():
    """Groups that touch share their middle."""
    assert [0.0, 20.0, 40.0] == apart([0.0, 20.0, 40.0], 10.0)
    assert [-5.0, 5.0, 40.0] == apart([0.0, 0.0, 40.0], 10.0)
    assert [0.0, 10.0, 40.0] == apart([0.0, 0.0, 40.0], 10.0, first=0.0)
    assert pytest.approx([3.0, 13.0, 23.0]) == apart([12.0, 13.0, 14.0], 10.0)


def test_the_table_gives_coordinates_of_this_setup():
    """Tag, name, X and Y on one line, with as few decimals as will do."""
    ax = plan(FENCE, "B", pairs=[hole(33.25, 70, "seat")])
    lines: dict[float, list[str]] = {}
    for text in shown(ax):
        if text.xycoords == "axes fraction" and text.xyann[0] > 0.0:
            lines.setdefault(round(text.xyann[1], 3), []).append(text.get_text())

    rows = [row for row in lines.values() if len(row) == 4]
    assert [
        ["F1", "fence, front edge", "20.00", "0.00"],
        ["F2", "fence, front edge", "150.00", "0.00"],
        ["S1", "stop, left edge, moved here", "180.00", "30.00"],
        ["1", "seat", "146.75", "70.00"],
    ] == rows


def test_an_outline_is_listed_corner_by_corner():
    """Mirrored in setup B; one with many corners is drawn but not listed."""
    ax = plan(PINS, "B", pairs=[RIM])
    many = [[90.0 + 40.0 * math.cos(t), 55.0 + 40.0 * math.sin(t)] for t in np.linspace(0.0, 6.0, 40)]
    round_one = plan(PINS, "B", pairs=[RIM | {"points": many}])
    outline = next(
        patch for patch in ax.patches if isinstance(patch, Polygon) and len(patch.get_xy()) == 4 and not patch.fill
    )

    assert [[160.0, 20.0], [100.0, 20.0], [100.0, 60.0]] == outline.get_xy()[:3].tolist()
    assert {"1a", "1b", "1c", "rim, corners:"} <= set(words(ax))
    assert "rim, 40 corners" in words(round_one)
    assert "1a" not in words(round_one)


def test_a_slot_lies_at_its_angle():
    """30 degrees on face A lean the other way after the turn."""
    for face, expected in (("A", 30.0), ("B", 150.0)):
        ax = plan(PINS, face, pairs=[SLOT])
        slot = next(patch for patch in ax.patches if isinstance(patch, Polygon) and len(patch.get_xy()) > 20)
        points = slot.get_xy()[:-1] - slot.get_xy()[:-1].mean(axis=0)
        along = np.linalg.svd(points)[2][0]
        assert pytest.approx(expected, abs=0.5) == math.degrees(math.atan2(along[1], along[0])) % 180.0


def test_a_fence_lies_along_its_side():
    """The bar runs along the front, outside the blank, in both setups; a rail touches it."""
    for method, gap in ((FENCE, True), (FENCE | {"rail": True}, False)):
        for face in ("A", "B"):
            bar = next(p for p in plan(method, face).patches if isinstance(p, Rectangle) and p.get_hatch())
            top = bar.get_y() + bar.get_height()
            assert bar.get_width() > 180.0
            assert gap == (top < -0.5)
            assert top <= 1e-9


def test_touches_come_from_outside():
    """Each arrow ends on the edge it touches and starts off the blank."""
    ax = plan(PROBE, "B")
    arrows = {note.xy: note.xyann for note in ax.texts if note.arrow_patch is not None and not note.get_text()}

    assert {(155.0, 0.0), (180.0, 35.0), (35.0, 0.0)} <= set(arrows)
    assert arrows[(155.0, 0.0)][1] < 0.0
    assert arrows[(180.0, 35.0)][0] > 180.0


def test_a_push_is_drawn_and_said():
    """Only in the setup in which the blank sits on pins."""
    a, b = (plan(PINS | {"push": "left"}, face) for face in ("A", "B"))

    assert "push" not in words(a)
    assert "push" in words(b)
    assert "Push the blank towards the left before clamping." in said(b)


def test_the_flip_line_and_the_turn():
    """The line stands in the middle; the arrow across its end goes from left to right."""
    ax = plan(PINS)
    turn = tagged(ax, "turn").get_path()

    assert [90.0, 90.0] == list(tagged(ax, "flip line").get_xdata())
    assert turn.vertices[0][0] < 90.0 < turn.vertices[2][0]
    assert "flip line" in words(ax)


def test_names_are_written_as_they_are():
    """Dollars, underscores, backslashes and angle brackets mean themselves, in pairs, methods and titles."""
    ax = plan(PINS | {"name": ODD}, title=ODD, pairs=[hole(60, 40, ODD)])
    text = said(ax).replace(" ", "")

    assert 3 == text.count(ODD.replace(" ", ""))
    assert [] == outside(ax)
    assert not any(one.get_parse_math() for one in shown(ax) if "$" in one.get_text())


def test_a_sheet_that_is_too_small_counts_what_it_leaves_out():
    """Rows that have no room are not lost without a word."""
    job = make_job(PINS, pairs=[hole(10.0 + 2.0 * i, 50, f"pair {i}") for i in range(60)])
    ax = drawn(lambda ax: setup_drawing(job, job.methods[0], "A", ax), (8.0, 5.0))
    listed = [text for text in words(ax) if text.startswith("pair ")]

    assert 0 < len(listed) < 60
    assert f"and {60 - len(listed)} more" in words(ax)
    assert [] == outside(ax)
