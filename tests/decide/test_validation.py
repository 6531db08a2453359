"""The published checks that every user can run."""

from __future__ import annotations

import math
from collections import Counter

import pytest

from flipcheck.decide.validation.validation import CHECKS, Check, Published, outcome, run_checks


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: f"{check.source}: {check.name}"[:80])
def test_check(check: Check):
    """Every check agrees with its published number within its tolerance."""
    found = outcome(check)

    assert found.within, f"published {found.published}, ours {found.ours}, tolerance {found.tolerance}"


def test_all_at_once():
    """A run gives one outcome a check, in their order, with the difference of ours less published."""
    found = run_checks()

    assert [check.name for check in CHECKS] == [one.name for one in found]
    assert all(one.within for one in found)
    assert all(one.difference == one.ours - one.published for one in found)


def test_every_check_is_told_apart_and_says_where_it_is_from():
    """No two checks have one name and source, and none is without."""
    assert [1] == sorted(set(Counter((check.source, check.name) for check in CHECKS).values()))
    assert all(check.name and check.source for check in CHECKS)


def test_tolerances_are_tight():
    """A tolerance is a small part of the number: at most a sixth, which half a unit of a single digit 3 is."""
    assert all(check.published.tolerance <= 0.17 * abs(check.published.value) for check in CHECKS)


@pytest.mark.parametrize(
    ("ours", "within"), [(1.0, True), (1.05, True), (0.95, True), (1.0501, False), (0.9499, False), (math.nan, False)]
)
def test_a_wrong_engine_is_found_out(ours: float, within: bool):
    """Up to the tolerance a check passes; beyond it, and with no number at all, it does not."""
    found = outcome(Check("one", "computed here", Published(1.0, 0.05), lambda: ours))

    assert within is found.within
