"""Where to touch off Z, as text, as data and in the report. Numbers made by hand."""

from __future__ import annotations

import json
import math

from flipcheck.decide.heights import ByZero, WebHeights
from flipcheck.show.heights import CAPTION
from flipcheck.show.plain import to_json
from flipcheck.show.report.report import report_content
from flipcheck.show.text import to_text
from tests.make import PINS, make_job
from tests.show.results import comparison, method, probe

SAME = tuple(ByZero(way, 0.99999, 0.00001, 25.4, 0.0254) for way in ("bed", "top", "top then bed"))
FLOOR = WebHeights(
    "floor [b]",
    0.254,
    math.inf,
    (
        ByZero("bed", 0.87373, 0.0234, 0.508, 0.254),
        ByZero("top", 0.9, 0.0, 0.508, 0.254),
        ByZero("top then bed", 0.99999, 0.0, 0.508, 0.0254),
    ),
)
FACED = WebHeights("faced", -math.inf, 26.0, SAME)
BOTH = comparison(probe(), method(), heights=(FLOOR, FACED))


def test_text():
    """Chances with two decimals, what is cut through beneath, next to 0 and 1 as bounds; names are no markup."""
    lines = to_text(BOTH).splitlines()
    (floor,) = [i for i, line in enumerate(lines) if line.startswith("floor [b]")]
    (faced,) = [line for line in lines if line.startswith("faced")]

    assert ["87.37", "%", "90.00", "%", ">99.99", "%", "top", "then", "bed"] == lines[floor].split()[2:]
    assert "through 2.34 %" in lines[floor + 1]
    assert faced.endswith("all the same")
    assert 1 == sum("through" in line for line in lines if "Through: share" not in line)


def test_nothing_without_webs():
    """No table, and no key in the data, for a job without webs."""
    assert "touch off Z" not in to_text(comparison())
    assert "heights" not in json.loads(to_json(comparison()))


def test_data():
    """Lengths in the units of the job."""
    units = 25.4 if BOTH.units == "in" else 1.0
    floor, faced = json.loads(to_json(BOTH))["heights"]

    assert (["top then bed"], ["bed", "top", "top then bed"]) == (floor["best"], faced["best"])
    assert ("bed", 0.87373, 0.0234) == tuple(floor["ways"][0][key] for key in ("zero_z", "chance", "through"))
    assert math.isclose(0.508, floor["ways"][0]["mean"] * units)


def test_report():
    """A table among those of the methods, only where there are webs."""
    web = {"name": "floor", "kind": "web", "at": [90, 50], "depth_a": 6, "depth_b": 3, "min_web": 2.9}
    captions = [
        [getattr(block, "caption", "") for block in section.blocks]
        for pairs in ({"pairs": [web]}, {})
        for section in report_content(make_job(PINS, **pairs), trials=1000).sections
        if section.name == "methods"
    ]

    assert CAPTION in captions[0]
    assert CAPTION not in captions[1]
