"""Budynas and Nisbett, Shigley's Mechanical Engineering Design, example 1-3: a shouldered screw with three sleeves."""

from __future__ import annotations

import math

import pytest

from flipcheck.decide.validation.published_stacks import screw
from flipcheck.stack.spreads import Normal, Uniform
from flipcheck.stack.stack import Stack
from flipcheck.stack.terms import Term
from tests.stack.models import ERRORS_ALLOWED

# inch; inputs and results seen in a page proof
LINKS = {"a": (1.0, 1.750, 0.003), "b": (-1.0, 0.750, 0.001), "c": (-1.0, 0.120, 0.005), "d": (-1.0, 0.875, 0.001)}
UNIFORM = Stack([Term(name, Uniform(t), nominal, sign) for name, (sign, nominal, t) in LINKS.items()])
NORMAL = Stack([Term(name, Normal(t / 3.0), nominal, sign) for name, (sign, nominal, t) in LINKS.items()])


@pytest.mark.parametrize("stack", [UNIFORM, NORMAL, screw()], ids=["uniform", "normal", "as validated"])
def test_gap(stack: Stack):
    """Published: gap 0.005 with tolerance 0.010, so -0.005 to 0.015."""
    found = stack.worst_case()

    assert pytest.approx(found.nominal, abs=1e-12) == 0.005
    assert pytest.approx(found.tolerance, abs=1e-12) == 0.010
    assert (-0.005, 0.015) == pytest.approx((found.low, found.high), abs=1e-12)


def test_sleeve_for_a_smallest_gap():
    """Published: d = 0.867 leaves a gap of at least 0.003."""
    shorter = Stack([*UNIFORM.terms[:3], Term("d", Uniform(0.001), 0.867, -1.0)])

    assert pytest.approx(shorter.worst_case().low, abs=1e-12) == 0.003


def test_root_of_squares():
    """Computed here, not in the book: sqrt(36e-6) = 0.006."""
    assert pytest.approx(UNIFORM.rss().tolerance, abs=1e-12) == 0.006


@pytest.mark.parametrize(("limit", "share"), [(0.0, 0.0062097), (0.003, 0.1586553)])
def test_share_of_gaps_that_are_too_small(limit: float, share: float):
    """Computed here, not in the book: P(w < 0) = Phi(-2.5) and P(w < 0.003) = Phi(-1) where T is three sigma."""
    trials = 400_000
    counted = NORMAL.monte_carlo(trials, rng=13).chance(high=limit)

    assert share == pytest.approx(NORMAL.chance(high=limit), abs=0.5e-7)
    assert share == pytest.approx(counted.estimate, abs=ERRORS_ALLOWED * math.sqrt(share * (1.0 - share) / trials))
