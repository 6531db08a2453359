"""What a goal is, and how long its measurement may take."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Effort:
    """How much is measured: rounds of the fastest things, trials of a run, and seeds for the error of an estimate."""

    rounds: int
    trials: int
    seeds: int


#: To see that everything runs, and for figures that can be quoted.
SMOKE, FULL = Effort(rounds=1, trials=2**15, seeds=2), Effort(rounds=7, trials=10**6, seeds=64)


@dataclass(frozen=True)
class Figure:
    """One figure of a goal.

    Attributes
    ----------
    what: What it is, where the goal has several.
    must, stretch: What it shall reach, and what it aims at; None for a figure that is only told.
    most: Whether it shall be at most that, or at least.
    why: Why it is not met, where that is known.
    """

    what: str
    must: float | None
    stretch: float | None
    most: bool = True
    why: str = ""

    def reaches(self, value: float, limit: float | None) -> bool:
        """Whether a value is as good as a limit."""
        return limit is None or (value <= limit if self.most else value >= limit)


@dataclass(frozen=True)
class Goal:
    """One goal: a few figures, each a ratio of flipcheck to a baseline that is measured beside it.

    Attributes
    ----------
    number: Its number.
    what: What is measured.
    baseline: What it is compared with.
    figures: What it comes to.
    measure: Gives a value for each figure, and a remark.
    needs: A package that the baseline needs, if any.
    """

    number: str
    what: str
    baseline: str
    figures: tuple[Figure, ...]
    measure: Callable[[Effort], tuple[tuple[float, ...], str]]
    needs: str | None = None
