"""A result as plain data and JSON."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest

from flipcheck.decide.results import Distribution, Recommendation
from flipcheck.show.plain import to_json, to_plain
from flipcheck.stack.intervals import Chance
from tests.show.results import NOTHING, comparison, hole, method, result, web


def pair(made: dict[str, Any], number: int) -> dict[str, Any]:
    found: dict[str, Any] = made["methods"][0]["pairs"][number]
    return found


def test_head():
    """The head of a result stands at the top, as the job gave it."""
    plain = to_plain(result())
    assert {
        "title": "Bearing carrier",
        "units": "mm",
        "goal": 0.95,
        "flip": "left-right",
        "trials": 1_000_000,
        "seed": 1,
        "left_out": ["machine_scale_x", "eye_angle"],
    } == {key: value for key, value in plain.items() if key != "methods"}


def test_method():
    """A method has its name, kind, share that goes on and chance, and the minutes it was given."""
    plain = to_plain(result())["methods"][0]
    assert {
        "name": "two dowels on the flip line",
        "kind": "pins",
        "minutes": 6.0,
        "goes_on": 0.985,
        "chance": {"estimate": 0.9177, "low": 0.9172, "high": 0.9182},
        "exact": None,
    } == {key: value for key, value in plain.items() if key != "pairs"}


def test_hole():
    """A pair of holes has x, y and its radial distance, and no web."""
    assert {
        "name": "far corner",
        "kind": "hole",
        "allowed": 0.254,
        "chance": {"estimate": 0.931, "low": 0.9305, "high": 0.9315},
        "x": {"mean": -0.0001, "std": 0.0254},
        "y": {"mean": 0.0508, "std": 0.0127},
        "distance": {"mean": 0.1016, "std": 0.0254, "p50": 0.127, "p95": 0.2667, "p99": 0.3302},
        "worst_case": 0.635,
        "rss": 0.381,
        "normal_chance": None,
        "exact": None,
    } == {key: value for key, value in pair(to_plain(result()), 0).items() if key != "stack"}


def test_hole_stack():
    """A source of a hole has a spread in x and y, and none in z."""
    assert {
        "source": "machine_squareness",
        "life": "machine",
        "after_flip": "doubles",
        "std_x": 0.0,
        "std_y": 0.0254,
        "share": 0.75,
        "worst": 0.127,
    } == pair(to_plain(result()), 0)["stack"][0]


def test_web():
    """A web has its two limits and its thickness in place of the allowed distance, x, y and the distance."""
    assert {
        "name": "floor between the oil pockets",
        "kind": "web",
        "allowed": None,
        "min_web": 1.905,
        "max_web": 2.159,
        "chance": {"estimate": 0.98, "low": 0.9797, "high": 0.9803},
        "x": None,
        "y": None,
        "web": {"mean": 2.032, "std": 0.0535, "p01": 1.9075, "p05": 1.944, "p95": 2.12, "p99": 2.1565},
        "worst_case": 0.1524,
        "rss": 0.1136,
        "normal_chance": None,
        "exact": None,
    } == {key: value for key, value in pair(to_plain(result()), 2).items() if key != "stack"}


def test_web_stack():
    """A source of a web has a spread in z, and 0 in x and y."""
    assert {
        "source": "stock_thickness",
        "life": "blank",
        "after_flip": "once",
        "std_x": 0.0,
        "std_y": 0.0,
        "std_z": 0.0508,
        "share": 0.9,
        "worst": 0.1016,
    } == pair(to_plain(result()), 2)["stack"][0]


def test_web_with_one_limit():
    """A limit that a web does not have is null."""
    plain = pair(to_plain(result(method(pairs=(web(max_web=None),)))), 0)
    assert (1.905, None) == (plain["min_web"], plain["max_web"])


def test_check_recommends_nothing():
    """A check has no recommendation."""
    assert "recommendation" not in to_plain(result())


def test_recommendation():
    """A comparison ends with the recommended method, whether it meets the goal, and why."""
    advice = Recommendation("probe the same corner", False, "no method reaches the goal.", ("another",))
    assert {
        "method": "probe the same corner",
        "meets_goal": False,
        "reason": "no method reaches the goal.",
    } == to_plain(comparison(recommendation=advice))["recommendation"]


def lengths(plain: dict[str, Any]) -> list[float]:
    """Every length of the first hole and the web, one after the other."""
    found = []
    for made in (pair(plain, 0), pair(plain, 2)):
        found += [
            made[key] for key in ("allowed", "min_web", "max_web", "worst_case", "rss") if made.get(key) is not None
        ]
        found += [number for key in ("x", "y", "distance", "web") for number in (made.get(key) or {}).values()]
        found += [entry[key] for entry in made["stack"] for key in ("std_x", "std_y", "std_z", "worst") if key in entry]
    return found


def test_inches():
    """Each length of a job in inches is that in mm over 25.4, and a hole and a web have 39 of them."""
    metric, inch = lengths(to_plain(result())), lengths(to_plain(result(units="in")))
    assert (39, 39) == (len(metric), len(inch))
    assert [length / 25.4 for length in metric] == inch
    assert 0.01 == pytest.approx(pair(to_plain(result(units="in")), 0)["allowed"], rel=1e-15)


def test_inches_leave_shares_alone():
    """Chances, shares and minutes have no unit, so inches do not change them."""
    plain = to_plain(result(units="in"))["methods"][0]
    assert (0.985, 0.9177, 6.0) == (plain["goes_on"], plain["chance"]["estimate"], plain["minutes"])
    assert 0.75 == plain["pairs"][0]["stack"][0]["share"]


def test_what_is_not_known_is_null():
    """Where no blank goes on, the numbers of a pair are null instead of NaN, which JSON does not have."""
    nan = math.nan
    empty = Distribution(nan, nan, {"p50": nan, "p95": nan, "p99": nan})
    lost = hole(chance=Chance(nan, 0.0, 1.0), x=NOTHING, y=NOTHING, distance=empty)
    plain = json.loads(to_json(result(method(goes_on=0.0, chance=Chance(0.0, 0.0, 4e-6), pairs=(lost,)))))
    made = pair(plain, 0)
    assert {"estimate": None, "low": 0.0, "high": 1.0} == made["chance"]
    assert {"mean": None, "std": None} == made["x"] == made["y"]
    assert {"mean": None, "std": None, "p50": None, "p95": None, "p99": None} == made["distance"]


def test_json_holds_the_plain_data():
    """The JSON text says the same as the plain data."""
    assert to_plain(comparison()) == json.loads(to_json(comparison()))


def test_json_is_written_one_way():
    """The JSON text is ASCII, indented by two, in the order of the contract, with one newline at its end."""
    text = to_json(result(title="Träger 1/4″"))
    assert text.isascii()
    assert '{\n  "title": "Tr\\u00e4ger 1/4\\u2033",\n  "units": "mm",\n' == text[: text.index('  "goal"')]
    assert "}\n" == text[-2:]
    assert "\n\n" not in text


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_json_never_has_a_number_that_json_has_not(bad: float):
    """What is not finite becomes null, wherever a length stands."""
    made = pair(json.loads(to_json(result(method(pairs=(hole(worst_case=bad, rss=bad),))))), 0)
    assert (None, None) == (made["worst_case"], made["rss"])
