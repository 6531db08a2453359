"""The first article as text and as plain data: what to do comes first, every sign is told, nothing is hidden."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from flipcheck.decide.first_article.results import Cause, Shared
from flipcheck.show.first_article.plain import article_to_json
from flipcheck.show.first_article.text import article_to_text
from flipcheck.stack.intervals import Chance
from tests.show.first_articles_made import ABOUT, NONE, PATTERN, SHEAR, SHIFT, SUSPECTS, TERMS, article, blind

GOLDEN = Path(__file__).parents[1] / "golden"


def said(**changes: Any) -> str:
    """The text on one line."""
    return " ".join(article_to_text(article(**changes)).split())


@pytest.mark.parametrize(("name", "units"), [("first-article.txt", "mm"), ("first-article-inches.txt", "in")])
def test_golden(name: str, units: str):
    """The whole text stays as it was read and found good."""
    assert (GOLDEN / name).read_text(encoding="utf-8") == article_to_text(article(units=units, suspects=SUSPECTS))


@pytest.mark.parametrize("made", [article(suspects=SUSPECTS), article(units="in"), blind()])
def test_plain_text_is_bare(made: Any):
    """Off a terminal a text is plain ASCII in lines of at most 80 columns, without blanks at their ends."""
    for line in article_to_text(made).splitlines():
        assert re.fullmatch(r"[ -~]{0,80}", line)
        assert line.rstrip() == line


def test_colour_adds_nothing_to_the_words(monkeypatch: pytest.MonkeyPatch):
    """On a terminal the instruction is green where the goal will be met, red where it will not."""
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    for made, colour in ((article(), "32"), (article(goal=0.999), "31")):
        coloured = article_to_text(made, colour=True)
        assert f"\x1b[1;{colour}mCorrect once" in coloured
        assert article_to_text(made) == re.sub(r"\x1b\[[0-9;]*m", "", coloured)


def test_what_to_do_stands_first():
    """Shift, turn and the point it is about, each with its sign."""
    assert said().startswith(
        "Correct once; then 99.44 % of the parts to come line up. Move the program of face B by X -0.125, Y +0.271 mm,"
        " turn it by +2.262 mm/m about (240, 0) on the machine. Goal met: 99.44 % of the parts to come line up, 95 %"
        " are wanted. Uncorrected: 0.63 %."
    )
    assert "let X grow by -0.310 mm/m of Y." in said(advice=SHEAR)
    assert "Move the program of face B by X -0.306, Y 0.000 mm. Goal not met" in said(advice=SHIFT)


def test_nothing_is_corrected_where_nothing_is_real():
    """Where no term is real it is said to leave things as they are, and how many parts would tell."""
    calm = replace(PATTERN, terms=(replace(TERMS[0], high=0.1),))
    worth = replace(article().coupons, needed=7)
    text = said(advice=NONE, pattern=calm, coupons=worth, shared=None, shim=None)
    assert text.startswith("Leave it as it is: what was measured cannot be told from scatter. Goal not met")
    assert "as it is *" in text
    assert "would be told from scatter after about 7 parts." in text
    assert "likeliest" not in text
    harmless = said(advice=NONE, shared=None, shim=None)
    assert harmless.startswith("Leave it as it is: it is real, but correcting it would win nothing.")


def test_readings_without_a_direction():
    """Pins alone correct nothing; it is said what to measure instead."""
    text = " ".join(article_to_text(blind()).split())
    assert text.startswith("Nothing to correct by: no reading has a direction.")
    assert 'the halves at "screw" are 0.120 mm apart. A pin tells how far, not which way.' in text


def test_what_the_job_does_not_explain():
    """A pattern beyond the job is said to be so, with the odds, before any gross error is named."""
    odd = replace(PATTERN, unexplained=0.004)
    causes = (Cause("unexplained", "", 1.0, 0.3, None, None, None),)
    text = said(pattern=odd, causes=causes)
    assert text.startswith(
        "Look for a gross error first: the job does not explain what was measured. If there is none: move the program"
    )
    assert "so much comes by chance in 0.4 %" in text
    worse = said(pattern=replace(odd, unexplained=1e-9), causes=causes, suspects=SUSPECTS)
    assert "in less than 1 in 1000: a gross error" in worse
    assert "It looks like - the shift in x equals the radius of the bit: 3.170 and 3.175 mm" in worse
    assert "not mirrored (scale -201.000 %)" in worse


def test_scatter_and_few_parts():
    """It is said where the intervals come from, and where scatter or readings are not as the job expects."""
    few = said(pattern=replace(PATTERN, interval_from="job"))
    assert "Too few repeats: intervals from the scatter that the job" in few
    wild = said(pattern=replace(PATTERN, scattered=("shift_x", "turn")))
    assert "In shift_x and turn the parts scatter more than the job expects. It is counted as real" in wild
    noisy = said(pattern=replace(PATTERN, noise=0.02))
    assert "it is taken for the uncertainty of the readings, 0.020 mm each" in noisy
    assert "In turn the parts scatter less than the job expects" in said(pattern=replace(PATTERN, calm=("turn",)))


def test_other_ways():
    """Half, the shim and the squareness are told with their signs; what a shared datum cannot do is told too."""
    text = said()
    assert "Or half, at the work zero of both programs: X -0.063, Y 0.000 mm, turn +1.131 mm/m" in text
    assert "a shim of 0.226 mm between fence and blank at the contact at 20 mm (contacts 200 mm apart)" in text
    assert "out of square by -0.800 +- 0.100 mm/m" in text
    assert "move one side by 0.800 mm for each metre" in text
    rest = said(shared=Shared(0.1, 0.0, 0.0, ABOUT, 0.0, -0.2))
    assert "and besides, face B alone: X 0.000, Y -0.200 mm" in rest
    assert "There is no half of it" in said(shared=None, kind="pins")


def test_too_near_to_be_sure():
    """A chance too near the goal for the trials is said to be so."""
    near = replace(SHIFT, chance=Chance(0.951, 0.949, 0.953))
    assert "Too near to be sure: run more trials (--trials)." in said(advice=near)


@pytest.mark.parametrize("made", [article(suspects=SUSPECTS), article(units="in"), blind()])
def test_json(made: Any):
    """Everything is there as data, lengths in the units of the job."""
    plain = json.loads(article_to_json(made))
    assert made.meets_goal == plain["meets_goal"]
    assert len(made.corrections) == len(plain["corrections"])
    if made.corrections:
        scale = 25.4 if made.units == "in" else 1.0
        assert plain["corrections"][1]["x"] == pytest.approx(-0.1254 / scale)
        assert plain["corrections"][1]["turn"] == pytest.approx(0.002262)
        assert plain["pattern"]["terms"][0]["low"] == pytest.approx(-0.53051 / scale)
        assert plain["pattern"]["terms"][2]["low"] == pytest.approx(0.001674)
        assert plain["causes"][0]["value"] == pytest.approx(1.0889)  # mm/m, its unit
        assert plain["shim"]["thickness"] == pytest.approx(0.2262 / scale)
        assert "shift and turn" == plain["advice"]
    else:
        assert plain["pattern"] is plain["advice"] is plain["coupons"] is None
