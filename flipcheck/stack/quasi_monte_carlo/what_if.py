"""What if one error were larger or smaller? The chance of a changed model, on the same evenly spread points.

Points and shifts stay as they are (see `quasi_monte_carlo`), so the chance is a smooth function of what is changed, and
the size at which it reaches a goal is found by a few evaluations.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.intervals import Chance, from_repeats
from flipcheck.stack.monte_carlo.streams import BLOCK
from flipcheck.stack.quasi_monte_carlo.replicates import Passing
from flipcheck.stack.spreads import resized

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from numpy.typing import NDArray

    from flipcheck.stack.linear import LinearModel
    from flipcheck.stack.measures import Measure
    from flipcheck.stack.quasi_monte_carlo.sobol import Kept

    Array = NDArray[np.float64]

#: Beyond this many times the present size, any size will do.
LARGEST = 1000.0
#: A size is found to this fraction of itself.
_PRECISE = 1e-3
#: A radial clearance must be larger than nothing, mm.
_MORE = 1e-6


class WhatIf:
    """Chances of a model and of what it may be changed into.

    Parameters
    ----------
    model: The model as it is.
    trials: How many to run for each chance; rounded up to whole blocks.
    seed: As for `quasi_monte_carlo.simulate`, whose chance this is.
    """

    def __init__(self, model: LinearModel, trials: int, seed: int) -> None:
        self.model, self._seed = model, seed
        self._blocks = range(-(-trials // BLOCK))
        self._kept: Kept = {}

    @property
    def trials(self) -> int:
        """How many trials each chance is found by."""
        return BLOCK * len(self._blocks)

    def chance(self, widen: float = 0.0, model: LinearModel | None = None) -> float:
        """The chance that a trial is good with every radial clearance larger by `widen`, mm; or by another model."""
        return self.interval(widen, model).estimate

    def interval(self, widen: float = 0.0, model: LinearModel | None = None) -> Chance:
        """The same with its interval."""
        passing = Passing(model or self.model, self._seed, self._kept)
        good = np.sum([passing.good(block, widen) for block in self._blocks], axis=0)
        repeats = good * (len(good) / self.trials)
        return from_repeats(min(float(repeats.mean()), 1.0), repeats, self.trials)

    def tightest(self, share: float, model: LinearModel | None = None) -> float:
        """By how much every radial clearance must grow for this share of blanks to go onto their pins, mm.

        Negative where there is room to spare.
        """
        passing = Passing(model or self.model, self._seed, self._kept)
        short = np.concatenate([passing.short(block) for block in self._blocks])
        place = max(math.ceil(share * len(short) - 1e-9), 1) - 1
        return float(np.partition(short, place)[place]) + _MORE

    def largest_size(self, group: Sequence[int], goal: float) -> float | None:
        """The largest size of a group of sources, in times its present one, at which the chance still reaches the goal.

        Infinite where any size will do; None where even none of it would not.
        """

        def chance(size: float) -> float:
            return self.chance(model=with_size(self.model, group, size))

        found = largest(chance, goal)
        # holes that grow with an error, such as a runout, may need it
        return math.inf if found is None and chance(LARGEST) >= goal else found

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

        def chance(distance: float) -> float:
            moved = replace(self.model, mix=self.model.mix + start + distance * step, measures=(measure,))
            return self.chance(model=moved)

        return largest(chance, goal)


def with_size(model: LinearModel, group: Iterable[int], size: float) -> LinearModel:
    """A model in which the sources at some places are `size` times as large, about the same means."""
    places = set(group)
    sources = [
        replace(source, spread=resized(source.spread, size)) if i in places else source
        for i, source in enumerate(model.sources)
    ]
    return replace(model, sources=tuple(sources))


def largest(
    chance: Callable[[float], float], goal: float, *, start: float = 1.0, most: float = LARGEST
) -> float | None:
    """The largest k in [0, most] at which a falling function reaches the goal; infinite at `most`, None if not at 0."""
    low, high = 0.0, start
    while chance(high) >= goal:
        low, high = high, 4.0 * high
        if low >= most:
            return math.inf
    if low == 0.0 and chance(0.0) < goal:
        return None
    return edge(chance, goal, low, high, _PRECISE * start)


def edge(chance: Callable[[float], float], goal: float, good: float, bad: float, within: float) -> float:
    """Where a chance crosses the goal between a value at which it reaches it and one at which it does not."""
    from scipy.optimize import brentq

    return float(brentq(lambda value: chance(value) - goal + 1e-12, good, bad, xtol=within, rtol=_PRECISE))
