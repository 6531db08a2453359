"""Batches by flipcheck against batches by the naive simulation: two programs, no shared code, the same numbers.

Each number of rejects must come as often in both, within 4.5 combined standard errors. What flipcheck leaves out, the
second order of the errors, is far less than that.
"""

import math

import pytest

from flipcheck.decide.batch.batch import batch
from flipcheck.job.reader import parse_job

from .batches import simulate
from .jobs import BY_FENCE, ERRORS, FENCE, OWN_HOLES, PINS, PROBE, fixed, to_toml

NAIVE, BATCHES, PARTS, COUPONS, SIGMAS = 8_000, 65_536, 6, 2, 4.5

#: What lasts is large beside what does not, so that batches are all good or all bad, and a correction pays.
LASTING = {
    **ERRORS,
    "machine_squareness": {"std": 0.0006},
    "fence_angle": {"std": 0.0005},
    "fence_position": {"std": 0.08},
    "stop_position": {"std": 0.08},
    "seating": {"limit": 0.01},
}
BOTH_WAYS = {"corner": "back-right", "after_flip": "same side"}


def job_of(method, allowed, flip="left-right"):
    """A job by one method, without the web, whose height no coupon corrects."""
    job = fixed(flip, allowed, method, errors=LASTING)
    return {**job, "pairs": job["pairs"][:-1]}


JOBS = {
    "pins": job_of(PINS, 0.16),
    "pins in worn holes": job_of({**PINS, "wear": {"limit": 0.02, "bias": 0.025}}, 0.2),
    "pins in worn holes, blanks with holes": job_of({**OWN_HOLES, "wear": 0.012, "push": "left"}, 0.22),
    "blanks with holes that wear": job_of({**OWN_HOLES, "wear": 0.06, "wear_of": "blank", "push": "right"}, 0.22),
    "same stroke, push": job_of({**PINS, "bed_holes": "same stroke", "push": "left"}, 0.16),
    "fence": job_of(FENCE, 0.2),
    "fence set by hand, a rail": job_of({**FENCE, "set_by": "hand", "rail": True}, 0.3),
    "fence set by hand, front-back": job_of({**FENCE, "set_by": "hand", "after_flip": "same side"}, 0.4, "front-back"),
    "probe": job_of({**PROBE, **BOTH_WAYS}, 0.35),
    "probe, phase kept": job_of({**BY_FENCE, **BOTH_WAYS, "same_phase": True}, 0.35, "front-back"),
}


def differences(found, share):
    """The numbers of rejects whose chance differs; `found` from the naive counts, `share` from flipcheck."""
    out = []
    for rejects, count in enumerate(found):
        theirs = share[rejects] if rejects < len(share) else 0.0
        pooled = (count + theirs * BATCHES + 1) / (NAIVE + BATCHES + 2)
        error = math.sqrt(pooled * (1 - pooled) * (1 / NAIVE + 1 / BATCHES))
        if abs(count / NAIVE - theirs) > SIGMAS * error:
            out.append(f"{rejects} rejects: naive {count / NAIVE:.4f}, flipcheck {theirs:.4f}")
    return out


@pytest.mark.parametrize("name", JOBS)
def test_batches(name):
    """Rejects of batches, as they come and after a correction from coupons, are as the naive simulation has them."""
    job = JOBS[name]
    naive = simulate(job, "way 1", NAIVE, PARTS, 11, COUPONS)
    answer = batch(parse_job(to_toml(job)), parts=PARTS, coupons=COUPONS, trials=BATCHES, rng=3)

    assert [] == differences(naive["plain"], answer.plain.rejects.chance)
    assert [] == differences(naive["corrected"], answer.corrected.rejects.chance)
    assert [] == differences([naive["kept"]], [answer.coupons_kept.estimate])
    if answer.wear:
        for (_, chance), good in zip(answer.wear.by_part, naive["by_part"], strict=True):
            assert [] == differences([good], [chance.estimate])


def test_a_wrong_answer_is_noticed():
    """Without its correction a batch is told from one with it: the comparison itself can fail."""
    naive = simulate(JOBS["fence set by hand, a rail"], "way 1", NAIVE, PARTS, 11, COUPONS)

    assert differences(naive["corrected"], naive["plain"] / NAIVE)
