"""Wear in a job file: a length or a spread, and never a hole that shrinks."""

from __future__ import annotations

import re

import pytest

from flipcheck.job.reader import parse_job
from flipcheck.stack.spreads import Exactly, Normal, Spread, Uniform
from tests.job.sample import changed, only_problem

PINS = "pins = [[100, 10], [100, 90]]"
NEEDED = r"wear: needed a growth that is nowhere below 0: a length, or a spread with a bias"


def with_wear(text: str) -> str:
    """The sample with a wear."""
    return changed((PINS, f"{PINS}\n{text}"))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("wear = 0.01", Exactly(0.01)),
        ("wear = 0", Exactly(0.0)),
        ('wear = "10 um"', Exactly(0.01)),
        ("wear = { limit = 0.004, bias = 0.01 }", Uniform(0.004, 0.01)),
        ('wear = { std = 0.001, bias = "3 um" }', Normal(0.001, 0.003)),
    ],
)
def test_wear_is_read(text: str, expected: Spread):
    """A length is exact, a table a spread."""
    wear = next(m for m in parse_job(with_wear(text)).methods if m.kind == "pins").wear
    assert type(expected) is type(wear)
    assert (expected.mean, expected.bound) == pytest.approx((wear.mean, wear.bound))


@pytest.mark.parametrize(
    ("text", "code", "message"),
    [
        ("wear = -0.01", "negative", rf"{NEEDED}.*came -0\.01"),
        ("wear = { limit = 0.01 }", "negative", NEEDED),
        ('wear = "+-0.01 mm"', "negative", NEEDED),
        ("wear = { std = 0.01, bias = 0.02 }", "negative", NEEDED),
        ("wear = { bias = 0.01 }", "spread-form", "needed exactly one of std, limit and total"),
        ('wear = "much"', "unreadable-quantity", 'came "much"'),
        ("wear = true", "wrong-kind", "wear: needed a spread"),
        ('wear_of = "pins"', "not-a-choice", 'wear_of: needed "bed" or "blank"'),
        (
            'wear = 0.01\nwear_of = "blank"',
            "option-unused",
            r'wear_of: needed holes = "beforehand" beside wear_of = "blank"; came holes = "with face A"',
        ),
    ],
)
def test_wear_is_refused(text: str, code: str, message: str):
    """A hole does not shrink, and holes cut with face A hang on the pins once."""
    problem = only_problem(with_wear(text))
    assert code == problem.code
    assert re.search(message, str(problem))
