from __future__ import annotations

import math
import re

import pytest

from flipcheck.job.checks.setups import idle_options
from flipcheck.job.reader import parse_job
from tests.job.sample import changed, only_problem

PINS = "pins = [[100, 10], [100, 90]]"
FENCE = 'fence = "front"\ncontacts = [20, 180]\nstop = "left"\nstop_at = 20'
PROBE = 'touch_in = [15, 15]\nangle = "two touches"\nspacing = 100'


def swapped(old: str, new: str, flip: str = "left-right") -> str:
    """The sample with one part replaced, turned another way; other methods are kept possible."""
    text = changed((old, new))
    if flip == "diagonal":
        text = text.replace("contacts = [20, 180]", 'contacts = [20, 80]\nafter_flip = "same side"')
        text = text.replace("spacing = 100", "spacing = 50")
    return text.replace('flip = "left-right"', f'flip = "{flip}"')


@pytest.mark.parametrize(
    ("old", "new", "code", "message"),
    [
        (
            PINS,
            "pins = [[100, 10], [100, 104]]",
            "outside-blank",
            r'"dowels": pins, item 2: needed a point on the blank.*came \(100, 104\) mm',
        ),
        (
            PINS,
            "pins = [[100, 2], [100, 90]]",
            "pin-breaks-edge",
            r"pins, item 1: needed a hole that stays within the blank, its middle at least 3\.025 mm from",
        ),
        (
            PINS,
            "pins = [[100, 50], [100, 55]]",
            "pins-too-close",
            r"pins: needed two pins further apart than one is thick, 6\.05 mm; came 5 mm",
        ),
        (
            PINS,
            PINS + "\nhole_position = { std = 0.1 }",
            "option-unused",
            r'hole_position: needed holes = "beforehand" beside hole_position; came holes = "with face A"',
        ),
        (
            PINS,
            PINS + '\npush = "front"',
            "push-along-pins",
            r'push: needed a push across the pin line; came push = "front", along it\. Try: "left" or "right"',
        ),
        (
            PINS,
            PINS + '\nbed_holes = "same stroke"\nholes = "beforehand"',
            "same-stroke-beforehand",
            r'bed_holes: needed holes = "with face A", since one stroke.*came holes = "beforehand"',
        ),
        (
            PINS,
            'pins = [[100, 10], [100.02, 90]]\nbed_holes = "same stroke"',
            "same-stroke-off-line",
            r'item 2: needed pins on the flip line, x = 100 mm.*came \(100\.02, 90\) mm\. Try: move .*"separately"',
        ),
        (
            FENCE,
            FENCE.replace("180", "201"),
            "beyond-edge",
            r"contacts, item 2: needed a place .*from 0 to 200 mm along the front side in setup A; came 201",
        ),
        (
            FENCE,
            FENCE.replace("stop_at = 20", "stop_at = 101"),
            "beyond-edge",
            r"stop_at: needed a place on the blank, from 0 to 100 mm along the left side in setup A; came 101 mm",
        ),
        (
            FENCE,
            FENCE.replace("180", "20.5"),
            "contacts-together",
            r"contacts: needed two contacts at least 1 mm apart; came 0\.5 mm",
        ),
        (
            FENCE,
            FENCE.replace('"left"', '"front"'),
            "stop-on-fence",
            r'needed a stop on a side next to the fence.s: "left" or "right"; came stop = "front" with fence = "front"',
        ),
        (FENCE, FENCE.replace('"left"', '"back"'), "stop-on-fence", r'came stop = "back"'),
        (
            PROBE,
            PROBE.replace("[15, 15]", "[15, 101]"),
            "beyond-edge",
            r'"corner": touch_in, item 2: needed a place on the blank, from 0 to 100 mm along the left side',
        ),
        (
            PROBE,
            PROBE.replace("100", "190"),
            "beyond-edge",
            r"a second touch on the blank, at most 200 mm from the corner in setup A; came 15 mm and 190 mm further",
        ),
        (
            PROBE,
            PROBE.replace("100", "0.5"),
            "contacts-together",
            r"spacing: needed two touches at least 1 mm apart; came 0\.5 mm",
        ),
        (
            PROBE,
            PROBE.replace("spacing = 100", ""),
            "missing-key",
            r'spacing: needed spacing beside angle = "two touches"; came no spacing',
        ),
        (PROBE, PROBE + '\nmiddle = ["x", "x"]', "not-a-choice", r'middle: needed "x" and "y" once each; came x, x'),
        (
            PROBE,
            'touch_in = [15, 15]\nangle = "fence"\nfence = "left"',
            "missing-key",
            r'contacts: needed fence and contacts beside angle = "fence"; came no contacts',
        ),
        (
            PROBE,
            'touch_in = [15, 15]\nangle = "fence"\nfence = "left"\ncontacts = [5, 101]',
            "beyond-edge",
            r"contacts, item 2: .*100 mm along the left side in setup A; came 101 mm",
        ),
    ],
)
def test_one_impossible_thing(old: str, new: str, code: str, message: str) -> None:
    """Each impossibility is one problem of its own kind, with the numbers that clash."""
    problem = only_problem(swapped(old, new))
    assert code == problem.code
    assert problem.line is not None
    assert re.search(message, str(problem)), str(problem)


@pytest.mark.parametrize(
    ("old", "new", "code", "message"),
    [
        (PINS, 'pins = [[50, 50], [90, 90]]\nbed_holes = "same stroke"', None, ""),
        (
            PINS,
            'pins = [[50, 50], [90, 90.1]]\nbed_holes = "same stroke"',
            "same-stroke-off-line",
            r"flip line, x = y, to",
        ),
        (
            "contacts = [20, 180]",
            "contacts = [20, 101]\nafter_flip = 'same side'",
            "beyond-edge",
            r"from 0 to 100 mm along the front side in setup B; came 101 mm",
        ),
        (
            "stop_at = 20",
            "stop_at = 150",
            "beyond-edge",
            r"from 0 to 100 mm along the left side in setup A; came 150 mm",
        ),
        (
            "spacing = 100",
            "spacing = 86",
            "beyond-edge",
            r"at most 100 mm from the corner in setup B; came 15 mm and 86 mm further",
        ),
        (PINS, PINS + '\npush = "right"', "push-along-pins", r'"right", along it\. Try: "front" or "back"'),
        (PINS, PINS + '\npush = "front"', None, ""),
        (PINS, PINS + '\npush = "front"\nholes = "beforehand"', "push-along-pins", r'"front", along it'),
    ],
)
def test_a_diagonal_turn_swaps_the_sides(old: str, new: str, code: str | None, message: str) -> None:
    """After a diagonal turn the blank measures W along machine X, and a pin line along Y lies along X."""
    text = swapped(old, new, "diagonal")
    if code is None:
        assert "diagonal" == parse_job(text).flip
        return
    problem = only_problem(text)
    assert code == problem.code
    assert re.search(message, str(problem)), str(problem)


@pytest.mark.parametrize(
    ("written", "came"),
    [("", 'after_flip = "same edge", the default'), ('\nafter_flip = "same edge"', 'after_flip = "same edge"')],
)
def test_a_stop_cannot_follow_its_edge_through_a_diagonal_turn(written: str, came: str) -> None:
    """A stop that followed its edge would stand on the fence's own side, said or by default."""
    text = changed(
        ('flip = "left-right"', 'flip = "diagonal"'),
        ("contacts = [20, 180]", "contacts = [20, 80]" + written),
        ("spacing = 100", "spacing = 50"),
    )
    problem = only_problem(text)
    assert ("diagonal-same-edge", 'methods "rail": after_flip') == (problem.code, problem.where)
    assert "a stop that stays on its machine side: after a diagonal turn its edge lies on the fence" == problem.needed
    assert (came, 'after_flip = "same side"') == (problem.came, problem.hint)


@pytest.mark.parametrize(
    ("flip", "pins"),
    [
        ("left-right", "[[100, 10], [100, 90]]"),
        ("left-right", "[[100.009, 10], [100, 90]]"),
        ("front-back", "[[10, 50], [190, 50]]"),
        ("diagonal", "[[10, 10], [90, 90]]"),
    ],
)
def test_pins_on_the_flip_line_may_be_made_in_one_stroke(flip: str, pins: str) -> None:
    """The flip line is x = L/2, y = W/2 or x = y, within a hundredth."""
    text = swapped(PINS, f'pins = {pins}\nbed_holes = "same stroke"', flip)
    assert flip == parse_job(text).flip


@pytest.mark.parametrize(("degrees", "possible"), [(5.0, False), (7.0, True), (-7.0, True), (-5.0, False)])
def test_a_push_within_six_degrees_of_the_pin_line_is_refused(degrees: float, possible: bool) -> None:
    """A push along the pins leaves the turn to chance; a few degrees off it does not."""
    x = 100.0 + 80.0 * math.tan(math.radians(degrees))
    text = changed((PINS, f'pins = [[100, 10], [{x}, 90]]\npush = "back"'))
    if possible:
        assert 3 == len(parse_job(text).methods)
    else:
        assert "push-along-pins" == only_problem(text).code


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("two touches", "by eye", ['methods "corner": spacing does nothing with angle = "by eye"']),
        (PROBE, PROBE + '\nfence = "front"', ['methods "corner": fence does nothing with angle = "two touches"']),
        (PROBE, PROBE + "\nrail = true", ['methods "corner": rail does nothing with angle = "two touches"']),
        (PROBE, PROBE + '\nset_by = "hand"', ['methods "corner": set_by does nothing with angle = "two touches"']),
        (
            PROBE,
            PROBE + '\nstylus = "probe"\nsame_phase = true',
            ['methods "corner": same_phase does nothing with stylus = "probe"'],
        ),
        (PROBE, PROBE, []),
    ],
)
def test_idle_options(old: str, new: str, expected: list[str]):
    """Options that do nothing beside the others are worth a note, not a refusal."""
    assert expected == list(idle_options(parse_job(changed((old, new)))))


NEST = 'kind = "fence"\n' + FENCE


def refused(text: str, code: str, message: str) -> None:
    """A text has one problem, of that code, told in words that match."""
    problem = only_problem(text)

    assert code == problem.code
    assert re.search(message, str(problem)), str(problem)


@pytest.mark.parametrize(
    ("new", "code", "message"),
    [
        (
            "clearance = 0.3\nrectangle = [[10, 10], [90, 90]]",
            "option-unused",
            'rectangle: needed outline = "with face A" beside rectangle; came outline = "beforehand"',
        ),
        (
            'clearance = 0.3\noutline = "with face A"\nafter_flip = "second pocket"',
            "option-unused",
            'after_flip: needed outline = "beforehand" beside a second pocket',
        ),
        (
            'clearance = 0.3\noutline = "with face A"\nrectangle = [[10, 10], [210, 90]]',
            "outside-blank",
            "rectangle, item 2: needed a point on the blank",
        ),
        ("clearance = 0", "out-of-range", "clearance: needed a value above 0"),
        (
            'clearance = 0.3\npush = "back-lef"',
            "not-a-choice",
            'push: needed "none", "front", "back", .* came "back-lef". Try: "back-left"',
        ),
        ("", "missing-key", "clearance: needed clearance, such as clearance = 0.3"),
    ],
)
def test_impossible_nests(new: str, code: str, message: str) -> None:
    """A nest told to do what its outline forbids."""
    refused(changed((NEST, 'kind = "nest"\n' + new)), code, message)


@pytest.mark.parametrize(
    ("new", "code", "message"),
    [
        ("bores = [[20, 50], [26, 50]]\ndiameter = 8", "pins-too-close", "bores: needed two bores further apart"),
        ("bores = [[2, 50], [180, 50]]\ndiameter = 8", "pin-breaks-edge", "bores, item 1: needed a hole that stays"),
        ("bores = [[20, 50]]\ndiameter = 8", "wrong-count", r"bores: needed a value such as bores = \[\["),
        (
            "bores = [[20, 50], [180, 50]]\ndiameter = 8\nhole_position = { std = 0.1 }",
            "option-unused",
            'hole_position: needed holes = "beforehand" beside hole_position',
        ),
    ],
)
def test_impossible_bores(new: str, code: str, message: str) -> None:
    """Bores that lie off the blank, on each other, or are told what holes cut with face A have no use for."""
    refused(changed((NEST, 'kind = "bores"\n' + new)), code, message)


@pytest.mark.parametrize(
    ("pins", "code", "message"),
    [
        ('[[20, 10], [180, 10], [100, 90]]\nsecond_hole = "slot"', "only-two-pins", "two pins beside second_hole"),
        ("[[20, 10], [180, 10], [100, 90], [50, 90], [60, 20]]", "wrong-count", "pins: needed at most 4 pins"),
        ("[[20, 10]]", "wrong-count", r"pins: needed a value such as pins = \["),
        ("[[20, 10], [180, 10], [178, 12]]", "pins-too-close", "further apart"),
    ],
)
def test_impossible_patterns_of_pins(pins: str, code: str, message: str) -> None:
    """Patterns with too many pins, with pins in each other, or with an option for two."""
    refused(changed((PINS, f"pins = {pins}")), code, message)


def test_a_pattern_of_three_pins_is_read() -> None:
    """Three and four pins are a job; a square blank may be nested in the same pocket after a diagonal turn."""
    assert 3 == len(parse_job(changed((PINS, "pins = [[20, 10], [180, 10], [100, 90]]"))).methods[0].pins)
