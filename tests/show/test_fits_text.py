"""Fits in words and as data."""

from __future__ import annotations

import json

import pytest

from flipcheck.job.fits import parse_fit, said_in
from flipcheck.show.fits_text import fit_to_json, fit_to_text


def said(text: str) -> str:
    """What is said of a fit, in one line."""
    return " ".join(fit_to_text(parse_fit(text), said_in(text)).split())


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        ("25 H7/g6", "25 H7/g6: a clearance fit, 0.007 to 0.041 mm."),
        ("6 H7/h6", "6 H7/h6: a clearance fit, 0.000 to 0.020 mm."),
        ("6H7/m6", "6 H7/m6: a transition fit, from 0.012 mm of interference to 0.008 mm of clearance."),
        ("50 H7/p6", "50 H7/p6: an interference fit, 0.001 to 0.042 mm."),
        ("25 H7", "25 H7: 25.000 to 25.021 mm."),
        ("25 js6", "25 js6: 24.9935 to 25.0065 mm."),
        # 7 and 41 µm are 0.000276 and 0.001614 in
        ("1 in H7/g6", "1 in H7/g6: a clearance fit, 0.00028 to 0.00161 in."),
        ('1/4" h6', "0.25 in h6: 0.24965 to 0.25000 in."),
        ("30 mm H7", "30 H7: 30.000 to 30.021 mm."),
    ],
)
def test_what_comes_first(asked: str, expected: str):
    """The kind of fit with its clearance, or the limits of a single class, in the units that it was asked in."""
    assert said(asked).startswith(expected)


def test_the_table():
    """Each part has its limits, its deviations and its tolerance."""
    text = said("25 JS7/g6")
    assert "hole JS7 24.9895 25.0105 -10.5 +10.5 21" in text
    assert "shaft g6 24.980 24.993 -20 -7 13" in text


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        ("6 H7/m6", "-0.012 to +0.008 mm, -0.002 in the middle. The shaft is the thinner one in 33 % of the pairs"),
        ("25 H7/g6", "+0.007 to +0.041 mm, +0.024 in the middle. The shaft is the thinner one in 100 % of the pairs"),
        ("50 H7/p6", "-0.042 to -0.001 mm, -0.0215 in the middle. The shaft is the thinner one in 0 % of the pairs"),
    ],
)
def test_how_they_go_together(asked: str, expected: str):
    """Signs tell play from interference."""
    assert f"Hole less shaft, on the diameter: {expected}" in said(asked)


def test_a_single_class_has_no_clearance():
    """Nothing is said of a partner that was not asked for."""
    assert "less shaft" not in said("25 H7")


def test_as_data():
    """All numbers of a fit, in mm and micrometres."""
    assert {
        "units": "mm",
        "nominal": 6.0,
        "hole": {"class": "H7", "least": 6.0, "most": 6.012, "lower_um": 0, "upper_um": 12},
        "shaft": {"class": "m6", "least": 6.004, "most": 6.012, "lower_um": 4, "upper_um": 12},
        "kind": "transition",
        "clearance": {"least": -0.012, "most": 0.008},
        "chance_of_clearance": pytest.approx(1 / 3),
        "source": "ISO 286-1",
    } == json.loads(fit_to_json(parse_fit("6 H7/m6")))


def test_a_single_class_as_data():
    """In inches where it was asked so; what it does not have is null."""
    found = json.loads(fit_to_json(parse_fit("1 in h6"), "in"))
    assert {"class": "h6", "least": round(1.0 - 0.013 / 25.4, 9), "most": 1.0, "lower_um": -13, "upper_um": 0} == found[
        "shaft"
    ]
    assert (None,) * 4 == tuple(found[key] for key in ("hole", "kind", "clearance", "chance_of_clearance"))
