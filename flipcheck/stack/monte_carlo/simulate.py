"""Monte Carlo: draw every source, hang the blanks on their pins, count and add up, in memory that does not grow.

Work goes block by block (see `streams`). Whole numbers (counts, histograms) add up the same in any order; sums of
decimals are added in the order of the blocks; so the same seed gives the same bytes for any number of threads.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.estimate import Counted, products, sums_about
from flipcheck.stack.intervals import paired_difference
from flipcheck.stack.monte_carlo.additions import few
from flipcheck.stack.monte_carlo.blocks import in_order
from flipcheck.stack.monte_carlo.draws import Draws, Plan, sample
from flipcheck.stack.monte_carlo.histogram import Range, count, ranges
from flipcheck.stack.monte_carlo.streams import BLOCK

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from flipcheck.stack.estimate import Estimate
    from flipcheck.stack.linear import LinearModel

    Array = NDArray[np.float64]
    Counts = NDArray[np.int64]
    Settled = Callable[[Sequence[Estimate]], bool]


#: Blocks between two looks at whether a run has settled.
ASK_EVERY = 4


@dataclass(eq=False)
class Tally:
    """What the trials of one model add up to.

    Q measures, M outputs, C contacts. Sums are over the trials that go on, counted from `origin` to keep their digits.

    Attributes
    ----------
    trials: Trials run.
    on: Trials in which the blank goes onto its pins (all, where there are none).
    good: Trials that go on and pass every measure.
    passed: Trials that go on and pass each measure, shape (Q,).
    histogram: Counts of each measure's value in equal bins, shape (Q, bins).
    ends: Smallest and largest value of each measure, shape (Q, 2).
    outputs: Sums and sums of squares of each output, shape (2, M).
    values: Sums and sums of squares of each measure's value, shape (2, Q).
    poses: Sums (first row) and sums of products of the contact rows, from their mean pose, shape (1 + 3 C, 3 C).
    """

    trials: int
    on: int
    good: int
    passed: Counts
    histogram: Counts
    ends: Array
    outputs: Array
    values: Array
    poses: Array

    def add(self, other: Tally) -> None:
        """Take in the next block."""
        self.trials += other.trials
        self.on += other.on
        self.good += other.good
        self.passed += other.passed
        self.histogram += other.histogram
        self.outputs += other.outputs
        self.values += other.values
        self.poses += other.poses
        np.minimum(self.ends[:, 0], other.ends[:, 0], out=self.ends[:, 0])
        np.maximum(self.ends[:, 1], other.ends[:, 1], out=self.ends[:, 1])


@dataclass(frozen=True, eq=False)
class Origin:
    """Values that sums are counted from: the outputs and the measures without any scatter, shapes (M,) and (Q,)."""

    outputs: Array
    values: Array


class _Ready:
    """A model made ready for counting."""

    def __init__(self, model: LinearModel) -> None:
        self.model, self.plan, self.origin, self.ranges = model, Plan(model), origin(model), ranges(model)


def origin(model: LinearModel) -> Origin:
    """Where the sums of a model's tally are counted from."""
    expected = model.expected
    values = [measure.value(expected[:, None])[0] for measure in model.measures]
    return Origin(expected, np.array(values))


def _tally(plan: _Ready, draws: Draws, trials: int) -> tuple[Tally, NDArray[np.bool_]]:
    """Run one block of a model and count its first `trials` trials; also which of them are good."""
    model = plan.model
    outputs, poses, on = sample(plan.plan, draws)
    outputs, poses, on = outputs[:, :trials], poses[:, :trials], on[:trials]
    every = bool(on.all())

    def going_on(rows: Array) -> Array:
        return rows if every else rows.compress(on, axis=1)

    good, passed, histogram, ends, offs = on.copy(), [], [], [], []
    for some in few(len(model.measures)):
        values = np.array([measure.value(outputs) for measure in model.measures[some]])
        for measure, value in zip(model.measures[some], values, strict=True):
            within = measure.passes(value, outputs)
            within &= on
            passed.append(np.count_nonzero(within))
            good &= within
        values = going_on(values)
        histogram.append(count(plan.ranges[some], values))
        ends.append(np.array([values.min(axis=1, initial=np.inf), values.max(axis=1, initial=-np.inf)]))
        offs.append(sums_about(values, plan.origin.values[some]))
    sums = [sums_about(going_on(outputs[some]), plan.origin.outputs[some]) for some in few(len(outputs))]
    hung = going_on(poses) - model.means[model.source_means.size :, None]
    tally = Tally(
        trials=trials,
        on=int(np.count_nonzero(on)),
        good=int(np.count_nonzero(good)),
        passed=np.array(passed),
        histogram=np.vstack(histogram),
        ends=np.hstack(ends).T,
        outputs=np.hstack(sums),
        values=np.hstack(offs),
        poses=np.vstack([hung.sum(axis=1)[None], products(hung)]),
    )
    return tally, good


@dataclass(frozen=True, eq=False)
class Run:
    """What a simulation of several models on the same draws gives.

    Attributes
    ----------
    seed: What it was seeded with.
    trials: Trials of each model.
    tallies: One a model.
    origins: What the sums of each tally are counted from.
    ranges: Ranges of each tally's histograms.
    both_good: Trials that are good by both of two models, shape (models, models).
    settled: Whether the run ended because its numbers had settled.
    """

    seed: int
    trials: int
    tallies: tuple[Tally, ...]
    origins: tuple[Origin, ...]
    ranges: tuple[tuple[Range, ...], ...]
    both_good: Counts
    settled: bool

    @property
    def estimates(self) -> tuple[Counted, ...]:
        """What it says about each model."""
        return _estimates(self.tallies, self.origins, self.ranges)

    def difference(self, first: int, second: int) -> tuple[float, float]:
        """95 % interval of the difference between the chances of two models, first minus second."""
        both = int(self.both_good[first, second])
        only_first = int(self.both_good[first, first]) - both
        only_second = int(self.both_good[second, second]) - both
        return paired_difference(only_first, only_second, self.trials)


def _estimates(
    tallies: Sequence[Tally], origins: Sequence[Origin], ranges: Sequence[tuple[Range, ...]]
) -> tuple[Counted, ...]:
    return tuple(Counted(*parts) for parts in zip(tallies, origins, ranges, strict=True))


def simulate(
    models: Sequence[LinearModel],
    trials: int,
    seed: int,
    *,
    threads: int | None = None,
    progress: Callable[[int], None] | None = None,
    settled: Settled | None = None,
) -> Run:
    """Run all models on common random numbers.

    Parameters
    ----------
    models: What to run; a source with the same key in two of them is the same draw.
    trials: How many trials, at least 1; the most, where `settled` may end the run before.
    seed: Not negative.
    threads: Worker threads; one a core unless given. The result does not depend on it.
    progress: Called with the number of trials of each block as it is done.
    settled: Asked after every few blocks whether the estimates so far are good enough; the run ends when they are.

    Raises
    ------
    ValueError: for fewer than one trial.
    """
    if trials < 1:
        raise ValueError(f"at least one trial is needed, not {trials}")
    plans = [_Ready(model) for model in models]
    keep = len(plans) > 1

    def work(block: int) -> tuple[list[Tally], Counts, int]:
        count = min(BLOCK, trials - block * BLOCK)
        draws = Draws(seed, block, keep=keep)
        tallies, good = zip(*(_tally(plan, draws, count) for plan in plans), strict=True)
        both = np.array([[np.count_nonzero(a & b) for b in good] for a in good], dtype=np.int64)
        return list(tallies), both, count

    totals: list[Tally] = []
    origins, spans = tuple(plan.origin for plan in plans), tuple(plan.ranges for plan in plans)
    enough = False
    both_good = np.zeros((len(plans), len(plans)), dtype=np.int64)
    with in_order(work, -(-trials // BLOCK), threads) as blocks:
        for done, (tallies, both, count) in enumerate(blocks, start=1):
            both_good += both
            if totals:
                for total, tally in zip(totals, tallies, strict=True):
                    total.add(tally)
            else:
                totals = tallies
            if progress:
                progress(count)
            if settled and done % ASK_EVERY == 0 and settled(_estimates(totals, origins, spans)):
                enough = True
                break
    return Run(seed, totals[0].trials, tuple(totals), origins, spans, both_good, enough)
