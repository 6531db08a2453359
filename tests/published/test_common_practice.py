"""What every shop knows, asked of flipcheck by way of job files. None of it has a source: common practice."""

from __future__ import annotations

import pytest

import flipcheck
from flipcheck.decide.results import MethodResult

TRIALS = 20_000

HEAD = """\
units = "mm"
flip = "left-right"
blank.size = [180, 110, {thick}]
errors = {{ {errors} }}
"""
HOLE = '[[pairs]]\nname = "hole"\nkind = "hole"\nat = [60, 40]\nallowed = 0.1\n'
WEB = '[[pairs]]\nname = "floor"\nkind = "web"\nat = [60, 40]\ndepth_a = 5\ndepth_b = 4\nmin_web = 2.9\nmax_web = 3.1\n'
PINS = 'kind = "pins"\npins = [[90, 8], [90, 102]]\npin = { diameter = 6 }\nhole = { diameter = 6.05 }\n'
PROBE = 'kind = "probe"\ncorner = "front-left"\ntouch_in = [25, 35]\nangle = "two touches"\nspacing = 120\n'
FENCE = 'kind = "fence"\nfence = "front"\ncontacts = [20, 150]\nstop = "left"\nstop_at = 30\nset_by = "hand"\n'
SAME_SIDE = 'after_flip = "same side"\n'


def checked(errors: str, pairs: str, method: str, thick: str = "12") -> MethodResult:
    """A job of one method, read and worked out."""
    text = HEAD.format(errors=errors, thick=thick) + pairs + '[[methods]]\nname = "it"\n' + method
    return flipcheck.check(flipcheck.parse_job(text), trials=TRIALS, rng=5).methods[0]


# ---- fractions of an inch: common practice, no source; exact, as an inch is 25.4 mm ----


def test_quarter_inch_bit():
    """A hole by a quarter-inch bit passes a bolt of 6 mm while its halves are within 0.35 mm: 1/4 in is 6.35 mm
    (common practice, no source)."""
    bolt = '[[pairs]]\nname = "bolt"\nkind = "hole"\nat = [60, 40]\nbolt = 6\nhole_a = "1/4 in"\n'

    assert pytest.approx(6.35 - 6.0) == checked("", bolt, PINS).pairs[0].allowed


@pytest.mark.parametrize(("hole", "goes_on"), [("6.36", 1.0), ("6.34", 0.0), ('"1/4 in"', 0.0), ('"0.2505 in"', 1.0)])
def test_quarter_inch_dowel(hole: str, goes_on: float):
    """A quarter-inch dowel goes into 6.36 mm and not into 6.34; into its own size it does not slip (common practice, no
    source)."""
    pins = (
        f'kind = "pins"\npins = [[90, 8], [90, 102]]\npin = {{ diameter = "1/4 in" }}\nhole = {{ diameter = {hole} }}\n'
    )

    assert goes_on == checked("", HOLE, pins).goes_on


def test_three_quarter_inch_stock():
    """Pockets of 6 mm out of both faces of 3/4 in stock leave 7.05 mm: 3/4 in is 19.05 mm (common practice, no
    source)."""
    web = '[[pairs]]\nname = "floor"\nkind = "web"\nat = [60, 40]\ndepth_a = 6\ndepth_b = 6\nmin_web = 7\n'
    floor = checked("", web, PINS, thick='"3/4 in"').pairs[0]

    assert floor.web is not None
    assert pytest.approx(19.05 - 12.0) == floor.web.mean


# ---- which edge: common practice, no source ----

TOUCH = "probe_repeatability = { std = 0.03 }"


@pytest.mark.parametrize("method", [PROBE, FENCE], ids=["probe", "fence"])
def test_width_of_the_stock_does_not_matter_at_the_same_edge(method: str):
    """By the same physical corner the chance is the same with stock exact to size and ±2 mm (common practice, no
    source)."""
    scatter = TOUCH + ", stop_position = { std = 0.03 }"
    exact = checked(f"{scatter}, stock_size = {{ limit = 0 }}", HOLE, method)
    rough = checked(f"{scatter}, stock_size = {{ limit = 2 }}", HOLE, method)

    assert 0.5 < exact.chance.estimate < 1.0
    assert exact.chance == rough.chance
    assert exact.pairs[0].distance == rough.pairs[0].distance


@pytest.mark.parametrize("method", [PROBE, FENCE], ids=["probe", "fence"])
def test_width_of_the_stock_matters_at_the_same_side(method: str):
    """By the edge that comes to the same side, stock of ±2 mm spoils nearly every part (common practice, no source)."""
    scatter = TOUCH + ", stop_position = { std = 0.03 }"
    exact = checked(f"{scatter}, stock_size = {{ limit = 0 }}", HOLE, method + SAME_SIDE)
    rough = checked(f"{scatter}, stock_size = {{ limit = 2 }}", HOLE, method + SAME_SIDE)

    assert exact.chance.low > 0.5
    assert rough.chance.high < 0.06  # of ±2 mm at most ±0.1 will do


# ---- dowels: common practice, no source ----

CUTS = "machine_squareness = { std = '0.2 mm/m' }, positioning = { std = 0.02 }"
EDGES = (
    "fence_angle = { std = '5 mm/m' }, fence_position = { std = 1 }, stop_position = { std = 1 }, "
    "seating = { std = 1 }, stock_squareness = { std = '5 mm/m' }, stock_size = { std = 1 }, "
    "stock_straightness = { std = 1 }"
)


def test_dowels_set_by_the_machine_keep_the_blank_square_to_it():
    """On dowels set by the machine the worst fence and the worst edges change nothing (common practice, no source)."""
    fine, rough = checked(CUTS, HOLE, PINS), checked(f"{CUTS}, {EDGES}", HOLE, PINS)

    assert 0.5 < fine.chance.estimate < 1.0
    assert fine == rough


def test_a_fence_does_know_its_edges():
    """The same errors of fence and edges spoil nearly every part that lies on a fence set by hand (common practice, no
    source)."""
    assert checked(f"{CUTS}, {EDGES}", HOLE, FENCE).chance.high < 0.05


# ---- heights: common practice, no source ----


@pytest.mark.parametrize(
    ("zero", "floor"),
    [("bed", 2.95), ("top", 3.05), ("top then bed", 3.0)],
    ids=["on the bed", "on top", "top, then bed"],
)
def test_a_thick_blank(zero: str, floor: float):
    """A blank 0.05 mm too thick thins the floor by that with the zero on the bed in both setups, thickens it with the
    zero on top, and does nothing with top and then bed (common practice, no source)."""
    method = f'{PINS}zero_z = "{zero}"\n'
    thick = checked("stock_thickness = { std = 0, bias = 0.05 }", WEB, method).pairs[0]

    assert thick.web is not None
    assert pytest.approx(floor) == thick.web.mean


@pytest.mark.parametrize(("zero", "share"), [("bed", 0.5), ("top", 0.5), ("top then bed", 1.0)])
def test_scatter_of_the_thickness_goes_into_the_floor(zero: str, share: float):
    """Stock of ±0.2 mm leaves half the floors within ±0.1 mm, unless its top and then the bed are touched off (common
    practice, no source)."""
    found = checked("stock_thickness = { limit = 0.2 }", WEB, f'{PINS}zero_z = "{zero}"\n')

    assert pytest.approx(share, abs=4.0 * (share * (1.0 - share) / TRIALS) ** 0.5) == found.chance.estimate
