"""What a sweep consists of: frozen records; values in the unit they were asked in, lengths of results in mm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from flipcheck.decide.answer import Answer

if TYPE_CHECKING:
    from flipcheck.job.findings import Path
    from flipcheck.stack.intervals import Chance


@dataclass(frozen=True)
class Varied:
    """One quantity of a job that is varied.

    Attributes
    ----------
    key: Its key path.
    path: The same for the machine.
    unit: Unit of its values; empty for a plain number or a ratio.
    bare: Whether a job file takes the values without their unit.
    values: What it becomes, in steps as even as twelve digits allow.
    now: What the job gives; None where it gives none.
    """

    key: str
    path: Path
    unit: str
    bare: bool
    values: tuple[float, ...]
    now: float | None

    def written(self, value: float) -> float | str:
        """A value as a job file takes it."""
        return value if self.bare else f"{value!r} {self.unit}"


@dataclass(frozen=True)
class PairPoint:
    """How one pair fares: its chance of the blanks that go on, and what 95 in 100 of them stay within (mm).

    `allowed` is the limit, as of `PairResult`. Of a web `p95` is a thickness that 95 in 100 stay below. It is NaN where
    no blank goes on.
    """

    name: str
    kind: str
    allowed: float | None
    chance: Chance
    p95: float


@dataclass(frozen=True)
class MethodPoint:
    """How one method fares at one point; attributes as of `MethodResult`."""

    name: str
    goes_on: float
    chance: Chance
    pairs: tuple[PairPoint, ...]

    def pair(self, name: str | None) -> PairPoint:
        """How the pair of that name fares."""
        return next(pair for pair in self.pairs if pair.name == name)


@dataclass(frozen=True)
class Impossible:
    """Why a method has no result at a point: the job is impossible there."""

    method: str
    reason: str


@dataclass(frozen=True)
class SweepPoint:
    """One point of a sweep: the values of what is varied, the methods in the order of the job, and what cannot be."""

    values: tuple[float, ...]
    methods: tuple[MethodPoint, ...]
    impossible: tuple[Impossible, ...]

    def method(self, name: str) -> MethodPoint | None:
        """How the method of that name fares; None where it cannot be."""
        return next((method for method in self.methods if method.name == name), None)


@dataclass(frozen=True)
class Crossing:
    """Where the chance of a method crosses the goal, found by a straight line between two neighbours.

    Attributes
    ----------
    method: Its name.
    value: Value of the first quantity.
    between: The neighbours, in the order of the sweep.
    rises: Whether the goal is missed before and met after, in that order.
    beside: Value of the second quantity; None where one is varied.
    """

    method: str
    value: float
    between: tuple[float, float]
    rises: bool
    beside: float | None


@dataclass(frozen=True)
class Sweep(Answer):
    """The answer to `sweep`; left out is what counts as zero at every point.

    Attributes
    ----------
    varied: One quantity or two.
    methods: Names of the methods, in the order of the job.
    points: All values of the first quantity in their order; with two, all of the second for each of the first. None
        where an interrupted sweep did not come to.
    """

    varied: tuple[Varied, ...]
    methods: tuple[str, ...]
    points: tuple[SweepPoint | None, ...]

    def __repr__(self) -> str:
        over = " and ".join(varied.key for varied in self.varied)
        return f"Sweep({self.title!r} over {over}, {len(self.done)} of {len(self.points)} points)"

    @property
    def done(self) -> tuple[SweepPoint, ...]:
        """The points that were worked out."""
        return tuple(point for point in self.points if point is not None)

    @property
    def meets_goal(self) -> bool:
        """Whether any method reaches the goal at any point."""
        return any(method.chance.estimate >= self.goal for point in self.done for method in point.methods)

    @property
    def empty(self) -> bool:
        """Whether there is not one result."""
        return not any(point.methods for point in self.done)

    @property
    def pair(self) -> str | None:
        """The pair that misses most in this sweep, webs only where there is nothing else; None without any result."""
        misses: dict[tuple[bool, str], float] = {}
        for pair in (pair for point in self.done for method in point.methods for pair in method.pairs):
            miss = 1.0 - pair.chance.estimate
            key = (pair.kind == "web", pair.name)
            misses[key] = misses.get(key, 0.0) + (0.0 if math.isnan(miss) else miss)
        worst = min(misses, key=lambda key: (key[0], -misses[key]), default=None)
        return None if worst is None else worst[1]

    def row(self, method: str, beside: int = 0) -> tuple[MethodPoint | None, ...]:
        """One method over the values of the first quantity, at value number `beside` of the second."""
        step = len(self.varied[1].values) if len(self.varied) > 1 else 1
        return tuple(None if point is None else point.method(method) for point in self.points[beside::step])

    @property
    def crossings(self) -> tuple[Crossing, ...]:
        """Where each method crosses the goal as the first quantity changes; nothing where a neighbour has no result."""
        besides = self.varied[1].values if len(self.varied) > 1 else (None,)
        return tuple(
            crossing
            for name in self.methods
            for number, beside in enumerate(besides)
            for crossing in self._crossings(name, number, beside)
        )

    def _crossings(self, name: str, number: int, beside: float | None) -> list[Crossing]:
        found = []
        for (x, one), (y, other) in pairwise(zip(self.varied[0].values, self.row(name, number), strict=True)):
            if one is None or other is None:
                continue
            before, after = one.chance.estimate, other.chance.estimate
            if (before >= self.goal) != (after >= self.goal):
                value = x + (y - x) * (self.goal - before) / (after - before)
                found.append(Crossing(name, value, (x, y), after >= self.goal, beside))
        return found
