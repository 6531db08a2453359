"""The flip's own tolerance stack, put term by term through the general stack, gives what `check` gives."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

import flipcheck
from flipcheck.flip.model import FlipModel, flip_model
from flipcheck.stack.spreads import Circle
from flipcheck.stack.stack import Stack
from flipcheck.stack.terms import Term
from tests.make import FENCE, PROBE, make_job

ERRORS = {
    "machine_squareness": {"std": 0.0003},
    "positioning": {"std": 0.01},
    "lost_motion": {"total": 0.03, "bias": 0.004},
    "seating": {"limit": 0.02, "shape": "triangular"},
    "stock_size": {"limit": 0.1},
    "stop_position": {"std": 0.02, "bias": 0.01},
    "probe_repeatability": {"std": 0.01},
    "probe_radius": {"limit": 0.02, "shape": "arcsine"},
}
TRIALS = 200_000
METHODS = [{**FENCE, "after_flip": "same side"}, {**PROBE, "after_flip": "same side"}]


def terms(model: FlipModel, rows: list[int]) -> list[Term]:
    """A term of the plane (two outputs) or of a chain (one) for each row of the model's sources that acts on them."""
    linear = model.linear
    found = []
    for source, place in zip(linear.sources, linear.source_rows, strict=True):
        assert not isinstance(source.spread, Circle)
        for row in range(place.start, place.stop):
            effect = tuple(float(c) for c in linear.coefficients[rows, row])
            if any(effect):
                coefficient: Any = effect if len(effect) == 2 else effect[0]
                found.append(Term(f"{source.key} {row}", source.spread, coefficient=coefficient))
    return found


@pytest.mark.parametrize("method", METHODS, ids=["fence", "probe"])
def test_radial_stack(method: dict[str, Any]):
    """Worst case, RSS towards it and normal chance of a hole agree; chance and p95 within 4 standard errors."""
    job = make_job(method, errors=ERRORS)
    pair = flipcheck.check(job, trials=TRIALS).methods[0].pairs[0]
    model = flip_model(job, job.methods[0])
    target = model.targets[0]
    assert target.x is not None
    assert target.y is not None
    stack = Stack(terms(model, [target.x, target.y]))
    drawn = stack.monte_carlo(TRIALS, rng=5)
    assert pair.distance is not None

    assert pytest.approx(pair.worst_case, rel=1e-5) == stack.worst_case().high
    angles = np.arange(1440) * math.pi / 720.0
    worst = max((stack.along(angle) for angle in angles), key=lambda chain: chain.worst_case().high)
    # the worst case is flat about its direction: the two searches may stop a degree apart
    assert pytest.approx(pair.rss, rel=5e-3) == worst.rss().high
    assert pytest.approx(pair.normal_chance, abs=1e-9) == stack.chance(0.0, pair.allowed)
    error = 4.0 * math.sqrt(2.0 * pair.chance.estimate * (1.0 - pair.chance.estimate) / TRIALS)
    assert abs(np.mean(drawn.samples <= pair.allowed) - pair.chance.estimate) <= error
    p95 = np.quantile(drawn.samples, [0.94, 0.95, 0.96])
    error = 4.0 * math.sqrt(2.0 * 0.95 * 0.05 / TRIALS) * (p95[2] - p95[0]) / 0.02
    assert abs(p95[1] - pair.distance.quantiles["p95"]) <= error


@pytest.mark.parametrize("axis", ["x", "y"])
@pytest.mark.parametrize("method", METHODS, ids=["fence", "probe"])
def test_signed_stack(method: dict[str, Any], axis: str):
    """Along one axis the first order of the general stack has the mean and the spread of the flip's own."""
    job = make_job(method, errors=ERRORS)
    pair = flipcheck.check(job, trials=100).methods[0].pairs[0]
    model = flip_model(job, job.methods[0])
    row = getattr(model.targets[0], axis)
    first = Stack(terms(model, [row])).first_order()

    assert pytest.approx(model.linear.expected[row]) == first.value
    assert pytest.approx(math.sqrt(sum(getattr(e, f"std_{axis}") ** 2 for e in pair.stack))) == first.u
