"""Growth between the faces, worked out on paper: D = -G (b - b_ref), B minus A, in mm for each unit of a change.

What was cut from face A has moved outward by G (b - b_ref) when face B is cut at its nominal place. Which point b_ref
stays follows from how the blank is held: here it is found by hand for each method.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

import flipcheck
from flipcheck.flip.model import flip_model
from flipcheck.tables.expansion import EXPANSIONS
from flipcheck.tables.wood import SPECIES
from tests.make import FENCE, LENGTH, PINS, PROBE, WIDTH, effects, make_job, model_of

#: 0.1 % along the grain, which runs along X, 2 % across it and 3 % through, for a change by 1 as a ratio.
RATES = {"per_percent": [0.00001, 0.0002, 0.0003], "grain": 0.0}
GROWTH = np.array([0.001, 0.02])
THROUGH = 0.03
DAMP = {**RATES, "moisture": {"limit": 1.0}}
POINTS = [(20.0, 15.0), (150.0, 15.0), (60.0, 90.0)]

SLOT = {**PINS, "second_hole": "slot"}


def moved(method: dict[str, Any], between: dict[str, Any] = DAMP, source: str = "moisture", **head: Any) -> np.ndarray:
    """What one unit of the change does to x and y at `POINTS`, shape (points, 2)."""
    found = effects(model_of(method, {}, *POINTS, between=between, **head), source)
    assert found.shape[2] == 1
    return found[:, :, 0]


def away_from(x: float, y: float) -> np.ndarray:
    """D at `POINTS` when the point (x, y) of the blank stays."""
    return -GROWTH * (np.array(POINTS) - [x, y])


@pytest.mark.parametrize(
    ("method", "flip", "stays"),
    [
        (PROBE, "left-right", (0.0, 0.0)),
        ({**PROBE, "corner": "back-right"}, "left-right", (LENGTH, WIDTH)),
        ({**PROBE, "corner": "back-left"}, "diagonal", (0.0, WIDTH)),
        # the corner that has come to the same place of the machine: the other one across the flip line
        ({**PROBE, "after_flip": "same side"}, "left-right", (LENGTH, 0.0)),
        ({**PROBE, "after_flip": "same side"}, "front-back", (0.0, WIDTH)),
        ({**PROBE, "middle": ["x"]}, "left-right", (LENGTH / 2, 0.0)),
        ({**PROBE, "middle": ["x", "y"]}, "left-right", (LENGTH / 2, WIDTH / 2)),
        # a front fence stops the front edge in y, a left stop the left edge in x
        (FENCE, "left-right", (0.0, 0.0)),
        ({**FENCE, "after_flip": "same side"}, "left-right", (LENGTH, 0.0)),
        (FENCE, "front-back", (0.0, WIDTH)),
        ({**FENCE, "fence": "back", "stop": "right", "set_by": "machine", "rail": True}, "left-right", (LENGTH, WIDTH)),
        # two round holes in the middle of their play: half-way between the pins
        (PINS, "left-right", (90.0, 55.0)),
        ({**PINS, "pins": [[20.0, 30.0], [160.0, 30.0]]}, "front-back", (90.0, 30.0)),
        ({**PINS, "push": "left"}, "left-right", (90.0, 55.0)),
        # a slot follows: the first pin stays
        (SLOT, "left-right", (90.0, 8.0)),
        ({**SLOT, "holes": "beforehand", "pins": [[160.0, 30.0], [20.0, 30.0]]}, "left-right", (160.0, 30.0)),
    ],
)
def test_the_point_that_stays(method: dict[str, Any], flip: str, stays: tuple[float, float]):
    """Growth goes out from the touched or stopped edges, the middle of two edges, the first pin or between both."""
    assert moved(method, flip=flip) == pytest.approx(away_from(*stays), abs=1e-12)


def test_pins_out_of_line_with_the_grain():
    """Grain along X, pins on the diagonal: the line between the holes turns, and the blank with it, back onto the pins.

    With h = (100, 50) from pin to pin the second hole moves by G h = (0.1, 1.0); across the line that is
    (-50 x 0.1 + 100 x 1.0) / |h|, so the blank is turned back by 95 / |h|^2 = 0.0076 rad about the first pin.
    """
    slot = {**SLOT, "pins": [[40.0, 30.0], [140.0, 80.0]]}
    far = np.array(POINTS) - [40.0, 30.0]
    turned_back = 0.0076 * np.column_stack([-far[:, 1], far[:, 0]])

    assert moved(slot) == pytest.approx(-GROWTH * far + turned_back)


@pytest.mark.parametrize("grain", [90.0, -90.0, 270.0])
def test_grain_along_y(grain: float):
    """Grain along Y: what moved across now moves along."""
    job_grain = np.radians(grain)
    expected = -GROWTH[::-1] * np.array(POINTS)

    assert moved(PROBE, {**DAMP, "grain": job_grain}) == pytest.approx(expected, abs=1e-12)


def test_grain_askew_leaves_the_corner_out_of_square():
    """Grain at 45 degrees: the strain is m = 0.0105 along either axis, and s = (0.001 - 0.02) / 2 = -0.0095 as shear.

    The front edge now runs along y = s x: two touches turn the program by s. The left edge is at x = s y, touched at
    y = 35: there the turned program, which has gone 35 s to the left, is shifted by 70 s. So
    D = (70 s - s y, s x) - G b.
    """
    x, y = np.array(POINTS).T
    expected = np.column_stack([-0.0105 * x + 2.0 * 0.0095 * (y - 35.0), -0.0105 * y])

    assert moved(PROBE, {**DAMP, "grain": np.pi / 4}) == pytest.approx(expected)


def test_growth_counts_once_and_lasts_with_the_blank():
    """Only face B knows of it, so nothing is there to cancel."""
    job = make_job(PINS, errors={}, between={**RATES, "moisture": {"limit": "0.2 %"}})
    (entry,) = (e for e in flipcheck.check(job, trials=1000).methods[0].pairs[0].stack if e.source == "moisture")

    assert ("once", "blank") == (entry.after_flip, entry.life)


def test_known_change_is_a_mean():
    """A change that is known shifts every part alike: 1 % of moisture, 60 mm along the grain and 40 across."""
    job = make_job(PROBE, errors={}, between={**RATES, "moisture": {"before": 8, "after": 9}})
    pair = flipcheck.check(job, trials=1000).methods[0].pairs[0]

    assert (-0.01 * 0.001 * 60.0, 0.0) == pytest.approx((pair.x.mean, pair.x.std), abs=1e-12)
    assert (-0.01 * 0.02 * 40.0, 0.0) == pytest.approx((pair.y.mean, pair.y.std), abs=1e-12)


@pytest.mark.parametrize(("growth", "goes"), [(0.0499, 1.0), (0.0501, 0.0)])
def test_two_round_holes_bind(growth: float, goes: float):
    """Pins 94 mm apart along Y and 0.025 mm of play in each hole: they bind from 0.05 mm of growth between them."""
    between = {"per_kelvin": growth / 94.0, "temperature": 1.0}

    assert goes == flipcheck.check(make_job(PINS, errors={}, between=between), trials=1000).methods[0].goes_on


def test_half_of_the_blanks_bind():
    """Growth spread evenly from nothing to twice the play of both holes: every second blank goes on."""
    between = {"per_kelvin": 0.001, "temperature": {"limit": 0.05 / 94.0 / 0.001, "bias": 0.05 / 94.0 / 0.001}}
    goes_on = flipcheck.check(make_job(PINS, errors={}, between=between), trials=40_000).methods[0].goes_on

    assert pytest.approx(0.5, abs=4 * 0.5 / 200) == goes_on


def test_slot_never_binds():
    """A slot takes up any growth along the pin line."""
    between = {"per_kelvin": 0.01, "temperature": 1.0}

    assert 1.0 == flipcheck.check(make_job(SLOT, errors={}, between=between), trials=1000).methods[0].goes_on


def test_warm_aluminium_plate():
    """300 mm of aluminium and 10 K: 23.6e-6 x 300 x 10 = 0.0708 mm at the far end, counted from the touched corner."""
    job = make_job(
        PROBE,
        errors={},
        blank={"size": [310, 110, 12]},
        pairs=[{"name": "far", "kind": "hole", "at": [300, 0.0], "allowed": 0.1}],
        between={"material": "aluminium", "temperature": 10},
    )
    pair = flipcheck.check(job, trials=10).methods[0].pairs[0]

    assert pytest.approx(-0.0708, abs=1e-12) == pair.x.mean
    assert pytest.approx(0.0, abs=1e-12) == pair.y.mean
    assert 23.6e-6 == EXPANSIONS["aluminium"].along


@pytest.mark.parametrize(("cut", "across"), [("flat-sawn", 0.00369), ("quarter-sawn", 0.00158)])
def test_a_board_of_red_oak(cut: str, across: float):
    """Across the face of a board a species moves by its tangential coefficient flat-sawn, else by its radial."""
    between = {"material": "Red oak", "cut": cut, "grain": 0.0, "moisture": 1.0}
    (source,) = model_of(PROBE, {}, *POINTS, between=between).linear.sources
    found = moved(PROBE, between)

    assert 0.01 == source.spread.mean
    assert 0.01 * found[:, 1] == pytest.approx(-across * np.array(POINTS)[:, 1])
    assert 0.01 * found[:, 0] == pytest.approx(-SPECIES["red oak"].along * np.array(POINTS)[:, 0])


@pytest.mark.parametrize(
    ("zero", "depths", "expected"),
    [
        # the floor of A has moved up by its depth's share; B is cut at a height above the bed, or below the grown top
        ("bed", (5.0, 4.0), -5.0),
        ("top", (5.0, 4.0), 12.0 - 5.0),
        ("top then bed", (5.0, 4.0), -5.0),
        # B left as it is: the whole of what stands above the floor of A grows
        ("bed", (5.0, 0.0), 12.0 - 5.0),
        # A left as it is: the cut of B stands at its height
        ("bed", (0.0, 4.0), 0.0),
        ("top", (0.0, 4.0), 12.0),
    ],
)
def test_swelling_in_a_web(zero: str, depths: tuple[float, float], expected: float):
    """What of a web grows with the thickness, mm for each unit of strain."""
    web = {"name": "floor", "kind": "web", "at": [60, 40], "depth_a": depths[0], "depth_b": depths[1], "min_web": 1.0}
    job = make_job({**PINS, "zero_z": zero}, pairs=[web], errors={}, between=DAMP)
    linear = flip_model(job, job.methods[0]).linear
    (row,) = [
        rows for source, rows in zip(linear.sources, linear.source_rows, strict=True) if source.name == "moisture"
    ]

    assert THROUGH * expected == pytest.approx(linear.coefficients[0, row][0])


@pytest.mark.parametrize(
    ("zero", "depths", "thick"),
    [
        ("bed", (0.0, 4.0), 0.0),
        ("bed", (5.0, 0.0), 0.0),
        ("top", (0.0, 4.0), 1.0),
        ("top", (5.0, 0.0), 1.0),
        ("top then bed", (0.0, 4.0), 0.0),
        ("top then bed", (5.0, 0.0), 1.0),
    ],
)
def test_floor_of_one_pocket(zero: str, depths: tuple[float, float], thick: float):
    """With one face left as it is, a floor cut from the bed does not know the thickness, one cut from the top does."""
    web = {"name": "floor", "kind": "web", "at": [60, 40], "depth_a": depths[0], "depth_b": depths[1], "min_web": 1.0}
    one = {"std": 0.001}
    job = make_job(
        {**PINS, "zero_z": zero}, pairs=[web], errors={"stock_thickness": one, "z_touch": one, "bed_flatness": one}
    )
    linear = flip_model(job, job.methods[0]).linear
    found: dict[str, list[float]] = {}
    for source, rows in zip(linear.sources, linear.source_rows, strict=True):
        found.setdefault(source.name, []).extend(linear.coefficients[0, rows])

    assert [thick] == found["stock_thickness"]
    assert [1.0] == found["z_touch"]
    assert [-1.0] * (thick == 0.0) == found.get("bed_flatness", [])
