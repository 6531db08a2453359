"""How many trials are enough: until the numbers stand still in the digits that are printed.

After JCGM 101:2008, 7.9: stop when twice the standard error of each result is below half a unit of its last digit.
There the error is estimated from the scatter between blocks; here from the binomial distribution and the density of the
histogram, which says the same.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from flipcheck.job.quantities import MM_PER_UNIT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from flipcheck.job.records import Job
    from flipcheck.stack.histogram import Range
    from flipcheck.stack.monte_carlo import Tally

#: The most trials that are run until the numbers settle.
MOST = 1_000_000
#: Half a unit of the last digit of a chance at the goal (a tenth of a per cent), and how much more for each unit away
#: from it: what is far from the goal need not be known so well.
_CHANCE, _AWAY = 0.0005, 0.005
#: Half a unit of the last digit of a length, in the units of the job.
_LENGTH = {"mm": 0.0005, "in": 0.00005}
_P95, _BESIDE = 0.95, 0.01


class Settled:
    """Whether the chance of every method, and the 95 % distance of every pair, stand still."""

    def __init__(self, job: Job) -> None:
        self._goal = job.goal
        self._length = _LENGTH[job.units] * MM_PER_UNIT[job.units]

    def __call__(self, tallies: Sequence[Tally], ranges: Sequence[tuple[Range, ...]]) -> bool:
        """Ask it of the tallies so far, and the ranges of their histograms."""
        return all(
            self._chance(tally) and self._lengths(tally, spans) for tally, spans in zip(tallies, ranges, strict=True)
        )

    def _chance(self, tally: Tally) -> bool:
        share = (tally.good + 2) / (tally.trials + 4)
        error = math.sqrt(share * (1.0 - share) / tally.trials)
        return 2.0 * error <= _CHANCE + _AWAY * abs(share - self._goal)

    def _lengths(self, tally: Tally, spans: tuple[Range, ...]) -> bool:
        for span, counts, ends in zip(spans, tally.histogram, tally.ends, strict=True):
            below, above = (span.quantile(_P95 + side * _BESIDE, counts, ends) for side in (-1.0, 1.0))
            if not tally.on:
                continue
            # the standard error of a quantile is that of its share, divided by the density there
            error = math.sqrt(_P95 * (1.0 - _P95) / tally.on) * (above - below) / (2.0 * _BESIDE)
            if 2.0 * error > self._length:
                return False
        return True
