from __future__ import annotations

import math
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flipcheck.job import quantities
from flipcheck.job.quantities import RefusedError, angle, length, number, printable, ratio, shown, slope
from tests.job.sample import SAMPLE

# The inch is 25.4 mm by the international agreement of 1959, a thou is a thousandth of it, a foot twelve of it.
LENGTHS = [
    (0.1, "mm", 0.1),
    (3, "mm", 3.0),
    (0.25, "in", 6.35),
    ("40 um", "mm", 0.04),
    ("40 µm", "in", 0.04),
    ("40 μm", "mm", 0.04),
    ("2cm", "mm", 20.0),
    ("1 m", "mm", 1000.0),
    ("0.25 in", "mm", 6.35),
    (".25 inch", "mm", 6.35),
    ('1/4"', "mm", 6.35),
    ("3/4 in", "mm", 19.05),
    ("1 1/2 in", "mm", 38.1),
    ("1-1/2 in", "mm", 38.1),
    ("-1 1/2 in", "mm", -38.1),
    ("+5 mm", "in", 5.0),
    ("5 thou", "mm", 0.127),
    ("5 mil", "mm", 0.127),
    ("2 ft", "mm", 609.6),
    ("2'", "mm", 609.6),
    (" 1e-1 mm ", "mm", 0.1),
]


@pytest.mark.parametrize(("written", "units", "mm"), LENGTHS)
def test_lengths(written: object, units: str, mm: float) -> None:
    """A length in any of the ways people write it comes out in mm."""
    assert mm == pytest.approx(length(written, units), rel=1e-14)


@pytest.mark.parametrize(
    ("written", "rad"),
    [
        ("0.5 mm/m", 0.0005),
        ("500 um/m", 0.0005),
        ("1 thou/in", 0.001),
        ("0.1 deg", math.pi / 1800.0),
        ("0.1°", math.pi / 1800.0),
        ("3 arcmin", math.pi / 3600.0),
        ("36 arcsec", math.pi / 18000.0),
        ("1 mrad", 0.001),
        (0.001, 0.001),
    ],
)
def test_slopes(written: object, rad: float) -> None:
    """A slope comes out in rad, whether it is written as a slope or as an angle."""
    assert rad == pytest.approx(slope(written), rel=1e-12)


@pytest.mark.parametrize(
    ("written", "share"), [("0.02 %", 2e-4), ("200 ppm", 2e-4), ("0.2 mm/m", 2e-4), (2e-4, 2e-4), ("-0.1 %", -1e-3)]
)
def test_ratios(written: object, share: float) -> None:
    """A ratio comes out as a plain number."""
    assert share == pytest.approx(ratio(written), rel=1e-12)


def test_angle_of_a_slot_is_in_degrees() -> None:
    """The direction of a slot is in degrees in a file and in rad between records, and a unit settles it."""
    assert math.pi / 2.0 == pytest.approx(angle(90))
    assert 1.5 == angle(1.5, radians=True)
    assert math.pi / 6.0 == pytest.approx(angle("30 deg", radians=True))


@pytest.mark.parametrize(
    ("read", "value", "code", "message"),
    [
        (length, "5", "no-unit", r'a unit after the number, such as 0\.1, "0\.25 in".*came "5"'),
        (length, "3/4", "no-unit", r'came "3/4"'),
        (length, "3 kg", "wrong-dimension", r'needed a length.*came "3 kg", which is neither a length nor an angle'),
        (length, "0.1 deg", "wrong-dimension", r'came "0\.1 deg", which is an angle'),
        (length, "2 mm/m", "wrong-dimension", "which is a ratio"),
        (slope, "5 um", "wrong-dimension", r'needed a slope, such as "0\.5 mm/m".*which is a length'),
        (ratio, "1 deg", "wrong-dimension", r'needed a ratio, such as "0\.02 %".*which is an angle'),
        (length, "5 foo", "unknown-unit", r'needed a unit of length.*came "5 foo"'),
        (length, "5 //", "unknown-unit", r'came "5 //"'),
        (length, "mm", "unreadable-quantity", r'needed a number and a unit.*came "mm"'),
        (length, "1/0 in", "unreadable-quantity", "lower number is not zero"),
        (length, "1 in + 2 mm", "unreadable-quantity", r"came \"1 in \+ 2 mm\""),
        (length, "1 in*in", "unreadable-quantity", "needed a number and a unit"),
        (length, "__import__('os')", "unreadable-quantity", "needed a number and a unit"),
        (length, "nan mm", "unreadable-quantity", "needed a number and a unit"),
        (length, "٣ mm", "unreadable-quantity", "needed a number and a unit"),
        (length, "1" * 41 + " mm", "unreadable-quantity", r'came "1{40}\.\.\."'),
        (length, "", "unreadable-quantity", 'came ""'),
        (length, "1e999 mm", "too-large", "not absurd"),
        (length, "2 km", "too-large", "a length below 1 km"),
        (length, -1.1e6, "too-large", "came -1100000"),
        (slope, 0.3, "too-large", r"a slope below 100 mm/m \(0\.1 rad\); came 0\.3"),
        (ratio, "20 %", "too-large", r"a ratio below 0\.1 \(10 %\)"),
        (angle, 700, "too-large", "within 360 degrees"),
        (length, True, "not-a-number", "needed a plain number; came true"),
        (length, float("nan"), "not-a-number", "came nan"),
        (length, float("-inf"), "not-a-number", "came -inf"),
        (length, 10**400, "not-a-number", "came a very large number"),
        (length, [1, 2], "wrong-kind", r"needed a length.*came a list of 2"),
        (length, {}, "wrong-kind", "came an empty table"),
        (number, "5", "not-a-number", 'needed a plain number; came "5"'),
    ],
)
def test_refusals(read: object, value: object, code: str, message: str) -> None:
    """What cannot be taken is refused with a code, what was needed and what came."""
    with pytest.raises(RefusedError, match=message) as caught:
        read(value)  # type: ignore[operator]
    assert code == caught.value.code


@pytest.mark.parametrize(
    ("read", "value", "hint"),
    [
        (length, "5", "5 without quotes for the job's own units"),
        (length, "0,5 mm", "write the decimal with a point"),
        (length, "5 IN", '"in", in small letters'),
        (length, "5 MM", '"mm", in small letters'),
        (slope, 0.3, '"0.3 mm/m", if mm/m was meant'),
        (ratio, 0.5, '"0.5 %", if per cent was meant'),
        (slope, "0.5", ""),
    ],
)
def test_hints(read: object, value: object, hint: str) -> None:
    """A refusal says what to write instead where that can be guessed."""
    with pytest.raises(RefusedError) as caught:
        read(value)  # type: ignore[operator]
    assert hint == caught.value.hint


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=45) | st.from_regex(r"-?[0-9/. ]{1,6} ?[a-zA-Zµ%/\"']{0,8}", fullmatch=True))
def test_any_text_is_a_length_or_a_refusal(text: str) -> None:
    """No text whatever brings anything but a finite length or a refusal."""
    try:
        result = length(text)
    except RefusedError:
        return
    assert math.isfinite(result)


def test_without_a_cache_pint_still_reads(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where pint cannot keep its cache on disk it is loaded without one."""
    import pint

    asked: list[object] = []
    real = pint.UnitRegistry

    def registry(**options: object) -> object:
        asked.append(options.get("cache_folder"))
        if "cache_folder" in options:
            raise OSError("no space left")
        return real()

    monkeypatch.setattr(pint, "UnitRegistry", registry)
    quantities._registry.cache_clear()
    quantities._unit.cache_clear()
    try:
        assert 25.4 == length("1 in")
    finally:
        quantities._registry.cache_clear()
        quantities._unit.cache_clear()
    assert [":auto:", None] == asked


def test_what_is_quoted_back_is_short_and_harmless() -> None:
    """Long values are cut and control characters are spelled out."""
    assert '"' + "x" * 40 + '..."' == shown("x" * 50)
    assert "\\x1b[31mred" == printable("\x1b[31mred")
    assert "false" == shown(False)
    assert "a table" == shown({"a": 1})


def test_pint_is_loaded_by_the_first_unit_only() -> None:
    """Reading a job without units in quotes costs neither pint, scipy nor matplotlib."""
    program = f"""
import sys
from flipcheck.job.quantities import length
from flipcheck.job.reader import parse_job

parse_job({SAMPLE!r}.replace('"0.5 mm/m"', "0.0005"))
print([name for name in ("pint", "scipy", "matplotlib", "uncertainties") if name in sys.modules])
length("1 in")
print("pint" in sys.modules)
"""
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert ["[]", "True"] == done.stdout.split("\n")[:2]
