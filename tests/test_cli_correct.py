"""The command `correct`: what it writes where, and the code it ends with."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from flipcheck.decide.first_article.correct import TRIALS, correct
from flipcheck.job.reader import read_job
from flipcheck.job.readings.file import read_readings
from flipcheck.show.first_article.plain import article_to_json
from flipcheck.show.first_article.text import article_to_text

READINGS = "part,x,y,dx,dy\n" + "".join(
    f"{part},{x},{y},{0.2 + 0.001 * part:g},{-0.01 * part:g}\n"
    for part in range(4)
    for x, y in ((20, 20), (160, 20), (20, 90), (160, 90))
)


@pytest.fixture
def readings(tmp_path: Path) -> str:
    """A file of readings of four parts that are off to the right by a fifth of a millimetre."""
    path = tmp_path / "first.csv"
    path.write_text(READINGS, encoding="utf-8")
    return str(path)


def test_correct(run, job: str, readings: str):
    """The text is that of the function, on stdout; with the correction the goal is met here."""
    read = read_job(job)
    article = correct(read, read_readings(readings, read), "two dowels")
    assert TRIALS == article.trials
    assert article.meets_goal
    assert (0, article_to_text(article), "") == run("correct", job, readings, "--method", "two dowels")


def test_a_goal_that_stays_out_of_reach(run, job: str, readings: str):
    """The fence scatters too much for any correction to help: the code is 1."""
    code, out, err = run("correct", job, readings, "--trials", "2000")
    assert (1, "") == (code, err)
    assert "Goal not met" in out


def test_json(run, job: str, readings: str):
    """With --json the same answer is written as data, for the trials and the seed given."""
    read = read_job(job)
    article = correct(read, read_readings(readings, read), bit=6.0, trials=1000, rng=7)
    code, out, _ = run("correct", job, readings, "--json", "--trials", "1000", "--seed", "7", "--bit", "6")
    assert code == 1
    assert article_to_json(article) == out
    assert 7 == json.loads(out)["seed"]


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--bit", "big"], "unreadable-quantity"),
        (["--plate", "0"], "out-of-range"),
        (["--method", "glue"], "unknown-method"),
        (["--trials", "0"], "not in the range"),
    ],
)
def test_a_bad_call(run, job: str, readings: str, options: list[str], told: str):
    """What is wrong with the call ends with 2, in words and nothing on stdout."""
    code, out, err = run("correct", job, readings, *options)
    assert (2, "") == (code, out)
    assert told in err


def test_bad_readings(run, job: str, tmp_path: Path):
    """A file that must be mended ends with 2, all faults on stderr; so does one that is not there."""
    path = tmp_path / "bad.csv"
    path.write_text("part,x,y,dx\n1,10,20,a\n,10,20,0.1\n", encoding="utf-8")
    code, out, err = run("correct", job, str(path))
    assert (2, "") == (code, out)
    assert "2 things to mend" in err
    assert "line 2, column dx [unreadable-quantity]" in err
    assert "line 3, column part [bad-part]" in err
    code, _, err = run("correct", job, str(tmp_path / "none.csv"))
    assert code == 2
    assert "the readings file [file-missing]" in err
