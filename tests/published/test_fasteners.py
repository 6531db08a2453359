"""Bolts through two misaligned holes (the appendix formulas of ASME Y14.5 and plain geometry)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from flipcheck.flip.model import FlipModel, flip_model
from flipcheck.job.records import Job
from flipcheck.stack.measures import Radius
from flipcheck.stack.monte_carlo.simulate import simulate
from flipcheck.stack.spreads import Circle
from flipcheck.stack.worst_case import bounds
from tests.stack.models import linear_model

INCH = 25.4


def bolted(bolt: float, hole_a: float, hole_b: float, **errors: object) -> FlipModel:
    """A pair of holes in the two faces that a bolt must pass."""
    job = Job.model_validate(
        {
            "flip": "left-right",
            "blank": {"size": [180.0, 110.0, 12.0]},
            "errors": errors,
            "pairs": [
                {"name": "bolt", "kind": "hole", "at": [60.0, 40.0], "bolt": bolt, "hole_a": hole_a, "hole_b": hole_b}
            ],
            "methods": [
                {
                    "name": "touched",
                    "kind": "probe",
                    "corner": "front-left",
                    "touch_in": [20.0, 20.0],
                    "angle": "by eye",
                }
            ],
        }
    )
    return flip_model(job, job.methods[0])


def passes(model: FlipModel, apart: float, wider: float = 0.0, *, direction: float = 0.4) -> bool:
    """Whether the bolt passes when the hole centres are `apart` and both holes `wider` than their errors make them."""
    target = model.targets[0]
    outputs = model.linear.expected[:, None].copy()
    outputs[target.x] += apart * math.cos(direction)
    outputs[target.y] += apart * math.sin(direction)
    outputs[target.measure.slack] += wider
    return bool(target.measure.passes(target.measure.value(outputs), outputs)[0])


# hole, hole, distance of their centres, largest bolt: largest circle in the lens, found by numeric maximisation to 1e-8
# (computed here)
LARGEST = [(0.264, 0.264, 0.014, 0.250), (8.0, 8.0, 0.5, 7.5), (10.0, 8.0, 0.5, 8.0), (10.0, 8.0, 1.5, 7.5)]


@pytest.mark.parametrize(("hole_a", "hole_b", "apart", "largest"), LARGEST)
@pytest.mark.parametrize("order", [1, -1], ids=["as given", "holes exchanged"])
def test_largest_bolt_through_two_holes(hole_a: float, hole_b: float, apart: float, largest: float, order: int):
    """A bolt a hair thinner than the largest passes, one a hair thicker does not: min(a, b, (a + b) / 2 - D)."""
    holes = (hole_a, hole_b)[::order]

    assert passes(bolted(largest - 1e-9, *holes), apart)
    assert not passes(bolted(largest + 1e-9, *holes), apart)


def lens(hole_a: float, hole_b: float, apart: float) -> float:
    """Diameter of the largest circle inside two circles, by trying centres along the line of theirs."""
    x = np.linspace(-max(hole_a, hole_b), max(hole_a, hole_b) + apart, 400_001)
    return float(2.0 * np.max(np.minimum(0.5 * hole_a - np.abs(x), 0.5 * hole_b - np.abs(x - apart))))


@pytest.mark.parametrize("seed", range(5))
def test_largest_bolt_against_a_search(seed: int):
    """Random holes and distances: the bolt that a search finds just passes."""
    rng = np.random.default_rng(seed)
    hole_a, hole_b = rng.uniform(5.0, 7.0, 2)
    apart = rng.uniform(0.0, 2.0)
    found = lens(hole_a, hole_b, apart)
    step = 1e-4  # of the search, and what it may miss

    assert passes(bolted(found - step, hole_a, hole_b), apart)
    assert not passes(bolted(found + step, hole_a, hole_b), apart)


def test_floating_fastener_closes_the_loop():
    """Floating fastener, H = F + T: bolt 0.250 in and true position 0.014 in ask for holes of 0.264 in (seen in the
    handout "Calculating fastener hole size using true position tolerances"); then the worst case just passes.

    Each hole is anywhere within a circle of diameter T, so the two are at most T apart.
    """
    bolt, position, hole = 0.250 * INCH, 0.014 * INCH, 0.264 * INCH
    allowed = bolted(bolt, hole, hole).targets[0].allowed
    measure = Radius(0, 1, allowed * (1.0 + 1e-12))
    coefficients = [[-1.0, 0.0, 1.0, 0.0], [0.0, -1.0, 0.0, 1.0]]
    model = linear_model({"a": Circle(0.5 * position), "b": Circle(0.5 * position)}, coefficients, measure)
    tally = simulate([model], 100_000, 40).tallies[0]

    assert position == pytest.approx(allowed, rel=1e-12)
    # the largest is sought in steps of a quarter of a degree
    assert position == pytest.approx(bounds(model, measure).worst, rel=2.4e-6)
    assert tally.good == tally.trials
    assert tally.ends[0, 1] > 0.999 * allowed


def test_a_hole_that_grows_lets_a_farther_bolt_pass():
    """Both holes are cut by one bit: runout and a thicker bit widen both, and the limit on the distance as well."""
    plain, running_out = bolted(6.0, 6.2, 6.2), bolted(6.0, 6.2, 6.2, bit_runout=0.03)

    assert passes(plain, 0.2 - 1e-9)
    assert not passes(plain, 0.2 + 1e-9)
    assert passes(running_out, 0.23 - 1e-9)
    assert not passes(running_out, 0.23 + 1e-9)
    assert passes(plain, 0.25 - 1e-9, wider=0.05)
    assert not passes(plain, 0.15 + 1e-9, wider=-0.05)


def test_a_bolt_thicker_than_the_narrow_hole_needs_the_bit_to_be_thicker():
    """min(a, b) counts as well: 6.0 through 5.98 passes only where the bit is at least 0.02 too thick."""
    model = bolted(6.0, 7.0, 5.98)

    assert not passes(model, 0.0)
    assert not passes(model, 0.0, wider=0.02 - 1e-9)
    assert passes(model, 0.0, wider=0.02 + 1e-9)
