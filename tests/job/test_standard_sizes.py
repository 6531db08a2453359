"""Sizes that a job takes from a standard by name."""

from __future__ import annotations

import copy
import pickle
import re

import pytest

from flipcheck.decide.check import check
from flipcheck.decide.inputs import inputs
from flipcheck.decide.limits.limits import limits
from flipcheck.errors import JobError
from flipcheck.job.reader import parse_job
from flipcheck.job.records import SizeSpread
from flipcheck.job.stated import Stated
from flipcheck.stack.spreads import Uniform
from tests.job.sample import changed, only_problem
from tests.make import PINS, make_job

PIN, HOLE = "pin = { diameter = 6, limit = 0.005 }", "hole = { diameter = 6.05, limit = 0.02 }"
BOLT = "bolt = 4\nhole_a = 4.5"


def pins(pin: str, hole: str, *, units: str = "mm") -> tuple[SizeSpread, SizeSpread]:
    """Pin and hole of a job in which they are written so."""
    method = f'[[methods]]\nname = "d"\nkind = "pins"\npins = [["50 mm", "20 mm"], ["50 mm", "80 mm"]]\n{pin}\n{hole}\n'
    text = f"""units = "{units}"
flip = "left-right"
[blank]
size = ["100 mm", "100 mm", "10 mm"]
[[pairs]]
name = "seat"
kind = "hole"
at = ["30 mm", "30 mm"]
allowed = "0.1 mm"
{method}"""
    (one,) = parse_job(text).methods
    return one.pin, one.hole


def alike(one: SizeSpread, diameter: float, half: float) -> None:
    """A size is uniform on diameter ± half, to the last bits of a decimal."""
    assert (diameter, half) == pytest.approx((one.diameter, one.spread.half), abs=1e-12)
    assert isinstance(one.spread, Uniform)
    assert 0.0 == one.spread.mean


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize(
    ("pin", "diameter", "half"),
    [
        # Middles and halves worked out by hand from the limits in tests/tables
        ("6 m6", 6.008, 0.004),
        ("6m6", 6.008, 0.004),
        ("Ø6 h6", 5.996, 0.004),
        ("6 mm js6", 6.0, 0.004),
        ("1/4 in h6", 6.3455, 0.0045),
        ('0.25" h6', 6.3455, 0.0045),
        ("ISO 8734 6", 6.008, 0.004),
        ("ISO 8734 - 6 x 30", 6.008, 0.004),
        ("iso 8734 6 m6", 6.008, 0.004),
        ("ISO 2338 6 h8", 5.991, 0.009),
        ("ISO 2338 - 6 m6 x 24", 6.008, 0.004),
        ("ASME B18.8.2 1/4", 25.4 * 0.2502, 25.4 * 0.0001),
        ("ASME B18.8.2 .25 in", 25.4 * 0.2502, 25.4 * 0.0001),
        ("ASME B18.8.2 1/4 oversize", 25.4 * 0.2510, 25.4 * 0.0001),
    ],
)
def test_pins(pin: str, diameter: float, half: float, units: str):
    """A pin by name is uniform over its limits, in mm whatever the units of the job."""
    alike(pins(f"pin = '{pin}'", 'hole = "7 H7"', units=units)[0], diameter, half)


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize(
    ("hole", "diameter", "half"),
    [("6 H7", 6.006, 0.006), ("6 F7", 6.016, 0.006), ("30 H7", 30.0105, 0.0105), ("1 in H7", 25.4105, 0.0105)],
)
def test_holes(hole: str, diameter: float, half: float, units: str):
    """So is a hole; 30 mm lies in the range that it ends."""
    alike(pins('pin = "6 m6"', f'hole = "{hole}"', units=units)[1], diameter, half)


def test_a_class_is_the_same_as_its_numbers():
    """A job with "6 H7" has the same answer, to the last bit, as one with the numbers that it stands for."""
    by_name = make_job(PINS | {"pin": "6 h6", "hole": "6 H7"}, errors={"positioning": {"std": 0.002}})
    numbers = {"pin": {"diameter": 5.996, "limit": 0.004}, "hole": {"diameter": 6.006, "limit": 0.006}}
    by_number = make_job(PINS | numbers, errors={"positioning": {"std": 0.002}})
    assert check(by_name, trials=20_000).methods == check(by_number, trials=20_000).methods


def test_share_of_blanks_that_go_on():
    """With exact places, two pins and two holes of 6 H7/m6 have play in both in (1/3)^2 of the blanks: 4 std errors."""
    job = make_job(PINS | {"pin": "6 m6", "hole": "6 H7"}, errors={})
    share, n = check(job, trials=200_000).methods[0].goes_on, 200_000
    assert share == pytest.approx(1 / 9, abs=4.0 * (1 / 9 * 8 / 9 / n) ** 0.5)


def test_a_bolt_and_its_holes():
    """A thread is as thick as its number, and its holes are those of ISO 273; hole_b is hole_a where left out."""
    pair = parse_job(changed((BOLT, 'bolt = "M4"\nhole_a = "medium"'))).pairs[1]
    assert (4.0, 4.5, 4.5) == (pair.bolt, pair.hole_a, pair.hole_b)
    pair = parse_job(changed((BOLT, 'bolt = "M4x0.7"\nhole_a = 4.4\nhole_b = "coarse"'))).pairs[1]
    assert (4.0, 4.4, 4.8) == (pair.bolt, pair.hole_a, pair.hole_b)


def test_a_bolt_in_a_job_in_inches():
    """Threads and their holes are in mm, whatever the units of the job."""
    head = 'units = "in"\nflip = "left-right"\n[blank]\nsize = [8, 4, 0.5]\n'
    pair = '[[pairs]]\nname = "b"\nkind = "hole"\nat = [1, 1]\nbolt = "M6"\nhole_a = "fine"\n'
    method = '[[methods]]\nname = "d"\nkind = "pins"\npins = [[4, 1], [4, 3]]\npin = "6 m6"\nhole = "6 F7"\n'
    job = parse_job(head + pair + method)
    assert (6.0, 6.4) == (job.pairs[0].bolt, job.pairs[0].hole_a)
    assert 0.4 == pytest.approx(check(job, trials=1000).methods[0].pairs[0].allowed)


@pytest.mark.parametrize(
    ("written", "reading"),
    [("ISO 15488 class 2, 6 mm", 0.015), ("ISO 15488 class 1 6", 0.010), ("ISO 15488 1/2 in", 0.020)],
)
def test_a_collet(written: str, reading: float):
    """The runout of a collet is the largest reading of its class."""
    assert reading == parse_job(changed(("bit_runout = 0.02", f'bit_runout = "{written}"'))).errors.bit_runout


@pytest.mark.parametrize(
    ("old", "new", "line", "message"),
    [
        (PIN, 'pin = "6 H7"', 52, r'pin: needed the class of a shaft, in small letters; came "6 H7" \[hole-or-shaft\]'),
        (HOLE, 'hole = "6 m6"', 53, r"hole: needed the class of a hole, in capitals; .*\[hole-or-shaft\]"),
        (HOLE, 'hole = "ISO 8734 6"', 53, r'hole: needed the class of a hole, such as "6 H7"; .*\[hole-or-shaft\]'),
        (PIN, 'pin = "6 H7/m6"', 52, r'pin: needed one class: .*Try: "6 m6" \[hole-or-shaft\]'),
        (HOLE, 'hole = "6 Js7/js6"', 53, r'hole: needed one class: .*Try: "6 JS7" \[hole-or-shaft\]'),
        (PIN, 'pin = "6 r6"', 52, r'pin: needed a letter of the table: F G .*; came "r" \[not-in-table\]'),
        (PIN, 'pin = "6 m15"', 52, r"pin: needed a grade from 5 to 14; came 15 \[not-in-table\]"),
        (HOLE, 'hole = "600 H7"', 53, r"hole: needed a nominal size above 0, at most 500 mm; came 600 mm \[not-in-t"),
        (PIN, 'pin = "ISO 8734 7"', 52, r'pin: needed a diameter of ISO 8734: .*Try: "ISO 8734 6" \[not-in-table\]'),
        (PIN, 'pin = "ISO 2338 6"', 52, r"pin: .*m6 or h8; came no class\. Try: .* \[not-in-table\]"),
        (
            PIN,
            'pin = "ASME B18.8.2 1/3"',
            52,
            r'pin: needed a size of ASME B18\.8\.2: 1/16, .*came 0\.333333 in\. Try: "ASME .*5/16" \[not-in-t',
        ),
        (PIN, 'pin = "ISO 8735 6"', 52, r'pin: needed a dowel pin, such as "ISO 8734 6".*\[unreadable-fit\]'),
        (PIN, 'pin = "6,0 m6"', 52, r"pin: needed a size and .*Try: write the decimal with a point \[unreadable-fit\]"),
        (PIN, 'pin = "6 H7 m6"', 52, r'pin: needed a size and .*came "6 H7 m6" \[unreadable-fit\]'),
        (PIN, 'pin = "1/4 m6"', 52, r"pin: needed a unit after the number.*\[no-unit\]"),
        (PIN, 'pin = "6 kg m6"', 52, r"pin: needed a length.*\[wrong-dimension\]"),
        (
            PIN,
            'pin = "6 mm"',
            52,
            r'pin: needed a table .* or "6 m6"; came "6 mm"\. Try: \{ diameter = "6 mm" \} \[wron',
        ),
        (HOLE, "hole = 6", 53, r'hole: needed a table .* or "6 H7"; came 6\. Try: \{ diameter = 6 \} \[wrong-kind\]'),
        (BOLT, 'bolt = "M9"\nhole_a = "fine"', 24, r'bolt: needed a thread of ISO 273: .*; came "M9" \[not-in-table\]'),
        (BOLT, 'bolt = "M4"\nhole_a = "close"', 25, r'hole_a: needed "fine", "medium" or "coarse"; came "close" \[not'),
        (BOLT, 'bolt = "M4"\nhole_a = 5\nhole_b = "mid"', 26, r"hole_b: needed .*came .mid. \[not-in-table\]"),
        (
            BOLT,
            'bolt = 4\nhole_a = "fine"',
            25,
            r'hole_a: needed bolt = "M6", or another thread, .*\[hole-without-thread\]',
        ),
        (BOLT, 'allowed = 1\nhole_a = "fine"', 25, r"hole_a: needed bolt = .*\[hole-without-thread\]"),
        (BOLT, 'bolt = "M4"\nhole_a = 4', 24, r"bolt: needed a bolt smaller than its hole; .*\[bolt-too-big\]"),
        ("bit_runout = 0.02", 'bit_runout = "ISO 15488"', 12, r"bit_runout: needed the bore .*\[unreadable-quantity\]"),
        (
            "bit_runout = 0.02",
            'bit_runout = "ISO 15488 class 5, 6"',
            12,
            r"bit_runout: .*came class 5 \[not-in-table\]",
        ),
        (
            "bit_runout = 0.02",
            'bit_runout = "ISO 15488 40"',
            12,
            r"bit_runout: needed a collet from 1 to .*\[not-in-tab",
        ),
    ],
)
def test_names_that_cannot_be_taken(old: str, new: str, line: int, message: str):
    """Each is told at its key and line, with what was needed."""
    found = only_problem(changed((old, new)))
    assert line == found.line
    assert re.search(message, str(found)), str(found)


def test_a_bare_size_below_1_in_a_job_in_inches():
    """It would be mm, which nobody means there."""
    with pytest.raises(
        JobError, match=r"standards count a bare 0\.25 in mm; .* Try: 0\.25 in, or 0\.25 mm \[no-unit\]"
    ):
        pins('pin = "0.25 h6"', 'hole = "1/4 in H7"', units="in")


def test_a_stated_length_is_a_number_that_remembers():
    """It computes as a plain number, and survives copies."""
    size = Stated(6.006, "6 H7", "ISO 286-1", 0.006, 6.0)
    assert float is type(size + 1)
    for one in (copy.deepcopy(size), pickle.loads(pickle.dumps(size))):
        assert (6.006, "6 H7", "ISO 286-1", 0.006, 6.0) == (one, one.name, one.source, one.half, one.nominal)


def test_inputs_tell_the_name_and_the_table():
    """The job as understood says what was written and where its numbers stand."""
    text = changed((PIN, 'pin = "ISO 8734 6"'), (HOLE, 'hole = "6 H7"'), ("= 0.02\n\n", '= "ISO 15488 6 mm"\n\n'))
    named = {one.origin.key: one.named for one in inputs(parse_job(text), text).uncertain}
    assert {
        "errors.positioning": "",
        "errors.machine_squareness": "",
        "errors.bit_runout": "ISO 15488 6 mm: class 2, 16 mm from the nose",
        "methods, 1: pin": "ISO 8734 6: m6 of ISO 286-1",
        "methods, 1: hole": "6 H7: ISO 286-1",
    } == named


def test_limits_end_where_the_nominal_clearance_is_nothing():
    """A clearance of 0, made up for by a bias, has a largest one all the same: the search for it ends."""
    job = make_job(PINS | {"pin": {"diameter": 6.0}, "hole": {"diameter": 6.0, "limit": 0.01, "bias": 0.05}})
    (method,) = limits(job, trials=16_384).methods
    shifted = make_job(PINS | {"pin": {"diameter": 6.0}, "hole": {"diameter": 6.05, "limit": 0.01}})
    (same,) = limits(shifted, trials=16_384).methods
    assert same.pins.largest - 0.05 == pytest.approx(method.pins.largest, abs=2e-5)
