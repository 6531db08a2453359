"""Trials left to themselves: run until the numbers stand still in the digits that are printed."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

import flipcheck
from flipcheck.decide.settle import MOST
from flipcheck.stack.monte_carlo.simulate import ASK_EVERY
from flipcheck.stack.monte_carlo.streams import BLOCK
from tests.make import FENCE, PINS, hole, make_job

EASY = make_job(PINS, FENCE, errors={"positioning": {"std": 0.01}}, pairs=[{**hole(60, 40), "allowed": 0.15}])


def test_easy_job_needs_few_trials():
    """A chance near 1 and a narrow spread stand still after a few blocks, and the result says so."""
    even, plain = (flipcheck.check(EASY, plain=plain) for plain in (False, True))

    assert even.settled
    assert plain.settled
    assert BLOCK * ASK_EVERY <= plain.trials < MOST
    assert 0 == plain.trials % (BLOCK * ASK_EVERY)
    assert even.trials < plain.trials
    assert even.trials in {BLOCK * 2**i for i in range(7)}


def test_settled_means_settled():
    """Half the width of the chance's interval is within a tenth of a per cent, and another seed prints the same p95."""
    job = make_job(PINS, errors={"machine_squareness": {"std": 0.0004}}, pairs=[{**hole(160, 40), "allowed": 0.11}])
    one, other = flipcheck.check(job), flipcheck.check(job, rng=2)

    for result in (one, other):
        chance = result.methods[0].chance
        assert result.settled
        assert chance.high - chance.low <= 0.002
    distances = [result.methods[0].pairs[0].distance for result in (one, other)]
    # each is within 2 standard errors of 0.0005 mm at the most: 4 of the difference
    assert abs(distances[0].quantiles["p95"] - distances[1].quantiles["p95"]) <= 2.0 * math.sqrt(2.0) * 0.0005


def test_same_as_asking_for_that_many():
    """A run that ends by itself gives what that number of trials gives, to the last bit, on any number of threads."""
    found = flipcheck.check(EASY, threads=3)

    assert replace(found, settled=None) == flipcheck.check(EASY, trials=found.trials, threads=1)
    assert found == flipcheck.check(EASY, threads=1)


def test_ceiling_is_said():
    """A wide spread does not stand still within the most trials run unasked, and the result says so."""
    job = make_job(PINS, errors={"rehoming": {"std": 0.3}}, pairs=[{**hole(60, 40), "allowed": 0.3}], goal=0.4)
    result = flipcheck.check(job, plain=True)

    assert (False, MOST) == (result.settled, result.trials)


def test_given_trials_are_run():
    """A number that was asked for is run, whatever the numbers do."""
    result = flipcheck.check(EASY, trials=1234)

    assert (None, 1234) == (result.settled, result.trials)


@pytest.mark.parametrize("trials", [0, -5])
def test_no_trials(trials: int):
    """At least one trial is needed."""
    with pytest.raises(ValueError, match=f"at least one trial is needed, not {trials}"):
        flipcheck.check(EASY, trials=trials)


def test_blanks_that_never_go_on():
    """With pins larger than their holes there is no distance to wait for."""
    result = flipcheck.check(make_job({**PINS, "hole": {"diameter": 5.9}}))

    assert result.settled
    assert 0.0 == result.methods[0].goes_on
