"""Counting trials on evenly spread points, repeat by repeat."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.estimate import products, sums_about
from flipcheck.stack.monte_carlo.additions import few
from flipcheck.stack.monte_carlo.histogram import places, ranges
from flipcheck.stack.monte_carlo.streams import BLOCK
from flipcheck.stack.quasi_monte_carlo.conditional import conditional
from flipcheck.stack.quasi_monte_carlo.draws import QuasiPlan
from flipcheck.stack.quasi_monte_carlo.own_scatter import own_scatter
from flipcheck.stack.quasi_monte_carlo.sobol import REPEATS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.stack.linear import LinearModel
    from flipcheck.stack.monte_carlo.histogram import Range
    from flipcheck.stack.quasi_monte_carlo.conditional import Conditional
    from flipcheck.stack.quasi_monte_carlo.sobol import Kept

    Array = NDArray[np.float64]

#: Bins of the histogram of each measure's offset, and as many as are left where scatter smooths over them.
BINS, _TOGETHER = 2000, 3
COARSE = BINS >> _TOGETHER
#: Where the wider bins of each trial's repeat begin, shape (BLOCK,).
_FIRST_BIN = np.tile(np.arange(REPEATS) * COARSE, BLOCK // REPEATS)
#: Trials that are added up side by side: adding few at a time is slow.
_ABREAST = 16 * REPEATS


@dataclass(eq=False)
class Sums:
    """What the trials of one model add up to, by repeat: S repeats, Q measures, M outputs, C contacts.

    Attributes
    ----------
    trials: Trials run, shape (S,).
    on: Trials that go on, shape (S,).
    weight: What these count together, shape (S,).
    good: The chance that each passes every measure, counted and summed, shape (S,).
    passed: The same of each measure, shape (Q, S).
    histogram: The offset of each measure in equal bins, shape (Q, BINS).
    coarse: The same by repeat in wider bins, shape (Q, S, COARSE).
    moments: Sums of the offsets in each of these, shape (Q, COARSE).
    ends: Smallest and largest offset of each measure, shape (Q, 2).
    outputs, values: Sums and sums of squares of the outputs and of the offsets, from their middles, (2, M) and (2, Q).
    poses: Sums (first row) and sums of products of the contact rows, from their mean pose, shape (1 + 3 C, 3 C).
    """

    trials: Array
    on: Array
    weight: Array
    good: Array
    passed: Array
    histogram: Array
    coarse: Array
    moments: Array
    ends: Array
    outputs: Array
    values: Array
    poses: Array

    def add(self, other: Sums) -> None:
        """Take in the next block."""
        for name in self.__dataclass_fields__:
            if name != "ends":
                mine = getattr(self, name)
                mine += getattr(other, name)
        np.minimum(self.ends[:, 0], other.ends[:, 0], out=self.ends[:, 0])
        np.maximum(self.ends[:, 1], other.ends[:, 1], out=self.ends[:, 1])


class Passing:
    """How likely the trials of one model are to pass.

    Parameters
    ----------
    model: The model.
    seed: Of the run.
    kept: As of `Sobol`.
    """

    def __init__(self, model: LinearModel, seed: int, kept: Kept | None = None) -> None:
        self.model = model
        self.scatter = own_scatter(model)
        self.conditionals: list[Conditional] = [
            conditional(model, measure, std) for measure, std in zip(model.measures, self.scatter.stds, strict=True)
        ]
        self.plan = QuasiPlan(model, self.scatter, seed, kept)

    def good(self, number: int, widen: float) -> Array:
        """The chance that each trial of a block goes on and passes every measure, summed by repeat, shape (S,).

        `widen`: what every radial clearance is larger by, mm.
        """
        block = self.plan.sample(number, widen)
        good = block.weight * block.on
        for ask in self.conditionals:
            good *= ask.passes(ask.measure.value(block.outputs), block.outputs)
        # the weights have the mean 1 only over all trials
        on, weight = _by_repeat(block.on.astype(float)), _by_repeat(block.weight * block.on)
        return _by_repeat(good) * np.divide(on, weight, out=np.zeros(REPEATS), where=weight > 0.0)

    def short(self, number: int) -> Array:
        """How much too small all radial clearances are for each trial of a block to go on, mm, shape (BLOCK,)."""
        return self.plan.short(number)


class Counter(Passing):
    """Counts the trials of one model; parameters as of `Passing`."""

    def __init__(self, model: LinearModel, seed: int) -> None:
        super().__init__(model, seed)
        self.ranges: tuple[Range, ...] = ranges(model)
        self.middles = np.array([measure.value(model.expected[:, None])[0] for measure in model.measures])

    def count(self, number: int, trials: int) -> Sums:
        """Count the first `trials` trials of a block."""
        block = self.plan.sample(number)
        counted = np.arange(BLOCK) < trials
        on = block.on & counted
        weight, every = block.weight * on, bool(on.all())
        good = weight.copy()
        passed, values = np.zeros((len(self.conditionals), REPEATS)), np.zeros((2, len(self.conditionals)))
        histogram = np.zeros((len(self.conditionals), BINS))
        coarse = np.zeros((len(self.conditionals), REPEATS, COARSE))
        moments = np.zeros((len(self.conditionals), COARSE))
        ends = np.tile([np.inf, -np.inf], (len(self.conditionals), 1))
        for q, ask in enumerate(self.conditionals):
            offset = ask.measure.value(block.outputs)
            chance = ask.passes(offset, block.outputs)
            good *= chance
            chance *= weight
            passed[q] = _by_repeat(chance)
            (bins,) = places(self.ranges[q : q + 1], offset[None], BINS)
            histogram[q] = np.bincount(bins, weight, BINS)
            bins >>= _TOGETHER
            moments[q] = np.bincount(bins, weight * offset, COARSE)
            bins += _FIRST_BIN
            coarse[q] = np.bincount(bins, weight, REPEATS * COARSE).reshape(REPEATS, COARSE)
            inside = offset if every else offset[on]
            if len(inside):
                ends[q] = inside.min(), inside.max()
            values[:, q : q + 1] = sums_about(offset[None], self.middles[q : q + 1], weight)
        rows = few(len(block.outputs))
        outputs = [sums_about(block.outputs[some], self.model.expected[some], weight) for some in rows]
        hung = block.poses - self.model.means[self.model.source_means.size :, None]
        poses = np.vstack([(hung * weight).sum(axis=1)[None], products(hung, weight)])
        return Sums(
            trials=_by_repeat(counted.astype(float)),
            on=_by_repeat(on.astype(float)),
            weight=_by_repeat(weight),
            good=_by_repeat(good),
            passed=passed,
            histogram=histogram,
            coarse=coarse,
            moments=moments,
            ends=ends,
            outputs=np.hstack(outputs),
            values=values,
            poses=poses,
        )


def _by_repeat(row: Array) -> Array:
    return row.reshape(-1, _ABREAST).sum(axis=0).reshape(-1, REPEATS).sum(axis=0)
