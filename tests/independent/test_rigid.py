"""Self-checks of the naive simulation: one error at a time against answers known by hand.

An error with `limit = 0` and a `bias` is a fixed, known error, so the misalignment is a number. Fixed errors are
0.1 mm and 0.1 mm/m on a 400 mm blank: second-order terms stay below 400 * (2e-4)^2 + 0.1 * 2e-4 < 0.05 um.
"""

import math

import numpy as np
import pytest

from .rigid import sample, simulate

SECOND_ORDER = 5e-5  # mm
L, W, T = 400.0, 300.0, 20.0
AT = (330.0, 210.0)
FEW = 8


def fixed(value):
    return {"limit": 0.0, "bias": value}


def spread(std):
    return {"std": std}


FENCE = {"kind": "fence", "fence": "front", "contacts": [60, 340], "stop": "left", "stop_at": 40}
PROBE = {
    "kind": "probe",
    "corner": "front-left",
    "touch_in": [30, 50],
    "angle": "fence",
    "fence": "front",
    "contacts": [60, 340],
    "stylus": "probe",
}
TIGHT = {
    "kind": "pins",
    "pins": [[200, 20], [200, 280]],
    "pin": {"diameter": 6.0},
    "hole": {"diameter": 6.000002},
    "second_hole": "slot",
}
GROUND = {"pin": {"diameter": 6.0}, "hole": {"diameter": 6.1}}  # radial clearance 0.05


def turned(method, errors, flip="left-right", at=AT, trials=FEW, seed=5):
    """Result for the only pair, a hole at `at`."""
    job = {
        "flip": flip,
        "blank": {"size": [L, W, T]},
        "errors": errors,
        "pairs": [{"name": "hole", "kind": "hole", "at": list(at), "allowed": 0.1}],
        "methods": [{"name": "way", **method}],
    }
    return simulate(job, "way", trials, seed)


def mean(method, errors, flip="left-right", at=AT, trials=FEW):
    pair = turned(method, errors, flip, at, trials)["pairs"][0]
    return pair["x"]["mean"], pair["y"]["mean"]


def within(x, y, allowed=SECOND_ORDER):
    """Both axes together, as pytest compares them."""
    return pytest.approx((x, y), abs=allowed)


def assert_std(expected, moments):
    """Within four standard errors of the sample's standard deviation."""
    assert pytest.approx(expected, abs=4 * moments["se_std"] + SECOND_ORDER) == moments["std"]


# ---------------------------------------------------------------- fences and stops


@pytest.mark.parametrize("rail", [False, True])
def test_fence_angle_doubles(rail):
    """A hand-set fence out by f turns face B by 2 f against face A."""
    way = {**FENCE, "set_by": "hand", "rail": rail}
    here, there = (mean(way, {"fence_angle": fixed(1e-4)}, at=p) for p in [(0, 0), AT])
    assert within(-2e-4 * AT[1], 2e-4 * AT[0]) == (there[0] - here[0], there[1] - here[1])


@pytest.mark.parametrize(("flip", "expected"), [("left-right", (0, 0)), ("front-back", (0, -0.2))])
def test_fence_position(flip, expected):
    """A fence that stands 0.1 outside cancels along the flip line and doubles across it."""
    assert within(*expected) == mean({**FENCE, "set_by": "hand"}, {"fence_position": fixed(0.1)}, flip)


def test_stop_that_stays_doubles():
    """One stop that meets the opposite edge after the turn counts twice."""
    way = {**FENCE, "set_by": "hand", "after_flip": "same side"}
    assert within(-0.2, 0) == mean(way, {"stop_position": fixed(0.1)})


def test_stop_that_moves_is_another_stop():
    """A stop that follows its edge is drawn again: root two of one stop, not 0 and not 2."""
    result = turned({**FENCE, "set_by": "hand"}, {"stop_position": spread(0.1)}, trials=20_000)["pairs"][0]
    assert_std(0.1 * math.sqrt(2), result["x"])


def test_stop_along_the_flip_line_cancels():
    """A left stop stays where it is in a front-back turn and meets the same edge."""
    pair = turned({**FENCE, "set_by": "hand"}, {"stop_position": spread(0.1)}, "front-back", trials=200)["pairs"][0]
    assert pair["distance"]["p99"] < SECOND_ORDER


@pytest.mark.parametrize(("after", "expected"), [("same edge", 0), ("same side", 0.1)])
def test_blank_size(after, expected):
    """A blank too long by 0.1 shifts face B by 0.1 to the right only if the opposite edge is met."""
    assert within(expected, 0) == mean({**FENCE, "after_flip": after}, {"stock_size": fixed(0.1)})


@pytest.mark.parametrize(
    "way", [FENCE, {**FENCE, "rail": True}, PROBE, {**PROBE, "angle": "two touches", "spacing": 300}]
)
def test_stock_squareness_cancels_on_the_same_edges(way):
    """Edges out of square do not matter when the same places of the same edges locate both faces."""
    assert within(0, 0) == mean(way, {"stock_squareness": fixed(1e-4)})


def test_stock_squareness_of_the_opposite_edge():
    """Left edge in A, right edge in B: equal leans cancel, independent ones add as root two."""
    way = {**FENCE, "after_flip": "same side", "stop_at": 250}
    # at height y0 both edges lie a y0 to the right of their nominal place, and so do both faces
    assert within(0, 0) == mean(way, {"stock_squareness": fixed(1e-4)})
    pair = turned(way, {"stock_squareness": spread(1e-4)}, trials=20_000)["pairs"][0]
    assert_std(1e-4 * 250 * math.sqrt(2), pair["x"])


def test_stock_parallelism_turns_a_front_back_part():
    """The back edge leaning by a about its middle turns face B by a about that middle."""
    got = mean(FENCE, {"stock_parallelism": fixed(1e-4)}, "front-back")
    # The cut lines follow the back edge: at x the back edge is a (x - L/2) further out, so is the cut; the left stop
    # touches at machine y 40, blank y 260.
    assert within(-1e-4 * (AT[1] - (W - 40)), 1e-4 * (AT[0] - L / 2)) == got


def test_straightness_cancels_at_mirrored_contacts():
    """Contacts that lie symmetrically about the flip line meet the same places of the front edge."""
    way = {**FENCE, "contacts": [60, 340]}
    pair = turned(way, {"stock_straightness": spread(0.05)}, trials=200)["pairs"][0]
    assert pair["distance"]["p99"] < SECOND_ORDER


def test_straightness_is_independent_at_other_contacts():
    """Contacts at 60 and 300 meet four places: y at one contact's mirror place has variance 1 + (share of two)."""
    pair = turned({**FENCE, "contacts": [60, 300]}, {"stock_straightness": spread(0.05)}, at=(60, 10), trials=20_000)[
        "pairs"
    ][0]
    # face A: w(60) there; face B: places 340 and 100, extrapolated to 60: w(100) * 280/240 - w(340) * 40/240
    assert_std(0.05 * math.sqrt(1 + (280 / 240) ** 2 + (40 / 240) ** 2), pair["y"])


def test_straightness_on_a_rail_bears_on_the_same_spots():
    """A rail meets the two high spots of the same edge again, wherever they come to lie."""
    way = {**FENCE, "rail": True, "contacts": [60, 300]}
    pair = turned(way, {"stock_straightness": spread(0.05)}, trials=200)["pairs"][0]
    assert pair["distance"]["p99"] < SECOND_ORDER


def test_straightness_of_two_edges_on_a_rail():
    """After a front-back turn the back edge brings its own spots: root two of one edge at a contact."""
    way = {**FENCE, "rail": True}
    pair = turned(way, {"stock_straightness": spread(0.05)}, "front-back", at=(60, 150), trials=20_000)["pairs"][0]
    assert_std(0.05 * math.sqrt(2), pair["y"])


def test_fence_strokes_of_the_machine():
    """Machine-set contacts are strokes: seen at the middle of the turn they cancel, but they turn the part twice."""
    way = {**FENCE, "contacts": [100, 300]}
    errors = {"positioning": spread(0.01)}
    # y at x: features add 2 strokes; fence strokes v1, v2: face A sees v(x), face B v(L - x), on the mirrored blank
    # D_y = v_A(x) - v_B(L - x) with v(x) = v1 + (v2 - v1)(x - 100)/200, so D_y = (v2 - v1)(2x - L)/200
    pair = turned(way, errors, at=(300, 40), trials=20_000)["pairs"][0]
    assert_std(0.01 * math.sqrt(2 + 2 * (200 / 200) ** 2), pair["y"])


def test_seating_is_new_in_each_setup():
    """Chips at the stop differ between the setups: root two."""
    pair = turned({**FENCE, "after_flip": "same side"}, {"seating": spread(0.02)}, at=(200, 40), trials=20_000)[
        "pairs"
    ][0]
    assert_std(0.02 * math.sqrt(2), pair["x"])


def test_hand_set_fence_turns_about_the_middle_of_its_side():
    """At the middle of its side the fence does not move when it turns."""
    way = {**FENCE, "set_by": "hand", "rail": True}
    got = mean(way, {"fence_angle": fixed(1e-4)}, "front-back", at=(200, 150))
    assert pytest.approx(0, abs=SECOND_ORDER) == got[1]


def test_back_fence_after_a_diagonal_turn_is_another_fence():
    """The back side of a blank that is not square lies elsewhere after a diagonal turn: own draw; front: one draw."""
    errors = {"fence_position": spread(0.1)}
    for side, root in [("front", 1), ("back", 1)]:
        way = {**FENCE, "fence": side, "contacts": [60, 250], "set_by": "hand", "after_flip": "same side"}
        result = turned(way, errors, "diagonal", trials=20_000)["pairs"][0]
        # A is moved in y, B (through the turn) in x, each by one draw of std 0.1
        assert_std(0.1 * root, result["x"])
        assert_std(0.1 * root, result["y"])
        # one fence: D = (v, -v), distance root 2 |v|, so the chance is that of |v| < 0.1 / root 2
        expected = math.erf(0.5) if side == "front" else 1 - math.exp(-0.5)
        n = result["chance"]["n"]
        assert (
            pytest.approx(expected, abs=4 * math.sqrt(expected * (1 - expected) / n)) == result["chance"]["count"] / n
        )


def test_fence_set_again_turns_about_the_middle_of_its_new_side():
    """At the middles of the back side in A (x = 200) and in B (machine x = 150, blank y = 150) the fence is true."""
    way = {**FENCE, "fence": "back", "contacts": [60, 250], "set_by": "hand", "after_flip": "same side"}
    # only the stop's lever is left: it touches at machine y = 40, the pair lies at machine y = 150 in A and 200 in B
    expected = within(-1e-4 * (150 - 40), 1e-4 * (200 - 40))
    assert expected == mean(way, {"fence_angle": fixed(1e-4)}, "diagonal", at=(200, 150))


# ---------------------------------------------------------------- touching off


@pytest.mark.parametrize(
    ("change", "expected"),
    [({}, (0, 0)), ({"after_flip": "same side"}, (0.2, 0)), ({"after_flip": "same side", "middle": ["x"]}, (0, 0))],
)
def test_probe_radius(change, expected):
    """A wrong stylus radius cancels at the same corner, doubles at the same side, drops out in the middle."""
    assert within(*expected) == mean({**PROBE, **change}, {"probe_radius": fixed(0.1)})


@pytest.mark.parametrize(("middle", "factor"), [([], math.sqrt(2)), (["x"], 1.0)])
def test_probe_repeatability(middle, factor):
    """Touches are independent: root two of one touch, one for the middle of two edges."""
    pair = turned({**PROBE, "middle": middle}, {"probe_repeatability": spread(0.05)}, trials=20_000)["pairs"][0]
    assert_std(0.05 * factor, pair["x"])


def test_middle_forgets_the_size_of_the_blank():
    """Half of the size error of each setup cancels, whatever side comes where."""
    got = mean({**PROBE, "middle": ["x", "y"], "after_flip": "same side"}, {"stock_size": fixed(0.1)})
    assert within(0, 0) == got


def test_same_side_meets_the_other_edge():
    """A blank too long by 0.1, left edge touched in A and right edge in B: face B lies 0.1 further right."""
    assert within(0.1, 0) == mean({**PROBE, "after_flip": "same side"}, {"stock_size": fixed(0.1)})


def test_laid_by_eye():
    """Laid askew by a in both setups: misalignment 2 a about the touched places."""
    way = {**PROBE, "angle": "by eye"}
    # The Y edge is touched at x = 30 and the X edge at y = 50 from the same physical corner.
    assert within(-2e-4 * (AT[1] - 50), 2e-4 * (AT[0] - 30)) == mean(way, {"eye_angle": fixed(1e-4)})


def test_two_touches_take_the_angle_out():
    """The program turned onto the touched edge does not care how the blank lies."""
    way = {**PROBE, "angle": "two touches", "spacing": 300}
    assert within(0, 0) == mean(way, {"eye_angle": fixed(1e-4)})


def test_two_touches_turn_the_program():
    """Repeatability of two touches at distance s is an angle: y at the lever of the second touch is root two of one."""
    way = {**PROBE, "angle": "two touches", "spacing": 300}
    pair = turned(way, {"probe_repeatability": spread(0.01)}, at=(330, 50), trials=20_000)["pairs"][0]
    assert_std(0.01 * math.sqrt(2), pair["y"])
    assert_std(0.01 * math.sqrt(2), pair["x"])


def test_two_touches_with_the_middle_of_y():
    """Zero in y is the middle of front and back at the first touch, the angle comes from the front edge."""
    way = {**PROBE, "angle": "two touches", "spacing": 300, "middle": ["y"]}
    pair = turned(way, {"probe_repeatability": spread(0.01)}, at=(330, 50), trials=20_000)["pairs"][0]
    # per setup at the second touch: (-e1 + e_back)/2 + (e1 - e2) in the direction of y
    assert_std(0.01 * math.sqrt(2 * (0.25 + 0.25 + 1)), pair["y"])


def test_runout_at_touch_off():
    """Touched with a stopped bit: e / root 2 per axis and setup, so e for both."""
    pair = turned({**PROBE, "stylus": "bit"}, {"bit_runout": 0.04}, trials=20_000)["pairs"][0]
    assert_std(0.02, pair["x"])
    assert_std(0.02, pair["y"])


def test_runout_with_the_phase_kept():
    """One phase for both setups: cancels along the flip line, doubles across it."""
    pair = turned({**PROBE, "stylus": "bit", "same_phase": True}, {"bit_runout": 0.04}, trials=20_000)["pairs"][0]
    assert_std(0.04 / math.sqrt(2), pair["x"])
    assert pytest.approx(0, abs=SECOND_ORDER) == pair["y"]["std"]


# ---------------------------------------------------------------- machine geometry


@pytest.mark.parametrize(
    ("way", "counted_from"),
    [
        (PROBE, 50),
        (FENCE, 40),
        ({**FENCE, "set_by": "hand"}, 0),
        ({**PROBE, "angle": "two touches", "spacing": 300}, 50),
    ],
)
def test_machine_squareness_with_the_angle_along_x(way, counted_from):
    """D_x = 2 g (y - y0), y0 where the zero was touched or the stop was cut; from the origin for a hand-set stop."""
    assert within(2e-4 * (AT[1] - counted_from), 0) == mean(way, {"machine_squareness": fixed(1e-4)})


@pytest.mark.parametrize("bed", ["separately", "same stroke"])
def test_machine_squareness_with_pins_on_the_flip_line(bed):
    """D_y = 2 g (x - x_line), nothing in x."""
    got = mean({**TIGHT, "bed_holes": bed}, {"machine_squareness": fixed(1e-4)})
    assert within(0, 2e-4 * (AT[0] - 200)) == got


def test_machine_squareness_after_a_diagonal_turn():
    """The machine's error is a pure rotation after a diagonal turn; the pins take it out."""
    way = {**TIGHT, "pins": [[30, 40], [350, 260]]}
    assert within(0, 0) == mean(way, {"machine_squareness": fixed(1e-4)}, "diagonal")


@pytest.mark.parametrize("way", [TIGHT, FENCE, PROBE])
def test_machine_scale_cancels(way):
    """A wrong scale does no harm on pins cut with face A, nor on the same physical edges."""
    assert within(0, 0) == mean(way, {"machine_scale_x": fixed(1e-4), "machine_scale_y": fixed(2e-4)})


def test_machine_scale_with_the_opposite_edge():
    """Left edge in A, right edge in B: the scale error of the whole length appears once."""
    got = mean({**PROBE, "after_flip": "same side"}, {"machine_scale_x": fixed(1e-4)})
    # face A scaled from x = 0 to the right, face B from x = L to the left
    assert within(-1e-4 * (L - AT[0]) - 1e-4 * AT[0], 0) == got


def test_positioning_and_lost_motion_of_the_features():
    """Each cut has its own draw: root two of one stroke."""
    errors = {"positioning": spread(0.01), "lost_motion": {"total": 0.06}}
    pair = turned(PROBE, errors, at=(200, 50), trials=20_000)["pairs"][0]
    # the fence strokes cancel in x
    assert_std(math.sqrt(2 * (0.01**2 + 0.03**2 / 3)), pair["x"])


@pytest.mark.parametrize("way", [FENCE, TIGHT])
def test_rehoming_counts_once(way):
    """The zero lost between the faces acts on face B only, through the turn."""
    assert within(-0.1, 0.1) == mean(way, {"rehoming": fixed(0.1)})


def test_rehoming_does_not_matter_to_a_probe():
    """The touch-off finds the blank again."""
    assert within(0, 0) == mean(PROBE, {"rehoming": fixed(0.1), "clamping_shift": fixed(0.1)})


def test_clamping_shift():
    """Both setups with a fence and with pins drilled beforehand; only face B when the holes are cut with face A."""
    errors = {"clamping_shift": fixed(0.1)}
    assert within(0.2, 0) == mean(FENCE, errors)
    assert within(0.2, 0) == mean({**TIGHT, "holes": "beforehand"}, errors)
    assert within(0.1, -0.1) == mean(TIGHT, errors)


# ---------------------------------------------------------------- pins


def test_play_of_two_round_holes():
    """Uniform in its play: u has density c^2 - u^2, so variances c^2 / 5 along and 4 c^2 / 15 across, at a pin."""
    pair = turned({**TIGHT, **GROUND, "second_hole": "round"}, {}, at=(200, 20), trials=20_000)["pairs"][0]
    assert_std(0.05 * math.sqrt(4 / 15), pair["x"])
    assert_std(0.05 * math.sqrt(1 / 5), pair["y"])


def test_play_of_a_slot():
    """A round hole alone is a uniform disc; a slot is uniform across and leaves the turn to it."""
    way = {**TIGHT, **GROUND}
    pair = turned(way, {}, at=(200, 20), trials=20_000)["pairs"][0]
    assert_std(0.025, pair["x"])
    assert_std(0.025, pair["y"])
    assert_std(0.05 / math.sqrt(3), turned(way, {}, at=(200, 280), trials=20_000)["pairs"][0]["x"])


def test_play_with_a_pitch_error():
    """Given a pitch error p the place along the pins has density sqrt(c^2 - u^2) sqrt(c^2 - (u + p)^2)."""
    way = {**TIGHT, **GROUND, "second_hole": "round"}
    clearance, pitch = 0.05, 0.06
    u = np.linspace(-clearance, clearance - pitch, 20_001)
    density = np.sqrt(clearance**2 - u**2) * np.sqrt(np.maximum(clearance**2 - (u + pitch) ** 2, 0))
    density /= density.sum()
    centre = float((density * u).sum())
    std_u = float(np.sqrt((density * (u - centre) ** 2).sum()))
    std_n = float(np.sqrt((density * (clearance**2 - u**2)).sum() / 3))
    stretched = {**way, "holes": "beforehand"}
    errors = {"machine_scale_y": fixed(-pitch / 260)}
    # the blank's holes are true, the bed pins stand closer by `pitch` in both setups; the feature shares the scale
    pair = turned(stretched, errors, at=(200, 20), trials=20_000)["pairs"][0]
    assert_std(std_n * math.sqrt(2), pair["x"])
    assert_std(std_u * math.sqrt(2), pair["y"])


def test_share_that_goes_on():
    """Blanks go on while the pitch error stays within the sum of the radial clearances."""
    way = {**TIGHT, **GROUND, "second_hole": "round"}
    result = turned(way, {"positioning": spread(0.04)}, trials=20_000)
    # pitch: two holes and two bed pins along the line, 2 x 0.04; clearance sum 0.1
    expected = math.erf(0.1 / 0.08 / math.sqrt(2))
    assert (
        pytest.approx(expected, abs=4 * math.sqrt(expected * (1 - expected) / 20_000))
        == result["goes_on"]["count"] / 20_000
    )
    slot = turned({**way, "second_hole": "slot"}, {"positioning": spread(0.04)}, trials=200)
    assert slot["goes_on"]["count"] == 200


def test_same_stroke_has_no_pitch_error():
    """Bed hole and blank hole are one stroke on the flip line: every blank goes on, positions across mirror."""
    way = {**TIGHT, **GROUND, "second_hole": "round", "bed_holes": "same stroke"}
    result = turned(way, {"positioning": spread(0.04)}, trials=200)
    assert result["goes_on"]["count"] == 200


def test_same_stroke_doubles_across_the_flip_line():
    """The stroke's own error along x is mirrored by the turn: twice, beside the two feature strokes."""
    way = {**TIGHT, "bed_holes": "same stroke"}
    pair = turned(way, {"positioning": spread(0.01)}, at=(200, 20), trials=20_000)["pairs"][0]
    assert_std(0.01 * math.sqrt(4 + 2), pair["x"])
    assert_std(0.01 * math.sqrt(2), pair["y"])


@pytest.mark.parametrize("second", ["round", "slot"])
@pytest.mark.parametrize("holes", ["with face A", "beforehand"])
def test_pushed_to_one_machine_side(second, holes):
    """Pushed left across the flip line: c in each setup that has pins, and the turn adds them up."""
    way = {**TIGHT, **GROUND, "second_hole": second, "push": "left", "holes": holes}
    times = 2 if holes == "beforehand" else 1
    assert within(-0.05 * times, 0) == mean(way, {})


def test_pushed_along_the_flip_line_cancels():
    """Pushed to the front after a left-right turn: the same physical side both times."""
    way = {**TIGHT, **GROUND, "pins": [[50, 30], [350, 30]], "push": "front", "holes": "beforehand"}
    assert within(0, 0) == mean({**way, "second_hole": "round"}, {})


def test_pushed_with_a_pitch_error():
    """With pitch error p the greatest travel is where sqrt(c1^2 - u^2) + sqrt(c2^2 - (u + p)^2) is largest."""
    c1, c2, pitch = 0.05, 0.05, 0.06
    way = {**TIGHT, **GROUND, "second_hole": "round", "push": "right", "holes": "beforehand"}
    u = np.linspace(-c1, c1 - pitch, 200_001)
    travel = np.sqrt(c1**2 - u**2) + np.sqrt(np.maximum(c2**2 - (u + pitch) ** 2, 0))
    best = float(travel.max()) / 2
    got = mean(way, {"machine_scale_y": fixed(-pitch / 260)})
    # by symmetry both pins are offset alike; face A moved right by `best` is cut left of it, face B mirrored: 2 x best
    assert within(2 * best, 0) == got


def test_pushed_with_unequal_clearances_turns_the_blank():
    """Hole sizes that differ leave the blank turned by (c2 - c1) / spacing."""
    way = {**TIGHT, "pin": {"diameter": 6.0, "std": 0.02}, "hole": {"diameter": 6.3}, "second_hole": "round"}
    pair = turned({**way, "push": "left"}, {}, at=(200, 280), trials=20_000)["pairs"][0]
    assert_std(0.01, pair["x"])


def test_holes_by_bit_grow():
    """A hole made by the bit is larger by runout and by the bit's own error; both open the clearance."""
    way = {**TIGHT, **GROUND, "second_hole": "round", "push": "left", "holes_by_bit": True}
    assert within(-0.05 - 0.02 - 0.01, 0) == mean(way, {"bit_runout": 0.04, "bit_diameter": fixed(0.02)})
    assert within(-0.05, 0) == mean({**way, "holes_by_bit": False}, {"bit_runout": 0.04, "bit_diameter": fixed(0.02)})


def test_pin_play_opens_the_clearance():
    """Play of the pin in the bed is play of the blank."""
    way = {**TIGHT, **GROUND, "second_hole": "round", "push": "left", "pin_play": fixed(0.02)}
    assert within(-0.06, 0) == mean(way, {})


def test_hole_position_beforehand():
    """Holes drilled out of place move and turn both faces alike: no misalignment."""
    way = {**TIGHT, "holes": "beforehand", "hole_position": spread(0.1)}
    pair = turned(way, {}, at=AT, trials=200)["pairs"][0]
    assert pair["distance"]["p99"] < 4 * SECOND_ORDER


def test_bed_pin_noise_belongs_to_the_place():
    """Pins that change places in the turn keep their errors at the place: same stroke seen from both sides."""
    way = {**TIGHT, "pins": [[50, 150], [350, 150]], "holes": "beforehand"}
    pair = turned(way, {"positioning": spread(0.01)}, at=(50, 150), trials=20_000)["pairs"][0]
    # x at hole 1: round hole on pin place 50 in A, on place 350 in B (own draw): two pins and two features
    assert_std(0.01 * math.sqrt(4), pair["x"])
    # y at hole 1: pin at place 50 in A, pin at place 350 in B
    assert_std(0.01 * math.sqrt(4), pair["y"])
    middle = turned(way, {"positioning": spread(0.01)}, at=(200, 150), trials=20_000)["pairs"][0]
    assert_std(0.01 * math.sqrt(2), middle["y"])  # the two places share in the middle: their mean cancels


# ---------------------------------------------------------------- pairs and heights


def web(zero_z, errors, trials=FEW, limits=None):
    job = {
        "flip": "left-right",
        "blank": {"size": [L, W, T]},
        "errors": errors,
        "pairs": [
            {"name": "web", "kind": "web", "at": [9, 9], "depth_a": 8, "depth_b": 9, **(limits or {"min_web": 3})}
        ],
        "methods": [{"name": "way", **PROBE, "zero_z": zero_z}],
    }
    return simulate(job, "way", trials, 5)["pairs"][0]


@pytest.mark.parametrize(("zero", "sign"), [("bed", -1), ("top", 1), ("top then bed", 0)])
def test_thickness_of_the_blank_in_a_web(zero, sign):
    """A thick blank thins the web with the zero on the bed, thickens it with the zero on top, drops out when mixed."""
    assert pytest.approx(3 + sign * 0.1, abs=1e-9) == web(zero, {"stock_thickness": fixed(0.1)})["web"]["mean"]


@pytest.mark.parametrize(("zero", "count"), [("bed", 2), ("top", 0), ("top then bed", 1)])
def test_unevenness_of_the_bed_in_a_web(zero, count):
    """A high bed thins the web in each setup that counts from the bed; touches count in both."""
    got = web(zero, {"bed_flatness": fixed(0.1), "z_touch": fixed(0.01)})["web"]["mean"]
    assert pytest.approx(3 - 0.1 * count + 0.02, abs=1e-9) == got


def test_limits_of_a_web():
    """A web passes between its two limits."""
    pair = web("bed", {"stock_thickness": spread(0.1)}, 20_000, {"min_web": 2.9, "max_web": 3.2})
    expected = 0.5 * (math.erf(1 / math.sqrt(2)) + math.erf(2 / math.sqrt(2)))
    n = pair["chance"]["n"]
    assert pytest.approx(expected, abs=4 * math.sqrt(expected * (1 - expected) / n)) == pair["chance"]["count"] / n


def one_pair(pair, errors, trials=20_000, method=PROBE):
    job = {
        "flip": "left-right",
        "blank": {"size": [L, W, T]},
        "errors": errors,
        "pairs": [{"name": "pair", **pair}],
        "methods": [{"name": "way", **method}],
    }
    return simulate(job, "way", trials, 5)["pairs"][0]


def test_bolt():
    """Two holes of 6.4 grown to 6.5 by the bit pass a bolt of 6.3 while their centres are within 0.2."""
    pair = {"kind": "hole", "at": [30, 50], "bolt": 6.3, "hole_a": 6.4}
    errors = {"bit_runout": 0.06, "bit_diameter": fixed(0.04), "rehoming": spread(1.0), "positioning": spread(0.1)}
    at_pair = one_pair(pair, errors)
    # at the touched place the fence strokes do not matter: distance of two feature strokes, Rayleigh with root two
    expected = 1 - math.exp(-(0.2**2) / (2 * 0.02))
    n = at_pair["chance"]["n"]
    assert pytest.approx(expected, abs=4 * math.sqrt(expected * (1 - expected) / n)) == at_pair["chance"]["count"] / n


def test_bolt_wider_than_a_hole_never_passes():
    """The smaller hole decides however well the holes line up."""
    pair = {"kind": "hole", "at": [200, 50], "bolt": 6.3, "hole_a": 6.2, "hole_b": 8.0}
    assert one_pair(pair, {}, FEW)["chance"]["count"] == 0


def test_slot_counts_only_across():
    """Across a slot along 30 degrees a shift of 0.2 along x counts as 0.2 sin 30."""
    pair = {"kind": "slot", "at": [200, 50], "angle": 30, "allowed": 0.06}
    got = one_pair(pair, {"probe_radius": fixed(0.1)}, FEW, {**PROBE, "after_flip": "same side"})
    assert pytest.approx(0.2 * math.sin(math.radians(30)), abs=SECOND_ORDER) == got["distance"]["mean"]
    assert got["chance"]["count"] == 0


def test_slot_of_equal_strokes():
    """Strokes alike in x and y: the across part has the spread of one axis, whatever the angle (half-normal mean)."""
    pair = {"kind": "slot", "at": [30, 50], "angle": 75, "allowed": 0.06}
    got = one_pair(pair, {"positioning": spread(0.05)})["distance"]
    assert pytest.approx(0.05 * math.sqrt(2) * math.sqrt(2 / math.pi), abs=4 * got["se_mean"]) == got["mean"]


def test_outline_takes_the_largest_step():
    """A pure turn steps most at the vertex with the longest lever along an edge."""
    pair = {"kind": "outline", "points": [[100, 100], [300, 100], [300, 160], [100, 160]], "allowed": 0.06}
    got = one_pair(pair, {"eye_angle": fixed(1e-4)}, FEW, {**PROBE, "angle": "by eye"})["distance"]["mean"]
    # D = 2 a (-(y - 50), x - 30): y steps on horizontal edges up to 2 a 270, x steps up to 2 a 110
    assert pytest.approx(2e-4 * 270, abs=SECOND_ORDER) == got


# ---------------------------------------------------------------- spreads


@pytest.mark.parametrize(
    ("table", "std"),
    [
        ({"std": 2.0}, 2.0),
        ({"limit": 2.0}, 2 / math.sqrt(3)),
        ({"total": 2.0}, 1 / math.sqrt(3)),
        ({"limit": 2.0, "shape": "triangular"}, 2 / math.sqrt(6)),
        ({"limit": 2.0, "shape": "arcsine"}, 2 / math.sqrt(2)),
        ({"limit": 2.0, "shape": "trapezoid"}, 2 * math.sqrt((1 + 0.25) / 6)),
        ({"total": 4.0, "shape": "trapezoid", "top": 0.8}, 2 * math.sqrt((1 + 0.64) / 6)),
        ({"total": 12.0, "shape": "normal", "sigmas": 3}, 2.0),
        ({"std": 2.0, "shape": "uniform"}, 2.0),
    ],
)
def test_spreads(table, std):
    """Every form of a spread has the standard deviation of its textbook formula, and its bias as mean."""
    values = sample({**table, "bias": 7.0}, np.random.default_rng(1), 40_000)
    kurtosis_bound = 2.0  # of these shapes the normal has the largest excess: variance of the variance 2 s^4 / n
    assert pytest.approx(std, abs=4 * std * math.sqrt(kurtosis_bound / 40_000) / 2) == values.std()
    assert pytest.approx(7.0, abs=4 * std / 200) == values.mean()


@pytest.mark.parametrize("shape", ["uniform", "triangular", "arcsine", "trapezoid"])
def test_limits_of_spreads_hold(shape):
    """A bounded shape stays within its limit and comes near it."""
    values = sample({"limit": 2.0, "shape": shape}, np.random.default_rng(1), 40_000)
    assert 1.9 < abs(values).max() <= 2.0
