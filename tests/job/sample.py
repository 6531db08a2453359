"""A job that is right, and ways to make it wrong."""

from __future__ import annotations

import pytest

from flipcheck.errors import JobError, Problem
from flipcheck.job.reader import parse_job

SAMPLE = """\
title = "Lamp foot"
units = "mm"
goal = 0.9
flip = "left-right"

[blank]
size = [200, 100, 12]

[errors]
positioning = { std = 0.01 }
machine_squareness = { limit = "0.5 mm/m" }
bit_runout = 0.02

[[pairs]]
name = "bore"
kind = "hole"
at = [60, 55]
allowed = 0.15

[[pairs]]
name = "bolt"
kind = "hole"
at = [20, 20]
bolt = 4
hole_a = 4.5

[[pairs]]
name = "groove"
kind = "slot"
at = [100, 50]
angle = 30
allowed = 0.2

[[pairs]]
name = "rim"
kind = "outline"
points = [[10, 10], [190, 10], [190, 90], [10, 90]]
allowed = 0.3

[[pairs]]
name = "floor"
kind = "web"
at = [150, 50]
depth_a = 5
depth_b = 4
min_web = 2

[[methods]]
name = "dowels"
kind = "pins"
pins = [[100, 10], [100, 90]]
pin = { diameter = 6, limit = 0.005 }
hole = { diameter = 6.05, limit = 0.02 }

[[methods]]
name = "rail"
kind = "fence"
fence = "front"
contacts = [20, 180]
stop = "left"
stop_at = 20

[[methods]]
name = "corner"
kind = "probe"
corner = "front-left"
touch_in = [15, 15]
angle = "two touches"
spacing = 100
"""


def changed(*replacements: tuple[str, str]) -> str:
    """The sample with each first text replaced by the second; a text that is not there is a mistake of the test."""
    text = SAMPLE
    for old, new in replacements:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the sample"
        text = text.replace(old, new)
    return text


def problems(text: str) -> tuple[Problem, ...]:
    """Everything that is to be mended in a text."""
    with pytest.raises(JobError) as caught:
        parse_job(text)
    return caught.value.problems


def only_problem(text: str) -> Problem:
    """The one thing that is to be mended in a text."""
    found = problems(text)
    assert len(found) == 1, [str(problem) for problem in found]
    return found[0]
