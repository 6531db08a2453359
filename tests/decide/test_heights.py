"""Where to touch off Z, against sums on paper: T - a - b, with the thickness in it twice, once, or not at all."""

from __future__ import annotations

import math
from typing import Any

import pytest

from flipcheck.decide.check import check
from flipcheck.decide.compare import compare
from flipcheck.decide.heights import TRIALS, heights
from tests.make import FENCE, PINS, PROBE, hole, make_job

WAYS = ["bed", "top", "top then bed"]


def web(depth_a: float, depth_b: float, **limits: float) -> dict[str, Any]:
    """A web of the blank, which is 12 mm thick."""
    return {"name": "floor", "kind": "web", "at": [90, 50], "depth_a": depth_a, "depth_b": depth_b, **limits}


def below(x: float, mean: float, std: float) -> float:
    """P(X < x) of a normal X."""
    return 0.5 * math.erfc((mean - x) / (std * math.sqrt(2.0)))


def test_on_paper():
    """T enters with -1 from the bed, with +1 from the top, and not at all from the top and then the bed."""
    errors = {"stock_thickness": {"std": 0.2, "bias": 0.1}, "z_touch": {"std": 0.03}}
    (floor,) = heights(make_job(PINS, errors=errors, pairs=[web(6.0, 5.6, min_web=0.1)]))

    assert WAYS == [way.zero_z for way in floor.ways]
    for way, sign in zip(floor.ways, (-1.0, 1.0, 0.0), strict=True):
        mean, std = 0.4 + sign * 0.1, math.sqrt((sign * 0.2) ** 2 + 2 * 0.03**2)
        assert way.mean == pytest.approx(mean)
        assert way.std == pytest.approx(std)
        assert way.chance == pytest.approx(1.0 - below(0.1, mean, std), abs=1e-9)
        assert way.through == pytest.approx(below(0.0, mean, std), abs=1e-9)
    assert ("top then bed",) == floor.best


def test_overlap_of_even_thickness():
    """Of cuts that overlap by 0.3 less a thickness even within 0.4 either way, 0.1 is left in 3 of 4 blanks."""
    job = make_job(PINS, errors={"stock_thickness": {"limit": 0.4}}, pairs=[web(6.1, 6.2, min_overlap=0.1)])
    (floor,) = heights(job)

    assert (-math.inf, -0.1) == (floor.min_web, floor.max_web)
    for way in floor.ways[:2]:
        assert way.chance == pytest.approx(0.75, abs=2.0 / math.sqrt(TRIALS) / 10)
        assert way.through == pytest.approx(0.875, abs=2.0 / math.sqrt(TRIALS) / 10)
    assert (1.0, 1.0) == (floor.ways[2].chance, floor.ways[2].through)


def test_a_face_that_is_not_cut():
    """With face B left as it is, the bed and then the top are two ways, and which face was zeroed on it is one."""
    job = make_job(PINS, errors={"stock_thickness": {"std": 0.2}}, pairs=[web(6.0, 0.0, min_web=5.9)])
    (floor,) = heights(job)

    assert [0.0, 0.2, 0.2] == [pytest.approx(way.std) for way in floor.ways]
    assert ("bed",) == floor.best


@pytest.mark.parametrize("method", [PINS, FENCE, PROBE], ids=lambda method: method["kind"])
@pytest.mark.parametrize("zero_z", WAYS)
def test_the_way_of_a_method(method: dict[str, Any], zero_z: str):
    """A method that touches off in a way finds the chance that the table has for it where all blanks go on."""
    errors = {"stock_thickness": {"std": 0.1}, "z_touch": {"std": 0.02}, "bed_flatness": {"std": 0.05}}
    heat = {"per_kelvin": 0.00002, "temperature": {"bias": 5.0, "std": 10.0}}
    pairs = [hole(60.0, 40.0), web(6.0, 3.0, min_web=2.95, max_web=3.2)]
    job = make_job({**method, "zero_z": zero_z}, errors=errors, pairs=pairs, between=heat)
    found = check(job, trials=100_000).methods[0].pairs[1].chance
    (floor,) = heights(job)

    (way,) = [way for way in floor.ways if way.zero_z == zero_z]
    assert found.low - 0.002 < way.chance < found.high + 0.002


def test_only_for_webs():
    """Other pairs are no matter of heights; `compare` has the table, `check` does not."""
    plain, webs = make_job(PINS, PROBE), make_job(PINS, PROBE, pairs=[web(6.0, 3.0, min_web=2.9)])

    assert () == heights(plain) == compare(plain, trials=1000).heights == check(webs, trials=1000).heights
    assert heights(webs) == compare(webs, trials=1000).heights


def test_limits_of_an_overlap_are_told():
    """A least overlap stands among the limits of a web as a most thickness below 0."""
    job = make_job(PINS, pairs=[web(6.1, 6.2, min_overlap=0.1)])
    (pair,) = check(job, trials=1000).methods[0].pairs

    assert (None, -0.1) == (pair.min_web, pair.max_web)
