"""Laws of adding up: parts and whole, first order and simulation, the worst case, nothing and more."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flipcheck import check
from flipcheck.job.records import WebPair
from flipcheck.stack.monte_carlo.simulate import simulate

from .answers import APART, NANOMETRE, ROUND, assert_chances_agree, figures, half, model_of, rows_of, simulated
from .strategies import WAYS, WITHOUT_PLAY, jobs, law, read

TRIALS = 16_384
SEEDS = st.integers(0, 2**32)


@pytest.mark.parametrize("way", WAYS)
@law(2)
@given(data=st.data())
def test_parts_make_the_whole(way: str, data: st.DataObject):
    """The shares of all sources add to 1, each is its part of the sum of variances, and that sum is the model's."""
    job = read(data.draw(jobs(way)))
    (method,) = check(job, trials=1000).methods
    for pair, exact in zip(method.pairs, figures(job), strict=True):
        variances = [e.std_x**2 + e.std_y**2 + (e.std_z or 0.0) ** 2 for e in pair.stack]
        assert pytest.approx(1.0 if sum(variances) else 0.0, abs=1e-12) == sum(e.share for e in pair.stack)
        assert pytest.approx(1.0 if sum(variances) else 0.0, abs=1e-12) == sum(e.measured_share for e in pair.stack)
        for entry, variance in zip(pair.stack, variances, strict=True):
            assert pytest.approx(entry.share * sum(variances), rel=1e-9, abs=NANOMETRE**2) == variance
        by_source = {entry.source: v for entry, v in zip(pair.stack, variances, strict=True)}
        for source, covariance in exact.covariance.items():
            expected = by_source.get(source, 0.0)
            assert pytest.approx(expected, rel=1e-9, abs=NANOMETRE**2) == np.trace(covariance), source


@pytest.mark.parametrize("way", WITHOUT_PLAY)
@law(4)
@given(data=st.data(), seed=SEEDS)
def test_first_order_is_what_random_draws_have(way: str, data: st.DataObject, seed: int):
    """Without play all is linear: plain random draws have the mean and the standard deviation of first order.

    No spread has a kurtosis above a normal's, and neither has a sum of them, so the standard error of a standard
    deviation s is at most s / sqrt(2 N).
    """
    job = read(data.draw(jobs(way)))
    model = model_of(job)
    (estimate,) = simulate([model.linear], TRIALS, seed).estimates
    for target, exact in zip(model.targets, figures(job), strict=True):
        covariance = sum(exact.covariance.values(), np.zeros((len(exact.mean),) * 2))
        for row, mean, variance in zip(rows_of(target), exact.mean, np.diag(covariance), strict=True):
            seen, std = estimate.output(row), float(np.sqrt(variance))
            off = seen.mean - model.linear.centre[row]
            assert abs(off - mean) <= 5.0 * std / np.sqrt(TRIALS) + NANOMETRE
            assert abs(seen.std - std) <= 5.0 * std / np.sqrt(2.0 * TRIALS) + NANOMETRE


@pytest.mark.parametrize("way", WAYS)
@law(2)
@given(data=st.data())
def test_even_points_tell_what_random_draws_tell(way: str, data: st.DataObject):
    """Chances and quantiles of the default are those of ordinary Monte Carlo, within what both leave open."""
    job = read(data.draw(jobs(way)))
    even, random = simulated(job), simulated(job, plain=True, seed=2)
    assert_chances_agree(even, random)
    for smooth, counted, error in zip(even.p95, random.p95, random.p95_error, strict=True):
        if np.isfinite(error):
            assert abs(smooth - counted) <= 2.0 * APART * error + NANOMETRE


@pytest.mark.parametrize("way", WAYS)
@law(3)
@given(data=st.data(), seed=SEEDS)
def test_no_draw_passes_the_worst_case(way: str, data: st.DataObject, seed: int):
    """Where every error has a bound, no blank that goes on is farther off than the worst case says."""
    job = read(data.draw(jobs(way, bounded=True, few=True)))
    model = model_of(job)
    (tally,) = simulate([model.linear], TRIALS, seed).tallies
    if not tally.on:
        return
    for target, (low, high), exact in zip(model.targets, tally.ends, figures(job), strict=True):
        centre = model.linear.centre[rows_of(target)[0]] if isinstance(target.pair, WebPair) else 0.0
        assert max(high - centre, centre - low) <= exact.worst * (1.0 + ROUND) + NANOMETRE, target.pair.name


@pytest.mark.parametrize("way", WAYS)
@law(2)
@given(data=st.data())
def test_nothing_wrong_nothing_off(way: str, data: st.DataObject):
    """Without errors, and with hardly any play, every blank goes on and both faces are where they should be."""
    job = data.draw(jobs(way))
    (method,) = job["methods"]
    for key in ("hole_position", "pin_play", "wear", "wear_of", "pocket_size"):
        method.pop(key, None)
    play = 1e-6
    if "pin" in method:
        method |= {"pin": {"diameter": 6.0}, "hole": {"diameter": 6.0 + play}}
    if "clearance" in method:
        method["clearance"] = play
    for pair in job["pairs"]:
        if pair["kind"] == "web":
            web = job["blank"]["size"][2] - pair["depth_a"] - pair["depth_b"]
            pair |= {"min_web": web - 0.01, "max_web": web + 0.01}
    (result,) = check(read({**job, "errors": {}}), trials=1000).methods
    # the blank turns by at most the play over the shortest distance between its holds, a twentieth of the longest arm
    most = 0.0 if way in WITHOUT_PLAY else 50.0 * play
    assert result.goes_on == 1.0
    assert result.chance.estimate == 1.0
    for pair in result.pairs:
        assert pair.worst_case <= most + 1e-12
        assert {e.source for e in pair.stack} <= {"pin_clearance", "nest_clearance"}
        if pair.x and pair.y and pair.distance:
            assert max(abs(pair.x.mean), abs(pair.y.mean), pair.distance.quantiles["p99"]) <= most + 1e-12


def widened(table: dict[str, Any], key: str, factor: float) -> dict[str, Any]:
    spread = {k: v * factor if k in ("std", "limit", "total") else v for k, v in table["errors"][key].items()}
    return {**table, "errors": {**table["errors"], key: spread}}


@pytest.mark.parametrize("way", WAYS)
@law(4)
@given(data=st.data(), factor=st.floats(1.05, 4.0))
def test_a_wider_error_is_never_less_to_expect(way: str, data: st.DataObject, factor: float):
    """A wider error makes no variance and no worst case smaller, at any pair."""
    table = data.draw(jobs(way))
    key = data.draw(st.sampled_from(sorted(set(table["errors"]) - {"bit_runout"})))
    wide = figures(read(widened(table, key, factor)))
    for before, after in zip(figures(read(table)), wide, strict=True):
        assert after.worst >= before.worst * (1.0 - ROUND) - NANOMETRE
        if after.corner == before.corner:
            totals = [sum(np.trace(c) for c in f.covariance.values()) for f in (before, after)]
            assert totals[1] >= totals[0] * (1.0 - 1e-9) - NANOMETRE**2


@pytest.mark.parametrize("way", WITHOUT_PLAY)
@law(5)
@given(data=st.data(), factor=st.floats(1.05, 4.0))
def test_a_wider_error_never_helps(way: str, data: st.DataObject, factor: float):
    """Where nothing is off on average and limits lie alike on both sides, a wider error makes no good blank likelier.

    T. W. Anderson, Proc. Amer. Math. Soc. 6 (1955) 170-176 (from memory): the chance that a symmetric sum with one peak
    falls into a symmetric convex set sinks when another symmetric error is added and grows. Sums of spreads whose
    logarithm is concave have one peak; arcsine and runout have two, so they are not among the others.
    """
    table = data.draw(jobs(way))
    key = data.draw(st.sampled_from(sorted(set(table["errors"]) - {"bit_runout", "bit_diameter"})))
    table = {**table, "errors": centred(table["errors"], key)}
    for method in table["methods"]:
        if "hole_position" in method:
            method["hole_position"] = {"std": 0.02}
    for pair in table["pairs"]:
        if pair["kind"] == "web":
            web = table["blank"]["size"][2] - pair["depth_a"] - pair["depth_b"]
            pair |= {"min_web": web - 0.08, "max_web": web + 0.08}
    before, after = (simulated(read(job)) for job in (table, widened(table, key, factor)))
    for a, b in zip(before.chances, after.chances, strict=True):
        assert b.estimate <= a.estimate + APART * (half(a) + half(b)) + 1e-9


def centred(errors: dict[str, Any], kept: str) -> dict[str, Any]:
    """The errors without bias; all but `kept` with one peak; no runout."""
    changed = {}
    for key, spread in errors.items():
        if key == "bit_runout":
            continue
        plain = {k: v for k, v in spread.items() if k != "bias"}
        if plain.get("shape") == "arcsine" and key != kept:
            plain.pop("shape")
        changed[key] = plain
    return changed
