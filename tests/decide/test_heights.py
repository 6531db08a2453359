"""Where to touch off Z, against sums on paper: T - a - b, with the thickness in it twice, once, or not at all."""

from __future__ import annotations

import math
from typing import Any

import pytest

from flipcheck.decide.check import check
from flipcheck.decide.compare import compare
from flipcheck.decide.heights import SAME, TRIALS, WebHeights, best_of, by_web, zeroed
from flipcheck.decide.zero_z import ZeroAdvice
from flipcheck.job.records import Job
from flipcheck.stack.intervals import Chance
from tests.make import FENCE, PINS, PROBE, hole, make_job

WAYS = ["bed", "top", "top then bed"]


def web(depth_a: float, depth_b: float, **limits: float) -> dict[str, Any]:
    """A web of the blank, which is 12 mm thick."""
    return {"name": "floor", "kind": "web", "at": [90, 50], "depth_a": depth_a, "depth_b": depth_b, **limits}


def heights(job: Job) -> tuple[WebHeights, ...]:
    """Every web of a job by every way of touching off Z."""
    return by_web(job, zeroed(job))


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
        assert way.chance.estimate == pytest.approx(1.0 - below(0.1, mean, std), abs=1e-9)
        assert way.through.estimate == pytest.approx(below(0.0, mean, std), abs=1e-9)
    assert ("top then bed",) == floor.best


def test_overlap_of_even_thickness():
    """Of cuts that overlap by 0.3 less a thickness even within 0.4 either way, 0.1 is left in 3 of 4 blanks."""
    job = make_job(PINS, errors={"stock_thickness": {"limit": 0.4}}, pairs=[web(6.1, 6.2, min_overlap=0.1)])
    (floor,) = heights(job)

    assert (-math.inf, -0.1) == (floor.min_web, floor.max_web)
    for way in floor.ways[:2]:
        assert way.chance.estimate == pytest.approx(0.75, abs=2.0 / math.sqrt(TRIALS) / 10)
        assert way.through.estimate == pytest.approx(0.875, abs=2.0 / math.sqrt(TRIALS) / 10)
    assert (1.0, 1.0) == (floor.ways[2].chance.estimate, floor.ways[2].through.estimate)


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
    assert found.low - 0.002 < way.chance.estimate < found.high + 0.002


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


#: Standard deviations from the mean of 1, 5, 95 and 99 in 100 of a normal distribution (any table of it).
NORMAL = {"p01": -2.326348, "p05": -1.644854, "p95": 1.644854, "p99": 2.326348}


@pytest.mark.parametrize(("zero_z", "sd_a", "sd_b"), [("bed", 0.2, 0.2), ("top", 0.0, 0.0), ("top then bed", 0.0, 0.2)])
def test_depths_on_paper(zero_z: str, sd_a: float, sd_b: float):
    """A depth from the top has the touch-off in it; one from the bed takes all that the blank is too thick besides."""
    errors = {"stock_thickness": {"std": 0.2, "bias": 0.1}, "z_touch": {"std": 0.03, "bias": 0.02}}
    job = make_job({**PINS, "zero_z": zero_z}, errors=errors, pairs=[web(6.0, 3.0, min_web=2.5)])
    (pair,) = check(job, trials=1000).methods[0].pairs

    assert pair.heights is not None
    assert zero_z == pair.heights.zero_z
    for nominal, thickness, found in ((6.0, sd_a, pair.heights.depth_a), (3.0, sd_b, pair.heights.depth_b)):
        mean, std = nominal - 0.02 + (0.1 if thickness else 0.0), math.hypot(thickness, 0.03)
        assert found is not None
        assert (found.mean, found.std) == (pytest.approx(mean), pytest.approx(std))
        assert found.quantiles == pytest.approx({name: mean + z * std for name, z in NORMAL.items()}, abs=1e-6)


def test_depths_of_even_thickness():
    """On the bed a depth is as even as the thickness, which alone acts: 5 in 100 lie in the lowest twentieth."""
    job = make_job(PINS, errors={"stock_thickness": {"limit": 0.4}}, pairs=[web(6.0, 0.0, min_web=5.5)])
    (floor,) = heights(job)
    depth = floor.ways[0].depth_a

    assert depth is not None
    assert depth.quantiles == pytest.approx({"p01": 5.608, "p05": 5.64, "p95": 6.36, "p99": 6.392}, abs=0.001)
    assert [None] * 3 == [way.depth_b for way in floor.ways]


def test_depths_and_growth():
    """A blank grown by 0.1 mm for 12 mm has deepened a depth of 6 by 0.05; a cut above the bed takes the whole 0.1."""
    between = {"per_kelvin": 0.1 / 12.0 / 10.0, "temperature": 10.0}
    (floor,) = heights(make_job(PINS, pairs=[web(6.0, 3.0, min_web=2.5)], between=between))

    depths = [[d.mean if d else None for d in (way.depth_a, way.depth_b)] for way in floor.ways]
    assert [pytest.approx([6.05, 3.1]), pytest.approx([6.05, 3.0]), pytest.approx([6.05, 3.1])] == depths
    for way, (a, b) in zip(floor.ways, depths, strict=True):
        assert a is not None
        assert b is not None
        assert way.mean == pytest.approx(12.1 - a - b)


def test_what_each_way_lets_drop_out():
    """The thickness with its sign, the bed once for each face that is cut above it, the touch-off each time."""
    errors = {"stock_thickness": {"limit": 0.3}, "bed_flatness": {"std": 0.05}, "z_touch": {"std": 0.02}}
    (floor,) = heights(make_job(PINS, errors=errors, pairs=[web(6.0, 3.0, min_web=2.5)]))

    slopes = [{e.source: (round(e.slope, 9), e.draws) for e in way.effects} for way in floor.ways]
    assert {"stock_thickness": (-1.0, 1), "bed_flatness": (-2.0, 2), "z_touch": (2.0, 2)} == slopes[0]
    assert {"stock_thickness": (1.0, 1), "bed_flatness": (0.0, 0), "z_touch": (2.0, 2)} == slopes[1]
    assert {"stock_thickness": (0.0, 0), "bed_flatness": (-1.0, 1), "z_touch": (2.0, 2)} == slopes[2]
    for way in floor.ways:
        assert way.std**2 == pytest.approx(sum(effect.std**2 for effect in way.effects))


def test_finished_thickness_on_paper():
    """A blank that lies on its skimmed face: from the bed nothing but the last touch-off and the bed are left of it."""
    errors = {"stock_thickness": {"std": 0.2}, "bed_flatness": {"std": 0.04}, "z_touch": {"std": 0.03}}
    skimmed = {"blank": {"size": [180.0, 110.0, 12.0], "skim_a": 0.5}}
    job = make_job(PINS, errors=errors, pairs=[web(0.5, 0.5, min_web=10.9, max_web=11.1)], **skimmed)
    (finished,) = heights(job)

    last, both = math.hypot(0.03, 0.04), math.sqrt(0.2**2 + 2 * 0.03**2)
    assert [pytest.approx(last), pytest.approx(both), pytest.approx(last)] == [way.std for way in finished.ways]
    assert {"stock_thickness": 0, "bed_flatness": 1, "z_touch": 1} == {
        e.source: e.draws for e in finished.ways[0].effects
    }
    assert finished.ways[0].chance.estimate == pytest.approx(1.0 - 2.0 * below(-0.1, 0.0, last), abs=1e-9)
    depth = finished.ways[2].depth_b
    assert depth is not None
    assert depth.std == pytest.approx(math.sqrt(0.2**2 + 2 * 0.03**2 + 0.04**2))


def test_a_floor_above_a_skimmed_face():
    """What is left between two pockets has only the cut of face B in it; a pocket in face A alone is as it was."""
    errors = {"stock_thickness": {"std": 0.2}, "z_touch": {"std": 0.03}}
    webs = [web(5.0, 5.0, min_web=1.5), {**web(5.0, 0.0, min_web=6.0), "name": "pocket"}]
    job = make_job(PINS, errors=errors, pairs=webs, blank={"size": [180.0, 110.0, 12.0], "skim_a": 0.5})
    floor, pocket = heights(job)

    assert [0.03, 0.03] == [pytest.approx(floor.ways[i].std) for i in (0, 2)]
    assert [0.03, math.hypot(0.2, 0.03)] == [pytest.approx(way.std) for way in pocket.ways[:2]]


def test_growth_of_a_skimmed_blank():
    """A pocket of 4.5 mm below the new face deepens by a thousandth of it; the blank is 11.5 mm thick when it grows."""
    between = {"per_kelvin": 0.0001, "temperature": 10.0}
    job = make_job(
        PINS, pairs=[web(5.0, 3.0, min_web=2.5)], between=between, blank={"size": [180.0, 110.0, 12.0], "skim_a": 0.5}
    )
    (floor,) = heights(job)

    assert [4.0 - 0.0045, 4.0 + 0.007, 4.0 - 0.0045] == [pytest.approx(way.mean) for way in floor.ways]
    assert [3.0 + 0.0115, 3.0] == [pytest.approx(way.depth_b.mean) for way in floor.ways[:2] if way.depth_b]


def advice(**head: Any) -> ZeroAdvice:
    """Where to touch off Z for a job by pins."""
    found = compare(make_job(PINS, **head), trials=1000).zero_z
    assert found is not None
    return found


def test_advice_for_all_webs_together():
    """The floor wants the top and then the bed, the pocket the bed; which counts for more is what both together say."""
    errors = {"stock_thickness": {"std": 0.2}}
    floor = web(6.0, 5.0, min_web=0.8)
    pocket = {**web(6.0, 0.0, min_web=5.8, max_web=6.2), "name": "pocket"}
    found = advice(errors=errors, pairs=[floor, pocket])

    both = {way: chance.estimate for way, chance in found.chances.items()}
    one, two = 1.0 - below(0.8, 1.0, 0.2), 1.0 - 2.0 * below(5.8, 6.0, 0.2)
    assert {"bed": one, "top": two, "top then bed": two} == pytest.approx(both, abs=0.003)
    assert (("bed",), "pocket", 2) == (found.best, found.web.name, found.count)
    assert not found.meets_goal


def test_advice_of_two_that_are_the_same():
    """A thickness that is spread alike to both sides does the same from the bed as from the top, as far as seen."""
    errors = {"stock_thickness": {"limit": 0.4}}
    found = advice(errors=errors, pairs=[web(6.0, 5.0, min_web=0.8, max_web=1.2)])
    faceless = advice(errors={"z_touch": {"std": 0.03}}, pairs=[web(6.0, 5.0, min_web=0.8)])

    assert ("top then bed",) == found.best
    assert ("bed", "top") == best_of({way: found.chances[way] for way in ("bed", "top")})
    assert ("bed", "top", "top then bed") == faceless.best


def test_what_counts_as_the_same():
    """Exact chances differ from 1 in 10,000 on; simulated ones where their intervals are clear of each other."""

    def sure(share: float) -> Chance:
        return Chance(share, share, share)

    assert ("bed",) == best_of({"bed": sure(0.9), "top": sure(0.9 - 1.1 * SAME)})
    assert ("bed", "top") == best_of({"bed": sure(0.9), "top": sure(0.9 - 0.9 * SAME)})
    assert ("bed", "top") == best_of({"bed": Chance(0.9, 0.89, 0.91), "top": Chance(0.887, 0.877, 0.897)})
    assert ("bed",) == best_of({"bed": Chance(0.9, 0.89, 0.91), "top": Chance(0.885, 0.875, 0.895)})


def test_advice_needs_webs():
    """Nothing is said of Z where nothing depends on it."""
    assert compare(make_job(PINS, PROBE), trials=1000).zero_z is None
    assert () == zeroed(make_job(PINS))
