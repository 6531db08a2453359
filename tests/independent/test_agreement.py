"""flipcheck against the naive simulation: two programs, no shared code, the same numbers.

Every figure must agree within 4.5 combined standard errors of the two samples plus an allowance for what a model that
is first order in the errors leaves out: 0.2 um and 1e-4 of the figure. For a chance that allowance is the share of
parts whose verdict hangs on so little.

With FLIPCHECK_DEEP=N, N random jobs run as well.
"""

import json
import math
import os
import subprocess
import sys

import pytest

from .jobs import FIXED, random_job, to_toml
from .rigid import simulate

NAIVE_TRIALS = 100_000
TRIALS = 200_000
SIGMAS = 4.5
ABSOLUTE = 0.0002  # mm
RELATIVE = 1e-4
DEEP = int(os.environ.get("FLIPCHECK_DEEP", "0"))


OPTIONS = {
    "pins": {
        "holes": {"with face A", "beforehand"},
        "holes_by_bit": {False, True},
        "second_hole": {"round", "slot"},
        "bed_holes": {"separately", "same stroke"},
        "push": {"none", "front", "back", "left", "right"},
    },
    "fence": {
        "fence": {"front", "back", "left", "right"},
        "stop": {"front", "back", "left", "right"},
        "after_flip": {"same edge", "same side"},
        "set_by": {"machine", "hand"},
        "rail": {False, True},
    },
    "probe": {
        "corner": {"front-left", "front-right", "back-left", "back-right"},
        "after_flip": {"same corner", "same side"},
        "middle": {(), ("x",), ("y",), ("x", "y")},
        "angle": {"fence", "two touches", "by eye"},
        "stylus": {"bit", "probe"},
        "same_phase": {False, True},
    },
    "nest": {
        "outline": {"beforehand", "with face A"},
        "after_flip": {"same pocket", "second pocket"},
        "push": {"none", "front", "back", "left", "right", "front-left", "front-right", "back-left", "back-right"},
    },
    "bores": {
        "holes": {"with face A", "beforehand"},
        "zero_at": {"middle", "first"},
        "stylus": {"bit", "probe"},
        "same_phase": {False, True},
    },
}
DEFAULTS = {
    "holes": "with face A",
    "holes_by_bit": False,
    "second_hole": "round",
    "bed_holes": "separately",
    "push": "none",
    "set_by": "machine",
    "rail": False,
    "middle": [],
    "stylus": "bit",
    "same_phase": False,
    "outline": "beforehand",
    "zero_at": "middle",
}
AFTER_FLIP = {"fence": "same edge", "probe": "same corner", "nest": "same pocket"}


def disagreements(job, tmp_path):
    """Run both programs on the job, at the same time, and list every figure on which they differ."""
    file = tmp_path / "job.toml"
    file.write_text(to_toml(job), encoding="utf-8")
    command = [
        sys.executable,
        "-m",
        "flipcheck",
        "compare",
        str(file),
        "--json",
        "--trials",
        str(TRIALS),
        "--seed",
        "3",
    ]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as run:
        naive = {m["name"]: simulate(job, m["name"], naive_trials(m), 11) for m in job["methods"]}
        out, err = run.communicate(timeout=120)
    assert run.returncode in (0, 1), err
    assert out.startswith("{"), err
    found = []
    answers = {answer["name"]: answer for answer in json.loads(out)["methods"]}
    assert naive.keys() == answers.keys()
    for name in naive:
        compare_method(found, name, naive[name], answers[name])
    return found


def naive_trials(method):
    """Fewer trials where each takes a search for the turns that a nest, or a pattern of pins, allows."""
    return NAIVE_TRIALS // 4 if method["kind"] == "nest" or len(method.get("pins", ())) > 2 else NAIVE_TRIALS


def compare_method(found, where, naive, answer):
    n = answer["goes_on"] * TRIALS
    compare_share(found, f"{where}: goes on", naive["goes_on"], answer["goes_on"], TRIALS)
    compare_share(found, f"{where}: chance", naive["chance"], answer["chance"]["estimate"], TRIALS)
    assert [p["name"] for p in naive["pairs"]] == [p["name"] for p in answer["pairs"]]
    for mine, theirs in zip(naive["pairs"], answer["pairs"], strict=True):
        at = f"{where}, {mine['name']}"
        if mine["chance"]["n"] < 1000 or n < 1000:
            continue  # too few blanks go on to say anything about their pairs
        compare_share(found, f"{at}: chance", mine["chance"], theirs["chance"]["estimate"], n)
        shrink = math.sqrt(1 + mine["chance"]["n"] / n)
        if mine["kind"] == "web":
            compare_figures(
                found, f"{at}: web", ("mean", "std", "p01", "p05", "p95", "p99"), mine["web"], theirs["web"], shrink
            )
            continue
        if mine["kind"] != "outline":  # its x and y belong to a vertex, and which one is flipcheck's choice
            for axis in "xy":
                compare_figures(found, f"{at}: {axis}", ("mean", "std"), mine[axis], theirs[axis], shrink)
        figures = ("mean", "std", "p50", "p95", "p99")
        compare_figures(found, f"{at}: distance", figures, mine["distance"], theirs["distance"], shrink)


def compare_figures(found, where, names, mine, theirs, shrink):
    for name in names:
        allowed = SIGMAS * shrink * mine[f"se_{name}"] + ABSOLUTE + RELATIVE * abs(mine[name])
        if not abs(theirs[name] - mine[name]) <= allowed:
            found.append(f"{where} {name}: naive {mine[name]:.5f}, flipcheck {theirs[name]:.5f}, allowed {allowed:.5f}")


def compare_share(found, where, mine, theirs, n):
    naive = mine["count"] / mine["n"]
    pooled = (mine["count"] + theirs * n + 1) / (mine["n"] + n + 2)
    error = math.sqrt(pooled * (1 - pooled) * (1 / mine["n"] + 1 / n))
    allowed = SIGMAS * error + mine["near"] / mine["n"] / 2
    if not abs(theirs - naive) <= allowed:
        found.append(f"{where}: naive {naive:.5f}, flipcheck {theirs:.5f}, allowed {allowed:.5f}")


@pytest.mark.parametrize("name", FIXED)
def test_hand_picked_jobs(name, tmp_path):
    """Every option of a job gives what the naive simulation gives."""
    assert not disagreements(FIXED[name], tmp_path)


@pytest.mark.parametrize("seed", range(DEEP))
def test_random_jobs(seed, tmp_path):
    """Options mixed at random give what the naive simulation gives."""
    assert not disagreements(random_job(seed), tmp_path)


def test_the_hand_picked_jobs_hit_every_option():
    """Each value of each option, the defaults included, stands in some job; so do the ways to set Z and to turn."""
    methods = [m for job in FIXED.values() for m in job["methods"]]
    for kind, options in OPTIONS.items():
        for key, values in options.items():
            default = DEFAULTS.get(key, AFTER_FLIP.get(kind))
            met = [m.get(key, default) for m in methods if m["kind"] == kind]
            assert values == {tuple(v) if isinstance(v, list) else v for v in met}, (kind, key)
    assert {"bed", "top", "top then bed"} == {m.get("zero_z", "bed") for m in methods}
    assert {"left-right", "front-back", "diagonal"} == {job["flip"] for job in FIXED.values()}


def test_a_wrong_answer_is_noticed():
    """An answer that is off by a sixth in one spread is reported: the comparison itself can fail."""
    job = FIXED["errors: nothing but the cut"]
    naive = simulate(job, "way 3", 5000, 11)
    right, wrong = [], []
    seat = naive["pairs"][0]
    compare_figures(right, "seat", ("std", "p95"), seat["distance"], seat["distance"], 1.2)
    compare_figures(
        wrong, "seat", ("std", "p95"), seat["distance"], {k: v * 7 / 6 for k, v in seat["distance"].items()}, 1.2
    )
    compare_share(wrong, "seat", seat["chance"], seat["chance"]["count"] / 5000 - 0.05, TRIALS)
    assert not right
    assert len(wrong) == 3
