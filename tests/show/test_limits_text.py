"""Limits as text and as plain data: what matters first, clear words for any size and for none, and the units."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from typing import Any

import pytest

from flipcheck.decide.limits.changes import Changes
from flipcheck.decide.limits.fixture import HoleReach, PinLimits
from flipcheck.decide.limits.limits import Limits, MethodLimits, SourceLimit
from flipcheck.job.reader import parse_job
from flipcheck.show.cautions import CAUTION
from flipcheck.show.error_sizes import in_unit, size_text, unit_of
from flipcheck.show.limits.plain import limits_to_json, limits_to_plain
from flipcheck.show.limits.text import limits_to_text, times
from flipcheck.stack.intervals import Chance, wilson
from tests.show.limits_made import (
    CLAMPING,
    PINS,
    POSITIONING,
    REHOMING,
    RUNOUT,
    SEATING,
    SQUARENESS,
    answer,
    dowels,
    fence,
    stuck,
)

GOLDEN = Path(__file__).parents[1] / "golden"


def flat(text: str) -> str:
    """A text on one line."""
    return " ".join(text.split())


def said(method: MethodLimits, **head: Any) -> str:
    """The text of one method on one line."""
    return flat(limits_to_text(answer(method, **head)))


@pytest.mark.parametrize(("name", "units"), [("limits.txt", "mm"), ("limits-inches.txt", "in")])
def test_golden(name: str, units: str):
    """The whole text stays as it was read and found good."""
    assert (GOLDEN / name).read_text(encoding="utf-8") == limits_to_text(answer(units=units))


@pytest.mark.parametrize("units", ["mm", "in"])
def test_plain_text_is_bare(units: str):
    """Off a terminal a text is plain ASCII in lines of at most 80 columns, without blanks at their ends."""
    for line in limits_to_text(answer(units=units)).splitlines():
        assert re.fullmatch(r"[ -~]{0,80}", line)
        assert line.rstrip() == line


def test_colour_adds_nothing_to_the_words(monkeypatch: pytest.MonkeyPatch):
    """On a terminal a method that meets the goal is green, one that misses it red, one in doubt yellow."""
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    limits = answer(dowels(), fence(), dowels(name="in doubt", chance=Chance(0.951, 0.949, 0.953)))
    coloured = limits_to_text(limits, colour=True)

    for colour, name in (("32", "dowels on"), ("31", "fence and"), ("33", "in doubt")):
        assert f'\x1b[1;{colour}m"{name}' in coloured
    assert limits_to_text(limits) == re.sub(r"\x1b\[[0-9;]*m", "", coloured)


def test_long_names_wrap():
    """A name too long for a line or a cell is shown whole, and no number is cut off."""
    name = "Z" * 80
    text = limits_to_text(answer(dowels(name=name, holes=(HoleReach(name, 30.0, 63.5),))))

    assert 80 >= max(len(line) for line in text.splitlines())
    assert "63.5" in text
    assert 3 * 80 == text.count("Z")


def test_a_method_that_meets_the_goal():
    """The three errors with the least room are named, the tightest first."""
    start = (
        '"dowels on the flip line" meets the goal: 99.21 %. The tightest: machine_squareness may grow to 1.28 times its'
        " size, stock_size to 2.00, machine_scale_x to 12.3."
    )
    assert said(dowels()).startswith(start)


def test_a_method_that_nothing_spoils():
    """Where every error may be of any size that is said."""
    assert "99.21 %. Any one of its errors may be of any size." in said(dowels(sources=(RUNOUT,)))


def test_a_method_too_near_its_goal():
    """Where the trials leave the goal open it is said how to close it."""
    near = dowels(chance=Chance(0.951, 0.949, 0.953))
    assert "meets the goal: 95.1 %. Too near to be sure: run more trials (--trials). The tightest" in said(near)


def test_single_changes():
    """Each change that reaches the goal alone is named, the smallest shrinking first, rounded to the safe side."""
    expected = (
        "misses the goal: 90.5 %. Any one of these reaches it: seating at 66 % of its size; positioning at 7.5 % of"
    )
    assert expected in said(fence())


def test_only_one_change():
    """A single remedy is spoken of as one."""
    assert "One change reaches it: seating at 66 % of its size." in said(fence(sources=(SEATING, REHOMING)))


def test_a_clearance_or_a_spacing_is_a_change():
    """The pins may be what to change: closer, looser or further apart."""
    loose = stuck(pins=PinLimits(0.15, 0.05, 0.12, 0.04, 50.0, 71.0), sources=(SEATING,))
    tight = stuck(pins=PinLimits(0.01, 0.05, 0.12, 0.04, 50.0, None), sources=())

    assert (
        "Any one of these reaches it: a pin clearance of 0.120 mm, not 0.150; pins 71 mm apart, not 50; seating at 66 %"
        in said(loose)
    )
    assert "One change reaches it: a pin clearance of 0.050 mm, not 0.010." in said(tight)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        (
            Changes(("hole_position", "hole"), 0.2699, 0.0606),
            "hole_position and hole, each at 26 % of its size; and a pin clearance of 0.061 mm, not 0.150.",
        ),
        (Changes(("a", "b", "c"), 0.099, None), "a, b and c, each at 9.9 % of its size."),
        (Changes(("a", "b"), 0.0004, None), "a and b, each at next to nothing of its size."),
        (Changes(("a",), 0.5, 0.1), "a at 50 % of its size; and a pin clearance of 0.100 mm, not 0.150."),
        (Changes((), 1.0, 0.1), "a pin clearance of 0.100 mm, not 0.150."),
    ],
)
def test_several_changes(changes: Changes, expected: str):
    """Changes that only together reach the goal are listed with what each must come to."""
    assert f"67.4 %. It takes several changes at once: {expected}" in said(stuck(changes=changes))


def test_a_goal_out_of_reach():
    """Where the goal is missed without any error, the text says where to look."""
    lost = stuck(changes=Changes(("hole", "positioning"), None))
    assert (
        "It would miss without any of its errors: a bias, a push against pins or walls, or the part as drawn is in"
        in said(lost)
    )


def rows(text: str, head: str) -> list[list[str]]:
    """The rows of the first table under a head, cell by cell."""
    lines = text.splitlines()
    first = next(i for i, line in enumerate(lines) if line.startswith(head)) + 2
    last = next(
        i for i, line in enumerate(lines[first:], first) if not line or not line[0].isalpha() or "," not in line
    )
    return [re.split(r"  +", line) for line in lines[first:last]]


def test_the_table_of_errors():
    """Each error stands with its size as it was given, in its unit, the largest, and how many times that is."""
    assert [
        ["machine_squareness", "sd, mm/m", "0.2000", "0.2552", "1.28"],
        ["stock_size", "limit, mm", "0.2540", "0.5080", "2.00"],
        ["machine_scale_x", "limit, %", "0.0400", "0.4936", "12.3"],
        ["bit_runout", "reading, mm", "0.0508", "any size", "any"],
    ] == rows(limits_to_text(answer(dowels())), "error")


def test_the_table_of_errors_in_inches():
    """Lengths are in the units of the job; slopes and ratios stay as they are."""
    assert [
        ["machine_squareness", "sd, mm/m", "0.2000", "0.2552", "1.28"],
        ["stock_size", "limit, in", "0.01000", "0.02000", "2.00"],
        ["machine_scale_x", "limit, %", "0.0400", "0.4936", "12.3"],
        ["bit_runout", "reading, in", "0.00200", "any size", "any"],
    ] == rows(limits_to_text(answer(dowels(), units="in")), "error")


def test_errors_of_which_no_size_will_do():
    """They are named below the table; where there are no others they stand alone."""
    assert "Not enough alone, even at zero: rehoming, clamping_shift." in said(fence())
    alone = limits_to_text(answer(stuck()))
    assert "(pins)\nNot enough alone, even at zero: rehoming, clamping_shift.\n" in alone


def test_an_error_that_would_have_to_grow():
    """A missed goal that only more runout would reach is no case of any size; and nobody is told to wish for it."""
    text = said(fence(sources=(RUNOUT, CLAMPING), changes=Changes(("bit_runout", "clamping_shift"), None)))
    assert "bit_runout reading, mm 0.0508 if larger any" in text
    assert "It would miss without any of its errors" in text


def test_nothing_acts():
    """A method without any error says so in place of an empty table."""
    text = said(dowels(sources=()))
    assert text.startswith('"dowels on the flip line" meets the goal: 99.21 %. No error acts on it.')
    assert "dowels on the flip line (pins) No error acts on it." in text


@pytest.mark.parametrize(
    ("pins", "expected"),
    [
        (
            PINS,
            "a clearance of 0.013 to 0.102 mm meets the goal (now 0.051); they must be 34.6 mm apart or more (now 94).",
        ),
        (
            PinLimits(0.05, 0.01, math.inf, 0.01, 94.0, 6.0),
            "a clearance of 0.010 mm or more meets the goal (now 0.050);",
        ),
        (
            PinLimits(0.15, None, None, 0.1542, 152.0, None),
            "no clearance meets the goal (now 0.150 mm); 95 % of the blanks go on from 0.154 mm; no distance between"
            " them on the blank meets it (now 152 mm).",
        ),
    ],
)
def test_pins(pins: PinLimits, expected: str):
    """Clearance and distance of the pins, with what they are now; and from where on blanks go on, if that is no use."""
    assert f"Pins: {expected}" in said(dowels(pins=pins))


def test_holes():
    """How far from the flip line each hole may lie: up to a place, anywhere, or nowhere."""
    text = flat(limits_to_text(answer(dowels())))
    assert "bearing seat 30.0 63.5 bolt 68.0 anywhere peg 12.7 nowhere" in text
    assert "May lie up to: for this pair by itself" in text
    inches = flat(limits_to_text(answer(dowels(), units="in")))
    assert "line now, in up to" in inches
    assert "bearing seat 1.18 2.50 bolt 2.68 anywhere peg 0.50 nowhere" in inches


def test_without_holes():
    """A part without hole pairs has no table of them, and none is explained."""
    text = limits_to_text(answer(fence()))
    assert "pair" not in text
    assert "May lie" not in text


def test_head_and_foot():
    """Between the paragraphs and the tables stands the question; at the foot what is left out, trials and caution."""
    text = flat(limits_to_text(answer()))
    assert "Bearing carrier, turned over left to right. How large may each error be for 95 % of the parts" in text
    foot = (
        "Left out, counted as zero: machine_scale_y, eye_angle, moisture and temperature between the faces. 65,536"
        " trials, seed 1. " + CAUTION
    )
    assert text.endswith(foot)
    every = answer(left_out=(), between=("moisture", "temperature"))
    assert "Left out, counted as zero: nothing." in limits_to_text(every)


def test_a_title_is_not_needed():
    """A part without a title is called that."""
    assert "Part without a title, turned over on its diagonal." in said(dowels(), title="", flip="diagonal")


@pytest.mark.parametrize(
    ("factor", "text"),
    [
        (None, "-"),
        (math.inf, "any"),
        (0.0, "0.00"),
        (0.00488, "0.0049"),
        (0.664, "0.66"),
        (9.994, "9.99"),
        (12.34, "12.3"),
        (345.6, "346"),
    ],
)
def test_times(factor: float | None, text: str):
    """Factors have about three digits."""
    assert text == times(factor)


@pytest.mark.parametrize(
    ("source", "units", "unit", "size", "number", "text"),
    [
        ("seating", "mm", "mm", 0.0127, 0.0127, "0.0127"),
        ("seating", "in", "in", 0.0127, 0.0005, "0.00050"),
        ("hole", "in", "in", 0.254, 0.01, "0.01000"),
        ("stock_squareness", "in", "mm/m", 0.001, 1.0, "1.0000"),
        ("eye_angle", "mm", "mm/m", 0.0005, 0.5, "0.5000"),
        ("machine_scale_y", "in", "%", 0.0002, 0.02, "0.0200"),
    ],
)
def test_sizes(source: str, units: str, unit: str, size: float, number: float, text: str):
    """Lengths are told in the units of the job, slopes in mm/m, relative errors in per cent."""
    assert (unit, text) == (unit_of(source, units), size_text(size, unit))
    assert number == pytest.approx(in_unit(size, unit), rel=1e-12)


def plain(method: MethodLimits, **head: Any) -> dict[str, Any]:
    """The plain data of one method."""
    found: dict[str, Any] = limits_to_plain(answer(method, **head))["methods"][0]
    return found


def test_plain_head():
    """The head is that of every result."""
    found = limits_to_plain(answer())
    assert {
        "title": "Bearing carrier",
        "units": "mm",
        "goal": 0.95,
        "flip": "left-right",
        "trials": 65_536,
        "seed": 1,
        "left_out": ["machine_scale_y", "eye_angle"],
    } == {key: value for key, value in found.items() if key != "methods"}
    assert 3 == len(found["methods"])


def test_plain_method():
    """A method that meets its goal: every error with its unit, the pins, the holes, and nothing to change."""
    exact = dowels(sources=(SourceLimit("stock_size", "limit", 0.25, 2.0), SQUARENESS, RUNOUT, REHOMING))
    found = plain(exact)
    squareness = found["errors"].pop(1)
    assert {
        "name": "dowels on the flip line",
        "kind": "pins",
        "chance": {"estimate": 0.9921, "low": 0.9914, "high": 0.9928},
        "meets_goal": True,
        "errors": [
            {"error": "stock_size", "given_as": "limit", "unit": "mm", "now": 0.25, "largest": 0.5, "times": 2.0},
            {
                "error": "bit_runout",
                "given_as": "reading",
                "unit": "mm",
                "now": 0.0508,
                "largest": "any",
                "times": "any",
            },
            {"error": "rehoming", "given_as": "std", "unit": "mm", "now": 0.0254, "largest": None, "times": None},
        ],
        "pins": {
            "clearance": {"now": 0.0508, "smallest": 0.0127, "largest": 0.1016, "goes_on_from": 0.0107},
            "spacing": {"now": 94.0, "smallest": 34.57},
        },
        "holes": [
            {"pair": "bearing seat", "from_flip_line": 30.0, "largest": 63.5},
            {"pair": "bolt", "from_flip_line": 68.0, "largest": "any"},
            {"pair": "peg", "from_flip_line": 12.7, "largest": None},
        ],
        "changes": None,
    } == found
    assert ("mm/m", 1.276) == (squareness["unit"], squareness["times"])
    assert (0.2, 0.2552) == pytest.approx((squareness["now"], squareness["largest"]), rel=1e-12)


def test_plain_changes():
    """What to change where the goal is missed; no clearance without pins, no factor where it is out of reach."""
    assert {"errors": ["seating"], "times": 0.669, "clearance": None} == plain(fence())["changes"]
    assert {"errors": ["hole_position", "hole"], "times": 0.2699, "clearance": 0.0606} == plain(stuck())["changes"]
    assert {"errors": ["a"], "times": None, "clearance": None} == plain(fence(changes=Changes(("a",), None)))["changes"]
    assert (False, None) == (plain(fence())["meets_goal"], plain(fence())["pins"])


def test_plain_inches():
    """Lengths of a job in inches are in inches."""
    found = plain(stuck(pins=PinLimits(0.0508, 0.0254, math.inf, 0.0127, 254.0, 127.0)), units="in")
    assert 0.0606 / 25.4 == found["changes"]["clearance"]
    assert ["in", "in"] == [error["unit"] for error in found["errors"]]
    assert found["errors"][0]["now"] == pytest.approx(0.001)
    assert [0.002, 0.001, 0.0005] == pytest.approx(
        [found["pins"]["clearance"][k] for k in ("now", "smallest", "goes_on_from")]
    )
    assert "any" == found["pins"]["clearance"]["largest"]
    assert [10.0, 5.0] == pytest.approx([found["pins"]["spacing"][k] for k in ("now", "smallest")])
    assert 2.5 == pytest.approx(found["holes"][0]["largest"])


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_size_with_its_unit_is_what_a_job_takes(units: str):
    """Number and unit, written one after the other, are read back from a job file as the same size."""
    errors = plain(dowels(), units=units)["errors"][:3]
    table = "\n".join(
        f'{error["error"]} = {{ {error["given_as"]} = "{error["largest"]} {error["unit"]}" }}' for error in errors
    )
    job = parse_job(f"""
flip = "left-right"
[blank]
size = ["180 mm", "110 mm", "12 mm"]
[errors]
{table}
[[pairs]]
name = "seat"
kind = "hole"
at = ["60 mm", "55 mm"]
allowed = "0.1 mm"
[[methods]]
name = "pins"
kind = "pins"
pins = [["90 mm", "8 mm"], ["90 mm", "102 mm"]]
pin = {{ diameter = "6 mm" }}
hole = {{ diameter = "6.1 mm" }}
""")
    assert job.errors.machine_squareness is not None
    assert job.errors.stock_size is not None
    assert job.errors.machine_scale_x is not None
    read = (job.errors.machine_squareness.std, job.errors.stock_size.bound, job.errors.machine_scale_x.bound)
    assert (0.0002 * 1.276, 0.508, 0.0004 * 12.34) == pytest.approx(read, rel=1e-9)


def test_json_holds_the_plain_data():
    """The JSON text says the same, in ASCII, and is the same each time."""
    text = limits_to_json(answer(title="Träger 1/4″"))
    assert limits_to_plain(answer(title="Träger 1/4″")) == json.loads(text)
    assert text.isascii()
    assert text == limits_to_json(answer(title="Träger 1/4″"))


def test_meets_goal():
    """The answer meets the goal if any of its methods does."""
    found: list[Limits] = [answer(), answer(fence()), answer(fence(), dowels())]
    assert [True, False, True] == [limits.meets_goal for limits in found]
    assert answer(dowels(chance=wilson(95, 100))).meets_goal
    assert POSITIONING.largest == pytest.approx(0.0254 * 0.0756)
    assert CLAMPING.largest is None
