"""Where to touch off Z, all webs of a job taken together: which way, and at which web the ways differ most."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from flipcheck.decide.check import method_named
from flipcheck.decide.heights import best_of, by_web

if TYPE_CHECKING:
    from collections.abc import Sequence

    from flipcheck.decide.heights import WebHeights, Zeroed
    from flipcheck.job.records import Job, ZeroZ
    from flipcheck.stack.intervals import Chance


@dataclass(frozen=True)
class ZeroAdvice:
    """Where to touch off Z.

    Attributes
    ----------
    chances: By each way the share of all blanks in which every web is within its limits.
    goal: What the job wants of it.
    web: The web at which the ways differ most.
    count: How many webs there are.
    method, zero_z: The method that is recommended, and what the job has for it.
    """

    chances: dict[ZeroZ, Chance]
    goal: float
    web: WebHeights
    count: int
    method: str
    zero_z: ZeroZ

    @property
    def best(self) -> tuple[ZeroZ, ...]:
        """The ways with the highest chance; several where they are the same, or these trials cannot tell them apart."""
        return best_of(self.chances)

    @property
    def meets_goal(self) -> bool:
        """Whether the webs alone reach the goal by the best way."""
        return max(chance.estimate for chance in self.chances.values()) >= self.goal


def zero_advice(job: Job, ways: Sequence[Zeroed], method: str) -> ZeroAdvice | None:
    """Compare what was found by several ways, a method having been recommended; None for a job without webs."""
    webs = by_web(job, ways)
    if not webs:
        return None
    chances = {way.zero_z: way.chance for way in ways}
    web = max(webs, key=_apart)
    return ZeroAdvice(chances, job.goal, web, len(webs), method, method_named(job, method).zero_z)


def _apart(web: WebHeights) -> float:
    """How far apart the chances of a web are by the different ways."""
    shares = [way.chance.estimate for way in web.ways]
    return max(shares) - min(shares)
