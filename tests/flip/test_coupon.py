"""What is read from a coupon, against fields worked out on paper."""

from __future__ import annotations

import numpy as np
import pytest

from flipcheck.flip.coupon import readings
from tests.make import PINS, hole, model_of

FOUR = [hole(x, y) for x in (40.0, 140.0) for y in (5.0, 105.0)]
WEB = {"name": "floor", "kind": "web", "at": [90.0, 30.0], "depth_a": 5.0, "depth_b": 5.0, "max_web": 2.1}


def read(field: list[float], *pairs: dict, own: dict[int, float] | None = None) -> np.ndarray:
    """What is read from a field (x: constant, by x, by y; y: the same) and from own scatter of some outputs."""
    reads = readings(model_of(PINS, {}, pairs=list(pairs)))
    scatter = np.zeros(reads.shape[1] - 6)
    for row, value in (own or {}).items():
        scatter[row] = value
    return reads @ np.concatenate([field, scatter])


def test_a_rigid_field_is_read_whole():
    """Shift (0.1, -0.2) and a turn of 1 mrad about the origin: D = (0.1 - 0.001 y, -0.2 + 0.001 x)."""
    field = [0.1, 0.0, -0.001, -0.2, 0.001, 0.0]
    assert read(field, *FOUR) == pytest.approx(field, abs=1e-12)


def test_half_of_a_shear_is_a_turn():
    """D_x = 0.002 (y - 55) on a square about (90, 55): the best turn is -0.001 rad about its middle, half the shear."""
    read_back = read([-0.11, 0.0, 0.002, 0.0, 0.0, 0.0], *FOUR)
    assert read_back == pytest.approx([-0.055, 0.0, 0.001, 0.09, -0.001, 0.0], abs=1e-12)


def test_growth_is_no_turn():
    """D = 0.001 (b - middle) grows alike on all sides: nothing can be typed in."""
    assert read([-0.09, 0.001, 0.0, -0.055, 0.0, 0.001], *FOUR) == pytest.approx([0.0] * 6, abs=1e-12)


def test_one_place_tells_no_turn():
    """Measured at (60, 40) only, a turn of 1 mrad looks like the shift (-0.04, 0.06)."""
    turned = read([0.0, 0.0, -0.001, 0.0, 0.001, 0.0], hole(60, 40), WEB)
    assert turned == pytest.approx([-0.04, 0.0, 0.0, 0.06, 0.0, 0.0], abs=1e-12)


def test_own_scatter_counts():
    """0.08 mm in x at one of four pairs shifts by a quarter; at arm -50 in y it turns by 50 * 0.08 / (4 * 5000)."""
    seen = read([0.0] * 6, *FOUR, own={0: 0.08})
    turn = 0.08 * 50.0 / (4 * 5000.0)
    assert seen == pytest.approx([0.02 + turn * 55.0, 0.0, -turn, -turn * 90.0, turn, 0.0], abs=1e-12)


def test_an_outline_counts_as_one_pair():
    """D_x = 0.001 y at the corners of a square and at a hole, half the weight each: middle (90, 80), turn -0.6 mrad.

    About the middle the sums are: y² 1875, x² 1250; so the turn is -0.001 * 1875 / 3125 and the shift there 0.08.
    """
    corners = [[40.0, 5.0], [140.0, 5.0], [140.0, 105.0], [40.0, 105.0]]
    rim = {"name": "rim", "kind": "outline", "points": corners, "allowed": 0.1}
    seen = read([0.0, 0.0, 0.001, 0.0, 0.0, 0.0], rim, hole(90, 105))
    assert seen == pytest.approx([0.032, 0.0, 0.0006, 0.054, -0.0006, 0.0], abs=1e-12)


def test_webs_are_not_read():
    """Of webs alone no shift can be read."""
    assert not readings(model_of(PINS, {}, pairs=[WEB])).any()


@pytest.mark.parametrize(("apart", "turned"), [(1.2, True), (0.8, False)])
def test_how_far_apart_tells_a_turn(apart: float, turned: bool):
    """Nearer than 0.5 mm to their middle, on root mean square, two places count as one; 0.6 mm away they do not."""
    seen = read([0.0, 0.0, -0.001, 0.0, 0.001, 0.0], hole(60, 40), hole(60 + apart, 40))
    assert seen[4] == pytest.approx(0.001 if turned else 0.0, abs=1e-12)


def test_of_webs_alone_there_is_a_row_for_each_component():
    """Six components of the field, over six and the one output of the web."""
    assert (6, 7) == readings(model_of(PINS, {}, pairs=[WEB])).shape
