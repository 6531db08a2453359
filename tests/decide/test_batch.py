"""Batches of a job: what lasts, what coupons correct, what wears, against answers worked out on paper."""

from __future__ import annotations

import numpy as np
import pytest

from flipcheck.decide.batch import wear
from flipcheck.decide.batch.batch import batch, fares, most_batches, part_chance
from flipcheck.decide.batch.wear import first_below
from flipcheck.decide.check import check
from flipcheck.errors import JobError
from flipcheck.stack.intervals import wilson
from flipcheck.stack.monte_carlo.batches import Tally
from tests.make import FENCE, PINS, PROBE, hole, make_job

SCATTER = {"positioning": {"std": 0.03}, "seating": {"std": 0.03}}
#: Everything that lasts with a fence set by hand. The turn leaves a rigid field of it: position and angle.
LASTING = {"fence_angle": {"std": 0.001}, "fence_position": {"std": 0.05}, "stop_position": {"std": 0.05}}
STAYS = FENCE | {"after_flip": "same side"}
#: Pushed to one side nothing is left to chance: hole 6.05 on a pin of 6 lies 0.025 mm off, and more as it wears.
PUSHED = PINS | {"push": "left"}
BEFOREHAND = PUSHED | {"holes": "beforehand"}
BLOCK = 16_384


def pair(allowed: float) -> list[dict]:
    """One hole with this limit."""
    return [hole(60, 40) | {"allowed": allowed}]


def test_a_batch_of_one_is_a_check():
    """A batch of one part says what a plain check says of the same trials."""
    job = make_job(FENCE, errors=SCATTER | LASTING)
    one = batch(job, parts=1, trials=20_000, rng=4)
    checked = check(job, trials=20_000, rng=4, plain=True).methods[0]
    assert one.plain.all_pass == checked.chance
    assert one.plain.part.low == pytest.approx(checked.chance.low, abs=1e-12)
    assert one.plain.part.high == pytest.approx(checked.chance.high, abs=1e-12)
    assert one.plain.naive_all_pass == pytest.approx(checked.chance.estimate, abs=1e-12)


def test_nothing_lasts():
    """With nothing that lasts the rejects are those of independent parts, within the noise."""
    found = batch(make_job(PROBE, errors={"probe_repeatability": {"std": 0.03}}), parts=8, trials=4 * BLOCK).plain
    assert len(found.rejects.chance) > 3
    for seen, binomial in zip(found.rejects.chance, found.naive_rejects.chance, strict=False):
        assert seen == pytest.approx(binomial, abs=4.5 * np.sqrt(binomial / (4 * BLOCK)) + 1e-4)
    assert found.naive_all_pass == pytest.approx(found.all_pass.estimate, abs=0.01)


def test_only_what_lasts():
    """With nothing else a batch is all good or all bad, and its chance that of one part."""
    found = batch(make_job(STAYS, errors=LASTING), parts=8, trials=BLOCK).plain
    assert 0.0 == sum(found.rejects.chance[1:8])
    assert found.all_pass.estimate == found.part.estimate
    assert 8 == found.rejects.p95
    assert found.naive_all_pass < 0.1 * found.all_pass.estimate


def test_coupons_take_out_what_lasts():
    """A rigid field that lasts is read from one coupon whole: every corrected part is right."""
    job = make_job(STAYS, errors=LASTING, pairs=[hole(20, 20), hole(160, 90)])
    found = batch(job, parts=5, coupons=1, trials=BLOCK)
    assert found.plain.all_pass.estimate < 0.5
    assert 1.0 == found.corrected.all_pass.estimate
    assert found.coupons_kept.estimate == found.plain.part.estimate
    assert found.told is found.corrected
    assert found.meets_goal


def test_coupons_cannot_see_a_turn_at_one_place():
    """One pair tells no turn, but its own misalignment, all that is asked, is gone."""
    assert 1.0 == batch(make_job(STAYS, errors=LASTING), parts=3, coupons=1, trials=BLOCK).told.all_pass.estimate


def test_coupons_can_do_harm():
    """Where nothing lasts, a correction only adds the scatter of its coupons: one part as with s sqrt(1 + 1/k)."""
    errors = {"probe_repeatability": {"std": 0.03}}
    found = batch(make_job(PROBE, errors=errors), parts=4, coupons=2, trials=2 * BLOCK)
    wider = {"probe_repeatability": {"std": 0.03 * np.sqrt(1.5)}}
    expected = check(make_job(PROBE, errors=wider), trials=100_000).methods[0].chance.estimate
    assert found.told.all_pass.high < found.plain.all_pass.low
    assert found.told.part.estimate == pytest.approx(expected, abs=0.012)


def test_coupons_that_do_not_go_on():
    """Where no blank goes on, nothing is measured, nothing is corrected and nothing is good."""
    found = batch(make_job(PINS | {"hole": {"diameter": 5.9}}), parts=3, coupons=2, trials=1000)
    assert (0.0, 0.0) == (found.plain.all_pass.estimate, found.told.all_pass.estimate)
    assert 3 == found.told.rejects.p95


def test_more_coupons_than_parts():
    """Four coupons cannot be the first of three parts."""
    assert batch(make_job(FENCE, errors=SCATTER), parts=3, coupons=4, trials=1000).coupons_kept is None


def test_no_wear_is_wear_of_zero():
    """A wear of zero changes nothing and has no answer of its own."""
    plain, zero = (batch(make_job(PINS | more, errors=SCATTER), parts=4, trials=BLOCK) for more in ({}, {"wear": 0.0}))
    assert plain == zero
    assert plain.wear is None


def lost_at(method: dict, allowed: float, parts: int = 2, coupons: int = 0) -> int | None:
    """From which part on the goal is lost, where nothing is left to chance."""
    found = batch(make_job(method, pairs=pair(allowed)), parts=parts, coupons=coupons, trials=10)
    assert found.wear is not None
    assert found.wear.lost_from == found.wear.lost_at == found.wear.lost_to
    return found.wear.lost_at


def test_wear_of_the_bed():
    """Pushed left, 0.025 + 0.005 (n - 1) mm off at part n: within 0.101 up to part 16."""
    assert 17 == lost_at(PUSHED | {"wear": 0.01}, 0.101)


def test_wear_of_the_bed_by_two_uses_a_part():
    """Pushed left in both setups: 0.05 mm off, and 0.005 for each of 2 (n - 1) uses in A and 2 (n - 1) + 1 in B.

    That is 0.055 + 0.02 (n - 1): within 0.2 up to part 8.
    """
    assert 9 == lost_at(BEFOREHAND | {"wear": 0.01}, 0.2)


def test_coupons_wear_too_and_take_out_the_mean():
    """Two coupons are 0.025 and 0.03 off, mean 0.0275; part n comes to 0.035 + 0.005 (n - 1) less that.

    So it is 0.0075 + 0.005 (n - 1) off: within 0.101 up to part 19.
    """
    assert 20 == lost_at(PUSHED | {"wear": 0.01}, 0.101, coupons=2)


def test_wear_of_the_blank():
    """Each blank brings new holes, once used in A: 0.025 + 0.03 mm off, the same for every part."""
    for allowed, good in ((0.0551, 1.0), (0.0549, 0.0)):
        job = make_job(BEFOREHAND | {"wear": 0.01, "wear_of": "blank"}, pairs=pair(allowed))
        found = batch(job, parts=50, trials=10)
        assert (good, None) == (found.told.all_pass.estimate, found.wear)


def test_wear_part_by_part():
    """The parts that are told are spread over the batch; the goal counts all through it."""
    job = make_job(PUSHED | {"wear": 0.01}, pairs=pair(0.101))
    found = batch(job, parts=40, trials=10)
    numbers = [number for number, _ in found.wear.by_part]
    assert [1, 40, 21] == [numbers[0], numbers[-1], len(numbers)]
    assert all((chance.estimate == 1.0) == (number < 17) for number, chance in found.wear.by_part)
    assert 24 == found.told.rejects.p95
    assert not found.meets_goal
    assert batch(job, parts=16, trials=10).meets_goal


def test_each_hole_wears_at_its_own_rate():
    """A rate that is not known is drawn once for each hole of the bed and lasts: 0 to 0.02 mm a use.

    Pushed left with rates w1 and w2, the middle of the pin line, 47 mm from either, is (w1 + w2) (n - 1) / 4 further
    off: after 11 parts within 0.125 if w1 + w2 <= 0.04, always, and within 0.075 if w1 + w2 <= 0.02, in half the cases.
    """
    method = PUSHED | {"wear": {"limit": 0.01, "bias": 0.01}}
    job = make_job(method, pairs=[hole(90, 55) | {"allowed": 0.075}])
    found = batch(job, parts=11, trials=BLOCK)
    assert found.wear.by_part[0][1].estimate == 1.0
    assert found.wear.by_part[-1][1].estimate == pytest.approx(0.5, abs=4 * 0.5 / np.sqrt(BLOCK))
    assert found.plain.all_pass.estimate == found.wear.by_part[-1][1].estimate


def test_where_a_goal_is_lost():
    """The search finds every first part, and none beyond its end."""
    for first in (1, 2, 3, 64, 65, 777, wear.SEARCHED):
        assert first == first_below(lambda n, first=first: n >= first)
    assert first_below(lambda n: False) is None


def test_goal_that_is_not_lost():
    """Wear that takes ages to matter is told to be none."""
    found = batch(make_job(PUSHED | {"wear": 1e-6}, pairs=pair(0.1)), parts=2, trials=10)
    assert (None, None, None) == (found.wear.lost_at, found.wear.lost_from, found.wear.lost_to)
    assert found.meets_goal


def test_interval_of_a_part_counts_batches():
    """Where batches are all good or all bad each counts as one; where parts are independent, each of them does."""
    together = part_chance(Tally(np.array([700, 0, 0, 0, 300]), np.full(4, 700)))
    assert together.low == pytest.approx(wilson(700, 1000).low, abs=1e-12)
    p, n = 0.7, 1_000_000
    binomial = np.array([0.2401, 0.4116, 0.2646, 0.0756, 0.0081]) * n
    apart = part_chance(Tally(binomial.round().astype(int), np.full(4, int(n * p))))
    assert apart.low == pytest.approx(wilson(4 * n * p, 4 * n).low, abs=1e-9)
    assert part_chance(Tally(np.array([500, 0, 0]), np.full(2, 500))).low == wilson(500, 500).low


def test_interval_of_a_part_covers():
    """Of 1000 runs of 300 batches, 95 in 100 have the true chance in their interval; counting parts they would not."""
    rng, truth, parts, batches = np.random.default_rng(3), 0.8, 10, 300
    inside = []
    for _ in range(1000):
        good = rng.binomial(parts, rng.beta(4.0, 1.0, batches))
        tally = Tally(np.bincount(parts - good, minlength=parts + 1), np.full(parts, good.sum() / parts))
        both = part_chance(tally), wilson(int(good.sum()), parts * batches)
        inside.append([chance.low <= truth <= chance.high for chance in both])
    by_batches, by_parts = np.mean(inside, axis=0)
    assert abs(by_batches - 0.95) < 4 * np.sqrt(0.95 * 0.05 / 1000)
    assert by_parts < 0.85


def test_rejects_of_counts():
    """Mean, 95 % point and the list of chances, from counts of 1000 batches of three."""
    found = fares(Tally(np.array([900, 60, 40, 0]), np.array([950, 950, 960]))).rejects
    assert found.mean == pytest.approx(0.14)
    assert (1, (0.9, 0.06, 0.04)) == (found.p95, found.chance)


def test_same_for_any_number_of_threads():
    """The same seed gives the same answer for any number of threads."""
    job = make_job(PINS | {"wear": {"limit": 0.001, "bias": 0.002}}, errors=SCATTER)
    one, three = (batch(job, parts=3, coupons=2, trials=3 * BLOCK, rng=9, threads=threads) for threads in (1, 3))
    assert one == three
    assert 9 == one.seed


def test_left_to_themselves():
    """Batches are run until the chance is known to a quarter of a per cent, or too many parts have been cut."""
    job = make_job(STAYS, errors=LASTING)
    enough, short = batch(job, parts=2), batch(job, parts=500)
    for found, settled in ((enough, True), (short, False)):
        wide = found.plain.all_pass.high - found.plain.all_pass.low
        assert settled == found.settled == (wide <= 0.005)
    assert BLOCK == short.batches == most_batches(500, 0)
    assert batch(job, parts=2, trials=100).settled is None


def test_what_is_refused():
    """No part, fewer than no coupons, an unknown method."""
    job = make_job(FENCE)
    with pytest.raises(ValueError, match="not 0 and 0"):
        batch(job, parts=0)
    with pytest.raises(ValueError, match="not 1 and -1"):
        batch(job, parts=1, coupons=-1)
    with pytest.raises(JobError, match="unknown-method"):
        batch(job, "fense", parts=1)
