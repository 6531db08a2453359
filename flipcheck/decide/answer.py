"""What every answer repeats of its question: the job, and how it was worked out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from flipcheck.job.records import Job


@dataclass(frozen=True)
class Answer:
    """An answer about a job.

    Attributes
    ----------
    title, units, goal, flip: As in the job; lengths in an answer are in mm whatever the units.
    trials: How many blanks were simulated; by each method, and at each point of a sweep.
    seed: What they were seeded with.
    left_out: The errors that were not given and count as zero.
    """

    title: str
    units: str
    goal: float
    flip: str
    trials: int
    seed: int
    left_out: tuple[str, ...]


def asked(job: Job, trials: int, seed: int) -> dict[str, Any]:
    """The fields of an `Answer`, by their names."""
    return {
        "title": job.title,
        "units": job.units,
        "goal": job.goal,
        "flip": job.flip,
        "trials": trials,
        "seed": seed,
        "left_out": job.left_out,
    }
