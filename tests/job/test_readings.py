"""Readings from a file: the four forms, units, faces, and every fault told at once with its line."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from flipcheck.errors import JobError
from flipcheck.job.reader import built_in
from flipcheck.job.readings.file import parse_readings, read_readings, tool_size
from flipcheck.job.readings.records import Diagonals, Distance, Offset
from flipcheck.job.records import Job
from tests.make import FENCE, make_job

PAIRS = [
    {"name": "seat", "kind": "hole", "at": [60.0, 40.0], "allowed": 0.1},
    {"name": "bolt", "kind": "hole", "at": [20.0, 20.0], "bolt": 4.0, "hole_a": 4.4, "hole_b": 4.6},
    {"name": "rim", "kind": "outline", "points": [[10, 10], [90, 10], [90, 60]], "allowed": 0.1},
]
JOB = make_job(FENCE, pairs=PAIRS)


def job(**head: object) -> Job:
    return JOB.model_copy(update=head)


def codes(text: str) -> list[tuple[int | None, str]]:
    """Line and code of everything that must be mended."""
    with pytest.raises(JobError) as error:
        parse_readings(text, JOB)
    return [(problem.line, problem.code) for problem in error.value.problems]


def test_a_mismatch_at_a_pair_or_at_a_place():
    """A pair gives its place; x and y go before it; an empty cell was not measured."""
    text = "part,pair,x,y,dx,dy,u\n1,seat,,,0.1,-0.2,0.02\n2,,10,20,0.3,,\n2,rim,11,22,,0.4,\n"
    assert (
        Offset("1", (60.0, 40.0), 0.1, -0.2, 0.02, "seat"),
        Offset("2", (10.0, 20.0), 0.3),
        Offset("2", (11.0, 22.0), None, 0.4, None, "rim"),
    ) == parse_readings(text, JOB).offsets


def test_steps_of_a_coupon():
    """Half the difference of opposite steps is the mismatch, half the sum the growth; u of it is smaller by sqrt 2."""
    found = parse_readings("part,x,y,left,right,front,back,u\n1,10,20,-0.1,0.3,0.06,0.02,0.03\n", JOB)
    (offset,), (growth,) = found.offsets, found.growths
    assert [0.2, -0.02, 0.03 / math.sqrt(2)] == pytest.approx([offset.dx, offset.dy, offset.u])
    assert [0.1, 0.04] == pytest.approx([growth.along_x, growth.along_y])
    (only_x,) = parse_readings("part,x,y,left,right\n1,10,20,-0.1,0.3\n", JOB).offsets
    assert only_x.dy is None


def test_a_pin_that_passes():
    """Hole less pin; of a pair with two holes in the job their mean less pin."""
    found = parse_readings("part,pair,x,y,pin,hole\n1,,10,20,5.9,6.05\n1,bolt,,,4.3,\n1,bolt,,,4.3,4.52\n", JOB)
    assert [0.15, 0.2, 0.22] == pytest.approx([one.size for one in found.distances])
    assert Distance("1", (20.0, 20.0), pytest.approx(0.2), None, "bolt") == found.distances[1]


def test_diagonals():
    """Sides and diagonals of a rectangle need no place."""
    found = parse_readings("part,along_x,along_y,rising,falling\n1,120,50,129.95,130.05\n", JOB)
    assert (Diagonals("1", 120.0, 50.0, 129.95, 130.05),) == found.diagonals
    # (130.05² - 129.95²) / (4 x 120 x 50) = 0.1 x 260 / 24000
    assert found.diagonals[0].squareness == pytest.approx(26.0 / 24_000)


@pytest.mark.parametrize(
    ("flip", "expected"), [("left-right", (-0.1, 0.2)), ("front-back", (0.1, -0.2)), ("diagonal", (0.2, 0.1))]
)
def test_seen_with_face_b_up(flip: str, expected: tuple[float, float]):
    """What was read with face B up is turned back; places stay those of the blank with face A up."""
    (offset,) = parse_readings("part,x,y,dx,dy,seen\n1,10,20,0.1,0.2,b\n", job(flip=flip)).offsets
    assert (10.0, 20.0) == offset.at
    assert expected == (offset.dx, offset.dy)


def test_growth_seen_with_face_b_up_after_a_diagonal_turn():
    """After a diagonal turn the steps along X are those of the blank along Y."""
    text = "part,x,y,left,right,front,back,seen\n1,10,20,0.1,0.3,0,0,B\n"
    (growth,) = parse_readings(text, job(flip="diagonal")).growths
    assert (0.0, 0.2) == (growth.along_x, pytest.approx(growth.along_y))


def test_units():
    """Bare numbers are in the units of the job; strings carry their own; a typeset minus is a minus."""
    inches = job(units="in")
    text = 'part,x,y,dx,dy,u\n1,1,2,0.01,"-0.5 mm",5 thou\n2,1,1,\u22120.01,0,\n'
    first, second = parse_readings(text, inches).offsets
    assert (25.4, 50.8) == pytest.approx(first.at)
    assert [0.254, -0.5, 0.127] == pytest.approx([first.dx, first.dy, first.u])
    assert second.dx == pytest.approx(-0.254)


@pytest.mark.parametrize("sign", [";", "\t"])
def test_other_separators_comments_and_empty_lines(sign: str):
    """Cells may be parted by ; or tabs; comments, empty lines, notes and the order of columns do not matter."""
    text = "\ufeff# first run\r\n\r\ndx;PART;Y;X;note\r\n0.1;1;20;10;by finger\r\n;;;;\r\n".replace(";", sign)
    (offset,) = parse_readings(text, JOB).offsets
    assert Offset("1", (10.0, 20.0), 0.1) == offset


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", [(None, "no-readings")]),
        ("part,dx\n", [(None, "no-readings")]),
        ("dx,x,y\n0.1,10,20\n", [(1, "missing-column"), (2, "bad-part")]),
        ("part,x,y\n1,10,20\n", [(1, "missing-column")]),
        ("part,x,y,dx,colour\n1,10,20,0.1,red\n", [(1, "unknown-column")]),
        ("part,x,y,dx,dxx\n1,10,20,0.1,0.1\n", [(1, "unknown-column"), (1, "repeated-column")]),
        ("part,x,y,dx,dx\n1,10,20,0.1,0.1\n", [(1, "repeated-column")]),
        ("part,x,y,dx\n1,10,20,0,1\n", [(2, "row-length")]),
        ('part,x,y,dx\n1,10,20,"0.1\n', [(2, "csv-syntax")]),
        ("part,x,y,dx,left,right\n1,10,20,0.1,0.1,0.1\n", [(2, "reading-form")]),
        ("part,x,y,dx\n1,10,20,\n", [(2, "reading-form")]),
        ("part,x,y,left,right\n1,10,20,0.1,\n", [(2, "reading-incomplete")]),
        ("part,x,y,pin,hole\n1,10,20,,6\n2,10,20,6,\n", [(2, "reading-incomplete"), (3, "reading-incomplete")]),
        ("part,along_x,along_y,rising,falling\n1,30,40,50,\n", [(2, "reading-incomplete")]),
        ("part,along_x,along_y,rising,falling\n1,30,40,50,60\n", [(2, "no-rectangle")]),
        ("part,x,y,dx\n1,10,,0.1\n", [(2, "reading-incomplete")]),
        ("part,pair,dx\n1,rim,0.1\n1,,0.1\n", [(2, "reading-place"), (3, "reading-place")]),
        ("part,pair,dx\n1,seta,0.1\n", [(2, "unknown-pair")]),
        ("part,x,y,dx\n1,200,20,0.1\n", [(2, "reading-off-blank")]),
        ("part,x,y,dx,u\n1,10,20,0.1,0\n", [(2, "out-of-range")]),
        ("part,x,y,dx,u\n1,10,20,0.1,0.1 kg\n", [(2, "wrong-dimension")]),
        ("part,x,y,dx\n1,10,20,much\n1,10,20,nan\n", [(2, "unreadable-quantity"), (3, "not-a-number")]),
        ("part;x;y;dx\n1;10;20;0,1\n", [(2, "unreadable-quantity")]),
        ("part,x,y,pin,hole\n1,10,20,6.1,6\n", [(2, "pin-too-big")]),
        ("part,x,y,dx,seen\n1,10,20,0.1,C\n", [(2, "seen-face")]),
        ("part,x,y,dx\n" + "1,10,20,0.1\n" * 1001, [(1002, "too-many-readings")]),
        (
            "part,x,y,dx,u,seen\n,10,200,a,b,C\n",
            [(2, code) for code in ("unreadable-quantity", "reading-off-blank", "bad-part", "seen-face")]
            + [(2, "unreadable-quantity")],
        ),
    ],
)
def test_faults(text: str, expected: list[tuple[int | None, str]]):
    """Each fault has its code and its line; all of a file are told at once."""
    assert expected == codes(text)


def test_a_fault_says_what_was_needed_what_came_and_what_to_try():
    """The message of a fault, whole."""
    with pytest.raises(JobError) as error:
        parse_readings("part,pair,dx\n1,seta,0.1\n", JOB, "first.csv")
    assert (
        "first.csv: 1 thing to mend\n"
        '  line 2, column pair: needed the name of a pair of the job ("seat", "bolt", "rim"); came "seta". Try: seat'
        " [unknown-pair]"
    ) == str(error.value)


def test_the_file_itself(tmp_path: Path):
    """A file of nearly the same name is suggested; the example of a job that ships can be measured."""
    path = tmp_path / "first.csv"
    path.write_text('part,pair,dx\n1,"bearing seat, left",0.1\n', encoding="utf-8")
    assert 1 == len(read_readings(path, built_in()).offsets)
    with pytest.raises(
        JobError, match=r"the readings file: needed a readings file; came no file.*first.csv \[file-mis"
    ):
        read_readings(tmp_path / "frist.csv", built_in())


def test_sizes_of_tools():
    """A size on the command line is in the units of the job or carries its own."""
    assert tool_size("6", "bit", JOB) == 6.0
    assert tool_size("1/4 in", "bit", JOB) == pytest.approx(6.35)
    assert tool_size(None, "bit", JOB) is None
    with pytest.raises(JobError, match=r"--plate: needed a value above 0; came \"-1\" \[out-of-range\]"):
        tool_size("-1", "plate", JOB)
