"""What an answer consists of: frozen records, lengths in mm whatever the units of the job."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

from flipcheck.decide.answer import Answer
from flipcheck.decide.wording import NOTHING, chance_text, decimals, goal_text, percent, rare

if TYPE_CHECKING:
    from flipcheck.decide.heights import ByZero, WebHeights
    from flipcheck.decide.zero_z import ZeroAdvice
    from flipcheck.flip.after_flip import AfterFlip
    from flipcheck.flip.frames import Point
    from flipcheck.flip.lever import Lever
    from flipcheck.stack.intervals import Chance
    from flipcheck.stack.sources import Life


@dataclass(frozen=True)
class Moments:
    """Mean and standard deviation, mm."""

    mean: float
    std: float


@dataclass(frozen=True)
class Distribution:
    """Mean, standard deviation and quantiles of a simulated quantity, mm.

    `quantiles` maps a name such as ``p95`` to the value below which that many per cent of the blanks that go on lie.
    """

    mean: float
    std: float
    quantiles: dict[str, float]


@dataclass(frozen=True)
class StackEntry:
    """One source's part in the misalignment of one pair.

    Attributes
    ----------
    source: Name of the error.
    life: How long one draw of it lasts.
    after_flip: What the turn does to it.
    std_x, std_y: Standard deviation it gives in x and y, mm; both zero for a web.
    std_z: Standard deviation it gives to the thickness of a web, mm; None for the other kinds.
    share: Its share of the variance of x and y together (of the web's thickness); all shares add to 1, or are 0 where
        nothing varies.
    worst: The farthest it alone can move the pair's distance (or thickness), mm; a normal error counts with its bound.
    measured_share: Its share of the variance of what is measured: as `share`, but of a slot across it alone.
    lever: How it comes to its effect; None for heights and for the play on pins.
    """

    source: str
    life: Life
    after_flip: AfterFlip
    std_x: float
    std_y: float
    std_z: float | None
    share: float
    worst: float
    measured_share: float
    lever: Lever | None = None


@dataclass(frozen=True)
class PairResult:
    """How one pair fares by one method, of the blanks that go on.

    Attributes
    ----------
    name, kind: As in the job.
    allowed: The limit without errors, mm; None for a web.
    min_web, max_web: Limits of a web, mm, an overlap as a `max_web` below 0; None where there is none.
    chance: Share within the limit.
    at: Point of the blank that x and y speak of, mm; of an outline its most exposed corner; None for a web.
    x, y: Misalignment, B minus A, blank frame; None for a web.
    distance: Radial distance, distance across a slot, or largest step of an outline; None for a web.
    web: Thickness of a web; None for the other kinds.
    worst_case, rss: Arithmetic worst case and root sum of squares of the bounds, mm; of a web the deviation from its
        nominal.
    stack: Every source that acts on the pair, the largest share first.
    normal_chance: What `chance` would be if the misalignment were normal, with the mean and covariance of the linear
        model, in closed form; None for an outline.
    exact: The chance without any trials, from characteristic functions; None where there is none, as on pins.
    heights: Of a web the depths of its cuts and how often they meet, as the method touches off Z; else None. Of all
        blanks, also those that do not go on.
    """

    name: str
    kind: str
    allowed: float | None
    min_web: float | None
    max_web: float | None
    chance: Chance
    at: Point | None
    x: Moments | None
    y: Moments | None
    distance: Distribution | None
    web: Distribution | None
    worst_case: float
    rss: float
    stack: tuple[StackEntry, ...]
    normal_chance: float | None = None
    exact: float | None = None
    heights: ByZero | None = None

    @property
    def hurts_most(self) -> StackEntry | None:
        """The source with the largest share of what is measured; None where nothing varies."""
        most = max(self.stack, key=lambda entry: entry.measured_share, default=None)
        return most if most and most.measured_share > 0.0 else None

    @property
    def far_from_normal(self) -> bool:
        """Whether the normal chance is off by more than half a part in a hundred, and than the trials leave open."""
        if self.normal_chance is None or not self.chance.high - self.chance.low < 1.0:
            return False
        off = abs(self.normal_chance - self.chance.estimate)
        return off > 0.005 and not self.chance.low <= self.normal_chance <= self.chance.high


@dataclass(frozen=True)
class MethodResult:
    """How a job fares by one method.

    Attributes
    ----------
    name, kind, minutes: As in the job.
    goes_on: Share of blanks that go onto the pins (1 for other kinds).
    chance: Share of blanks that go on and have every pair within its limit.
    pairs: One a pair, in the order of the job.
    exact: `chance` without any trials; None where there is none: on pins, and where the pairs share too much.
    """

    name: str
    kind: str
    minutes: float | None
    goes_on: float
    chance: Chance
    pairs: tuple[PairResult, ...]
    exact: float | None = None

    @property
    def deciding_pair(self) -> PairResult:
        """The pair with the lowest chance: it decides."""
        return min(self.pairs, key=lambda pair: pair.chance.estimate)


@dataclass(frozen=True)
class Recommendation:
    """Which method to take, and why.

    Attributes
    ----------
    method: Its name.
    meets_goal: Whether its chance reaches the goal.
    reason: In words.
    ties: Names of the methods whose chance these trials cannot tell from the recommended one's.
    """

    method: str
    meets_goal: bool
    reason: str
    ties: tuple[str, ...] = ()


@dataclass(frozen=True)
class Result(Answer):
    """The answer to `check` (one method) or `compare` (all of them).

    Attributes
    ----------
    methods: The methods that were looked at, the best first.
    recommendation: Which to take; of `compare` alone.
    settled: Whether the trials, left to themselves, ended because the numbers stood still; None for a number that was
        asked for.
    between: The changes between the faces that the job gives: moisture, temperature.
    heights: Each web of the job by each way of touching off Z; of `compare` alone.
    zero_z: Which way to take; of `compare` alone, and None for a job without webs.
    """

    methods: tuple[MethodResult, ...]
    recommendation: Recommendation | None = None
    settled: bool | None = None
    between: tuple[str, ...] = ()
    heights: tuple[WebHeights, ...] = ()
    zero_z: ZeroAdvice | None = None

    def __repr__(self) -> str:
        best = self.methods[0]
        return f"Result({self.title!r}, {len(self.methods)} methods, {best.name!r}: {best.chance.estimate:.4f})"

    @property
    def meets_goal(self) -> bool:
        """Whether the method checked, or the one recommended, reaches the goal."""
        if self.recommendation:
            return self.recommendation.meets_goal
        return self.methods[0].chance.estimate >= self.goal

    def _repr_html_(self) -> str:
        """A table of the methods, for a notebook; the recommended one is marked by a star."""
        heads = ("method", "kind", "will line up", "95 % interval", "goal met", "decided by")
        rows = [
            (
                method.name + (" *" if self.recommendation and method.name == self.recommendation.method else ""),
                method.kind,
                chance_text(method.chance),
                _interval(method.chance),
                "yes" if method.chance.estimate >= self.goal else "no",
                method.deciding_pair.name,
            )
            for method in self.methods
        ]
        title = f"{self.title or 'Part without a title'}: {self.trials:,} trial parts, goal {goal_text(self.goal)}"
        head = "".join(f'<th scope="col">{escape(text)}</th>' for text in heads)
        body = "".join(f"<tr>{''.join(f'<td>{escape(text)}</td>' for text in row)}</tr>" for row in rows)
        return f"<table><caption>{escape(title)}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _interval(chance: Chance) -> str:
    """The interval of a chance in per cent; nothing where the estimate is given as a bound."""
    if rare(chance):
        return NOTHING
    places = decimals(chance)
    return f"{percent(chance.low, places)} to {percent(chance.high, places)}"
