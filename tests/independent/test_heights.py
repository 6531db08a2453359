"""Where to touch off Z, and how deep the cuts are: flipcheck against the naive simulation of the real blank on the bed.

As in `test_agreement`, all within 4.5 standard errors of the naive sample. flipcheck's own numbers are exact, or from
65,536 evenly spread points, which count here as so many plain trials.
"""

import json
import math

import pytest
from typer.testing import CliRunner

from flipcheck.cli.main import app

from .heights import simulate_heights
from .jobs import FIXED, random_job, to_toml
from .rigid import ZEROS
from .test_agreement import compare_figures, compare_share

NAIVE_TRIALS, POINTS = 200_000, 65_536
DEPTH = ("mean", "std", "p01", "p05", "p95", "p99")
SHRINK = math.sqrt(1 + NAIVE_TRIALS / POINTS)


def only_webs(job):
    """The job with its webs alone, by its first method: how the blank is registered does not enter."""
    webs = [pair for pair in job["pairs"] if pair["kind"] == "web"]
    return {**job, "pairs": webs, "methods": job["methods"][:1]} if webs else None


def answers(job, tmp_path, trials=1000):
    """What `compare` says of a job, as data."""
    file = tmp_path / "job.toml"
    file.write_text(to_toml(job), encoding="utf-8")
    ran = CliRunner().invoke(app, ["compare", str(file), "--json", "--quiet", "--trials", str(trials)])
    assert ran.exit_code in (0, 1), ran.output
    return json.loads(ran.stdout)


def compare_web(found, where, mine, theirs):
    """Append what differs at one web by one way."""
    for share in ("chance", "through"):
        compare_share(found, f"{where}: {share}", mine[share], theirs[share], POINTS)
    compare_figures(found, f"{where}: web", ("mean", "std"), mine["web"], theirs, SHRINK)
    for depth in ("depth_a", "depth_b"):
        assert (mine[depth] is None) == (theirs[depth] is None)
        if mine[depth]:
            compare_figures(found, f"{where}: {depth}", DEPTH, mine[depth], theirs[depth], SHRINK)


def disagreements(job, tmp_path):
    """Every figure of the three ways on which the two programs differ."""
    found, naive, answer = [], simulate_heights(job, NAIVE_TRIALS, 11), answers(job, tmp_path)
    for way in answer["zero_z"]["ways"]:
        together = naive[way["zero_z"]]["chance"]
        compare_share(found, f"{way['zero_z']}: all", together, way["chance"]["estimate"], POINTS)
    assert list(ZEROS) == [way["zero_z"] for way in answer["zero_z"]["ways"]]
    for web in answer["heights"]:
        for way in web["ways"]:
            where = f"{way['zero_z']}, {web['name']}"
            compare_web(found, where, naive[way["zero_z"]]["webs"][web["name"]], way)
    return found


JOBS = {name: job for name in FIXED if (job := only_webs(FIXED[name])) and ("webs" in name or "between" in name)}
RANDOM = {f"random {seed}": job for seed in range(12) if (job := only_webs(random_job(seed)))}


@pytest.mark.parametrize("job", [*JOBS.values(), *RANDOM.values()], ids=[*JOBS, *RANDOM])
def test_three_ways(job, tmp_path):
    """Chances, thicknesses and depths by all three ways are those of the naive simulation."""
    assert not disagreements(job, tmp_path)


def test_enough_jobs():
    """The jobs have overlaps, faces left as they are, growth and several webs; and some are random."""
    webs = [pair for job in JOBS.values() for pair in job["pairs"]]

    assert len(JOBS) >= 3
    assert len(RANDOM) >= 4
    assert any("min_overlap" in pair for pair in webs)
    assert any(not pair["depth_a"] for pair in webs)
    assert any(not pair["depth_b"] for pair in webs)
    assert any("between" in job for job in JOBS.values())
    assert any(len(job["pairs"]) > 1 for job in JOBS.values())


def test_methods_have_the_depths_of_their_way(tmp_path):
    """Each method's webs have the depths that the naive simulation finds by the way in which it touches off Z."""
    job = FIXED["webs: overlaps, faces left as they are, swelling"]
    found, naive = [], simulate_heights(job, NAIVE_TRIALS, 12)
    for method in answers(job, tmp_path, 20_000)["methods"]:
        for pair in method["pairs"]:
            mine = naive[pair["zero_z"]]["webs"][pair["name"]]
            compare_share(found, f"{method['name']}, {pair['name']}", mine["through"], pair["through"], POINTS)
            for depth in ("depth_a", "depth_b"):
                if mine[depth]:
                    compare_figures(found, f"{method['name']} {depth}", DEPTH, mine[depth], pair[depth], SHRINK)
                else:
                    assert pair[depth] is None
    assert not found


def test_a_wrong_answer_is_noticed(tmp_path):
    """A thickness that acts with the wrong sign, or a depth that is a tenth of a millimetre off, is reported."""
    job = JOBS["webs: overlaps, faces left as they are, swelling"]
    naive = simulate_heights(job, 50_000, 11)["bed"]["webs"]["through"]
    (right,) = [web["ways"][0] for web in answers(job, tmp_path)["heights"] if web["name"] == "through"]
    found = []
    compare_web(found, "right", naive, right)
    assert not found
    deeper = {**right["depth_b"], "p95": right["depth_b"]["p95"] + 0.1}
    compare_web(found, "wrong", naive, {**right, "mean": -right["mean"], "depth_b": deeper})
    assert 2 == len(found)
