"""Quasi-Monte Carlo: fewer trials for the same certainty.

The trials of `monte_carlo` are random; these fill the space of errors evenly (`sobol`), and what is known of them in
closed form is not drawn (`own_scatter`). The run is repeated over 16 random shifts; their scatter gives the interval.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from flipcheck.stack.intervals import few, half_width, independent_difference
from flipcheck.stack.monte_carlo.blocks import in_order
from flipcheck.stack.monte_carlo.streams import BLOCK
from flipcheck.stack.quasi_monte_carlo.estimate import ReplicateEstimate
from flipcheck.stack.quasi_monte_carlo.replicates import Counter, Sums

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from flipcheck.stack.linear import LinearModel
    from flipcheck.stack.monte_carlo.simulate import Settled


@dataclass(frozen=True, eq=False)
class QuasiRun:
    """What a run of several models on the same points gives; as `monte_carlo.Run`."""

    seed: int
    trials: int
    estimates: tuple[ReplicateEstimate, ...]
    settled: bool

    def difference(self, first: int, second: int) -> tuple[float, float]:
        """95 % interval of the difference between the chances of two models, first minus second."""
        one, other = self.estimates[first], self.estimates[second]
        a, b = one.chance.estimate, other.chance.estimate
        if few(a, self.trials) or few(b, self.trials):
            return independent_difference(a * self.trials, self.trials, b * self.trials, self.trials)
        half = half_width(one.repeats - other.repeats)
        return a - b - half, a - b + half


def simulate(
    models: Sequence[LinearModel],
    trials: int,
    seed: int,
    *,
    threads: int | None = None,
    progress: Callable[[int], None] | None = None,
    settled: Settled | None = None,
) -> QuasiRun:
    """Run all models on the same points, shifted alike for what they share.

    Parameters and errors are those of `monte_carlo.simulate`, but for `threads`, one unless given: the steps of these
    trials are so short that two threads would wait for each other longer than they gain. A run that may end when it
    has settled does so after 1, 2, 4, 8 ... blocks, where the points are spread most evenly.
    """
    if trials < 1:
        raise ValueError(f"at least one trial is needed, not {trials}")
    counters = [Counter(model, seed) for model in models]

    def work(block: int) -> tuple[list[Sums], int]:
        count = min(BLOCK, trials - block * BLOCK)
        return [counter.count(block, count) for counter in counters], count

    totals: list[Sums] = []
    enough = False
    with in_order(work, -(-trials // BLOCK), threads or 1) as blocks:
        for done, (sums, count) in enumerate(blocks, start=1):
            if totals:
                for total, more in zip(totals, sums, strict=True):
                    total.add(more)
            else:
                totals = sums
            if progress:
                progress(count)
            if settled and done & (done - 1) == 0 and settled(_estimates(counters, totals)):
                enough = True
                break
    estimates = _estimates(counters, totals)
    return QuasiRun(seed, estimates[0].trials, estimates, enough)


def _estimates(counters: Sequence[Counter], totals: Sequence[Sums]) -> tuple[ReplicateEstimate, ...]:
    return tuple(ReplicateEstimate(counter, sums) for counter, sums in zip(counters, totals, strict=True))
