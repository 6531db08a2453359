"""What if one error were larger or smaller? The same draws, rescaled; the physics is not gone through again.

A trial is good while every measure is within its limit. As the size k of one group of sources grows, each measure is a
convex function of k, so a trial is good for k in one span. The spans of all trials give the chance for every k at once.
Only where a source acts on the play of pins is the contact drawn anew for each k that is tried, from the same random
numbers.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.measures import meet
from flipcheck.stack.sampling import Draws, Plan
from flipcheck.stack.spreads import Exactly
from flipcheck.stack.streams import BLOCK

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from numpy.typing import NDArray

    from flipcheck.stack.linear import LinearModel
    from flipcheck.stack.measures import Measure, Span

    Array = NDArray[np.float64]

#: Beyond this many times the present size, any size will do.
LARGEST = 1000.0
#: A size is found to this fraction of itself.
_PRECISE = 1e-3


class WhatIf:
    """The draws of one model, kept, so that sizes can be changed.

    Parameters
    ----------
    model: The model.
    trials: How many draws to keep; rounded up to whole blocks. Each takes 8 bytes for each of K + M + 3 C sums.
    seed: As for `monte_carlo.simulate`, whose draws these are.
    """

    def __init__(self, model: LinearModel, trials: int, seed: int) -> None:
        self.model = model
        self._plan, self._seed = Plan(model), seed
        self._blocks = range(-(-trials // BLOCK))
        self._sums = [self._plan.add_sources(self._draws(block)) for block in self._blocks]

    @property
    def trials(self) -> int:
        """How many trials are kept."""
        return BLOCK * len(self._blocks)

    def chance(self, widen: float = 0.0) -> float:
        """The chance that a trial is good with every radial clearance of a pin larger by `widen`, mm."""
        return self._good((sums.copy() for sums in self._sums), widen)

    def chance_of_size(self, group: Sequence[int], widen: float = 0.0) -> Callable[[float], float]:
        """The chance that a trial is good, as a function of the size of a group of sources in times their present one.

        `group` holds their places in the model; `widen` as for `chance`.
        """
        parts = [self._part(block, group) for block in self._blocks]
        return lambda size: self._good(
            (sums + (size - 1.0) * part for sums, part in zip(self._sums, parts, strict=True)), widen
        )

    def _good(self, changed: Iterable[Array], widen: float) -> float:
        good = 0
        for block, sums in zip(self._blocks, changed, strict=True):
            outputs, within = self._outputs(block, sums, widen)
            for measure in self.model.measures:
                within &= measure.passes(measure.value(outputs), outputs)
            good += int(np.count_nonzero(within))
        return good / self.trials

    def goes_on(self, widen: float = 0.0) -> float:
        """The share of blanks that go onto their pins with every radial clearance larger by `widen`, mm."""
        on = [self._outputs(block, sums.copy(), widen)[1] for block, sums in zip(self._blocks, self._sums, strict=True)]
        return int(sum(np.count_nonzero(o) for o in on)) / self.trials

    def largest_size(self, group: Sequence[int], goal: float) -> float | None:
        """The largest size of a group of sources, in times its present one, at which the chance still reaches the goal.

        Infinite where any size will do; None where even none of it would not.
        """
        if self._acts_on_play(group):
            return largest(self.chance_of_size(group), goal)
        return largest_in(self._spans(group), goal)

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
        spans = []
        for block, sums in zip(self._blocks, self._sums, strict=True):
            own = sums.copy()
            outputs, on = self._outputs(block, own)
            components = own[: self._plan.components]
            outputs += start @ components
            span = np.where(on, 0.0, np.inf), np.full(len(on), np.inf)
            spans.append(meet(span, measure.span(outputs, step @ components)))
        first, last = zip(*spans, strict=True)
        return largest_in((np.concatenate(first), np.concatenate(last)), goal)

    def _acts_on_play(self, group: Sequence[int]) -> bool:
        columns = [c for i in group for c in range(*self.model.source_rows[i].indices(self.model.source_means.size))]
        forms = [np.vstack([contact.pitch, contact.clearance])[:, columns] for contact in self.model.contacts]
        return any(np.abs(form).max(initial=0.0) > 1e-12 for form in forms)

    def _spans(self, group: Sequence[int]) -> Span:
        """From which to which size of a group each trial is good, two arrays of shape (trials,)."""
        spans = []
        for block, sums in zip(self._blocks, self._sums, strict=True):
            outputs, on = self._outputs(block, sums.copy())
            step = self._plan.mix(self._part(block, group))
            outputs -= step
            span = np.where(on, 0.0, np.inf), np.full(len(on), np.inf)
            for measure in self.model.measures:
                span = meet(span, measure.span(outputs, step))
            spans.append(span)
        first, last = zip(*spans, strict=True)
        return np.concatenate(first), np.concatenate(last)

    def _part(self, block: int, group: Sequence[int]) -> Array:
        """What a group of sources adds to the sums of a block beyond what stays when its size changes: its means."""
        part = self._plan.add_sources(self._draws(block), group)
        means = np.zeros(self.model.source_means.size)
        for i in group:
            if not isinstance(self.model.sources[i].spread, Exactly):
                rows = self.model.source_rows[i]
                means[rows] = self.model.source_means[rows]
        part -= self._plan.onto @ means[:, None]
        return part

    def _outputs(self, block: int, sums: Array, widen: float = 0.0) -> tuple[Array, NDArray[np.bool_]]:
        """Outputs of a block, and which trials go on; the sums are used up."""
        if widen:
            forms = sums[self._plan.count - 3 * len(self.model.contacts) :]
            forms[1::3] += widen
            forms[2::3] += widen
        _, on = self._plan.hang(sums, self._draws(block))
        outputs = self._plan.mix(sums)
        outputs += self.model.centre[:, None]
        return outputs, on

    def _draws(self, block: int) -> Draws:
        return Draws(self._seed, block)


def largest_in(spans: Span, goal: float) -> float | None:
    """The largest k >= 0 that lies in at least the share `goal` of the spans; infinite, or None where no k does."""
    wanted = math.ceil(goal * len(spans[0]))
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
    from scipy.optimize import bisect

    low, high = 0.0, start
    while chance(high) >= goal:
        low, high = high, 4.0 * high
        if low >= most:
            return math.inf
    if low == 0.0 and chance(0.0) < goal:
        return None
    return float(bisect(lambda k: chance(k) - goal + 1e-12, low, high, rtol=_PRECISE, xtol=_PRECISE * start))
