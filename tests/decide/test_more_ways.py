"""Nests, patterns of pins and bores as a user meets them: the page on nests, sheets, limits, wrong ways, reports."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

import pytest

from flipcheck.decide.compare import compare
from flipcheck.decide.fixture.layout import layouts
from flipcheck.decide.fixture.sheet import fixture_sheet
from flipcheck.decide.limits.limits import limits
from flipcheck.decide.setup.step import Action
from flipcheck.decide.setup.steps import setup_steps
from flipcheck.job.reader import parse_job
from flipcheck.show.setup_sheet.words import sentence
from tests.make import make_job

PAGE = Path(__file__).parent.parent.parent / "docs" / "how-to" / "nest.md"
NEST: dict[str, Any] = {"name": "nest", "kind": "nest", "clearance": 0.4, "push": "front-left"}
CUT_NEST: dict[str, Any] = {
    "name": "cut",
    "kind": "nest",
    "clearance": 0.3,
    "outline": "with face A",
    "rectangle": [[10.0, 15.0], [150.0, 95.0]],
}
THREE: dict[str, Any] = {
    "name": "three",
    "kind": "pins",
    "pins": [[10.0, 15.0], [160.0, 15.0], [90.0, 100.0]],
    "pin": {"diameter": 6.0},
    "hole": {"diameter": 6.3},
}
FOUR = {**THREE, "name": "four", "pins": [[10.0, 15.0], [170.0, 15.0], [170.0, 95.0], [10.0, 95.0]]}
BORES: dict[str, Any] = {"name": "bores", "kind": "bores", "bores": [[20.0, 30.0], [160.0, 30.0]], "diameter": 10.0}


def said(method: dict[str, Any], action: Action) -> list[str]:
    job = make_job(method)
    steps = setup_steps(job, job.methods[0], fixture_sheet(job, job.methods[0]))
    return [sentence(step, "mm") for step in steps if step.action is action]


def test_the_page_on_nests_says_what_is_so():
    """Its job is read; the cut outline is the one that reaches the goal, and play is what hurts the loose blank."""
    (text,) = re.findall(r"(?ms)^```toml\n(.*?)^```", PAGE.read_text(encoding="utf-8"))
    job = parse_job(text)
    result = compare(job, trials=60_000)
    loose = next(method for method in result.methods if method.name == "blank in a nest")
    (fit,) = limits(job, ["cut outline in a nest"], trials=16_384).methods
    assert result.recommendation is not None
    assert loose.pairs[0].hurts_most is not None
    assert fit.pins is not None
    assert fit.pins.smallest is not None
    assert fit.pins.largest is not None

    assert ("cut outline in a nest", True) == (result.recommendation.method, result.recommendation.meets_goal)
    assert "nest_clearance" == loose.pairs[0].hurts_most.source
    assert fit.pins.smallest < 0.3 < fit.pins.largest
    assert fit.pins.spacing is None


def test_nest_on_the_sheet():
    """The corners of the nest, half the clearance all round, and the corner that it is pushed into."""
    assert ["Cut the nest into the bed: X 0 to 180, Y 0 to 110, and 0.200 mm wider all round. Relieve its corners"
            " beyond the walls; take dust and burrs out of it."] == said(NEST, Action.CUT_NEST)  # fmt: skip
    assert 2 * ["Push it into the front-left corner of the nest, and hold it there while clamping."] == said(
        NEST, Action.PUSH
    )


def test_cut_outline_on_the_sheet():
    """The outline on the blank, then the nest where it comes to lie after the turn."""
    (outline,) = said(CUT_NEST, Action.CUT_OUTLINE)
    (nest,) = said(CUT_NEST, Action.CUT_NEST)

    assert "X 10 to 150, Y 15 to 95" in outline
    assert "with the same zero: X 30 to 170, Y 15 to 95, and 0.150 mm wider" in nest


def test_walls_of_a_nest_in_the_layout():
    """Four walls, each with the edge that lies there; the same edge at front and back, the other at left and right."""
    job = make_job(CUT_NEST)
    a, b = layouts(job, job.methods[0])

    assert () == a.locators
    assert [("front", "front"), ("back", "back"), ("left", "right"), ("right", "left")] == [
        (one.side, one.edge) for one in b.locators
    ]
    assert ((30.0, 15.0), (170.0, 95.0)) == b.nest


def test_bores_on_the_sheet():
    """Bored first with face A; after the turn each is found where it lies then."""
    (bored,) = said(BORES, Action.BORE_BORES)
    (found,) = said(BORES, Action.FIND_BORES)

    assert "10 mm, at X 20 Y 30 and X 160 Y 30" in bored
    assert "bore 1 is meant at X 160 Y 30, bore 2 at X 20 Y 30" in found
    assert "half-way between them is X 90 Y 30" in found
    assert not said(BORES, Action.NO_HOMING)


def test_fit_of_a_nest():
    """Bit and runout open the gap of a cut outline twice; the turn is the clearance over the longer side."""
    job = make_job(CUT_NEST, errors={"bit_diameter": {"limit": 0.01}, "bit_runout": 0.02})
    fit = fixture_sheet(job, job.methods[0]).nest
    assert fit is not None

    assert (0.3, pytest.approx(0.32), pytest.approx(0.36)) == (
        fit.clearance.nominal,
        fit.clearance.low,
        fit.clearance.high,
    )
    assert pytest.approx(0.3 / 140) == fit.turn


def test_wrong_ways_onto_patterns_of_pins():
    """Four pins in a rectangle about the middle take three wrong ways that look right; three odd pins take none."""
    four, three = (fixture_sheet(job, job.methods[0]) for job in (make_job(FOUR), make_job(THREE)))

    assert ["turned over about the other axis", "not turned over", "not turned over, rotated by half a turn"] == [
        way.what.value for way in four.wrong_ways
    ]
    assert all(way.looks_right for way in four.wrong_ways)
    assert () == three.wrong_ways
    assert three.move is None
    assert three.pins is not None
    assert 3 == len(three.pins.heights)


def test_limits_of_a_pattern_of_pins():
    """Four pins on a machine out of square: a smallest clearance that lets enough of them on, and a spacing."""
    job = make_job(FOUR, errors={"machine_squareness": {"std": "0.5 mm/m"}})
    (method,) = limits(job, trials=16_384).methods
    fit = method.pins
    assert fit is not None

    # each hole ends 2 g a b / sqrt(a^2 + b^2) from its pin; 95 in 100 machines are within 1.96 sd
    binds = 2 * 1.959964 * 0.0005 * 80 * 40 / math.hypot(80, 40)
    assert pytest.approx(2 * binds, rel=0.02) == fit.goes_on
    assert pytest.approx(math.hypot(160, 80)) == fit.spacing


def test_a_method_without_any_blank_that_goes_in_is_told():
    """A nest that no blank goes into has no pairs to speak of, and the verdict says why."""
    from flipcheck.show.words import verdict

    job = make_job({**NEST, "push": "none"}, errors={"stock_size": {"std": 0.0, "bias": 1.0}})
    result = compare(job, trials=2000)

    assert 0.0 == result.methods[0].goes_on
    assert "No part will line up: not one blank goes into the nest." == verdict(result.methods[0], job.goal)
