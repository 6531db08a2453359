"""`check --parts`: a batch on stdout, as text or JSON, with a picture, and the exit code of the batch."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from flipcheck.decide.batch.batch import batch
from flipcheck.decide.check import check
from flipcheck.job.reader import read_job
from flipcheck.show.batch.plain import batch_to_json
from flipcheck.show.batch.text import batch_to_text
from tests.test_cli import JOB

FEW = ("--trials", "2000", "--method", "two dowels")


@pytest.fixture
def job(tmp_path: Path) -> str:
    """A job file of three methods; its dowels wear their holes."""
    path = tmp_path / "plate.toml"
    path.write_text(JOB.replace("hole = {", "wear = 0.002\nhole = {"), encoding="utf-8")
    return str(path)


def test_a_batch(run, job: str):
    """Text and JSON are those of the library for the same parts, coupons, trials and seed."""
    read = read_job(job)
    expected = batch(read, "two dowels", parts=5, coupons=2, trials=2000, rng=7)
    one = check(read, "two dowels", trials=2000, rng=7)
    options = ("--parts", "5", "--coupons", "2", "--seed", "7", *FEW)
    assert (0, batch_to_text(expected, one), "") == run("check", job, *options)
    assert (0, batch_to_json(expected, one), "") == run("check", job, *options, "--json")


def test_the_goal_is_that_of_the_batch(run, job: str):
    """Holes that wear lose a goal before a long batch ends, though a first part meets it."""
    assert 0 == run("check", job, *FEW)[0]
    code, out, _ = run("check", job, "--parts", "100", "--json", *FEW)
    assert code == 1
    assert 1 < json.loads(out)["batch"]["wear"]["lost_at"]["estimate"] < 100


def test_a_picture(run, job: str, tmp_path: Path):
    """With --plots a picture of the batch is among them."""
    code, _, err = run("check", job, "--parts", "3", "--plots", str(tmp_path / "plots"), *FEW)
    assert code == 0
    assert "rejects" not in err
    assert "parts of 3 that miss" in (tmp_path / "plots" / "batch.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (("--coupons", "2"), "--coupons needs --parts"),
        (("--parts", "0"), "Invalid value for '--parts'"),
        (("--parts", "10001"), "Invalid value for '--parts'"),
        (("--parts", "many"), "Invalid value for '--parts'"),
        (("--parts", "5", "--coupons", "-1"), "Invalid value for '--coupons'"),
    ],
)
def test_what_is_refused(run, job: str, options: tuple[str, ...], message: str):
    """What makes no batch is refused in words, with code 2."""
    code, out, err = run("check", job, *options)
    assert (2, "") == (code, out)
    assert message in " ".join(err.split())
