"""A batch as text, as data and as a picture: the same numbers, readable in each."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest

from flipcheck.decide.batch.batch import Batch, Fares, Rejects
from flipcheck.decide.batch.wear import Wear
from flipcheck.show.batch.plain import batch_to_json, batch_to_plain
from flipcheck.show.batch.text import batch_text, batch_to_text, groups
from flipcheck.show.figures.batch import batch_figure
from flipcheck.show.look import laid_out
from flipcheck.show.plain import to_plain
from flipcheck.show.text import to_text
from flipcheck.stack.intervals import Chance
from tests.show.pictures import drawn, outside, overlapping, said, too_small
from tests.show.results import result

SEEN = (0.6, 0.2, 0.1, 0.04, 0.02, 0.01, 0.01, 0.01, 0.005, 0.003, 0.001, 0.001)
APART = (0.4, 0.37, 0.17, 0.05, 0.01)


def some(all_pass: float = 0.6, naive: float = 0.4) -> Fares:
    """Parts of which some miss."""
    chance = Chance(all_pass, all_pass - 0.005, all_pass + 0.005)
    return Fares(chance, Chance(0.955, 0.954, 0.956), Rejects(0.9, 4, SEEN), naive, Rejects(0.9, 3, APART))


WEAR = Wear(((1, Chance(0.99, 0.989, 0.991)), (20, Chance(0.95, 0.949, 0.951))), 17, 15, None)
PLAIN = Batch("dowels", 0.95, 20, 0, 65_536, 1, some(), None, None, None)
BETTER = replace(PLAIN, coupons=3, corrected=some(0.7), coupons_kept=Chance(0.65, 0.645, 0.655))
WORN = replace(PLAIN, wear=WEAR)
BIG = replace(PLAIN, parts=500, settled=False)
MADE = {"plain": PLAIN, "better": BETTER, "worn": WORN, "big": BIG}


def told(batch: Batch) -> str:
    """The text of a batch on one line."""
    return " ".join(laid_out(batch_text(batch)).split())


def test_text_says_what_becomes_of_a_batch():
    """The chance first, its interval, what independence would give, the rejects."""
    text = told(PLAIN)
    assert text.startswith(
        "All 20 parts line up in 60.0 % of the batches. 95 % interval of the simulation: 59.5 to 60.5 %"
    )
    assert "Independent parts would come to 40.0 %: one part's chance, 95.50 %, to the power of 20." in text
    assert "Rejects in a batch: 0.90 on average; in 95 of 100 batches at most 4 (of independent parts: 3)." in text
    assert text.endswith("65,536 batches of 20, seed 1.")
    assert "Goal" not in text
    assert "But they share the machine, so misses come together." in text


def test_text_of_parts_that_might_be_independent():
    """Where independence would give nearly the same, that is said; and where no part missed."""
    assert "These batches cannot be told from that." in told(replace(PLAIN, plain=some(naive=0.603)))
    sure = Chance(1.0, 0.9999, 1.0)
    right = Fares(sure, sure, Rejects(0.0, 0, (1.0,)), 1.0, Rejects(0.0, 0, (1.0,)))
    text = told(replace(PLAIN, plain=right))
    assert "Not a part missed in these batches." in text
    assert "Independent" not in text


def test_text_of_a_single_part():
    """Of one part nothing is said about others."""
    text = told(replace(PLAIN, parts=1))
    assert text.startswith("The one part lines up in")
    assert "Independent" not in text


@pytest.mark.parametrize(
    ("after", "coupons", "verdict"),
    [
        (0.7, 3, "Without the correction: 60.0 %. It pays."),
        (0.603, 3, "It makes no difference that these batches can tell."),
        (0.5, 3, "It does harm: what 3 coupons scatter outweighs the constant part taken out."),
        (0.5, 1, "It does harm: what 1 coupon scatters outweighs"),
    ],
)
def test_text_of_a_correction(after: float, coupons: int, verdict: str):
    """Whether a correction pays is said, and what part of the goal is left."""
    text = told(replace(BETTER, corrected=some(after), coupons=coupons))
    assert text.startswith(
        f"After a correction from {coupons} coupon{'s' if coupons > 1 else ''} all 20 parts line up in"
    )
    assert verdict in text
    assert "Goal met: 95.50 % of the parts line up, 95 % are wanted." in text
    assert "With the coupons as the first of the 20, uncorrected: 65.0 %." in text
    assert "without the if parts were" in text


@pytest.mark.parametrize(
    ("lost", "said_so"),
    [
        ((17, 15, 18), "falls below the goal of 95 % at part 17 (95 % interval 15 to 18)."),
        ((9_000, 8_000, None), "falls below the goal of 95 % at part 9000 (95 % interval 8000 to beyond 10,000)."),
        ((1, 1, 1), "is below the goal of 95 % from the first part on."),
        ((None, 9_999, None), "stays above the goal of 95 % up to part 10,000."),
    ],
)
def test_text_of_wear(lost: tuple[int | None, ...], said_so: str):
    """The part at which the goal is lost is said, and whether the batch is over by then."""
    batch = replace(WORN, wear=Wear(WEAR.by_part, *lost))
    met = lost[0] is None or lost[0] > 20
    assert met == batch.meets_goal
    assert f"Wear: the chance of a part {said_so}" in told(batch)
    line = "part 20, the last, lines up in 95.00 %, 95 % are wanted."
    assert f"{'Goal met' if met else 'Goal not met'}: {line}" in told(batch)


def test_text_goes_on_with_one_part():
    """Below the batch stands what check says, in plain ASCII, 80 columns wide."""
    text = batch_to_text(BETTER, result())
    assert text.endswith(to_text(result()))
    for line in text.splitlines():
        assert re.fullmatch(r"[ -~]{0,80}", line)


def test_batches_that_have_not_settled():
    """A run that met its ceiling says so."""
    assert "The most that are run unasked: the last digits may still move (--trials)." in told(BIG)


def test_rejects_stand_in_groups():
    """Up to five each number has its row; then each group ends at twice the number before it; none is left out."""
    rejects = Rejects(3.0, 9, (0.01,) * 61)
    rows = groups(100, [rejects, PLAIN.plain.rejects])
    assert [(0, 0), (5, 5), (6, 10), (11, 20), (21, 40), (41, 60)] == [rows[0], *rows[5:]]
    assert [(0, 0), (1, 1)] == groups(1, [Rejects(0.1, 1, (0.9, 0.1))])
    assert [(0, 0)] == groups(5, [Rejects(0.0, 0, (1.0,))])


def test_json_has_a_block_of_its_own():
    """The result of check stays as it is; the batch comes below it."""
    data = json.loads(batch_to_json(BETTER, result()))
    block = data.pop("batch")
    assert json.loads(json.dumps(to_plain(result()))) == data
    assert [20, 3, 65_536] == [block["parts"], block["coupons"], block["batches"]]
    assert {"estimate": 0.6, "low": 0.595, "high": 0.605} == block["all_pass"]
    assert {"mean": 0.9, "p95": 4, "chance": list(SEEN)} == block["rejects"]
    assert {"all_pass": 0.4, "rejects": {"mean": 0.9, "p95": 3, "chance": list(APART)}} == block["independent"]
    assert 0.7 == block["corrected"]["all_pass"]["estimate"]
    assert 0.65 == block["corrected"]["all_pass_coupons_first"]["estimate"]
    assert block["wear"] is None


def test_json_of_wear():
    """Where the goal is lost, None where it is not, and the chance of some parts."""
    block = batch_to_plain(WORN)
    assert {"estimate": 17, "low": 15, "high": None} == block["wear"]["lost_at"]
    assert {"part": 20, "chance": {"estimate": 0.95, "low": 0.949, "high": 0.951}} == block["wear"]["by_part"][1]
    assert block["corrected"] is None
    assert not block["meets_goal"]


@pytest.mark.parametrize("name", MADE)
def test_figure(name: str):
    """Two bars for every row of the table, and all words readable."""
    batch = MADE[name]
    ax = drawn(lambda ax: batch_figure(batch, ax), (6.4, 3.6))
    rows = groups(batch.parts, [batch.told.rejects])
    for bars, rejects in zip(ax.containers, (batch.told.rejects, batch.told.naive_rejects), strict=True):
        heights = [100.0 * sum(rejects.chance[a : b + 1]) for a, b in rows]
        assert heights == pytest.approx([bar.get_height() for bar in bars])
    assert "if parts were independent" in said(ax)
    assert f"parts of {batch.parts} that miss" in said(ax)
    assert [] == outside(ax)
    assert [] == overlapping(ax)
    assert [] == too_small(ax)
