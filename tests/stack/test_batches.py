"""Batches against integrals: one number, a machine draw and a cut of its own for every part, both normal, in a band."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import comb, ndtr
from scipy.stats import norm

from flipcheck.stack.contact.two_pins import Hang
from flipcheck.stack.linear import LinearModel
from flipcheck.stack.measures import Band, Radius
from flipcheck.stack.monte_carlo.batches import Course, Run, run_batches
from flipcheck.stack.monte_carlo.simulate import simulate
from flipcheck.stack.monte_carlo.streams import BLOCK
from flipcheck.stack.sources import Life, Source
from flipcheck.stack.spreads import Exactly, Normal
from tests.stack.models import linear_model, two_pins

MACHINE, CUT, LIMIT = 0.6, 0.7, 1.0
#: Reads all there is: the shared component and what the output has to itself.
READS = np.array([[1.0, 1.0]])


def model(machine: float = MACHINE, cut: float = CUT) -> LinearModel:
    """Output = machine error + cut error, good within ±LIMIT."""
    sources = (
        Source("lean", "", Normal(machine), Life.MACHINE),
        Source("noise", "", Normal(cut), Life.CUT),
    )
    shared, own = np.array([[1.0, 0.0]]), np.array([[0.0, 1.0]])
    return LinearModel("one", sources, (), shared, np.ones((1, 1)), own, np.zeros(1), (Band(0, -LIMIT, LIMIT),))


def passes(lean: float, cut: float = CUT) -> float:
    """Chance of a part on a machine that leans so much."""
    return float(ndtr((LIMIT - lean) / cut) - ndtr((-LIMIT - lean) / cut))


def rejects(k: int, parts: int, spread: float = MACHINE) -> float:
    """Chance of k rejects in a batch whose machines lean with this standard deviation: a mixture of binomials."""

    def given(lean: float) -> float:
        p = passes(lean)
        return float(comb(parts, k) * p ** (parts - k) * (1.0 - p) ** k * norm.pdf(lean, scale=spread))

    return float(quad(given, -8.0 * spread, 8.0 * spread, epsabs=1e-10, limit=200)[0])


@cache
def run(parts: int, batches: int = 4 * BLOCK, coupons: int = 0) -> Run:
    """Batches of the model above."""
    return run_batches(model(), Course(parts, coupons=coupons, reads=READS), batches, 5)


def error(share: float, count: int) -> float:
    """Four standard errors of a share."""
    return 4.0 * float(np.sqrt(share * (1.0 - share) / count)) + 1e-12


@pytest.mark.parametrize("parts", [1, 2, 7, 20])
def test_rejects_are_a_mixture_of_binomials(parts: int):
    """Every number of rejects comes as often as the integral over the machines says."""
    counts = run(parts).plain.rejects
    for k, count in enumerate(counts):
        expected = rejects(k, parts)
        assert count / counts.sum() == pytest.approx(expected, abs=error(expected, 4 * BLOCK))


def test_nothing_lasts():
    """Without machine errors the rejects are binomial."""
    parts, batches, p = 10, 4 * BLOCK, passes(0.0)
    counts = run_batches(model(machine=0.0), Course(parts), batches, 5).plain.rejects
    for k, count in enumerate(counts):
        expected = comb(parts, k) * p ** (parts - k) * (1.0 - p) ** k
        assert count / batches == pytest.approx(expected, abs=error(expected, batches))


def test_only_the_machine():
    """With nothing but machine errors a batch is all good or all bad."""
    counts = run_batches(model(cut=0.0), Course(10), BLOCK, 5).plain.rejects
    assert 0 == counts[1:10].sum()
    expected = norm.cdf(LIMIT / MACHINE) - norm.cdf(-LIMIT / MACHINE)
    assert counts[0] / BLOCK == pytest.approx(expected, abs=error(expected, BLOCK))


def test_a_batch_of_one_is_a_trial():
    """A batch of one part has the draws of a trial of `simulate`."""
    one = run_batches(model(), Course(1), 30_000, 8)
    trials = simulate([model()], 30_000, 8).tallies[0]
    assert [trials.good, 30_000 - trials.good] == one.plain.rejects.tolist()


def test_a_limit_that_moves():
    """So it is where the limit itself is uncertain."""
    spreads = {"x": Normal(0.3), "y": Normal(0.3), "slack": Normal(0.2)}
    moving = linear_model(spreads, np.eye(3), Radius(0, 1, 0.5, slack=2))
    trials = simulate([moving], 1000, 8).tallies[0]
    assert [trials.good, 1000 - trials.good] == run_batches(moving, Course(1), 1000, 8).plain.rejects.tolist()


@pytest.mark.parametrize("coupons", [1, 3, 10])
def test_correction_from_coupons(coupons: int):
    """What lasts goes, and the mean of the coupons' own scatter comes in its place: variance s² (1 + 1/k) in all."""
    parts, counts = 6, run(6, coupons=coupons).corrected
    assert counts is not None
    for k, count in enumerate(counts.rejects):
        expected = rejects(k, parts, CUT / np.sqrt(coupons))
        assert count / counts.batches == pytest.approx(expected, abs=error(expected, counts.batches))
    one = 2.0 * norm.cdf(LIMIT / (CUT * np.sqrt(1.0 + 1.0 / coupons))) - 1.0
    # parts of one batch hang together: the error is that of whole batches at most
    assert counts.passed.sum() / counts.batches / parts == pytest.approx(one, abs=error(one, counts.batches))


def test_correction_leaves_the_same_parts():
    """With coupons the parts themselves are those of a run without."""
    assert run(6).plain.rejects.tolist() == run(6, coupons=3).plain.rejects.tolist()


def test_coupons_kept():
    """All of one coupon and one corrected part are good: an integral over the machine and the coupon."""
    kept = run(2, coupons=1).coupons_kept / (4 * BLOCK)
    rng = np.random.default_rng(2)
    lean, noise = rng.normal(0, MACHINE, 400_000), rng.normal(0, CUT, (2, 400_000))
    good = (abs(lean + noise[0]) <= LIMIT) & (abs(noise[1] - noise[0]) <= LIMIT)
    expected = good.mean()
    assert kept == pytest.approx(expected, abs=1.1 * error(expected, 4 * BLOCK))
    assert 0 == run(6, coupons=10).coupons_kept


@pytest.mark.parametrize("parts", [2, 3])
def test_two_coupons_kept(parts: int):
    """Both coupons must be good as they are, and what is cut after them once it is corrected by their mean."""
    kept = run(parts, coupons=2).coupons_kept / (4 * BLOCK)
    rng = np.random.default_rng(3)
    lean, noise = rng.normal(0, MACHINE, 400_000), rng.normal(0, CUT, (3, 400_000))
    good = (abs(lean + noise[:2]) <= LIMIT).all(axis=0)
    if parts == 3:
        good &= abs(noise[2] - noise[:2].mean(axis=0)) <= LIMIT
    expected = good.mean()
    assert kept == pytest.approx(expected, abs=1.1 * error(expected, 4 * BLOCK))
    assert 0 == run(parts).coupons_kept


def worn(high: float) -> LinearModel:
    """A blank pushed to the end of a play of 0.05 mm, 0.02 more by the cut: the output, good up to `high`."""
    sources = (Source("wear", "", Exactly(0.01), Life.MACHINE), Source("hole", "", Exactly(0.02), Life.CUT))
    pins = two_pins(Hang.SLOT, (0.05, 0.05), push=1.0, clearance=((0.0, 1.0), (0.0, 0.0)))
    own = np.array([[0.0, 0.0, 0.0, 1.0, 0.0]])
    band = Band(0, -1.0, high)
    return LinearModel("worn", sources, (pins,), np.zeros((1, 5)), np.ones((1, 1)), own, np.zeros(1), (band,))


#: From part to part the first clearance grows by the wear.
GROWTH = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 0.0]])


def test_wear_takes_part_after_part():
    """The outputs are 0.07, 0.08, 0.09 ... mm: with 0.095 allowed the fourth part is the first that is bad."""
    found = run_batches(worn(0.095), Course(5, growth=GROWTH), 100, 1)

    assert [100, 100, 100, 0, 0] == found.plain.passed.tolist()
    assert [0, 0, 100, 0, 0, 0] == found.plain.rejects.tolist()


@pytest.mark.parametrize(("skipped", "passed"), [(0, [100, 100, 0]), (1, [100, 0, 0])])
def test_coupons_wear_the_pins_too(skipped: int, passed: list[int]):
    """Two coupons read 0.07 and 0.08: less their mean, 0.075, the parts after them are 0.015, 0.025, 0.035 mm."""
    course = Course(3, growth=GROWTH, coupons=2, reads=READS, skipped=skipped)
    found = run_batches(worn(0.028), course, 100, 1)

    assert found.corrected is not None
    assert passed == found.corrected.passed.tolist()
    assert [0, 0, 0] == found.plain.passed.tolist()


@pytest.mark.parametrize("batches", [1, BLOCK + 5])
def test_as_many_batches_as_asked_for(batches: int):
    """A single batch, and a block that is not full, are counted as they are."""
    found = run_batches(model(), Course(3, coupons=1, reads=READS), batches, 5)

    assert found.corrected is not None
    assert (batches, batches) == (found.plain.batches, found.corrected.batches)
    assert found.corrected.passed.max() <= batches


def test_a_middle_that_is_off():
    """What the outputs are without any error counts as well: here 0.5, between -1 and 2."""
    shifted = replace(model(), centre=np.array([0.5]), measures=(Band(0, -LIMIT, 2.0 * LIMIT),))
    std = np.hypot(MACHINE, CUT)
    expected = norm.cdf(1.5 * LIMIT / std) - norm.cdf(-1.5 * LIMIT / std)

    passed = run_batches(shifted, Course(1), 4 * BLOCK, 5).plain.passed[0] / (4 * BLOCK)
    assert passed == pytest.approx(expected, abs=error(expected, 4 * BLOCK))


def test_which_estimator_is_unbiased():
    """Of r parts a batch, the share of N-part choices without a reject is unbiased for p^N; the N-th power is not."""
    parts, cut, batches = 5, 20, 4 * BLOCK
    good = cut - np.arange(cut + 1)
    weights = run(cut).plain.rejects / batches
    choices, power = comb(good, parts) / comb(cut, parts), (good / cut) ** parts
    expected = rejects(0, parts)
    for values, is_right in ((choices, True), (power, False)):
        mean = weights @ values
        off = abs(mean - expected) / np.sqrt(weights @ (values - mean) ** 2 / batches)
        assert is_right == (off < 4.0)
    assert off > 10.0
    assert weights @ power > expected


def test_threads_and_whole_runs():
    """The result does not depend on the threads; a run that is cut short begins like a longer one."""
    course = Course(4, coupons=2, reads=READS)
    one, four = (run_batches(model(), course, 40_000, 3, threads=threads) for threads in (1, 4))
    assert one.plain.rejects.tolist() == four.plain.rejects.tolist()
    assert one.corrected.rejects.tolist() == four.corrected.rejects.tolist()
    assert one.coupons_kept == four.coupons_kept
    seen: list[int] = []
    stopped = run_batches(model(), course, 40_000, 3, progress=seen.append, settled=lambda run: run.plain.batches > 0)
    assert [BLOCK] == seen
    assert stopped.settled
    assert run_batches(model(), course, BLOCK, 3).plain.rejects.tolist() == stopped.plain.rejects.tolist()


def test_what_is_refused():
    """No batches, no parts, and coupons that nobody reads."""
    with pytest.raises(ValueError, match="at least one batch of one part is needed, not 0 of 3"):
        run_batches(model(), Course(3), 0, 1)
    with pytest.raises(ValueError, match="not 5 of 0"):
        run_batches(model(), Course(0), 5, 1)
    with pytest.raises(ValueError, match="`reads` is missing"):
        run_batches(model(), Course(3, coupons=1), 5, 1)
