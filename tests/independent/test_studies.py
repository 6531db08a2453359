"""What the studies answer, asked of the naive simulation: a few points of each.

A stored answer must agree with the naive one within 4.5 standard errors of both, and with the allowance for second
order of `test_agreement`. A study names its points (`points` in its run.py); which error acts how, this simulation
works out for itself.
"""

import math
from functools import cache

import pytest

from flipcheck import Arcsine, Normal, Trapezoid, Triangular, Uniform
from tests.studies.study import STUDIES, module, name, stored

from .rigid import simulate
from .test_agreement import ABSOLUTE, RELATIVE, SIGMAS

NAIVE_TRIALS = 40_000


def plain(record):
    """A job record as the tables of a job file in mm and rad, which is what the naive simulation reads."""
    if isinstance(record, Uniform):
        return {"limit": record.half, "bias": record.mean}
    if isinstance(record, Normal):
        return {"std": record.std, "bias": record.mean}
    assert not isinstance(record, Arcsine | Triangular | Trapezoid), "no study has one yet"
    if isinstance(record, list | tuple):
        return [plain(item) for item in record]
    if hasattr(record, "spread"):
        return {"diameter": record.diameter, **plain(record.spread)}
    if hasattr(record, "model_fields_set"):
        return {key: plain(value) for key, value in record if value is not None}
    return record


@cache
def naive(study, number):
    """One point of a study by the naive simulation: its value and standard error."""
    point = points(study)[number]
    found = simulate(plain(point.job), point.method, NAIVE_TRIALS, 17 + number)
    if point.what == "goes on":
        share = found["goes_on"]["count"] / NAIVE_TRIALS
        return share, math.sqrt(max(share * (1.0 - share), 1.0 / NAIVE_TRIALS) / NAIVE_TRIALS)
    worst = max((pair["distance"] for pair in found["pairs"]), key=lambda distance: distance[point.what])
    return worst[point.what], worst[f"se_{point.what}"]


def points(study):
    return module(study).points(stored(study)["answer"])


def agrees(value, study, number):
    """Whether a value agrees with the naive one, if it comes from as many trials as the stored one."""
    mine, error = naive(study, number)
    both = error * math.sqrt(1.0 + NAIVE_TRIALS / stored(study)["trials"])
    return abs(value - mine) <= SIGMAS * both + ABSOLUTE + RELATIVE * mine


@pytest.mark.parametrize("study", STUDIES, ids=name)
def test_answers_agree_with_the_naive_simulation(study):
    """Two programs that share no code give the same answers."""
    for number, point in enumerate(points(study)):
        assert agrees(point.value, study, number), (point.method, point.value, naive(study, number))
    assert number > 0


@pytest.mark.parametrize("study", STUDIES, ids=name)
def test_a_wrong_answer_is_noticed(study):
    """An answer that is a tenth too large, or too small, would be reported."""
    for number, point in enumerate(points(study)):
        assert not agrees(1.1 * point.value, study, number)
        assert not agrees(0.9 * point.value, study, number)
