from __future__ import annotations

import math

import pytest
from pydantic import ValidationError

from flipcheck.errors import JobError
from flipcheck.job.reader import built_in, parse_job
from flipcheck.job.records import Blank, Errors, HolePair, Job, PinsMethod, ProbeMethod, SlotPair
from flipcheck.stack.spreads import Arcsine, Normal, Trapezoid, Triangular, Uniform
from tests.job.sample import SAMPLE, changed


def test_a_job_becomes_records() -> None:
    """Every block of a job is found again in the record, in mm and rad."""
    job = parse_job(SAMPLE)
    assert ("Lamp foot", "mm", 0.9, "left-right") == (job.title, job.units, job.goal, job.flip)
    assert (200.0, 100.0, 12.0) == (job.blank.length, job.blank.width, job.blank.thickness)
    assert Uniform(0.0005) == job.errors.machine_squareness
    assert 0.02 == job.errors.bit_runout
    assert ["hole", "hole", "slot", "outline", "web"] == [pair.kind for pair in job.pairs]
    assert ["pins", "fence", "probe"] == [method.kind for method in job.methods]
    slot = job.pairs[2]
    assert isinstance(slot, SlotPair)
    assert math.radians(30.0) == pytest.approx(slot.angle)


def test_a_hole_left_out_on_face_b_is_that_of_face_a() -> None:
    """Left out, hole_b has the size of hole_a; given, its own."""
    for line, expected in (("hole_a = 4.5", 4.5), ("hole_a = 4.5\nhole_b = 5", 5.0)):
        bolt = parse_job(changed(("hole_a = 4.5", line))).pairs[1]
        assert isinstance(bolt, HolePair)
        assert expected == bolt.hole_b


def test_what_is_left_out_has_its_default() -> None:
    """Title, units, goal and errors may be left out; an error left out is listed in the order of the table."""
    text = changed(('title = "Lamp foot"\n', ""), ('units = "mm"\n', ""), ("goal = 0.9\n", ""))
    job = parse_job(text)
    assert ("", "mm", 0.95) == (job.title, job.units, job.goal)
    assert "machine_scale_x" == job.left_out[0]
    assert set(Errors.model_fields) - {"positioning", "machine_squareness", "bit_runout"} == set(job.left_out)
    probe = job.methods[2]
    assert isinstance(probe, ProbeMethod)
    assert ("bed", "same corner", "bit", (), None) == (
        probe.zero_z,
        probe.after_flip,
        probe.stylus,
        probe.middle,
        probe.minutes,
    )


def test_a_zero_error_is_not_left_out() -> None:
    """An error given as zero is known to be zero; one that is left out is not."""
    job = parse_job(changed(("std = 0.01", "std = 0"), ("bit_runout = 0.02", "bit_runout = 0")))
    assert {"positioning", "bit_runout"}.isdisjoint(job.left_out)


def test_inches_are_scaled_throughout() -> None:
    """The same numbers in inches are 25.4 times as long, and slopes and shares are not."""
    inches = parse_job(changed(('units = "mm"', 'units = "in"'), ("spacing = 100", 'spacing = "100 mm"')))
    plain = parse_job(SAMPLE)
    assert 25.4 * plain.blank.length == pytest.approx(inches.blank.length)
    assert Normal(0.254) == inches.errors.positioning
    assert plain.errors.machine_squareness == inches.errors.machine_squareness
    probe = inches.methods[2]
    assert isinstance(probe, ProbeMethod)
    assert (100.0, 381.0) == (probe.spacing, pytest.approx(probe.touch_in[0]))


@pytest.mark.parametrize(
    ("written", "spread"),
    [
        ("{ std = 0.03 }", Normal(0.03)),
        ('{ std = 0.03, shape = "normal" }', Normal(0.03)),
        ("{ limit = 0.03 }", Uniform(0.03)),
        ("{ total = 0.06 }", Uniform(0.03)),
        ('{ total = "60 um" }', Uniform(0.06 / 2)),
        ('{ limit = 0.03, shape = "uniform" }', Uniform(0.03)),
        ('{ limit = 0.03, shape = "triangular" }', Triangular(0.03)),
        ('{ total = 0.06, shape = "arcsine" }', Arcsine(0.03)),
        ('{ limit = 0.03, shape = "trapezoid" }', Trapezoid(0.03, 0.0, 0.5)),
        ('{ limit = 0.03, shape = "trapezoid", top = 0.2 }', Trapezoid(0.03, 0.0, 0.2)),
        ('{ limit = 0.03, shape = "normal", sigmas = 2 }', Normal(0.015, 0.0, 0.03)),
        ('{ total = 0.06, shape = "normal", sigmas = 3 }', Normal(0.01, 0.0, 0.03)),
        ("{ limit = 0.03, bias = -0.01 }", Uniform(0.03, -0.01)),
        ('{ std = 0.03, bias = "1 um" }', Normal(0.03, 0.001)),
        ("{ std = 0 }", Normal(0.0)),
        ('"+-0.03 mm"', Uniform(0.03)),
        ('"±0.03 mm"', Uniform(0.03)),
        ('" +/- 30 um"', Uniform(0.03)),
    ],
)
def test_forms_of_a_spread(written: str, spread: object) -> None:
    """Each way to write a spread gives its distribution; a full width is halved, a plus-minus is a uniform limit."""
    assert spread == parse_job(changed(("{ std = 0.01 }", written))).errors.positioning


@pytest.mark.parametrize("shape", ["uniform", "triangular", "arcsine", "trapezoid"])
def test_a_standard_deviation_with_a_shape_keeps_its_value(shape: str) -> None:
    """A standard deviation is a standard deviation, whatever the shape that carries it."""
    spread = parse_job(changed(("{ std = 0.01 }", f'{{ std = 0.01, shape = "{shape}" }}'))).errors.positioning
    assert spread is not None
    assert 0.01 == pytest.approx(spread.std)
    assert not isinstance(spread, Normal)


def test_size_of_a_pin() -> None:
    """A pin is a diameter and a spread about zero; without a spread it is exact."""
    text = changed(
        ("diameter = 6, limit = 0.005", "diameter = 6, total = 0.008, bias = 0.008"), (", limit = 0.02 }", " }")
    )
    pins = parse_job(text).methods[0]
    assert isinstance(pins, PinsMethod)
    assert (6.0, Uniform(0.004, 0.008)) == (pins.pin.diameter, pins.pin.spread)
    assert (6.05, Normal(0.0)) == (pins.hole.diameter, pins.hole.spread)


def test_slope_and_ratio_spreads() -> None:
    """Squareness is read as a slope and scale as a ratio, plus-minus strings too."""
    text = changed(('{ limit = "0.5 mm/m" }', '"+-0.1 deg"\nmachine_scale_x = { std = "200 ppm" }'))
    errors = parse_job(text).errors
    assert Uniform(pytest.approx(math.radians(0.1))) == errors.machine_squareness
    assert Normal(pytest.approx(0.0002)) == errors.machine_scale_x


def test_built_in_jobs() -> None:
    """The jobs that ship are right, compare five methods or more, and one is in inches."""
    carrier, panel = built_in(), built_in("panel")
    assert ("mm", "in") == (carrier.units, panel.units)
    assert min(len(carrier.methods), len(panel.methods)) >= 5
    assert {"hole", "web"} == {pair.kind for pair in carrier.pairs}
    assert {"hole", "web", "slot", "outline"} == {pair.kind for pair in panel.pairs}
    assert 19.05 == pytest.approx(panel.blank.thickness)


def test_an_unknown_built_in_job() -> None:
    """A built-in job that does not exist is answered with those that do."""
    with pytest.raises(
        JobError, match=r'needed "carrier" or "panel"; came "carier"\. Try: carrier \[no-such-example\]'
    ):
        built_in("carier")


def test_records_in_python_are_in_mm_and_rad() -> None:
    """Without a file around them bare numbers are mm and rad, whatever the units of the results."""
    slot = SlotPair(name="groove", at=(1, 2), angle=0.5, allowed="1 thou")
    assert (0.5, 0.0254) == (slot.angle, pytest.approx(slot.allowed))
    job = parse_job(SAMPLE)
    again = Job(
        units="in", goal=job.goal, flip=job.flip, blank=Blank(size=(200, 100, 12)), pairs=job.pairs, methods=job.methods
    )
    assert job.blank == again.blank
    assert job.pairs == again.pairs
    assert tuple(Errors.model_fields) == again.left_out


def test_records_are_closed_and_frozen() -> None:
    """A record takes no unknown key, no second use of a name and no change."""
    job = parse_job(SAMPLE)
    with pytest.raises(ValidationError, match="Extra inputs are not permitted"):
        Blank(size=(1, 2, 3), colour="red")  # type: ignore[call-arg]
    with pytest.raises(ValidationError, match=r'a name of its own for every pair and every method; came "bore" twice'):
        Job(flip="diagonal", blank=job.blank, pairs=(job.pairs[0], job.pairs[0]), methods=job.methods)
    with pytest.raises(ValidationError, match="frozen"):
        job.goal = 0.5  # type: ignore[misc]


def test_the_schema_of_a_job_names_what_a_person_may_write() -> None:
    """The JSON schema allows a length as a number or as text, and a spread as a table of its kind or as text."""
    schema = Job.model_json_schema()
    point = schema["$defs"]["SlotPair"]["properties"]["at"]["prefixItems"]
    assert [{"anyOf": [{"type": "number"}, {"type": "string"}]}] * 2 == point
    scale = schema["$defs"]["Errors"]["properties"]["machine_scale_x"]["anyOf"]
    assert [{"$ref": "#/$defs/RatioTable"}, {"type": "string"}, {"type": "null"}] == scale
