"""Nests, patterns of pins and bores after the turn: the answers that can be worked out on paper, and what is shared."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from flipcheck.decide.check import check
from tests.make import LENGTH, WIDTH, effects, hole, make_job, model_of

ONE = {"std": 0.001}
POINTS = [(20.0, 15.0), (150.0, 15.0), (60.0, 90.0)]
X, Y = np.array(POINTS).T
NEST: dict[str, Any] = {"name": "nest", "kind": "nest", "clearance": 0.4}
CUT_NEST: dict[str, Any] = {
    **NEST,
    "outline": "with face A",
    "rectangle": [[10.0, 15.0], [160.0, 95.0]],
}
FOUR: dict[str, Any] = {
    "name": "four",
    "kind": "pins",
    "pins": [[10.0, 15.0], [160.0, 15.0], [160.0, 95.0], [10.0, 95.0]],
    "pin": {"diameter": 6.0},
    "hole": {"diameter": 6.3},
}
BORES: dict[str, Any] = {"name": "bores", "kind": "bores", "bores": [[20.0, 30.0], [160.0, 30.0]], "diameter": 10.0}


def effect(method: dict[str, Any], source: str, **head: Any) -> np.ndarray:
    """Effects of the only draw of a source at `POINTS`, shape (points, 2)."""
    found = effects(model_of(method, {source: ONE}, *POINTS, **head), source)
    assert found.shape[2] == 1
    return found[:, :, 0]


def stds(method: dict[str, Any], source: str, at: tuple[float, float], **errors: Any) -> np.ndarray:
    """Root of the sum of squares of all draws of a source at a point, by x and y, for draws of one."""
    found = effects(model_of(method, errors or {source: ONE}, at), source)
    return np.sqrt(np.square(found[0]).sum(axis=1))


@pytest.mark.parametrize("method", [CUT_NEST, FOUR], ids=["nest", "four pins"])
def test_a_machine_out_of_square_is_shared_out_by_the_sides(method: dict[str, Any]):
    """The shear 2 g is met half-way by a turn: D = 2 g (w^2 (y - y0), h^2 (x - x0)) / (w^2 + h^2), w and h halves."""
    w, h, x0, y0 = 75.0, 40.0, 85.0, 55.0
    square = w * w + h * h

    expected = 2 * np.column_stack([w * w * (Y - y0), h * h * (X - x0)]) / square
    assert effect(method, "machine_squareness") == pytest.approx(expected)


@pytest.mark.parametrize("method", [CUT_NEST, FOUR, BORES], ids=["nest", "four pins", "bores"])
@pytest.mark.parametrize("error", ["machine_scale_x", "machine_scale_y"])
def test_travel_cancels(method: dict[str, Any], error: str):
    """What is found by and what is cut are out alike."""
    assert effect(method, error) == pytest.approx(np.zeros((3, 2)), abs=1e-9)


def test_a_pocket_out_of_place_doubles_across_the_flip_line_and_cancels_along():
    """One pocket, met from both sides: one draw for x, one for y."""
    model = model_of({**NEST, "push": "none"}, {"positioning": ONE}, *POINTS)
    found = effects(model, "locator_positioning")

    assert found.shape == (3, 2, 2)
    assert np.abs(found) == pytest.approx(np.array([[[2.0, 0.0], [0.0, 0.0]]] * 3))


def test_a_second_pocket_has_a_place_and_a_size_of_its_own():
    """Two pockets, two draws of everything that made them."""
    method = {**NEST, "after_flip": "second pocket", "pocket_size": ONE}
    sources = [s.key for s in model_of(method, {"positioning": ONE}, *POINTS).linear.sources]

    assert 2 == sum(key.startswith("locator_positioning/") for key in sources)
    assert ["nest x", "nest y", "second nest x", "second nest y"] == sorted(
        key.removeprefix("pocket_size/") for key in sources if key.startswith("pocket_size/")
    )


def test_size_of_the_blank_cancels_loose_and_enters_once_pushed_across():
    """Loose, the blank lies about its middle, whichever way up; pushed left it meets the other edge after the turn."""
    assert effects(model_of(NEST, {"stock_size": ONE}, *POINTS), "stock_size") == pytest.approx(np.zeros((3, 2, 2)))

    pushed = effects(model_of({**NEST, "push": "left"}, {"stock_size": ONE}, *POINTS), "stock_size")
    assert np.abs(pushed[:, :, 0]) == pytest.approx(np.array([[1.0, 0.0]] * 3))  # its length
    assert pushed[:, :, 1] == pytest.approx(np.zeros((3, 2)))  # its width


@pytest.mark.parametrize(
    ("method", "across", "along"),
    [
        ({**NEST, "push": "left"}, 0.4, 0.0),
        ({**NEST, "push": "front"}, 0.0, 0.0),
        ({**NEST, "push": "back-right"}, 0.4, 0.0),
        ({**CUT_NEST, "push": "back-left"}, 0.2, 0.2),
        ({**CUT_NEST, "push": "right"}, 0.2, 0.0),
    ],
    ids=lambda value: value["push"] if isinstance(value, dict) else None,
)
def test_a_push_shifts_by_half_the_clearance(method: dict[str, Any], across: float, along: float):
    """In each setup that uses the nest: twice across the flip line, cancelled along it, once for a cut outline."""
    pair = check(make_job(method), trials=2000).methods[0].pairs[0]
    assert pair.x is not None
    assert pair.y is not None

    # loose along the wall, the mean is zero within four standard errors of two uniform plays of 0.2
    free = 4 * 0.2 / math.sqrt(3 * 2000) * math.sqrt(2)
    assert pytest.approx(across, abs=free if method["push"] == "front" else 1e-12) == abs(pair.x.mean)
    assert pytest.approx(along, abs=free if method["push"] in ("left", "right") else 1e-12) == abs(pair.y.mean)


def test_bit_opens_the_gap_of_a_cut_outline_twice():
    """The nest grows and the outline shrinks by the error of the bit; a blank as it comes does not feel the bit."""
    for method, times in ((NEST, 1.0), (CUT_NEST, 2.0)):
        model = model_of(method, {"bit_diameter": ONE}, *POINTS).linear
        contact = model.contacts[-1]
        width = contact.forms[0] + contact.forms[2]  # right and left, at the end towards the back

        assert pytest.approx([times]) == width


def test_a_nest_without_errors_takes_every_blank_and_leaves_its_play():
    """Against the sum of squares worked out for the loose blank: sd of x at the middle is that of t_x, twice."""
    pair = hole(LENGTH / 2, WIDTH / 2)
    result = check(make_job(NEST, pairs=[pair]), trials=400_000, plain=True).methods[0]
    ratio, gap = WIDTH / LENGTH, 0.2
    norm = 1 / 2 - ratio / 6
    s = np.linspace(0, 1, 200_001)
    square = np.trapezoid((1 - ratio * s) ** 3 * (1 - s), s) / norm * gap**2 / 3
    assert result.pairs[0].x is not None

    assert 1.0 == result.goes_on
    assert pytest.approx(math.sqrt(2 * square), rel=0.005) == result.pairs[0].x.std


def test_bores_out_of_square():
    """Bores along x at y0, found where they are: D_x = 2 g (y - y0), as with any angle that is taken along x."""
    assert effect(BORES, "machine_squareness") == pytest.approx(np.column_stack([2 * (Y - 30.0), np.zeros(3)]))


def test_four_touches_leave_half_of_the_repeatability_squared():
    """The middle of a bore is known to eps / sqrt 2; half-way between two of them to eps / 2."""
    half = 0.5**0.5

    assert stds(BORES, "probe_repeatability", (90.0, 30.0)) == pytest.approx([0.5, 0.5])
    assert stds({**BORES, "zero_at": "first"}, "probe_repeatability", (20.0, 30.0)) == pytest.approx([half, half])
    # a hole at the second bore sees the zero and, along y, the turn: eps / sqrt 2 of bore 2 alone
    assert stds({**BORES, "zero_at": "first"}, "probe_repeatability", (160.0, 30.0)) == pytest.approx([half, half])
    # beyond them the turn, sqrt 2 eps / sqrt 2 over their distance, is seen through the lever from the middle
    far = math.sqrt(0.25 + (1.0 / 140.0) ** 2 * 60.0**2)
    assert stds(BORES, "probe_repeatability", (90.0, 90.0)) == pytest.approx([far, 0.5])


def test_radius_and_clamping_drop_out_of_bores():
    """Neither the radius of the stylus, nor a blank that moves before it is touched, nor homing is felt."""
    errors = dict.fromkeys(("probe_radius", "clamping_shift", "rehoming", "stock_size"), ONE)

    assert () == model_of(BORES, errors, *POINTS).linear.sources


def test_runout_is_felt_at_bores_unless_a_probe_is_used():
    """A stopped bit is off by half its reading, the same way at both bores: a shift, in one direction nobody knows."""
    model = model_of(BORES, {"bit_runout": 0.02}, *POINTS)

    assert [0.01] == [source.spread.radius for source in model.linear.sources]
    assert np.abs(effects(model, "bit_runout")) == pytest.approx(np.array([np.eye(2)] * 3))
    assert () == model_of({**BORES, "stylus": "probe"}, {"bit_runout": 0.02}, *POINTS).linear.sources


def test_place_of_bores_made_beforehand_cancels():
    """Both faces find the same two bores: where they are moves both faces alike."""
    method = {**BORES, "holes": "beforehand", "hole_position": ONE}

    assert effects(model_of(method, {}, *POINTS), "hole_position") == pytest.approx(np.zeros((3, 2, 4)), abs=1e-12)


@pytest.mark.parametrize("method", [NEST, {**FOUR, "holes": "beforehand"}], ids=["nest", "four pins"])
def test_each_setup_has_a_pose_of_its_own_on_sizes_that_are_shared(method: dict[str, Any]):
    """Two contacts with streams of their own; what is free in them are the same forms, seen the other way round."""
    errors = {"stock_size": ONE, "bit_diameter": ONE}
    first, second = model_of(method, errors, *POINTS).linear.contacts

    assert first.key != second.key
    assert np.abs(first.forms).sum() == pytest.approx(np.abs(second.forms).sum())


def test_same_seed_same_bytes_for_any_number_of_threads():
    """Poses that are thrown until they fit come from streams of their own, block by block."""
    errors = {"machine_squareness": {"std": 0.0003}, "positioning": {"std": 0.02}}
    job = make_job(FOUR, NEST, errors=errors)
    one, two = (check(job, "four", trials=40_000, threads=threads, plain=True) for threads in (1, 2))

    assert one == two


def test_a_pocket_too_long_is_shared_out_by_its_walls():
    """Each wall of a pocket that is longer by s stands s / 2 further out: pushed left, the blank follows by that.

    In either setup it lies s / 2 too far left, and the cut lands as much too far right on it. Turned over, that of face
    B lies to the left of where it belongs: D_x = -s. What is too wide does nothing.
    """
    found = effects(model_of({**NEST, "push": "left", "pocket_size": ONE}, {}, *POINTS), "pocket_size")
    names = [s.part for s in model_of({**NEST, "push": "left", "pocket_size": ONE}, {}, *POINTS).linear.sources]

    assert ["nest x", "nest y"] == names
    assert found[:, :, 0] == pytest.approx(np.array([[-1.0, 0.0]] * 3))
    assert found[:, :, 1] == pytest.approx(np.zeros((3, 2)))


def test_four_holes_that_stray_alike_fit_four_pins():
    """A shift of all holes, or a turn about any point, moves the blank and leaves no misfit; radial clearance 0.15."""
    method = {**FOUR, "holes": "beforehand", "hole_position": ONE}
    linear = model_of(method, {}, *POINTS).linear
    for contact in linear.contacts:
        x, y = np.array(FOUR["pins"]).T
        for stray in (np.tile([1.0, 0.0], 4), np.tile([0.0, 1.0], 4), np.column_stack([-y, x]).ravel()):
            assert contact.forms @ stray == pytest.approx(np.zeros(12), abs=1e-9)
        assert contact.offsets == pytest.approx([0.0] * 8 + [0.15] * 4)


def test_misfits_of_a_machine_out_of_square():
    """What a turn leaves of the shear 2 g is |e_i| = 2 g a b / sqrt(a^2 + b^2) at each of four pins at (±a, ±b)."""
    (contact,) = model_of(FOUR, {"machine_squareness": ONE}, *POINTS).linear.contacts
    a, b = 75.0, 40.0

    misfits = np.hypot(*contact.forms[:8, 0].reshape(4, 2).T)
    assert misfits == pytest.approx([2.0 * a * b / np.hypot(a, b)] * 4)
    assert contact.forms[8:, 0] == pytest.approx(np.zeros(4))


def test_three_pins_are_a_pattern():
    """Two misfits and a clearance for each of three holes; strokes: three holes, three pins, two cuts a pair."""
    (contact,) = model_of({**FOUR, "pins": FOUR["pins"][:3]}, {"positioning": ONE}, *POINTS).linear.contacts

    assert (9, 2 * (3 + 3 + 3 * 2)) == contact.forms.shape


def test_a_thick_bit_opens_the_gap_where_the_outline_lies_in_the_nest():
    """A bit d too thick: nest d / 2 wider, outline d / 2 narrower on each side; pushed left it lies d off."""
    model = model_of({**CUT_NEST, "push": "left"}, {"bit_diameter": ONE}, *POINTS)
    x = [target.x for target in model.targets]

    assert model.by_face[0, x, 0] == pytest.approx(np.zeros(3))
    assert model.by_face[1, x, 0] == pytest.approx(-np.ones(3))
