"""From which part on is the goal lost, as the holes of the bed wear?"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.intervals import Chance, wilson
from flipcheck.stack.monte_carlo.batches import Course, Tally, run_batches

if TYPE_CHECKING:
    from collections.abc import Callable

    from flipcheck.flip.model import FlipModel

#: How far ahead the lost goal is looked for, parts; and with how many batches.
SEARCHED = 10_000
_TRIALS = 32_768
#: Parts whose chance is told, at most.
_TOLD = 21


@dataclass(frozen=True)
class Wear:
    """What wear does to the parts of a batch.

    Attributes
    ----------
    by_part: The chance of some parts, evenly spread from the first to the last, by their numbers.
    lost_at: Number of the first part whose chance is below the goal; None where it is none of the first `SEARCHED`.
    lost_from, lost_to: The same for the upper and the lower end of what the simulation leaves open (95 %).
    """

    by_part: tuple[tuple[int, Chance], ...]
    lost_at: int | None
    lost_from: int | None
    lost_to: int | None


def wear_of(model: FlipModel, course: Course, tally: Tally, goal: float, seed: int, threads: int | None) -> Wear | None:
    """What wear does, given the counted batches; None where the holes of the bed do not wear.

    The goal is looked for part by part with the same blanks and machines for all of them, so that only wear differs;
    it is taken to stay lost.
    """
    if course.growth is None or not np.any(course.growth):
        return None

    @cache
    def chance(number: int) -> Chance:
        one = replace(course, parts=1, skipped=number - 1)
        run = run_batches(model.linear, one, _TRIALS, seed, threads=threads)
        return wilson(int(run.told.passed[0]), _TRIALS)

    return Wear(
        by_part=_by_part(tally),
        lost_at=first_below(lambda n: chance(n).estimate < goal),
        lost_from=first_below(lambda n: chance(n).low < goal),
        lost_to=first_below(lambda n: chance(n).high < goal),
    )


def first_below(lost: Callable[[int], bool]) -> int | None:
    """The first part for which `lost` holds, if it holds from then on; None where it is beyond `SEARCHED`."""
    above, below = 0, 1
    while not lost(below):
        if below == SEARCHED:
            return None
        above, below = below, min(2 * below, SEARCHED)
    while below - above > 1:
        middle = (above + below) // 2
        above, below = (above, middle) if lost(middle) else (middle, below)
    return below


def _by_part(tally: Tally) -> tuple[tuple[int, Chance], ...]:
    parts = len(tally.passed)
    numbers = np.unique(np.linspace(1, parts, min(parts, _TOLD)).round().astype(int))
    return tuple((int(n), wilson(int(tally.passed[n - 1]), tally.batches)) for n in numbers)
