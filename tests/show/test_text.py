"""A result as text: the words of the verdict, the rounding, and that nothing is cut off."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from flipcheck.decide.results import Distribution, PairResult, Recommendation, Result
from flipcheck.errors import JobError, Problem
from flipcheck.show import words
from flipcheck.show.cautions import CAUTION
from flipcheck.show.lengths import length
from flipcheck.show.text import compare_text, to_text
from flipcheck.show.to_mend import to_mend
from flipcheck.stack.intervals import Chance, wilson
from tests.show.results import NOTHING, comparison, hole, method, probe, result, slot, web

GOLDEN = Path(__file__).parents[1] / "golden"
LONG = "one" * 26


def flat(text: str) -> str:
    """A text on one line."""
    return " ".join(text.split())


@pytest.mark.parametrize(
    ("name", "made"),
    [
        ("check.txt", result()),
        ("check-inches.txt", result(method(pairs=(slot(), web(chance=Chance(0.9177, 0.9172, 0.9182)))), units="in")),
        ("compare.txt", comparison()),
    ],
)
def test_golden(name: str, made: Result):
    """The whole text stays as it was read and found good."""
    assert (GOLDEN / name).read_text(encoding="utf-8") == to_text(made)


@pytest.mark.parametrize("made", [result(), comparison(), result(units="in")])
def test_plain_text_is_bare(made: Result):
    """Off a terminal a text is plain ASCII in lines of at most 80 columns, without colour or blanks at their ends."""
    lines = to_text(made).splitlines()
    assert 80 >= max(len(line) for line in lines)
    for line in lines:
        assert re.fullmatch(r"[ -~]*", line)
        assert line.rstrip() == line


def test_colour_adds_nothing_to_the_words(monkeypatch: pytest.MonkeyPatch):
    """With colour the text says the same, so that nobody needs to see it."""
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    coloured = to_text(comparison(), colour=True)
    assert "\x1b[1;32mTake" in coloured
    assert to_text(comparison()) == re.sub(r"\x1b\[[0-9;]*m", "", coloured)


def test_no_colour_where_it_is_not_wanted(monkeypatch: pytest.MonkeyPatch):
    """NO_COLOR keeps the colour away on a terminal too."""
    monkeypatch.setenv("NO_COLOR", "1")
    assert "\x1b[3" not in to_text(comparison(), colour=True)
    assert "32m" not in to_text(comparison(), colour=True)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_long_names_wrap(units: str):
    """A name too long for its column goes on in the next line, whole, and no number is cut off."""
    pairs = (hole(name=f"a{LONG}"), web(name=f"b{LONG}"))
    text = to_text(result(method(name=f"c{LONG}", pairs=pairs), units=units))
    compared = to_text(comparison(method(name=f"c{LONG}", pairs=pairs), probe(), units=units))
    assert 80 >= max(len(line) for line in (text + compared).splitlines())
    assert "…" not in text + compared
    for number in ("0.635", "0.381", "2.156", "0.152", "0.114") if units == "mm" else ("0.0250", "0.0849", "0.0045"):
        assert number in text
    for letter, where in (("a", text), ("b", text), ("c", compared)):
        rows = where[where.index("-----") :]
        first = rows.index(f"{letter}one")
        column = first - rows.rindex("\n", 0, first) - 1
        cells = [
            line[column:].split()[0] if line[column:].split() else "" for line in rows[first - column :].splitlines()
        ]
        assert f"{letter}{LONG}" == "".join(cells)[: len(LONG) + 1]


def test_wide_numbers_widen_the_table():
    """Numbers that do not fit into 80 columns are shown whole; the table gets wider instead."""
    far = 123_456_789.123
    spread = Distribution(far, far, {"p50": far, "p95": far, "p99": far})
    text = to_text(result(method(pairs=(hole(distance=spread, worst_case=far, rss=far),))))
    row = next(line for line in text.splitlines() if line.startswith("far corner"))
    assert 5 == row.count("123456789.123")


@pytest.mark.parametrize("name", ["[bold]seat[/bold]", "[/]", ":smile:", "100% {x}"])
def test_names_are_taken_literally(name: str):
    """Signs that might be read as markup stand in the text as they were given."""
    text = to_text(comparison(probe(name=name, pairs=(hole(name=name),))))
    assert 4 <= text.count(name)


@pytest.mark.parametrize(
    ("chance", "sentence"),
    [
        (Chance(0.931, 0.9305, 0.9315), "7 in 100 parts will miss"),
        (Chance(0.9924, 0.9922, 0.9926), "8 in 1000 parts will miss"),
        (Chance(0.9998, 0.9997, 0.99985), "2 in 10,000 parts will miss"),
        (Chance(0.948, 0.9475, 0.9485), "52 in 1000 parts will miss"),
        (wilson(948, 1000), "about 5 in 100 parts will miss"),
        (wilson(1_000_000, 1_000_000), "fewer than 1 in 10,000 parts will miss"),
        (wilson(999_990, 1_000_000), "fewer than 1 in 10,000 parts will miss"),
        (wilson(1000, 1000), "at most 4 in 1000 parts will miss"),
        (wilson(10, 10), "at most 28 in 100 parts will miss"),
        (Chance(0.99999, 0.99985, 1.0), "at most 2 in 10,000 parts will miss"),
        (Chance(0.00001, 0.0, 0.00015), "at most 2 in 10,000 parts will line up"),
        (Chance(0.3, 0.299, 0.301), "70 in 100 parts will miss"),
        (Chance(0.02, 0.0199, 0.0201), "only 2 in 100 parts will line up"),
        (wilson(10, 1_000_000), "fewer than 1 in 10,000 parts will line up"),
        (wilson(0, 1000), "at most 4 in 1000 parts will line up"),
    ],
)
def test_how_many(chance: Chance, sentence: str):
    """A chance becomes so many parts in so many, with no more digits than the trials support, also next to 0 and 1."""
    assert sentence == words.how_many(chance, goal=0.95)


def test_the_verdict_stands_first():
    """The first line says how many parts miss and which pair decides."""
    assert '8 in 100 parts will miss; "far corner" decides.' == to_text(result()).splitlines()[0]


def test_the_verdict_blames_the_pins():
    """Where most parts are lost because the blank does not go on, the verdict names that and no pair."""
    stuck = method(goes_on=0.93, chance=Chance(0.92, 0.9195, 0.9205))
    verdict = "8 in 100 parts will miss, most of them because the blank does not go onto its pins. Goal not met"
    assert flat(to_text(result(stuck))).startswith(verdict)
    assert "What hurts most" not in to_text(result(stuck))
    assert "going onto the pins" in to_text(comparison(stuck))


def test_the_verdict_where_nothing_misses():
    """Where no part missed, no pair is blamed."""
    sure = method(goes_on=1.0, chance=wilson(1_000_000, 1_000_000), pairs=(hole(chance=wilson(1_000_000, 1_000_000)),))
    text = to_text(result(sure))
    assert "Fewer than 1 in 10,000 parts will miss." == text.splitlines()[0]
    assert "Goal met: >99.99 % of the parts line up, 95 % are wanted." == text.splitlines()[1]
    assert "Share of blanks that go onto the pins: all." in text


def stuck_pair() -> PairResult:
    nan = math.nan
    nowhere = Distribution(nan, nan, {"p50": nan, "p95": nan, "p99": nan})
    return hole(chance=Chance(nan, 0.0, 1.0), x=NOTHING, y=NOTHING, distance=nowhere)


def test_no_blank_goes_on():
    """Where no blank goes on there are no numbers, and none are made up."""
    text = to_text(result(method(goes_on=0.0, chance=wilson(0, 1_000_000), pairs=(stuck_pair(),))))
    assert "No part will line up: not one blank goes onto the pins." == text.splitlines()[0]
    row = next(line for line in text.splitlines() if line.startswith("far corner"))
    assert ["0.254", "-", "-", "-", "-", "0.635", "0.381"] == row.split()[2:]
    assert "nan" not in text


@pytest.mark.parametrize(
    ("chance", "line"),
    [
        (Chance(0.97, 0.9695, 0.9705), "Goal met: 97.00 % of the parts line up, 95 % are wanted."),
        (Chance(0.93, 0.9295, 0.9305), "Goal not met: 93.00 % of the parts line up, 95 % are wanted."),
        (
            Chance(0.9502, 0.9498, 0.9506),
            "Goal met: 95.02 % of the parts line up, 95 % are wanted. Too near to be sure: run more trials (--trials).",
        ),
        (
            Chance(0.9498, 0.9494, 0.9502),
            "Goal not met: 94.98 % of the parts line up, 95 % are wanted."
            " Too near to be sure: run more trials (--trials).",
        ),
    ],
)
def test_the_goal(chance: Chance, line: str):
    """The second sentence holds the chance against the goal, and says so where the trials leave it open."""
    assert line == words.against_goal(method(chance=chance), 0.95).splitlines()[0]


@pytest.mark.parametrize(
    ("mm", "units", "text"),
    [
        (0.12345, "mm", "0.123"),
        (-0.12345, "mm", "-0.123"),
        (-0.0001, "mm", "0.000"),
        (25.4, "in", "1.0000"),
        (0.0254, "in", "0.0010"),
        (math.nan, "mm", "-"),
        (None, "in", "-"),
    ],
)
def test_lengths(mm: float | None, units: str, text: str):
    """Lengths are rounded to the micrometre or to a ten-thousandth of an inch, and zero has no sign."""
    assert text == length(mm, units)


@pytest.mark.parametrize(
    ("chance", "estimate", "interval"),
    [
        (Chance(0.93123, 0.9306, 0.9318), "93.12 %", "93.06 to 93.18"),
        (wilson(931, 1000), "93 %", "91 to 95"),
        (wilson(1, 2), "50 %", "9 to 91"),
        (Chance(0.99961, 0.99957, 0.99964), "99.961 %", "99.957 to 99.964"),
        (wilson(1_000_000, 1_000_000), ">99.99 %", ""),
        (wilson(0, 1_000_000), "<0.01 %", ""),
        (wilson(1000, 1000), ">99.6 %", ""),
        (wilson(20_000, 20_000), ">99.98 %", ""),
        (wilson(0, 1000), "<0.4 %", ""),
        (wilson(1, 1), ">20 %", ""),
        (Chance(0.999, 0.99, 0.9999), "99.9 %", "99.0 to >99.9"),
        (Chance(math.nan, 0.0, 1.0), "-", ""),
    ],
)
def test_chances(chance: Chance, estimate: str, interval: str):
    """Chances have the digits their interval supports, and what never missed or never passed is given as a bound."""
    assert (estimate, interval) == (words.chance_text(chance), words.interval_text(chance))


@pytest.mark.parametrize(
    ("share", "text"), [(0.0, "0 %"), (0.001, "<1 %"), (0.43, "43 %"), (1.0, "100 %"), (math.nan, "-")]
)
def test_shares(share: float, text: str):
    """Shares of the scatter are whole per cent."""
    assert text == words.share_text(share)


def test_rows_hold_every_number():
    """The row of a pair says its limit, chance, three quantiles, worst case and RSS, in that order."""
    row = next(line for line in to_text(result()).splitlines() if line.startswith("far corner"))
    assert "far corner 0.254 93.10 % 0.127 0.267 0.330 0.635 0.381" == flat(row)


def test_nothing_acts_on_a_pair():
    """A pair without any source says so in place of an empty table."""
    assert "No error acts on it.\n" in to_text(result(method(pairs=(hole(stack=()),))))


def test_a_web_decides():
    """Of a web the scatter is that of its thickness."""
    text = to_text(result(method(pairs=(web(),))))
    assert "Thickness, mm: mean 2.032; sd 0.053 (sd: standard deviation).\n" in text
    assert "stock_thickness counts once blank 0.051 90 % 0.102 z_touch" in flat(text)
    assert "Misalignment" not in text


@pytest.mark.parametrize(
    ("flip", "words_for_it"),
    [("left-right", "left to right"), ("front-back", "front to back"), ("diagonal", "on its diagonal")],
)
def test_the_turn(flip: str, words_for_it: str):
    """The way the part is turned is said in words."""
    assert f"Bearing carrier, turned over {words_for_it}" in flat(to_text(result(flip=flip)))


@pytest.mark.parametrize("made", [result(), comparison()])
def test_what_is_left_out_and_the_caution(made: Result):
    """The foot names what was left out, the trials and the seed, and ends with the caution."""
    foot = (
        "Left out, counted as zero: machine_scale_x, eye_angle, moisture and temperature between the faces. 1,000,000"
        " trials, seed 1. " + CAUTION
    )
    assert flat(to_text(made)).endswith(foot)


def test_nothing_left_out():
    """Where every error was given the foot says so."""
    every = result(left_out=(), between=("moisture", "temperature"))

    assert "Left out, counted as zero: nothing." in to_text(every)
    dry = to_text(result(left_out=("seating",), between=("moisture",)))
    assert "Left out, counted as zero: seating, temperature between the faces." in dry


def test_no_method_reaches_the_goal():
    """Where no method reaches the goal the text names the nearest without advising it."""
    advice = Recommendation("two dowels on the flip line", False, "no method reaches the goal.")
    text = flat(to_text(comparison(method(), probe(chance=Chance(0.9, 0.89, 0.91)), recommendation=advice)))
    assert text.startswith('None of the 2 methods reaches the goal; "two dowels on the flip line" comes nearest.')
    assert "* nearest to the goal;" in text
    assert "Take" not in text


def test_one_method_compared():
    """A comparison of one method that fails does not speak of others."""
    advice = Recommendation("two dowels on the flip line", False, "no method reaches the goal.")
    text = to_text(comparison(method(), recommendation=advice))
    assert '"two dowels on the flip line" does not reach the goal.' == text.splitlines()[0]


def test_ties_and_the_open_goal_are_marked():
    """The recommended method has a star, a tie an equals sign, and an open goal a question mark, each explained."""
    text = to_text(comparison())
    assert re.search(r"^ 1 \*  probe the same +96\.12 % +yes  far corner +3$", text, re.MULTILINE)
    assert re.search(r"^ 2 =  two dowels on the +94\.98 % +no\?  far corner +6$", text, re.MULTILINE)
    assert "* recommended; = a tie with it: these trials cannot tell the two chances apart; ? too near" in flat(text)


def test_marks_not_used_are_not_explained():
    """Without ties, open goals or pins their marks are not spoken of."""
    advice = Recommendation("probe the same corner", True, "it reaches the goal.")
    text = to_text(comparison(probe(), recommendation=advice))
    assert "* recommended. The per cent beside a source is its share of the scatter there." in flat(text)


def test_minutes_where_they_are_given():
    """The column of minutes stands only where a method gives them; one that does not has a dash."""
    assert "min." not in to_text(comparison(probe(minutes=None), method(minutes=None)))
    mixed = to_text(comparison(probe(minutes=None), method(minutes=6.5)))
    assert re.search(r"yes  far corner +-$", mixed, re.MULTILINE)
    assert re.search(r"no  far corner +6\.5$", mixed, re.MULTILINE)


def test_compare_text_wants_a_recommendation():
    """A check cannot be shown as a comparison."""
    with pytest.raises(ValueError, match="recommends nothing: it is of one method, made by check"):
        compare_text(result())


def test_to_mend():
    """Problems stand in blocks of their own: where, what was needed, what came and what to try."""
    problems = [
        Problem("spread-ambiguous", "errors.positioning", "a spread", "0.05", "{ std = 0.05 }", 12),
        Problem("missing-key", "blank", "[blank] with size"),
    ]
    assert (
        "part.toml: 2 things to mend\n"
        "\n"
        "  line 12, errors.positioning [spread-ambiguous]\n"
        "    needed a spread\n"
        "    came   0.05\n"
        "    try    { std = 0.05 }\n"
        "\n"
        "  blank [missing-key]\n"
        "    needed [blank] with size"
    ) == to_mend(JobError(problems, "part.toml"))


def test_to_mend_wraps():
    """A long list of choices wraps beside its head and loses nothing."""
    choices = ", ".join(f'"method number {i}"' for i in range(20))
    text = to_mend(JobError([Problem("unknown-method", "methods", choices, '"x"')]))
    assert 80 >= max(len(line) for line in text.splitlines())
    assert "the job: 1 thing to mend" == text.splitlines()[0]
    assert f'needed {choices} came "x"' in flat(text)


def test_far_from_normal_is_said():
    """A pair whose closed-form normal chance is off is told with both numbers; one that is near is not."""
    odd = hole(chance=Chance(0.931, 0.9305, 0.9315), normal_chance=0.9012)
    near = hole(chance=Chance(0.931, 0.9305, 0.9315), normal_chance=0.9313)

    assert (
        '"far corner" scatters unlike a normal distribution: one of the same mean and size would give 90.12 %, not'
        " 93.10 %. Trust the count, and no rule that assumes a bell curve."
    ) == words.far_from_normal(odd)
    assert (True, False) == (odd.far_from_normal, near.far_from_normal)
