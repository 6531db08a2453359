"""Each goal can be measured; the page tells of all of them. No time is asserted: see `python -m tests.bench`."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from flipcheck.stack.monte_carlo.streams import BLOCK
from tests.bench import engine, whole
from tests.bench.goal import FULL, SMOKE, Figure, Goal
from tests.bench.goals import GOALS
from tests.bench.page import PAGE, Row, page, renewed


@pytest.mark.parametrize("goal", GOALS, ids=lambda goal: goal.number)
def test_goal(goal: Goal, benchmark):
    """A goal has a value for each of its figures; measured in full with --benchmark-enable."""
    if goal.needs:
        pytest.importorskip(goal.needs)
    values, remark = benchmark.pedantic(goal.measure, (FULL if benchmark.enabled else SMOKE,), rounds=1)
    benchmark.extra_info.update(values=[float(value) for value in values], remark=remark)

    assert len(goal.figures) == len(values)
    assert all(math.isfinite(value) for value in values)


def test_same_results():
    """P15 is no matter of time: nothing differs."""
    (differ, off), _ = whole.same(SMOKE)

    assert 0.0 == differ
    assert 0.0 <= off <= 1e-9


def test_quantiles():
    """P16 neither: the histograms take a tenth of a standard error at most."""
    (off,), _ = engine.quantiles(SMOKE)

    assert 0.0 < off < 0.1


def test_counts_of_numbers():
    """R1 takes 52 normal numbers a trial and 18 others: 6 uniform, 2 phases, and 5 for each of two poses."""
    assert (52, 18) == engine.numbers_of(engine.r1())


def test_shares_accepted():
    """The share accepted of places on loose pins is at least that for equal clearances, 8 / (3 pi)."""
    (least, _), _ = engine.poses(SMOKE)

    assert 8.0 / (3.0 * math.pi) == pytest.approx(least, abs=4.0 * math.sqrt(0.25 / BLOCK))


def test_bare_numbers():
    """The example without units says the same as with them."""
    from flipcheck import built_in, parse_job

    job = parse_job(whole.bare(whole.EXAMPLE.read_text(encoding="utf-8")))

    assert np.isclose(0.0002, job.errors.machine_squareness.std)
    assert built_in() == job


def test_page():
    """The page has one row for each goal, with its limits as they stand today, and what was measured."""
    rows = re.findall(r"^\| ([PT]\d+) \| (.*) \|$", PAGE.read_text(encoding="utf-8"), flags=re.M)

    assert [goal.number for goal in GOALS] == [number for number, _ in rows]
    for goal, (_, cells) in zip(GOALS, rows, strict=True):
        told = cells.split(" | ")
        expected = Row(goal, tuple(f.must or 0.0 for f in goal.figures), "").line.split(" | ")[1:5]
        assert expected == told[:4]
        assert len(goal.figures) == told[4].count("**") // 2 or "-" == told[4]


def test_what_is_met():
    """Whether a figure is met is told by its value, by both kinds of limits."""
    figures = (Figure("a", 2.0, 1.0), Figure("b", 2.0, 3.0, most=False, why="because"), Figure("c", None, None))
    goal = Goal("P0", "what", "against", figures, lambda effort: ((), ""))

    assert Row(goal, (1.5, 2.5, 7.0), "").line.endswith("| a **1.5**; b **2.5**; c **7** | yes; yes; - |")
    assert Row(goal, (1.0, 3.0, 7.0), "").line.endswith("| stretch; stretch; - |")
    assert Row(goal, (2.1, 1.9, 7.0), "").line.endswith("| no; no; - |")
    assert "Said. Because" == Row(goal, (2.1, 1.9, 7.0), "said").note
    assert Row(goal, (), "none").line.endswith("| - | - |")


def test_some_rows_measured_again():
    """A row and its note are replaced, the others stay."""
    first, second = (
        Goal(number, "what", "", (Figure("", 2.0, 1.0),), lambda effort: ((), "")) for number in ("P1", "P10")
    )
    before = page([Row(first, (1.5,), "one"), Row(second, (1.6,), "two")])
    after = renewed(before, [Row(first, (0.5,), "again")])

    assert before.replace("**1.5** | yes |", "**0.5** | stretch |").replace("- P1: One.", "- P1: Again.") == after
    assert before != after
