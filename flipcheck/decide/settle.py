"""How many trials are enough: until the numbers stand still in the digits that are printed.

After JCGM 101:2008, 7.9: stop when twice the standard error of each result is below half a unit of its last digit.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from flipcheck.job.quantities import MM_PER_UNIT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from flipcheck.job.records import Job
    from flipcheck.stack.estimate import Estimate

#: The most trials that are run until the numbers settle.
MOST = 2**20
#: Half a unit of the last digit of a chance at the goal (a tenth of a per cent), and how much more for each unit away
#: from it: what is far from the goal need not be known so well.
_CHANCE, _AWAY = 0.0002, 0.005
#: Half a unit of the last digit of a length, in the units of the job.
_LENGTH = {"mm": 0.0005, "in": 0.00005}
_P95 = 0.95


class Settled:
    """Whether the chance of every method, and the 95 % distance of every pair, stand still."""

    def __init__(self, job: Job) -> None:
        self._goal, self._pairs = job.goal, len(job.pairs)
        self._length = _LENGTH[job.units] * MM_PER_UNIT[job.units]

    def __call__(self, estimates: Sequence[Estimate]) -> bool:
        """Ask it of what the trials so far say of each method."""
        # all the chances first: they cost less
        return all(map(self._chance, estimates)) and all(map(self._lengths, estimates))

    def _chance(self, estimate: Estimate) -> bool:
        chance = estimate.chance
        half = 0.5 * (chance.high - chance.low)
        return half <= _CHANCE + _AWAY * abs(chance.estimate - self._goal)

    def _lengths(self, estimate: Estimate) -> bool:
        return not estimate.goes_on or all(estimate.quantile_error(q, _P95) <= self._length for q in range(self._pairs))
