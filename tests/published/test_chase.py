"""K. W. Chase: a shaft in its housing (ADCATS 99-6, 1999) and a one-way clutch (1995). All published numbers and all
inputs of this file are from memory; they fit each other to every digit.
"""

from __future__ import annotations

import math

import pytest

from flipcheck.decide.validation.published_stacks import clutch, contact_angle, roller_offset, shaft

BOUGHT = {"a", "c", "g"}


def test_shaft():
    """Worst case 0.0245 and root of squares 0.01108 inch; recomputed 0.0110793, about a gap of 0.0199."""
    assert pytest.approx(shaft().nominal, abs=1e-12) == 0.0199
    assert pytest.approx(shaft().worst_case().tolerance, abs=1e-12) == 0.0245
    assert pytest.approx(shaft().rss().tolerance, abs=0.5e-5) == 0.01108
    assert pytest.approx(shaft().rss().tolerance, abs=0.5e-7) == 0.0110793


@pytest.mark.parametrize(
    ("method", "factor", "scaled"),
    [
        ("worst case", 0.47222, {"b": 0.0037778, "d": 0.0009444, "e": 0.0028333, "f": 0.0009444}),
        ("rss", 1.39526, {"b": 0.0111621, "d": 0.0027905, "e": 0.0083716, "f": 0.0027905}),
    ],
)
def test_scaling_of_what_is_not_bought(method, factor: float, scaled: dict[str, float]):
    """To meet 0.015 the free tolerances are scaled by 0.47222 or 1.39526; the scaled ones are recomputed."""
    found = shaft().allocate(0.015, BOUGHT, method)

    assert factor == pytest.approx(found.factor, abs=0.5e-5)
    assert scaled == pytest.approx({name: found.tolerances[name] for name in scaled}, abs=0.5e-7)
    assert {"a": 0.0015, "c": 0.0025, "g": 0.0025} == {name: found.tolerances[name] for name in BOUGHT}


def test_clutch():
    """Contact angle 7.0184 degrees and offset 4.8105 mm; recomputed 7.0183898 and 4.8105379."""
    angle, offset = clutch(contact_angle), clutch(roller_offset)

    assert pytest.approx(math.degrees(angle.nominal), abs=0.5e-4) == 7.0184
    assert pytest.approx(offset.nominal, abs=0.5e-4) == 4.8105
    assert pytest.approx(math.degrees(angle.nominal), abs=0.5e-7) == 7.0183898
    assert pytest.approx(offset.nominal, abs=0.5e-7) == 4.8105379


@pytest.mark.parametrize(
    ("function", "slopes"),
    [
        (contact_angle, {"a": -0.2078770, "c": -0.4141963, "e": 0.2063193}),  # rad/mm, through math.acos: numerical
        (roller_offset, {"a": -8.1227922, "c": -16.3069082, "e": 8.1841159}),  # mm/mm, through plain arithmetic
    ],
)
def test_sensitivities_of_the_clutch(function, slopes: dict[str, float]):
    """Sensitivities, computed here, to half a unit of the last digit given."""
    assert slopes == pytest.approx(dict(clutch(function).coefficients), abs=0.5e-7)


def test_variation_of_the_clutch():
    """Worst case 0.0171148 and root of squares 0.0114821 rad for 0.05, 0.01 and 0.0125 mm (computed here)."""
    assert pytest.approx(clutch(contact_angle).worst_case().tolerance, abs=0.5e-7) == 0.0171148
    assert pytest.approx(clutch(contact_angle).rss().tolerance, abs=0.5e-7) == 0.0114821
