"""Any number of a job by its key path: which one it is, what it is now, and the job with another in its place."""

from __future__ import annotations

import math
import re
from typing import Annotated, Literal, get_args, get_origin

import pytest

from flipcheck.errors import JobError, Problem
from flipcheck.job.fields import Record
from flipcheck.job.key_paths.kinds import field_kind, is_number, is_spread
from flipcheck.job.key_paths.numbers import number_at, read_number, with_number
from flipcheck.job.key_paths.paths import key_path
from flipcheck.job.reader import built_in, parse_job
from flipcheck.job.records import Job
from flipcheck.stack.spreads import Arcsine, Exactly, Normal, Trapezoid, Uniform

TEXT = """
title = "Plate"
flip = "left-right"
[blank]
size = [180, 110, 12]
[errors]
positioning = { std = 0.01 }
lost_motion = { total = 0.02 }
seating = { limit = 0.04, bias = 0.01 }
stock_size = "+-0.2 mm"
machine_squareness = { std = "0.2 mm/m" }
clamping_shift = { limit = 0.02, shape = "normal", sigmas = 2 }
z_touch = { std = 0.02, shape = "arcsine" }
stock_thickness = { total = 0.2, shape = "trapezoid", top = 0.3 }
bit_runout = 0.02
[[pairs]]
name = "seat, left"
kind = "hole"
at = [60, 55]
allowed = 0.1
[[pairs]]
name = "bolt"
kind = "hole"
at = [20, 20]
bolt = 4.0
hole_a = 4.5
[[pairs]]
name = "slot [1].x"
kind = "slot"
at = [60, 30]
angle = 90
allowed = 0.2
[[pairs]]
name = "0"
kind = "outline"
points = [[10, 10], [170, 10], [170, 100]]
allowed = 0.1
[[methods]]
name = "two dowels"
kind = "pins"
pins = [[90, 8], [90, 102]]
pin = { diameter = 6.0, limit = 0.005 }
hole = { diameter = 6.06 }
[[methods]]
name = "fence and stop"
kind = "fence"
fence = "front"
contacts = [20, 160]
stop = "left"
stop_at = 20
"""
JOB = parse_job(TEXT)


def problem(key: str, job_text: str | None = TEXT) -> Problem:
    with pytest.raises(JobError) as error:
        key_path(JOB, key, job_text)
    (found,) = error.value.problems
    return found


def changed(key: str, written: float | str):
    return with_number(JOB, key_path(JOB, key, TEXT).path, written)


@pytest.mark.parametrize(
    ("key", "told", "unit", "now"),
    [
        ("blank.size[0]", "blank.size[0]", "mm", 180.0),
        ("blank.size[2]", "blank.size[2]", "mm", 12.0),
        ("errors.bit_runout", "errors.bit_runout", "mm", 0.02),
        ("errors.positioning", "errors.positioning.std", "mm", 0.01),
        ("errors.positioning.bias", "errors.positioning.bias", "mm", 0.0),
        ("errors.lost_motion", "errors.lost_motion.total", "mm", 0.02),
        ("errors.lost_motion.limit", "errors.lost_motion.limit", "mm", 0.01),
        ("errors.seating", "errors.seating.limit", "mm", 0.04),
        ("errors.seating.bias", "errors.seating.bias", "mm", 0.01),
        ("errors.stock_size", "errors.stock_size.limit", "mm", 0.2),
        ("errors.machine_squareness", "errors.machine_squareness.std", "rad", 0.0002),
        ("errors.clamping_shift", "errors.clamping_shift.limit", "mm", 0.02),
        ("errors.z_touch", "errors.z_touch.std", "mm", 0.02),
        ("errors.machine_scale_x.limit", "errors.machine_scale_x.limit", "", None),
        ("errors.rehoming.std", "errors.rehoming.std", "mm", None),
        ("pairs[seat, left].at[1]", "pairs[seat, left].at[1]", "mm", 55.0),
        ("pairs[1].hole_b", "pairs[bolt].hole_b", "mm", 4.5),
        ("pairs[bolt].allowed", "pairs[bolt].allowed", "mm", None),
        ("pairs[2].angle", "pairs[slot [1].x].angle", "degrees", math.pi / 2),
        ("pairs[0].points[1][0]", "pairs[0].points[1][0]", "mm", 170.0),
        ("methods[two dowels].pins[1][1]", "methods[two dowels].pins[1][1]", "mm", 102.0),
        ("methods[0].pin.diameter", "methods[two dowels].pin.diameter", "mm", 6.0),
        ("methods[0].pin.limit", "methods[two dowels].pin.limit", "mm", 0.005),
        ("methods[0].hole.std", "methods[two dowels].hole.std", "mm", 0.0),
        ("methods[0].pin_play.total", "methods[two dowels].pin_play.total", "mm", None),
        ("methods[0].wear", "methods[two dowels].wear", "mm", None),
        ("methods[1].contacts[0]", "methods[fence and stop].contacts[0]", "mm", 20.0),
        ("methods[1].minutes", "methods[fence and stop].minutes", "", None),
    ],
)
def test_numbers_are_found(key: str, told: str, unit: str, now: float | None):
    """A key path leads to its number, told with its size and its names; a name goes before a number."""
    found = key_path(JOB, key, TEXT)

    assert (told, unit) == (found.key, found.unit)
    assert pytest.approx(now) == number_at(JOB, found.path)


@pytest.mark.parametrize(
    ("key", "came", "hint"),
    [
        ("errors.positionng.std", '"positionng"', "errors.positioning.std"),
        ("error.positioning", '"error"', "errors.positioning"),
        ("errors.seating.sdt", '"sdt"', "errors.seating.std"),
        ("errors.positioning.limit", '"limit"', "errors.positioning.std or errors.positioning.bias"),
        ("pairs[seat left].at[0]", "[seat left]", "pairs[seat, left].at[0]"),
        ("pairs[7].at[0]", "[7]", ""),
        ("pairs[-1].at[0]", "[-1]", ""),
        ("pairs[bolt].at", "pairs[bolt].at, where more than one stands", "pairs[bolt].at[0]"),
        ("pairs[bolt].at[2]", "[2]", ""),
        ("pairs", "pairs, where more than one stands", "pairs[seat, left]"),
        ("methods[0].pin.daimeter", '"daimeter"', "methods[two dowels].pin.diameter"),
        ("methods[1].rail", '"rail"', "methods[fence and stop].minutes or"),
        ("errors[0]", "[0] after errors", ""),
        ("[0]", "[0] after nothing", ""),
        ("blank.size[0].x", '"x"', "blank.size[0]"),
        ("title", '"title"', "blank or errors or pairs or methods"),
        ("goal", '"goal"', "blank or errors or pairs or methods"),
        ("", "nothing, where more than one stands", "blank or errors or pairs or methods"),
        ("errors..seating", '"..seating"', ""),
        ("errors.seating]", '"]"', ""),
        ("errors.rehoming", "errors.rehoming", "errors.rehoming.std or errors.rehoming.limit or errors.rehoming.total"),
        ("methods[0].pin", "methods[two dowels].pin", "methods[two dowels].pin.diameter or"),
    ],
)
def test_wrong_key_paths(key: str, came: str, hint: str):
    """What leads nowhere is told with what was probably meant."""
    found = problem(key)

    assert ("sweep-key", f'vary "{key}"', came) == (found.code, found.where, found.came)
    assert found.hint.startswith(hint)
    assert bool(found.hint) == bool(hint)


def test_a_spread_of_which_the_writing_is_not_known():
    """Without the text of the job a bounded spread by itself is refused: a total is twice a limit."""
    assert "errors.lost_motion.std or errors.lost_motion.limit" in problem("errors.lost_motion", None).hint
    assert "errors.positioning.std" == key_path(JOB, "errors.positioning").key
    assert "errors.lost_motion.total" == key_path(JOB, "errors.lost_motion.total").key


@pytest.mark.parametrize(
    ("key", "written", "old", "new"),
    [
        ("blank.size[1]", 109, "size = [180, 110, 12]", "size = [180, 109, 12]"),
        ("errors.bit_runout", "1 thou", "bit_runout = 0.02", 'bit_runout = "1 thou"'),
        ("errors.positioning", 0.03, "{ std = 0.01 }", "{ std = 0.03 }"),
        ("errors.positioning.bias", -0.03, "{ std = 0.01 }", "{ std = 0.01, bias = -0.03 }"),
        ("errors.lost_motion", 0.03, "{ total = 0.02 }", "{ total = 0.03 }"),
        ("errors.lost_motion.limit", 0.03, "{ total = 0.02 }", "{ limit = 0.03 }"),
        ("errors.seating", 0.03, "limit = 0.04,", "limit = 0.03,"),
        ("errors.stock_size", 0.3, '"+-0.2 mm"', '"+-0.3 mm"'),
        ("errors.machine_squareness", "0.5 mm/m", '"0.2 mm/m"', '"0.5 mm/m"'),
        ("errors.machine_squareness", 0.0005, '"0.2 mm/m"', "0.0005"),
        ("errors.clamping_shift.total", 0.08, "limit = 0.02, shape", "limit = 0.04, shape"),
        ("errors.z_touch", 0.05, "{ std = 0.02, shape", "{ std = 0.05, shape"),
        ("errors.stock_thickness", 0.4, "total = 0.2,", "total = 0.4,"),
        ("pairs[seat, left].at[0]", "1 in", "at = [60, 55]", 'at = ["1 in", 55]'),
        ("pairs[bolt].hole_a", 4.6, "hole_a = 4.5", "hole_a = 4.6"),
        ("pairs[bolt].hole_b", 4.6, "hole_a = 4.5", "hole_a = 4.5\nhole_b = 4.6"),
        ("pairs[2].angle", 45, "angle = 90", "angle = 45"),
        ("pairs[0].points[2][0]", 160, "[170, 100]]", "[160, 100]]"),
        ("methods[two dowels].pins[1][1]", 90, "[90, 102]", "[90, 90]"),
        ("methods[0].pin.diameter", 5.9, "diameter = 6.0,", "diameter = 5.9,"),
        ("methods[0].pin.total", 0.02, "limit = 0.005", "limit = 0.01"),
        ("methods[0].hole.limit", 0.02, "diameter = 6.06", "diameter = 6.06, limit = 0.02"),
        ("methods[0].wear", 0.02, "hole = {", "wear = 0.02\nhole = {"),
        ("methods[1].minutes", 3, "stop_at = 20", "stop_at = 20\nminutes = 3"),
        ("errors.rehoming.limit", 0.03, "bit_runout", "rehoming = { limit = 0.03 }\nbit_runout"),
    ],
)
def test_another_number_is_as_if_it_were_written(key: str, written: float | str, old: str, new: str):
    """The job with another number is the one that is read from the text with that number in it."""
    assert 1 == TEXT.count(old)
    assert parse_job(TEXT.replace(old, new)) == changed(key, written)


def test_bare_numbers_are_in_the_units_of_the_job():
    """In a job in inches a bare number is in inches, and a number at its path in mm."""
    job = built_in("panel")
    where = key_path(job, "blank.size[0]")

    assert "in" == where.unit
    assert pytest.approx(7.5 * 25.4) == with_number(job, where.path, 7.5).blank.length
    assert pytest.approx(190.0) == read_number(job, where.path, "190 mm")


def test_shapes_stay():
    """Another size leaves the shape and the bias as they are."""
    assert Normal(0.015, 0.0, 0.03) == changed("errors.clamping_shift", 0.03).errors.clamping_shift
    assert Normal(0.05, 0.0, 0.1) == changed("errors.clamping_shift.std", 0.05).errors.clamping_shift
    assert Uniform(0.05, 0.01) == changed("errors.seating", 0.05).errors.seating
    assert pytest.approx(0.05) == changed("errors.seating.std", 0.05).errors.seating.std
    assert Trapezoid(0.5, 0.0, 0.3) == changed("errors.stock_thickness.limit", 0.5).errors.stock_thickness
    assert isinstance(changed("errors.z_touch.limit", 0.5).errors.z_touch, Arcsine)
    assert Exactly(0.02) == changed("methods[0].wear", 0.02).methods[0].wear


@pytest.mark.parametrize(
    ("key", "written", "where", "code"),
    [
        ("errors.positioning.std", -1, "errors.positioning.std", "negative"),
        ("errors.positioning.std", "1 deg", "errors.positioning.std", "wrong-dimension"),
        ("errors.machine_squareness.std", 1, "errors.machine_squareness.std", "too-large"),
        ("errors.bit_runout", -0.1, "errors.bit_runout", "negative"),
        ("pairs[bolt].bolt", 0, 'pairs "bolt": bolt', "out-of-range"),
        ("pairs[bolt].at[0]", math.nan, 'pairs "bolt": at, item 1', "not-a-number"),
        ("methods[0].pin.diameter", 0, 'methods "two dowels": pin.diameter', "out-of-range"),
        ("methods[0].wear", -0.1, 'methods "two dowels": wear', "negative"),
        ("methods[0].wear.limit", 0.1, 'methods "two dowels": wear.limit', "negative"),
    ],
)
def test_numbers_that_cannot_stand_there(key: str, written: float | str, where: str, code: str):
    """They are refused as in a job file."""
    with pytest.raises(JobError) as error:
        changed(key, written)
    (found,) = error.value.problems

    assert (where, code) == (found.where, found.code)


def test_a_normal_of_size_zero_with_a_limit():
    """Nothing says how many standard deviations the limit of an exact number was."""
    job = with_number(JOB, ("errors", "clamping_shift", "limit"), 0.0)

    with pytest.raises(JobError, match=r"spread-option"):
        with_number(job, ("errors", "clamping_shift", "limit"), 0.1)


WAITS = TEXT.replace(
    "[[pairs]]",
    """[between]
material = "red oak"
grain = 90
moisture = { before = 8, after = 9.5, limit = 0.5 }
temperature = "+-5 K"
[[pairs]]""",
    1,
)


@pytest.mark.parametrize(
    ("key", "unit", "now", "written", "old", "new"),
    [
        ("between.grain", "degrees", math.pi / 2, 45, "grain = 90", "grain = 45"),
        ("between.moisture", "%", 0.005, 0.25, "limit = 0.5", "limit = 0.25"),
        ("between.moisture.total", "%", 0.01, "2 %", "limit = 0.5", "limit = 1"),
        ("between.moisture.after", "%", 0.095, 12, "after = 9.5", "after = 12"),
        ("between.moisture.before", "%", 0.08, 9, "before = 8", "before = 9"),
        ("between.temperature", "K", 5.0, "18 degF", '"+-5 K"', '"+-10 K"'),
        ("between.temperature.bias", "K", 0.0, 2, '"+-5 K"', "{ limit = 5, bias = 2 }"),
    ],
)
def test_what_happens_between_the_faces(key, unit, now, written, old, new):
    """Moisture and heat have the same numbers as a spread, and what was before and comes after."""
    job, text = parse_job(WAITS), WAITS.replace(old, new)
    where = key_path(job, key, WAITS)

    assert 1 == WAITS.count(old)
    assert unit == where.unit
    assert pytest.approx(now) == number_at(job, where.path)
    assert parse_job(text) == with_number(job, where.path, written)


def test_a_change_that_is_known():
    """A plain change is a number by itself, to which a size may be added; one of two ends is not."""
    job = parse_job(WAITS.replace("moisture = { before = 8, after = 9.5, limit = 0.5 }", "moisture = 1.5"))
    where = key_path(job, "between.moisture")
    ends = parse_job(WAITS.replace(", limit = 0.5 }", " }"))

    assert ("between.moisture", "%", 0.015) == (where.key, where.unit, number_at(job, where.path))
    assert Exactly(0.02) == with_number(job, where.path, 2).between.moisture.spread
    assert Uniform(0.005, 0.015) == with_number(job, ("between", "moisture", "limit"), 0.5).between.moisture.spread
    with pytest.raises(JobError, match=r"which of its numbers.*between\.moisture\.before"):
        key_path(ends, "between.moisture")
    with pytest.raises(JobError, match=r"moisture-range"):
        with_number(ends, ("between", "moisture", "after"), 45)


def records(record=Job, found=None):
    """All records that a job is made of."""
    found = {} if found is None else found
    found[record.__name__] = record
    for key in record.model_fields:
        for part in re.findall(r"flipcheck\.job\.[a-z_.]+\.([A-Z]\w+)", str(field_kind(record, key))):
            inner = next((r for r in _below(Record) if r.__name__ == part), None)
            if inner is not None and part not in found:
                records(inner, found)
    return found


def _below(record):
    return [inner for one in record.__subclasses__() for inner in (one, *_below(one))]


def test_every_key_of_a_job_is_of_a_known_kind():
    """A number, a spread, a list, a record, or words: what is new in a job is not overlooked in silence."""
    found = records()
    kinds = {f"{name}.{key}": field_kind(record, key) for name, record in found.items() for key in record.model_fields}

    def known(kind) -> bool:
        base = get_args(kind)[0] if get_origin(kind) is Annotated else kind
        words = base in (str, bool) or get_origin(base) is Literal
        return is_number(kind) or is_spread(kind) or words or get_origin(base) is tuple or base in found.values()

    assert {"Blank", "Between", "Errors", "HolePair", "PinsMethod", "ProbeMethod"} <= set(found)
    assert [] == [key for key, kind in kinds.items() if not known(kind)]


def test_a_job_in_which_nothing_happens_between_the_faces():
    """Without the block there is no such number."""
    assert '"between"' == problem("between.moisture").came
