"""What if one error were larger or smaller? The same draws, rescaled; the physics is not gone through again.

A trial is good while every measure is within its limit. As the size k of one group of sources grows, each measure is a
convex function of k, so a trial is good for k in one span. The spans of all trials give the chance for every k at once.
Only where a source acts on the play of pins is the contact drawn anew for each k that is tried, from the same random
numbers.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from flipcheck.stack.measures import meet
from flipcheck.stack.sampling import Draws, Plan, sample
from flipcheck.stack.spreads import Exactly
from flipcheck.stack.streams import BLOCK

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from numpy.typing import NDArray

    from flipcheck.stack.linear import LinearModel
    from flipcheck.stack.measures import Measure, Span

    Array = NDArray[np.float64]
    #: What the sources of each kept block add up to, or some of them.
    Sums = Sequence[Array]

#: Beyond this many times the present size, any size will do.
LARGEST = 1000.0
#: A size is found to this fraction of itself.
_PRECISE = 1e-3
#: A radial clearance must be larger than nothing, mm.
_MORE = 1e-6


class WhatIf:
    """The draws of one model, kept, so that sizes can be changed.

    Parameters
    ----------
    model: The model.
    trials: How many to keep; rounded up to whole blocks. Each takes 8 bytes for each of R + K + M + F numbers.
    seed: As for `monte_carlo.simulate`, whose draws these are.
    each: How to do something for every block: `map`, or that of a pool of threads. The answers do not depend on it.
    """

    def __init__(self, model: LinearModel, trials: int, seed: int, each: Callable[..., Iterable[Any]] = map) -> None:
        self.model = model
        self._plan, self._each = Plan(model), each
        self._blocks = range(-(-trials // BLOCK))
        self._draws = [Draws(seed, block, keep=True) for block in self._blocks]
        #: The sums of all sources, one array of shape (K + M + F, BLOCK) a block.
        self.sums: Sums = list(each(self._plan.add_sources, self._draws))
        #: The poses on the pins of every block, and which trials go on, with everything as it is.
        self._hung = list(each(lambda sums, draws: self._plan.hang(sums.copy(), draws), self.sums, self._draws))

    @property
    def trials(self) -> int:
        """How many trials are kept."""
        return BLOCK * len(self._blocks)

    def chance(self, widen: float = 0.0, sums: Sums | None = None) -> float:
        """The chance that a trial is good with every radial clearance of a pin larger by `widen`, mm."""
        kept = self.sums if sums is None else sums
        return self._share(lambda block: self._good(block, kept[block].copy(), widen))

    def chance_by(self, model: LinearModel) -> float:
        """The chance that a trial is good by another model, of which nothing is kept."""
        plan = Plan(model)

        def good(block: int) -> int:
            outputs, _, within = sample(plan, self._draws[block])
            return _passed(model, outputs, within)

        return self._share(good)

    def chance_of_size(self, group: Sequence[int]) -> Callable[[float], float]:
        """The chance that a trial is good, as a function of the size of a group of sources in times their present one.

        `group` holds their places in the model.
        """
        parts = self.parts(group)
        return lambda size: self._share(
            lambda block: self._good(block, self.sums[block] + (size - 1.0) * parts[block], 0.0)
        )

    def parts(self, group: Sequence[int]) -> Sums:
        """What a group of sources adds to the sums beyond what stays when its size changes: its means."""
        return list(self._each(lambda block: self._part(block, group), self._blocks))

    def tightest(self, share: float, sums: Sums | None = None) -> float:
        """By how much every radial clearance must grow for this share of blanks to go onto their pins, mm.

        Negative where there is room to spare.
        """
        kept = self.sums if sums is None else sums
        short = np.concatenate(list(self._each(lambda block: self._short(kept[block]), self._blocks)))
        place = max(math.ceil(share * len(short) - 1e-9), 1) - 1
        return float(np.partition(short, place)[place]) + _MORE

    def largest_size(self, group: Sequence[int], goal: float) -> float | None:
        """The largest size of a group of sources, in times its present one, at which the chance still reaches the goal.

        Infinite where any size will do; None where even none of it would not.
        """
        if self._acts_on_play(group):
            return largest(self.chance_of_size(group), goal)
        return largest_in(_joined(self._each(lambda block: self._span(block, group), self._blocks)), goal)

    def farthest(self, measure: Measure, start: Array, step: Array, goal: float) -> float | None:
        """How far one measure may be carried along a straight line with a chance of still reaching the goal.

        Parameters
        ----------
        measure: The measure; the others are not asked.
        start, step: What to add to the model's `mix` at distance 0, and for each unit of distance more, shape (M, K).
        goal: The chance wanted that a trial goes on and passes the measure.

        Returns
        -------
        The distance; infinite where any will do, None where not even 0 does.
        """

        def span(block: int) -> Span:
            sums = self.sums[block].copy()
            outputs, on = self._as_it_is(block, sums)
            steps = np.zeros_like(outputs)
            for change, onto in ((start, outputs), (step, steps)):
                for row, column in zip(*np.nonzero(change), strict=True):
                    onto[row] += change[row, column] * sums[column]
            return meet(_from_nothing(on), measure.span(outputs, steps))

        return largest_in(_joined(self._each(span, self._blocks)), goal)

    def _share(self, good: Callable[[int], int]) -> float:
        return int(sum(self._each(good, self._blocks))) / self.trials

    def _good(self, block: int, sums: Array, widen: float) -> int:
        """How many trials of a block are good; the sums are used up."""
        if widen:
            self._plan.widen(sums, widen)
        _, within = self._plan.hang(sums, self._draws[block])
        return _passed(self.model, self._outputs(sums), within)

    def _short(self, sums: Array) -> Array:
        """By how much the radial clearances of each trial are too small for its blank to go on."""
        shorts = [
            contact.short_of(*play) for contact, play in zip(self.model.contacts, self._plan.play(sums), strict=True)
        ]
        return np.max(shorts, axis=0) if shorts else np.full(sums.shape[1], -np.inf)

    def _acts_on_play(self, group: Sequence[int]) -> bool:
        columns = [c for i in group for c in range(*self.model.source_rows[i].indices(self.model.source_means.size))]
        forms = [contact.forms[:, columns] for contact in self.model.contacts]
        return any(np.abs(form).max(initial=0.0) > 1e-12 for form in forms)

    def _span(self, block: int, group: Sequence[int]) -> Span:
        """From which to which size of a group each trial of a block is good."""
        outputs, on = self._as_it_is(block, self.sums[block].copy())
        step = self._plan.mix(self._part(block, group))
        outputs -= step
        span = _from_nothing(on)
        for measure in self.model.measures:
            span = meet(span, measure.span(outputs, step))
        return span

    def _part(self, block: int, group: Sequence[int]) -> Array:
        part = self._plan.add_sources(self._draws[block], group)
        means = np.zeros(self.model.source_means.size)
        for i in group:
            if not isinstance(self.model.sources[i].spread, Exactly):
                rows = self.model.source_rows[i]
                means[rows] = self.model.source_means[rows]
        part -= self._plan.onto @ means[:, None]
        return part

    def _as_it_is(self, block: int, sums: Array) -> tuple[Array, NDArray[np.bool_]]:
        """Outputs of a block as things stand, and which trials go on; the poses are added to the sums."""
        poses, on = self._hung[block]
        self._plan.add_poses(sums, poses)
        return self._outputs(sums), on

    def _outputs(self, sums: Array) -> Array:
        """Outputs of a block, written over their own part of the sums."""
        outputs = self._plan.mix(sums)
        outputs += self.model.centre[:, None]
        return outputs


def _passed(model: LinearModel, outputs: Array, within: NDArray[np.bool_]) -> int:
    """How many of the trials that are within so far pass every measure."""
    for measure in model.measures:
        within &= measure.passes(measure.value(outputs), outputs)
    return int(np.count_nonzero(within))


def _from_nothing(on: NDArray[np.bool_]) -> Span:
    """From size 0 upwards for trials that go on, no size for the others."""
    return np.where(on, 0.0, np.inf), np.full(len(on), np.inf)


def _joined(spans: Iterable[Span]) -> Span:
    first, last = zip(*spans, strict=True)
    return np.concatenate(first), np.concatenate(last)


def largest_in(spans: Span, goal: float) -> float | None:
    """The largest k >= 0 that lies in at least the share `goal` of the spans; infinite, or None where no k does."""
    wanted = math.ceil(goal * len(spans[0]) - 1e-9)
    some = spans[0] <= spans[1]
    first, last = np.sort(spans[0][some]), np.sort(spans[1][some])
    tried = np.append(last[(last >= 0.0) & (last < LARGEST)], [0.0, LARGEST])
    inside = np.searchsorted(first, tried, "right") - np.searchsorted(last, tried, "left")
    enough = tried[inside >= wanted]
    if not len(enough):
        return None
    return math.inf if enough.max() >= LARGEST else float(enough.max())


def largest(
    chance: Callable[[float], float], goal: float, *, start: float = 1.0, most: float = LARGEST
) -> float | None:
    """The largest k in [0, most] at which a falling function reaches the goal; infinite at `most`, None if not at 0."""
    low, high = 0.0, start
    while chance(high) >= goal:
        low, high = high, 2.0 * high
        if low >= most:
            return math.inf
    if low == 0.0 and chance(0.0) < goal:
        return None
    return edge(chance, goal, low, high, _PRECISE * start)


def edge(chance: Callable[[float], float], goal: float, good: float, bad: float, within: float) -> float:
    """Where a chance crosses the goal between a value at which it reaches it and one at which it does not."""
    from scipy.optimize import brentq

    return float(brentq(lambda value: chance(value) - goal + 1e-12, good, bad, xtol=within, rtol=_PRECISE))
