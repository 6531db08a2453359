from __future__ import annotations

import math
import re

import pytest

from flipcheck.job.checks.geometry import problems_of
from flipcheck.job.reader import parse_job
from flipcheck.job.records import Blank, Job, OutlinePair
from tests.job.sample import SAMPLE, changed, only_problem, problems

BORE = "at = [60, 55]\nallowed = 0.15"
BOLT = "bolt = 4\nhole_a = 4.5"
FLOOR = "depth_a = 5\ndepth_b = 4\nmin_web = 2"
RIM = "[[10, 10], [190, 10], [190, 90], [10, 90]]"


@pytest.mark.parametrize(
    ("old", "new", "code", "message"),
    [
        (
            BORE,
            "at = [201, 55]\nallowed = 1",
            "outside-blank",
            r'"bore": at: needed a point on the blank, from \(0, 0\) to \(200, 100\) mm; came \(201, 55\) mm',
        ),
        (BORE, "at = [60, -1]\nallowed = 1", "outside-blank", r"came \(60, -1\) mm"),
        (
            BORE,
            "at = [60, 55]",
            "no-limit",
            r'pairs "bore": needed a limit: allowed, or bolt with hole_a; came neither\. Try: allowed = 0\.15',
        ),
        (
            BORE,
            BORE + "\nhole_b = 5",
            "option-unused",
            r"hole_b: needed bolt beside it, since it acts only with a bolt; came hole_b",
        ),
        (
            BOLT,
            BOLT + "\nallowed = 1",
            "two-limits",
            r'"bolt": allowed: needed one limit: allowed, or bolt with hole_a; came both',
        ),
        (BOLT, "bolt = 4", "bolt-without-hole", r"bolt: needed hole_a beside bolt"),
        (BOLT, "bolt = 4\nhole_b = 5", "bolt-without-hole", r"bolt: needed hole_a beside bolt"),
        (
            BOLT,
            "bolt = 4\nhole_a = 4",
            "bolt-too-big",
            r"bolt: needed a bolt smaller than its hole; came bolt = 4 mm in hole_a = 4 mm",
        ),
        (BOLT, "bolt = 4\nhole_a = 5\nhole_b = 3", "bolt-too-big", r"came bolt = 4 mm in hole_b = 3 mm"),
        ("at = [100, 50]\nangle", "at = [100, 101]\nangle", "outside-blank", r'"groove": at: .*came \(100, 101\) mm'),
        (
            FLOOR,
            "depth_a = 5\ndepth_b = 4",
            "no-limit",
            r'"floor": needed a limit: min_web, max_web or min_overlap; came none of them',
        ),
        (
            FLOOR,
            FLOOR + "\nmax_web = 1",
            "limits-crossed",
            r"min_web: needed a min_web no larger than max_web.*; came min_web = 2 mm, max_web = 1 mm",
        ),
        (
            FLOOR,
            "depth_a = 12.1\ndepth_b = 4\nmin_web = 2",
            "depth-outside",
            r"depth_a: needed a depth from 0 to the thickness of 12 mm; came 12\.1 mm",
        ),
        (
            FLOOR,
            "depth_a = 5\ndepth_b = -0.1\nmin_web = 2",
            "depth-outside",
            r"depth_b: needed a depth from 0.*came -0\.1 mm",
        ),
        (
            FLOOR,
            "depth_a = 0\ndepth_b = 0\nmin_web = 2",
            "depth-outside",
            r"depth_a: needed a cut from one face at least; came depths of 0 from both",
        ),
        (
            "size = [200, 100, 12]",
            "size = [200, 100, 12]\nskim_a = 5.5",
            "depth-outside",
            r'"floor": depth_a: needed a depth of the 5\.5 mm skimmed off all of face A, or more; came 5 mm',
        ),
        (
            FLOOR,
            "depth_a = 7\ndepth_b = 7\nmin_web = -1\nmin_overlap = 1.5",
            "limits-crossed",
            r"min_overlap: needed a min_overlap no larger .*; came min_web = -1 mm, min_overlap = 1\.5 mm",
        ),
        (RIM, "[[10, 10], [190, 10], [190, 190]]", "outside-blank", r'"rim": points, item 3: .*came \(190, 190\) mm'),
        (RIM, "[[10, 10], [190, 10]]", "outline-points", r"points: needed at least 3 points; came 2"),
        (
            RIM,
            "[[10, 10], [190, 10], [190, 10], [10, 90]]",
            "outline-repeats",
            r"item 3: needed each point different from the one before it; came \(190, 10\) mm twice\. Try: leave one",
        ),
        (
            RIM,
            "[[10, 10], [190, 10], [10, 90], [10, 10]]",
            "outline-repeats",
            r"item 4: .*Try: leave the last point out, the outline closes itself",
        ),
        (
            RIM,
            "[[10, 10], [100, 50], [190, 90]]",
            "outline-flat",
            r"points: needed an outline that encloses something; came points that lie on one line",
        ),
        (
            RIM,
            "[[10, 10], [190, 90], [190, 10], [10, 90]]",
            "outline-crosses",
            r"the side from point 1 to point 2 meets the side from point 3 to point 4",
        ),
        (
            RIM,
            "[[10, 10], [190, 10], [100, 90], [100, 10]]",
            "outline-crosses",
            r"needed an outline that does not meet itself; came the side from point 1",
        ),
        (
            RIM,
            "[[10, 10], [190, 10], [190, 90], [10, 90], [60, 90], [60, 50]]",
            "outline-crosses",
            r"from point 3 to point 4 meets the side from point 4",
        ),
    ],
)
def test_one_impossible_thing(old: str, new: str, code: str, message: str) -> None:
    """Each impossibility is one problem of its own kind, with the numbers that clash."""
    problem = only_problem(changed((old, new)))
    assert code == problem.code
    assert problem.line is not None
    assert re.search(message, str(problem)), str(problem)


def test_fractions_of_an_inch_on_the_edge_are_on_the_blank() -> None:
    """Rounding of 25.4 times a fraction puts nothing outside the blank."""
    text = changed(
        ("size = [200, 100, 12]", 'size = ["7 7/10 in", "3 7/10 in", "1/2 in"]'),
        ("at = [60, 55]", 'at = ["77/10 in", "37/10 in"]'),
        ("[[10, 10], [190, 10], [190, 90], [10, 90]]", '[[10, 10], ["77/10 in", 10], [190, "37/10 in"]]'),
        ("depth_a = 5\ndepth_b = 4", 'depth_a = "0.5 in"\ndepth_b = 4'),
    )
    assert 12.7 == parse_job(text).blank.thickness


def test_numbers_are_quoted_in_the_units_of_the_job() -> None:
    """A job in inches is answered in inches."""
    text = changed(('units = "mm"', 'units = "in"'), ("at = [60, 55]", "at = [60, 155]"))
    assert "(60, 155) in" == only_problem(text).came


def test_more_than_one_point_may_lie_outside() -> None:
    """Every point of an outline that lies outside the blank is told."""
    text = changed((RIM, "[[10, 10], [290, 10], [290, 90]]"))
    assert ["points, item 2", "points, item 3"] == [problem.where.split(": ")[1] for problem in problems(text)]


def test_without_a_blank_or_a_flip_the_rest_is_still_checked() -> None:
    """What needs no blank is checked without one, and what needs no flip without one."""
    text = changed(("size = [200, 100, 12]", "size = 5"), ('flip = "left-right"\n', ""), (BOLT, "bolt = 4\nhole_a = 3"))
    assert {"wrong-kind", "missing-key", "bolt-too-big"} == {problem.code for problem in problems(text)}


def test_a_round_outline_is_no_crossing() -> None:
    """A circle of a thousand points is measured and accepted, either way round."""
    turns = [2.0 * math.pi * number / 1000 for number in range(1000)]
    points = [(100.0 + 40.0 * math.cos(turn), 50.0 + 40.0 * math.sin(turn)) for turn in turns]
    job = parse_job(SAMPLE)
    for order in (points, points[::-1]):
        outline = OutlinePair(name="ring", points=tuple(order), allowed=0.1)
        assert () == problems_of(job.model_copy(update={"pairs": (outline,)}))


def test_a_job_built_in_python_can_be_checked() -> None:
    """The same checks serve a job that came from no file, by name and without a line."""
    job = parse_job(SAMPLE)
    assert () == problems_of(job)
    small = Job(flip=job.flip, blank=Blank(size=(200, 56, 12)), pairs=job.pairs[:1], methods=job.methods[:1])
    assert [('methods "dowels": pins, item 2', "(100, 90) mm", None)] == [
        (problem.where, problem.came, problem.line) for problem in problems_of(small)
    ]


@pytest.mark.parametrize(
    ("skim", "code", "message"),
    [
        ("12", "depth-outside", r"blank\.skim_a: needed a skim_a below the thickness of 12 mm; came 12 mm"),
        ("-0.5", "out-of-range", r"skim_a"),
        ("0", "out-of-range", r"skim_a"),
    ],
)
def test_skim_that_cannot_be(skim: str, code: str, message: str):
    """Nothing, less than nothing, or the whole thickness cannot be skimmed off face A."""
    problem = problems(changed(("size = [200, 100, 12]", f"size = [200, 100, 12]\nskim_a = {skim}")))[0]
    assert code == problem.code
    assert re.search(message, str(problem)), str(problem)
