"""The block [between]: changes as people write them, materials by name, figures of one's own."""

from __future__ import annotations

import math
import re

import pytest

from flipcheck.job.between import beyond_table
from flipcheck.job.reader import parse_job
from flipcheck.job.records import Job
from flipcheck.stack.spreads import Exactly, Normal, Uniform
from tests.job.sample import SAMPLE, changed, only_problem, problems


def with_between(lines: str) -> str:
    """The sample with a block [between]."""
    return changed(("bit_runout = 0.02\n", f"bit_runout = 0.02\n\n[between]\n{lines}\n"))


def job(lines: str) -> Job:
    """The job of the sample with a block [between]."""
    return parse_job(with_between(lines))


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("0.5", Exactly(0.005)),
        ('"0.5 %"', Exactly(0.005)),
        ('"+-0.5 %"', Uniform(0.005)),
        ("{ limit = 0.5 }", Uniform(0.005)),
        ("{ total = 1 }", Uniform(0.005)),
        ("{ std = 0.5, bias = 1 }", Normal(0.005, 0.01)),
        ("{ bias = 0.5 }", Exactly(0.005)),
        ("{ before = 8, after = 9.5 }", Exactly(0.015)),
        ("{ before = 9.5, after = 8, limit = 0.5 }", Uniform(0.005, -0.015)),
    ],
)
def test_moisture(written: str, expected: object):
    """A change of moisture is in per cent: a number that is known, a spread, or what was before and comes after."""
    change = job(f'material = "red oak"\ngrain = 0\nmoisture = {written}').between.moisture
    spread = change.spread

    assert type(expected) is type(spread)
    assert (expected.mean, expected.std) == pytest.approx((spread.mean, spread.std))


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("5", Exactly(5.0)),
        ('"9 degF"', Exactly(5.0)),
        ('"5 °C"', Exactly(5.0)),
        ('{ before = "59 degF", after = "77 degF" }', Exactly(10.0)),
        ("{ before = 18, after = 24, std = 1 }", Normal(1.0, 6.0)),
        ('"+-3 K"', Uniform(3.0)),
    ],
)
def test_temperature(written: str, expected: object):
    """A change of temperature is in kelvin; degrees may be named."""
    spread = job(f'material = "aluminium"\ntemperature = {written}').between.temperature.spread

    assert type(expected) is type(spread)
    assert (expected.mean, expected.std) == pytest.approx((spread.mean, spread.std))


def test_what_is_given():
    """The job tells which changes it gives, and a job without the block gives none."""
    assert () == parse_job(SAMPLE).changes
    assert ("temperature",) == job('material = "steel"\ntemperature = 5').changes
    assert ("moisture", "temperature") == job('material = "apple"\ngrain = 90\nmoisture = 1\ntemperature = 5').changes


def test_grain_is_in_degrees_from_x():
    """As the angle of a slot."""
    assert pytest.approx(math.pi / 2) == job('material = "apple"\ngrain = 90\nmoisture = 1').between.grain


@pytest.mark.parametrize(
    ("lines", "name", "expected"),
    [
        ('material = "black cherry"\ngrain = 0', "moisture", (0.005, 0.248, 0.126)),
        ('material = "black cherry"\ngrain = 0\ncut = "quarter-sawn"', "moisture", (0.005, 0.126, 0.248)),
        ('material = "black cherry"\ngrain = 0', "temperature", (3e-6, 30e-6, 30e-6)),
        ('material = "MDF"\nper_kelvin = "12 ppm"', "moisture", (0.033, 0.033, 0.35)),
        ('material = "MDF"\nper_kelvin = "12 ppm"', "temperature", (12e-6, 12e-6, 12e-6)),
        ('material = "plywood"', "moisture", (0.011, 0.011, 0.2)),
        ('material = "FR4"\nper_percent = 0.0001', "temperature", (14e-6, 14e-6, 60e-6)),
        ('grain = 0\nper_percent = ["0.01 %", 0.002, 0.003]\nper_kelvin = 0', "moisture", (0.01, 0.2, 0.3)),
        # figures of one's own go before those of the table
        ('material = "red oak"\ngrain = 0\nper_percent = 0.001', "moisture", (0.1, 0.1, 0.1)),
    ],
)
def test_growth(lines: str, name: str, expected: tuple[float, ...]):
    """Growth along the grain, across it and through, for a change by 1 as a ratio, or by a kelvin."""
    found = job(f"{lines}\nmoisture = 1\ntemperature = 1").between.growth(name)

    assert expected == pytest.approx(found)


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        (
            'material = "read oak"\ngrain = 0\nmoisture = 1',
            r'material: .*came "read oak"\. Try: "red oak" \[unknown-mat',
        ),
        ('material = "aluminum"\ntemperature = 1', r'Try: "aluminium" \[unknown-material\]'),
        ("material = 3\nmoisture = 1", r"needed a material, such as .* came 3 \[wrong-kind\]"),
        (
            'material = "steel"\nmoisture = 1',
            r'between\.moisture: .*came material = "steel"\. Try: per_percent = .*\[no-coe',
        ),
        ("temperature = 1", r"between\.temperature: .*came no per_kelvin and no material.*\[no-coefficient\]"),
        ('material = "mdf"\ntemperature = 1', r'came material = "mdf".*\[no-coefficient\]'),
        ('material = "red oak"\nmoisture = 1', r"between\.grain: needed grain, the direction .*\[missing-key\]"),
        ("per_percent = [0, 0.001, 0]\nmoisture = 1", r"between\.grain: .*\[missing-key\]"),
        ('material = "red oak"', r"between: needed moisture or temperature.*; came neither \[missing-key\]"),
        (
            'material = "steel"\ncut = "flat-sawn"\ntemperature = 1',
            r"between\.cut: needed a species .*\[option-unused\]",
        ),
        (
            'material = "apple"\ncut = "sawn"\ngrain = 0\nmoisture = 1',
            r'cut: needed "flat-sawn" or "quarter-sawn"; .*\[not-a',
        ),
        (
            'material = "apple"\ngrain = 0\nmoisture = {}',
            r"moisture: needed a change, .*came an empty table \[change-form\]",
        ),
        (
            'material = "apple"\ngrain = 0\nmoisture = { before = 8 }',
            r"needed before and after together; came before alone \[change-form\]",
        ),
        (
            'material = "apple"\ngrain = 0\nmoisture = { before = 8, after = 9, bias = 1 }',
            r"needed before and after, or bias.*\[change-form\]",
        ),
        (
            'material = "apple"\ngrain = 0\nmoisture = { before = 8, after = 31 }',
            r"moisture\.after: needed a moisture content from 0 to 30 %.*; came 31 % \[moisture-range\]",
        ),
        ('material = "apple"\ngrain = 0\nmoisture = "1 mm"', r"moisture: needed a ratio, .*\[wrong-dimension\]"),
        (
            'material = "apple"\ngrain = 0\nmoisture = 101',
            r"moisture: needed a moisture content below 100 %.*\[too-large\]",
        ),
        ('material = "apple"\ngrain = 0\nmoisture = { limt = 1 }', r"limt: .*Try: limit \[unknown-key\]"),
        ('material = "apple"\ngrain = 0\nmoisture = { befor = 1, after = 2 }', r"befor: .*Try: before \[unknown-key\]"),
        (
            'material = "steel"\ntemperature = "5 mm"',
            r'temperature: needed a temperature, .*came "5 mm" \[unknown-unit\]',
        ),
        ('material = "steel"\ntemperature = "warm"', r"temperature: .*\[unreadable-quantity\]"),
        ('material = "steel"\ntemperature = true', r"temperature: needed a plain number; came true \[not-a-number\]"),
        ('material = "steel"\ntemperature = 2000', r"temperature: needed a temperature or .*\[too-large\]"),
        ('material = "steel"\ntemperature = { limit = -1 }', r"temperature\.limit: .*\[negative\]"),
        ("per_kelvin = [1, 2]\ntemperature = 1", r"per_kelvin"),
        ("per_kelvin = 23.6\ntemperature = 1", r"per_kelvin.*\[too-large\]"),
    ],
)
def test_what_cannot_be(lines: str, message: str):
    """Each mistake is told with what was needed."""
    told = [str(problem) for problem in problems(with_between(lines))]

    assert re.search(message, told[0]), told


def test_line_of_a_mistake():
    """A mistake in the block is told with its line."""
    assert 17 == only_problem(with_between('material = "steel"\ntemperature = 2\ncut = "flat-sawn"')).line


def test_moistures_beyond_the_table_are_noted():
    """Coefficients of the species hold from 6 to 14 %; figures of one's own and those of panels are not judged."""
    oak = 'material = "red oak"\ngrain = 0\nmoisture = { before = %g, after = 9 }'
    (note,) = beyond_table(job(oak % 15).between)

    assert note.startswith("between: moisture from 15 to 9 %: the coefficients of wood hold from 6 to 14 %")
    assert () == beyond_table(job(oak % 14).between)
    assert () == beyond_table(job(oak % 15 + "\nper_percent = 0.003").between)
    assert () == beyond_table(job('material = "mdf"\nmoisture = { before = 3, after = 9 }').between)
    assert () == beyond_table(job('material = "red oak"\ngrain = 0\nmoisture = 3').between)
    assert () == beyond_table(None)


def test_between_a_list_is_refused():
    """The block stands once."""
    assert "[wrong-kind]" in str(only_problem(changed(("[blank]", "[[between]]\nmoisture = 1\n\n[blank]"))))


@pytest.mark.parametrize(
    ("written", "limits"),
    [
        # t = 12: +(0.2 + 0.36), -(0.4 + 0.36)
        ('"EN 315 plywood 12"', (11.24, 12.56)),
        ('"en 315  Plywood 12 mm"', (11.24, 12.56)),
        ('"EN 622-1 MDF 12"', (11.8, 12.2)),
        ('"EN 312 particleboard 12"', (11.7, 12.3)),
        ('"ISO 7823-1 cast acrylic 12"', (10.4, 13.6)),
    ],
)
def test_sheets(written: str, limits: tuple[float, float]):
    """Sheet goods by their standard: any thickness within its limits is equally likely."""
    text = changed(("bit_runout = 0.02", f"bit_runout = 0.02\nstock_thickness = {written}"))
    spread = parse_job(text).errors.stock_thickness

    assert isinstance(spread, Uniform)
    assert limits == pytest.approx((12.0 + spread.mean - spread.half, 12.0 + spread.mean + spread.half))


@pytest.mark.parametrize(
    ("size", "written", "half"),
    [
        ('"3/4 in"', '"PS 1 sanded plywood 3/4"', 25.4 / 64),
        ('"3/4 in"', '"PS 1 sanded plywood 0.75 in"', 25.4 / 64),
        ('"1 in"', '"PS 1 sanded plywood 1"', 0.03 * 25.4),
        ('"13/16 in"', '"PS 1 unsanded plywood 13/16"', 25.4 / 32),
        ('"1 1/8 in"', '"PS 1 unsanded plywood 1 1/8"', 0.05 * 1.125 * 25.4),
    ],
)
def test_sheets_in_inches(size: str, written: str, half: float):
    """US sheets are named in inches, whatever the units of the job."""
    text = changed(
        ("size = [200, 100, 12]", f"size = [200, 100, {size}]"),
        ("bit_runout = 0.02", f"bit_runout = 0.02\nstock_thickness = {written}"),
    )
    spread = parse_job(text).errors.stock_thickness

    assert (0.0, half) == pytest.approx((spread.mean, spread.half), abs=1e-9)


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ('"EN 325 plywood 12"', r'Try: "EN 315 plywood 12" \[unknown-sheet\]'),
        ('"EN 315 plywood"', r'Try: "EN 315 plywood 12" \[unknown-sheet\]'),
        ('"oak"', r"needed a spread, or a sheet and its thickness, .*\[unknown-sheet\]"),
        ('"EN 315 plywood twelve"', r"\[unreadable-quantity\]"),
        ('"EN 315 plywood 12 kg"', r"\[wrong-dimension\]"),
        ('"EN 315 plywood 120"', r"needed a thickness of EN 315 plywood from 3 to 50 mm; .*\[out-of-range\]"),
        ('"EN 315 plywood 18"', r"needed a sheet as thick as the blank, 12 mm; came 18 mm \[thickness-differs\]"),
        ('"0.2 mm"', r"\[bare-spread\]"),
        ("0.2", r"\[bare-spread\]"),
    ],
)
def test_sheets_that_are_none(written: str, message: str):
    """A text that names no sheet, or one that is not the blank's, is refused."""
    text = changed(("bit_runout = 0.02", f"bit_runout = 0.02\nstock_thickness = {written}"))

    assert re.search(message, str(only_problem(text)))
