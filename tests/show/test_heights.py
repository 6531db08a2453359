"""Where to touch off Z, as text, as data and in the report. Numbers made by hand."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import TYPE_CHECKING

from flipcheck.decide.heights import ByZero, Effect, WebHeights
from flipcheck.decide.results import Distribution
from flipcheck.decide.zero_z import ZeroAdvice
from flipcheck.show.heights import CAPTION
from flipcheck.show.lengths import web_limits
from flipcheck.show.plain import to_json
from flipcheck.show.text import to_text
from flipcheck.show.zero_words import where_to_zero
from flipcheck.stack.intervals import Chance
from tests.make import PINS, make_job
from tests.show.reports import report_content
from tests.show.results import comparison, method, probe, result, web

if TYPE_CHECKING:
    from flipcheck.job.records import ZeroZ


def sure(share: float) -> Chance:
    """An exact chance."""
    return Chance(share, share, share)


SAME = tuple(ByZero(way, sure(0.99999), sure(0.00001), 25.4, 0.0254) for way in ("bed", "top", "top then bed"))
FLOOR = WebHeights(
    "floor [b]",
    0.254,
    math.inf,
    (
        ByZero("bed", sure(0.87373), sure(0.0234), 0.508, 0.254),
        ByZero("top", sure(0.9), sure(0.0), 0.508, 0.254),
        ByZero("top then bed", sure(0.99999), sure(0.0), 0.508, 0.0254),
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


# ---------------------------------------------------------------- where to touch off, in words


def effects(thickness: float, bed: int) -> tuple[Effect, ...]:
    """What a thickness, an uneven bed and the touch-off do by one way."""
    return (
        Effect("stock_thickness", thickness, abs(round(thickness)), -0.0127 * thickness, 0.254 * abs(thickness)),
        Effect("bed_flatness", -float(bed), bed, 0.0, 0.0254 * bed),
        Effect("z_touch", 2.0, 2, 0.0, 0.0508),
    )


def advice(bed: Chance, top: Chance, mixed: Chance, *, count: int = 1, zero_z: ZeroZ = "top then bed") -> ZeroAdvice:
    """Where to touch off Z, by the chances of the three ways."""
    ways = (
        ByZero("bed", bed, sure(0.0), 0.508, 0.254, effects=effects(-1.0, 2)),
        ByZero("top", top, sure(0.0), 0.508, 0.254, effects=effects(1.0, 0)),
        ByZero("top then bed", mixed, sure(0.0), 0.508, 0.254, effects=effects(0.0, 1)),
    )
    chances: dict[ZeroZ, Chance] = {way.zero_z: way.chance for way in ways}
    return ZeroAdvice(chances, 0.95, WebHeights("floor", 0.254, math.inf, ways), count, "dowels", zero_z)


def test_one_way_is_best():
    """The way, its chance against the others, and only the errors that make the difference; lengths in its units."""
    which, why = where_to_zero(advice(sure(0.87373), sure(0.9), sure(0.99999)), "mm")

    assert which.startswith("Touch off Z on top of the blank for face A and on the bed for face B (zero_z = ")
    assert which.endswith(
        '"floor" is within its limits in >99.99 % of the blanks, against 87.37 % by "bed" and 90.00 % by "top".'
    )
    assert (
        'Why: by "top then bed" the thickness of the blank drops out and the bed counts once (sd 0.025 mm); by "bed" a'
        " thick blank thins the web (mean +0.013, sd 0.254 mm) and the bed counts in both setups (sd 0.051 mm); by"
        ' "top" a thick blank thickens the web (mean -0.013, sd 0.254 mm) and the bed does not enter.'
    ) == why
    assert "(sd 0.0010 in)" in where_to_zero(advice(sure(0.5), sure(0.5), sure(0.6)), "in")[1]


def test_two_ways_that_do_not_differ():
    """Both are told, as no better than each other, whether exact or within the noise of the trials."""
    for top in (sure(0.96005), Chance(0.958, 0.955, 0.961)):
        which, why = where_to_zero(advice(sure(0.5), top, Chance(0.96, 0.957, 0.963)), "mm")
        assert 'in both setups (zero_z = "top"), or on top of the blank for face A' in which
        assert 'no difference that shows, against 50.00 % by "bed".' in which
        assert why.startswith('Why: by "top" a thick blank thickens the web')


def test_no_way_is_better():
    """It is said that it makes no difference, and that the errors differ none the less."""
    which, why = where_to_zero(advice(sure(0.97), sure(0.97), sure(0.97), zero_z="bed"), "mm")

    assert (
        'Where Z is touched off makes no difference that shows: "floor" is within its limits in 97.00 % of the blanks'
        " by each way."
    ) == which
    assert "the thickness of the blank drops out" in why
    alike = ZeroAdvice({way.zero_z: way.chance for way in SAME}, 0.95, FACED, 1, "dowels", "bed")
    assert "no error of the job acts on a height otherwise by one way" in where_to_zero(alike, "mm")[1]


def test_goal_missed_and_another_way_in_the_job():
    """A goal that the webs alone miss is said to be missed, and what the job now has for its method."""
    which, why = where_to_zero(advice(sure(0.5), sure(0.6), sure(0.7), count=3, zero_z="bed"), "mm")

    assert "every web is within its limits in 70.00 %" in which
    assert 'Even so the webs alone miss the goal of 95 %. The job has zero_z = "bed" for "dowels".' in which
    assert why.startswith('Why, at "floor": by')


def test_where_it_stands():
    """Above the table in the text, with the data beside the table, and in the report."""
    found = advice(sure(0.87373), sure(0.9), sure(0.99999))
    told = comparison(probe(), method(), heights=(FLOOR,), zero_z=found)
    text, plain = to_text(told), json.loads(to_json(told))["zero_z"]

    assert text.index("touch off Z: chance") < text.index("Touch off Z on top") < text.index("floor [b]")
    assert (["top then bed"], True) == (plain["best"], plain["meets_goal"])
    assert " ".join(where_to_zero(found, "mm")) == plain["reason"]
    assert {"zero_z": "top", "chance": {"estimate": 0.9, "low": 0.9, "high": 0.9}} == plain["ways"][1]


# ---------------------------------------------------------------- depths


DEEP = Distribution(5.08, 0.0254, {"p01": 5.0209, "p05": 5.0382, "p95": 5.1218, "p99": 5.1391})
CUT = ByZero("bed", sure(0.98), sure(0.0234), 2.032, 0.0535, depth_a=DEEP)


def test_depths_in_the_text():
    """One row for each face that is cut, under its web, with the share that is cut through."""
    text = to_text(result(method(pairs=(web(name="floor [b]", heights=CUT),))))
    lines = text[text.index("Depth of the cuts, mm; Z touched off on the bed in both setups") :].splitlines()
    (floor,) = [i for i, line in enumerate(lines) if line.startswith("floor [b]")]

    assert ["floor", "[b]", "2.34", "%"] == lines[floor].split()
    assert ["face", "A", "5.080", "5.021", "5.038", "5.122", "5.139"] == lines[floor + 1].split()
    assert not [line for line in lines if line.startswith("  face B")]
    assert "Depth of the cuts" not in to_text(result())


def test_a_cut_that_may_miss():
    """A depth that is below 0 in one of a hundred blanks is told as what it is, and no other."""
    shallow = replace(CUT, depth_b=Distribution(0.1, 0.1, {"p01": -0.13, "p05": -0.06, "p95": 0.26, "p99": 0.33}))
    shown = [to_text(result(method(pairs=(web(heights=way),)))) for way in (CUT, shallow)]

    assert [False, True] == ["Below 0 a cut misses its face" in text for text in shown]


def test_depths_in_the_data():
    """Beside what the contract names; a face that is left as it is has no depth."""
    (pair,) = json.loads(to_json(result(method(pairs=(web(heights=CUT),)), units="in")))["methods"][0]["pairs"]

    assert ("bed", 0.0234, None) == (pair["zero_z"], pair["through"], pair["depth_b"])
    assert {"mean": 0.2, "std": 0.001} == {key: round(pair["depth_a"][key], 9) for key in ("mean", "std")}
    assert {"mean", "std", "p01", "p05", "p95", "p99"} == set(pair["depth_a"])
    assert "through" not in json.loads(to_json(result()))["methods"][0]["pairs"][2]


def test_depths_in_the_report():
    """A table of the webs' cuts among the pairs, face by face."""
    floor = {"name": "floor", "kind": "web", "at": [90, 50], "depth_a": 6, "depth_b": 3, "min_web": 2.9}
    job = make_job(PINS, pairs=[floor], errors={"z_touch": {"std": 0.03}})
    (section,) = [section for section in report_content(job, trials=1000).sections if section.name == "pairs"]
    (table,) = [block for block in section.blocks if getattr(block, "caption", "").startswith("Depth of the cuts, mm")]

    assert [("floor", "A", "6.000"), ("floor", "B", "3.000")] == [row[:3] for row in table.rows]
    assert ("5.930", "5.951", "6.049", "6.070", "<0.01 %") == table.rows[0][3:]


def test_limits_of_a_web():
    """A web that must be below 0 is told as the overlap it is; infinite or missing limits are not told."""
    assert "min 1.800, max 2.200" == web_limits(1.8, 2.2, "mm")
    assert "min -1.000" == web_limits(-1.0, math.inf, "mm")
    assert "overlap min 0.500, max 1.000" == web_limits(-1.0, -0.5, "mm")
    assert "overlap\nmin 0.0197" == web_limits(None, -0.5, "in", "\n")
