"""Published numbers beside those of flipcheck: source by source, with digits that fit what is allowed."""

from __future__ import annotations

import json
import math
import re

import pytest

from flipcheck.decide.validation.validation import Outcome
from flipcheck.show.validation_text import number, validation_to_json, validation_to_plain, validation_to_text

GAP = Outcome("gap, nominal", "a textbook, example 1-3", 0.005, 0.005 + 1e-18, 1e-18, True, 5e-4)
LONG = Outcome("coefficient of thermal expansion, 1/K", "A report (2015)", 1.7266e-5, 1.726621e-5, 2.1e-10, True, 5e-10)
WHOLE = Outcome("degrees of freedom", "a textbook, example 1-3", 16.0, 16.0, 0.0, True, 0.0)
OFF = Outcome("four links", "A report (2015)", 0.48, 0.492, 0.012, False, 5e-3)


def flat(text: str) -> str:
    """A text on one line."""
    return " ".join(text.split())


def test_text():
    """One row of heads, then each source with its numbers, in the order in which the sources come up."""
    text = validation_to_text([GAP, LONG, WHOLE])

    assert "All 3 numbers are as published, within what is allowed." == text.splitlines()[0]
    assert 1 == text.count("published  ")
    expected = (
        "A textbook, example 1-3 gap, nominal 0.005 0.00500 0 5.0e-04 yes degrees of freedom 16 16 0 0 yes"
        " A report (2015) coefficient of thermal 1.7266e-05 1.726621e-05 +2.1e-10 5.0e-10 yes expansion, 1/K"
    )
    assert expected in flat(text)
    assert "Allowed: half a unit of the last published digit;" in flat(text)


def test_text_of_what_is_off():
    """A number that is off is named at the top with its source, and marked in its row."""
    text = validation_to_text([GAP, OFF])

    assert flat(text).startswith("1 of 2 numbers are not as published: four links (A report (2015)).")
    assert "four links 0.48 0.4920 +1.2e-02 5.0e-03 NO" in flat(text)


def test_plain_text_is_bare():
    """Lines of ASCII, of at most 80 columns, without blanks at their ends; columns stand under their heads."""
    lines = validation_to_text([GAP, LONG, WHOLE, OFF]).splitlines()
    for line in lines:
        assert re.fullmatch(r"[ -~]{0,80}", line)
        assert line.rstrip() == line
    (head,) = (line for line in lines if line.endswith(" within"))
    rows = [line for line in lines if line.endswith((" yes", " NO"))]
    assert [len(head)] * 4 == [len(row) for row in rows]


def test_colour(monkeypatch: pytest.MonkeyPatch):
    """The verdict is green or red on a terminal and says the same."""
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)

    assert validation_to_text([GAP], colour=True).startswith("\x1b[1;32mAll 1")
    assert validation_to_text([OFF], colour=True).startswith("\x1b[1;31m1 of 1")


@pytest.mark.parametrize(
    ("value", "tolerance", "text"),
    [
        (31.71061, 5e-3, "31.7106"),
        (10005.667, 0.05, "10005.667"),
        (838.001, 0.65, "838.00"),
        (1.726621e-5, 5e-10, "1.726621e-05"),
        (16.0, 0.0, "16"),
        (0.0, 0.1, "0"),
        (0.001, 0.5, "0.001"),
        (math.nan, 0.1, "nan"),
    ],
)
def test_digits(value: float, tolerance: float, text: str):
    """A number has a digit more than what it may be off; one that must be met exactly has all of them."""
    assert text == number(value, tolerance)


def test_plain():
    """The plain data counts the checks and holds every number whole, source by source."""
    check = {"name": "four links", "published": 0.48, "ours": 0.492, "difference": 0.012, "tolerance": 5e-3}
    assert {
        "checks": 3,
        "within": 2,
        "sources": [
            {
                "source": "a textbook, example 1-3",
                "checks": [
                    {
                        "name": "degrees of freedom",
                        "published": 16.0,
                        "ours": 16.0,
                        "difference": 0.0,
                        "tolerance": 0.0,
                        "within": True,
                    }
                ],
            },
            {"source": "A report (2015)", "checks": [check | {"within": False}, check | {"within": True}]},
        ],
    } == validation_to_plain([WHOLE, OFF, Outcome("four links", "A report (2015)", 0.48, 0.492, 0.012, True, 5e-3)])


def test_json_holds_the_plain_data():
    """The JSON text says the same."""
    assert validation_to_plain([GAP, OFF]) == json.loads(validation_to_json([GAP, OFF]))
