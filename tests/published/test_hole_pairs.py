"""Holes that scatter in both of two parts, under true positioning and when two of the holes register the parts.

The model is that of F. Scholz, Hole Alignment Tolerance Stacking Issues, M&CT-TECH-99-025 (1999), of which only the
abstract was seen: every number here is computed, none is published. It is run through jobs: face A and face B are the
two parts, `positioning` is the scatter of a hole centre, per axis.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from flipcheck.flip.model import FlipModel, flip_model
from flipcheck.job.records import Job
from flipcheck.stack.monte_carlo.simulate import simulate
from flipcheck.stack.spreads import Circle
from flipcheck.stack.worst_case import bounds
from tests.stack.models import error_of_quantile, error_of_share, quantile

Array = NDArray[np.float64]

STD = 0.05


def job_model(method: dict[str, Any], points: list[tuple[float, float]], allowed: float) -> FlipModel:
    """The model of a job with hole pairs at the points and no error but the scatter of each cut."""
    pairs = [{"name": f"hole {i}", "kind": "hole", "at": point, "allowed": allowed} for i, point in enumerate(points)]
    job = Job.model_validate(
        {
            "flip": "left-right",
            "blank": {"size": [600.0, 400.0, 12.0]},
            "errors": {"positioning": {"std": STD}},
            "pairs": pairs,
            "methods": [method],
        }
    )
    return flip_model(job, job.methods[0])


TOUCHED = {"name": "touched", "kind": "probe", "corner": "front-left", "touch_in": [20.0, 20.0], "angle": "by eye"}

# number of pairs, and the 50, 90, 95 and 99 % points of the largest discrepancy over the scatter: 2 sqrt(-ln(1 -
# p^(1/K))) (computed here, with a simulation of its own that agrees to 0.5 %)
TRUE_POSITION = {
    1: (1.6651, 3.0349, 3.4616, 4.2919),
    2: (2.2163, 3.4466, 3.8347, 4.6025),
    4: (2.7116, 3.8209, 4.1775, 4.8940),
    10: (3.2885, 4.2700, 4.5936, 5.2548),
    20: (3.6767, 4.5820, 4.8856, 5.5122),
}
SHARES = (0.50, 0.90, 0.95, 0.99)


@pytest.mark.parametrize("pairs", TRUE_POSITION)
@pytest.mark.parametrize("share", [0.50, 0.95])
def test_all_pairs_line_up_under_true_positioning(pairs: int, share: float):
    """With the tabled discrepancy allowed, the tabled share of parts has every pair within it."""
    trials = 100_000
    limit = TRUE_POSITION[pairs][SHARES.index(share)]
    points = [(20.0 + 25.0 * i, 40.0) for i in range(pairs)]
    tally = simulate([job_model(TOUCHED, points, limit * STD).linear], trials, 21).tallies[0]
    # half a unit of the last digit of the limit: the density of the largest, at its own quantile, is below 1 per sigma
    assert share == pytest.approx(tally.good / trials, abs=0.5e-4 + error_of_share(share, trials))


def test_clearance_needed_grows_like_the_root_of_a_logarithm():
    """The 95 % point for 100 pairs is 0.998 times 2 sigma sqrt(ln(K / 0.05)), as the abstract says in words."""
    trials, pairs = 20_000, 100
    limit = 0.998 * 2.0 * math.sqrt(math.log(pairs / 0.05))
    points = [(20.0 + 5.0 * i, 40.0) for i in range(pairs)]
    share = simulate([job_model(TOUCHED, points, limit * STD).linear], trials, 22).tallies[0].good / trials

    # half a unit of 0.998 is 0.0028 sigma, at a density of K (r / 2) exp(-r^2 / 4) F^(K - 1) = 0.14 per sigma
    assert pytest.approx(share, abs=0.0028 * 0.14 + error_of_share(0.95, trials)) == 0.95


BASELINE = 200.0
#: Play so small that it does nothing: the pins decide, not their clearance.
SNUG = {"pin": {"diameter": 6.0}, "hole": {"diameter": 6.0 + 1e-9}}


def registered(a: float, b: float, *, second_hole: str = "slot") -> FlipModel:
    """Primary hole and secondary hole BASELINE apart along X, a feature (a, b) from the primary one."""
    first = (150.0, 150.0)
    pins = [first, (first[0] + BASELINE, first[1])]
    method = {"name": "holes", "kind": "pins", "pins": pins, "second_hole": second_hole, **SNUG}
    return job_model(method, [(first[0] + a, first[1] + b)], 1.0)


# feature from the primary hole, along and across the baseline of 200, with 0.05 scatter an axis and hole: variances
# along and across, covariance, 50, 95 and 99.73 % points, and worst case with each hole within 3.4393 x 0.05 (all
# computed here; an exact simulation with finite turns agrees)
REGISTERED = [
    ((100.0, 0.0), (0.010, 0.0075, 0.0), (0.10977, 0.22956, 0.32486), 0.74107),
    ((100.0, 80.0), (0.0116, 0.0075, 0.0), (0.11418, 0.24062, 0.34330), 0.86516),
    ((0.0, 120.0), (0.0136, 0.0100, 0.0030), (0.12602, 0.26898, 0.38814), 0.98716),
    ((300.0, 50.0), (0.010625, 0.0175, -0.0025), (0.13749, 0.29378, 0.42427), 1.09144),
]


def covariance(model: FlipModel) -> Array:
    """Covariance of the pair's misalignment by the scatter of the cuts alone, blank axes."""
    linear, target = model.linear, model.targets[0]
    rows = linear.coefficients[[target.x, target.y], : linear.stds.size]
    return rows @ np.diag(np.square(linear.stds)) @ rows.T


@pytest.mark.parametrize(("feature", "expected", "points", "worst"), REGISTERED)
def test_covariance_when_two_holes_register_the_parts(
    feature: tuple[float, float], expected: tuple[float, ...], points: tuple[float, ...], worst: float
):
    """Variances and covariance along and across the baseline L, with s^2 = 2 sigma^2:

    s^2 (2 + 2 b^2/L^2) along, s^2 (1 + (a/L - 1)^2 + (a/L)^2) across, s^2 (b/L) (1 - 2 a/L) between them.
    """
    (a, b), s2 = feature, 2.0 * STD**2
    along, across = s2 * (2.0 + 2.0 * b**2 / BASELINE**2), s2 * (1.0 + (a / BASELINE - 1.0) ** 2 + (a / BASELINE) ** 2)
    cross = s2 * (b / BASELINE) * (1.0 - 2.0 * a / BASELINE)
    found = covariance(registered(a, b))

    assert expected == pytest.approx((along, across, cross), rel=1e-12)
    assert np.array([[along, cross], [cross, across]]) == pytest.approx(found, rel=1e-9, abs=1e-15)


def test_two_round_holes_share_the_mismatch_of_their_spacing():
    """With play in both, the blank comes to lie midway: along the baseline half of either hole's error counts, instead
    of all of the primary's; across it nothing changes (worked out on paper).

    The stray of a feature is its own scatter s^2 plus s^2 / 2 along and, at the middle of the baseline, s^2 / 2 across.
    """
    found = covariance(registered(100.0, 0.0, second_hole="round"))
    s2 = 2.0 * STD**2

    assert np.array([[1.5 * s2, 0.0], [0.0, 1.5 * s2]]) == pytest.approx(found, rel=1e-9, abs=1e-15)


@pytest.mark.parametrize(("feature", "expected", "points", "worst"), REGISTERED)
def test_quantiles_when_two_holes_register_the_parts(
    feature: tuple[float, float], expected: tuple[float, ...], points: tuple[float, ...], worst: float
):
    """50, 95 and 99.73 % points of the distance, simulated."""
    trials = 400_000
    linear = registered(*feature).linear
    run, other = (simulate([linear], trials, seed) for seed in (23, 24))
    assert run.tallies[0].on == trials

    span, counts = other.ranges[0][0], other.tallies[0].histogram[0]
    middles = span.low + (np.arange(len(counts)) + 0.5) * (span.high - span.low) / len(counts)
    for share, exact in zip((0.5, 0.95, 0.9973), points, strict=True):
        # the density at the quantile, from another run, over a twentieth of the distance
        width = 0.05 * exact
        near = counts[np.abs(middles - exact) < 0.5 * width].sum()
        error = error_of_quantile(share, near / trials / width, trials)
        assert exact == pytest.approx(quantile(run, 0, share), abs=0.5e-5 + error)


@pytest.mark.parametrize(("feature", "expected", "points", "worst"), REGISTERED)
def test_worst_case_when_two_holes_register_the_parts(
    feature: tuple[float, float], expected: tuple[float, ...], points: tuple[float, ...], worst: float
):
    """With every hole anywhere within a circle, the farthest the feature gets."""
    linear = registered(*feature).linear
    round_off = Circle(3.4393323 * STD)
    circles = replace(linear, sources=tuple(replace(source, spread=round_off) for source in linear.sources))

    # the largest is sought in steps of a quarter of a degree
    assert worst == pytest.approx(bounds(circles, linear.measures[0]).worst, abs=0.5e-5 + 2.4e-6 * worst)


def test_secondary_hole_itself_strays_only_along_the_baseline():
    """The secondary hole misses its partner along the baseline only, by a variance of 2 s^2 = 0.010; 95 % of parts need
    a clearance of 0.19600 for that (computed here), so that much play lets 95 % of the blanks go on.
    """
    trials = 400_000
    method = {"name": "round", "kind": "pins", "pins": [[150.0, 150.0], [350.0, 150.0]]}
    play = {"pin": {"diameter": 6.0}, "hole": {"diameter": 6.19600}}
    linear = job_model({**method, **play}, [(250.0, 150.0)], 1.0).linear
    tally = simulate([linear], trials, 25).tallies[0]

    assert pytest.approx(np.square(linear.contacts[0].forms[0] * linear.stds).sum(), rel=1e-12) == 0.010
    # two clearances of 0.098 in the radius take a pitch error of 0.196; its last digit moves the share by 1.2 per mm
    assert pytest.approx(tally.on / trials, abs=0.5e-5 * 1.2 + error_of_share(0.95, trials)) == 0.95
