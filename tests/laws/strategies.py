"""Random jobs for the laws, from one strategy; the jobs themselves are those of the independent simulation.

A few fixed examples a law, always the same; with FLIPCHECK_DEEP=N, N of each, new every time. A job that breaks a law
is shrunk by hypothesis and printed as the draw it failed with.
"""

from __future__ import annotations

import os
import random
from typing import Any

from hypothesis import HealthCheck, Phase, reject, settings
from hypothesis import strategies as st

from flipcheck import Job, parse_job
from tests.independent.jobs import MAKERS, draw_job, set_limits, to_toml

DEEP = int(os.environ.get("FLIPCHECK_DEEP", "0"))
WAYS = tuple(MAKERS)
#: Ways that leave a blank no play, so that all but distances is linear.
WITHOUT_PLAY = ("fence", "probe", "bores")
BOTH_AXES = ("left-right", "front-back")
EVERY_TURN = (*BOTH_AXES, "diagonal")


def law(examples: int) -> settings:
    """Settings of a law that is tried on so many jobs of each way."""
    return settings(
        max_examples=DEEP or examples,
        derandomize=not DEEP,
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        phases=(Phase.generate, Phase.shrink) if DEEP else (Phase.generate,),
    )


@st.composite
def jobs(
    draw: st.DrawFn, *ways: str, flips: tuple[str, ...] = EVERY_TURN, bounded: bool = False, few: bool = False
) -> dict[str, Any]:
    """A job as a table, with one method for each of `ways`.

    `bounded`: no error is normal. `few`: four errors at most, so that extremes are met.
    """
    rng = draw(st.randoms(use_true_random=False))
    job = draw_job(rng, title="law", ways=ways, flips=flips, bounded=bounded)
    if few:
        job["errors"] = {
            key: job["errors"][key] for key in rng.sample(sorted(job["errors"]), min(4, len(job["errors"])))
        }
    for method in job["methods"]:
        _rarer_options(rng, method)
    try:
        set_limits(rng, job)
    except ArithmeticError:  # the naive simulation found no pose for some blanks that hardly go on
        reject()
    for pair in job["pairs"]:
        _by_use(rng, pair)
    return job


def _rarer_options(rng: random.Random, method: dict[str, Any]) -> None:
    """What the random jobs of the comparison leave out."""
    if rng.random() < 0.5:
        method["minutes"] = rng.randint(0, 9)
    if method["kind"] == "pins" and rng.random() < 0.3:
        method["wear"] = {"limit": 0.004, "bias": 0.006}
        if "holes" in method:
            method["wear_of"] = rng.choice(["bed", "blank"])


def _by_use(rng: random.Random, pair: dict[str, Any]) -> None:
    """Now and then a limit that follows from what a pair is for, equal to the one it had."""
    if "allowed" not in pair or rng.random() < 0.6:
        return
    allowed = pair.pop("allowed")
    if pair["kind"] == "slot":
        pair |= {"use": "tongue", "slot_width": 8.0 + allowed, "tongue": 8.0}
    elif pair["kind"] == "outline":
        pair["allowed"] = allowed
    elif rng.random() < 0.5:
        pair |= {"use": "countersink", "bolt": 4.0, "hole_a": 4.0 + 2.0 * allowed}
    else:
        pair |= {"use": "ring", "pad": 0.8 + 2.0 * allowed, "hole_a": 0.8}


def read(job: dict[str, Any]) -> Job:
    """The record of a job, by way of the text of its file."""
    return parse_job(to_toml(job))
