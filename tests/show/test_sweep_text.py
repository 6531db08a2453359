"""A sweep as text, CSV and JSON: where the goal is crossed first, every number in its place, no hole hidden."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from dataclasses import replace
from pathlib import Path

import pytest

from flipcheck.decide.sweep.results import Impossible, Sweep, SweepPoint
from flipcheck.show.sweep.plain import sweep_to_csv, sweep_to_json, sweep_to_plain
from flipcheck.show.sweep.text import sweep_to_text
from tests.show import sweeps_made
from tests.show.sweeps_made import DOWELS, FENCE, OFF, SQUARENESS, method, plane, squareness

GOLDEN = Path(__file__).parents[1] / "golden"
ALL = {
    "one": squareness(),
    "two": plane(),
    "inches": sweeps_made.inches(),
    "nobody goes on": sweeps_made.nobody_goes_on(),
    "all impossible": sweeps_made.all_impossible(),
    "interrupted": sweeps_made.interrupted(),
    "many": sweeps_made.many_methods(),
}


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize(("name", "found"), [("sweep.txt", squareness()), ("sweep-two.txt", plane())])
def test_golden(name: str, found: Sweep):
    """The whole text stays as it was read and found good."""
    assert (GOLDEN / name).read_text(encoding="utf-8") == sweep_to_text(found)


@pytest.mark.parametrize("name", ALL)
def test_plain_text_is_bare(name: str):
    """Off a terminal a text is plain ASCII in lines of at most 80 columns, without blanks at their ends."""
    for line in sweep_to_text(ALL[name]).splitlines():
        assert re.fullmatch(r"[ -~]{0,80}", line)
        assert line.rstrip() == line


def over(*chances: float | None, values: tuple[float, ...] = SQUARENESS.values) -> str:
    """What is said first of one method with these chances."""
    points = [
        SweepPoint((x,), (method(DOWELS, c, 0.05),) if c else (), () if c else (Impossible(DOWELS, OFF),))
        for x, c in zip(values, chances, strict=True)
    ]
    varied = replace(SQUARENESS, values=values)
    found = squareness(varied=(varied,), methods=(DOWELS,), points=tuple(points))
    return flat(sweep_to_text(found).split("\n\n")[0]).removeprefix(f'"{DOWELS}" ')


@pytest.mark.parametrize(
    ("chances", "said"),
    [
        ((0.99, 0.98, 0.97, 0.93, 0.9), "meets the goal up to 0.250 mm/m (between 0.2 and 0.3)."),
        ((0.9, 0.93, 0.97, 0.98, 0.99), "meets the goal from 0.150 mm/m (between 0.1 and 0.2) up."),
        ((0.99, 0.98, 0.97, 0.96, 0.95), "meets the goal at every value."),
        ((0.9, 0.8, 0.7, 0.6, 0.5), "misses the goal at every value."),
        ((0.9, None, 0.7, 0.6, 0.5), "misses the goal at every value with a result."),
        (
            (0.93, 0.97, 0.97, 0.93, 0.9),
            "meets the goal at 2 of 5 values; it crosses it at 0.050 mm/m (between 0 and 0.1) and at 0.250 mm/m"
            " (between 0.2 and 0.3).",
        ),
        (
            (0.99, 0.98, None, 0.93, 0.9),
            "meets the goal at 2 of 4 values; it crosses it where there is no result.",
        ),
        (
            (0.99, 0.97, 0.93, None, 0.9),
            "meets the goal at 2 of 4 values; it crosses it at 0.150 mm/m (between 0.1 and 0.2).",
        ),
    ],
)
def test_where_the_goal_is_crossed(chances, said):
    """The first sentence answers the question that people have."""
    assert said == over(*chances)


def test_a_sweep_downwards():
    """From large to small the words turn round."""
    down = SQUARENESS.values[::-1]

    assert "meets the goal from 0.250 mm/m (between 0.2 and 0.3) down." == over(
        0.9, 0.93, 0.97, 0.98, 0.99, values=down
    )
    assert "meets the goal down to 0.150 mm/m (between 0.1 and 0.2)." == over(0.99, 0.98, 0.97, 0.93, 0.9, values=down)


def test_no_result_is_told_with_its_reason():
    """Once for all points and methods that share it."""
    assert 1 == flat(sweep_to_text(plane())).count("No result at")
    assert f"No result at 0 mm/m and -2 mm, and at 4 more points: {OFF}." in flat(sweep_to_text(plane()))
    points = (SweepPoint((0.0,), (method(FENCE, 0.9, 0.05),), (Impossible(DOWELS, "why"),)), *squareness().points[1:])
    said = flat(sweep_to_text(squareness(points=points)))
    assert f'No result at 0 mm/m for "{DOWELS}": why.' in said
    only = sweep_to_text(sweeps_made.all_impossible())
    assert f'"{DOWELS}" has no result.\n"{FENCE}" has no result.\n' == only[: only.index("\n\n") + 1]
    assert "Will line up" not in only


def test_many_reasons_are_cut():
    """No more than five of them; the rest is in the data."""
    points = tuple(SweepPoint((x,), (), (Impossible(DOWELS, f"reason {x}"),)) for x in map(float, range(9)))
    varied = replace(SQUARENESS, values=tuple(map(float, range(9))))
    said = flat(sweep_to_text(squareness(varied=(varied,), methods=(DOWELS,), points=points)))

    assert "reason 4.0" in said
    assert "reason 5.0" not in said
    assert "No result for 4 more reasons (--csv, --json)." in said


def test_an_interrupted_sweep_shows_what_is_done():
    """Only the points done have a line, and their number is told."""
    said = sweep_to_text(sweeps_made.interrupted())

    assert "Interrupted: 2 of 5 points are done." in said
    assert 2 == len(re.findall(r"^ *0(?:\.1)?  +99\.", said, re.M))
    assert not re.search(r"^ *0\.[234]  ", said, re.M)


def test_many_methods_stand_in_several_tables():
    """Eight columns of names and numbers are too many for a line."""
    said = sweep_to_text(sweeps_made.many_methods())

    assert 4 == len(re.findall(r"^ *mm/m ", said, re.M))
    assert 8 == len(re.findall(r"97\.\d \% yes|96\.\d+ \% yes", said)) // 5


def test_nobody_goes_on():
    """No blank, no distance."""
    said = sweep_to_text(sweeps_made.nobody_goes_on())

    assert "misses the goal at every value" in said
    assert re.search(r"^ *0\.4  +-$", said, re.M)


def test_inches():
    """Distances are in the units of the job; what is varied is in its own."""
    said = sweep_to_text(sweeps_made.inches())

    assert 'misalignment of "bearing seat", in' in said
    assert re.search(r"^ *0  +0\.0020  +0\.0031$", said, re.M)


def test_csv_has_a_line_for_each_point_and_method():
    """It parses, names its columns with their units, and holds the same numbers."""
    rows = list(csv.DictReader(io.StringIO(sweep_to_csv(squareness()))))

    assert 10 == len(rows)
    assert [
        "errors.machine_squareness.std [mm/m]",
        *("method", "chance", "low", "high", "meets_goal", "goes_on"),
        *("p95 bearing seat [mm]", "p95 bolt [mm]", "p95 floor [mm]", "impossible"),
    ] == list(rows[0])
    last = rows[-2]
    assert ("0.4", DOWELS, "no", "1.0", "") == tuple(
        last[key] for key in ("errors.machine_squareness.std [mm/m]", "method", "meets_goal", "goes_on", "impossible")
    )
    assert pytest.approx((0.903, 0.066, 2.11), abs=1e-4) == tuple(
        float(last[key]) for key in ("chance", "p95 bearing seat [mm]", "p95 floor [mm]")
    )
    assert float(last["low"]) < float(last["chance"]) < float(last["high"])


def test_csv_of_holes_and_of_an_interrupted_sweep():
    """A hole has its reason; what was not done has no line; what is not a number is empty."""
    rows = list(csv.DictReader(io.StringIO(sweep_to_csv(plane()))))
    assert [OFF] * 5 == [
        row["impossible"] for row in rows if row["methods[dowels on the flip line].pins[0][1] [mm]"] == "-2.0"
    ]
    assert {""} == {row["chance"] for row in rows if row["impossible"]}
    assert 4 == len(list(csv.DictReader(io.StringIO(sweep_to_csv(sweeps_made.interrupted())))))
    rows = list(csv.DictReader(io.StringIO(sweep_to_csv(sweeps_made.nobody_goes_on()))))
    assert {("0.0", "")} == {(row["chance"], row["p95 bearing seat [mm]"]) for row in rows}


def test_csv_of_a_ratio_has_no_unit():
    """A head without a unit has no brackets for one."""
    ratio = replace(SQUARENESS, key="errors.machine_scale_x.std", unit="")

    assert sweep_to_csv(squareness(varied=(ratio,))).startswith("errors.machine_scale_x.std,method,")


@pytest.mark.parametrize("name", ALL)
def test_json_is_json(name: str):
    """Every sweep is valid JSON, and says whether it is complete."""
    plain = json.loads(sweep_to_json(ALL[name]))

    assert sweep_to_plain(ALL[name]) == plain
    assert (name != "interrupted") == plain["complete"]


def test_json_has_every_number():
    """What was varied, the crossings, and every point with its methods and pairs."""
    plain = json.loads(sweep_to_json(squareness()))

    assert {"key": SQUARENESS.key, "unit": "mm/m", "now": 0.2, "values": [0.0, 0.1, 0.2, 0.3, 0.4]} == plain["vary"][0]
    (crossing,) = plain["crossings"]
    assert (DOWELS, [0.3, 0.4], False, None) == tuple(crossing[key] for key in ("method", "between", "rises", "beside"))
    assert pytest.approx(0.3 + 0.1 * 0.001 / 0.048, abs=1e-4) == crossing["value"]
    assert ("bearing seat", [DOWELS, FENCE]) == (plain["pair"], plain["methods"])
    first = plain["points"][0]
    assert [0.0] == first["values"]
    assert (DOWELS, True, 1.0) == tuple(first["methods"][0][key] for key in ("name", "meets_goal", "goes_on"))
    seat = first["methods"][0]["pairs"][0]
    assert ("bearing seat", "hole", 0.075, 0.05) == tuple(seat[key] for key in ("name", "kind", "allowed", "p95"))
    assert [{"method": DOWELS, "reason": OFF}] == json.loads(sweep_to_json(plane()))["points"][0]["impossible"]
    inch = json.loads(sweep_to_json(sweeps_made.inches()))["points"][0]["methods"][0]["pairs"][0]
    assert math.isclose(0.05 / 25.4, inch["p95"])


def test_colour_adds_nothing_to_the_words(monkeypatch: pytest.MonkeyPatch):
    """On a terminal only the weight of the headlines changes."""
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    coloured = sweep_to_text(squareness(), colour=True)

    assert "\x1b[1m" in coloured
    assert sweep_to_text(squareness()) == re.sub(r"\x1b\[[0-9;]*m", "", coloured)
