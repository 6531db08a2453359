"""Batches: parts that share what lasts with the machine, drawn inside one another.

A trial is a batch. Its machine-life sources are drawn once, everything else anew for each of its parts, and its rejects
are counted. So batches are independent of each other, the parts of one are not, and the share of batches without a
reject is an unbiased estimate of the mean of p^N over the machines there may be (see docs/explanation/batches.md).
Part 1 has the very draws of a trial of `monte_carlo.simulate`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.monte_carlo.blocks import in_order
from flipcheck.stack.monte_carlo.draws import Draws, Plan
from flipcheck.stack.monte_carlo.streams import BLOCK
from flipcheck.stack.sources import Life

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from flipcheck.stack.linear import LinearModel

    Array = NDArray[np.float64]
    Flags = NDArray[np.bool_]
    Counts = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Course:
    """What happens in the course of a batch.

    Attributes
    ----------
    parts: Parts of the batch, N.
    growth: How much what the play of the contacts depends on grows from one part to the next, as forms over the source
        rows, shape (F, R); only rows that last with the machine may act. None where nothing wears.
    coupons: Parts cut and measured before the batch, to correct all that comes after by their mean.
    reads: What is measured on one coupon and then taken away from the K shared components: coefficients over these and
        over what each of the M outputs has to itself, shape (K, K + M). Needed for coupons.
    skipped: Parts cut between the coupons and part 1, of which nothing is kept but the wear.
    """

    parts: int
    growth: Array | None = None
    coupons: int = 0
    reads: Array | None = None
    skipped: int = 0


@dataclass(eq=False)
class Tally:
    """Batches counted.

    Attributes
    ----------
    rejects: How many batches have 0, 1, ... N rejects, shape (N + 1,).
    passed: In how many batches each part is good, shape (N,).
    """

    rejects: Counts
    passed: Counts

    @property
    def batches(self) -> int:
        """How many batches there are."""
        return int(self.rejects.sum())

    def add(self, other: Tally) -> None:
        """Take in the next block."""
        self.rejects += other.rejects
        self.passed += other.passed


@dataclass(eq=False)
class Run:
    """Batches simulated.

    Attributes
    ----------
    plain: Counted without any correction.
    corrected: The same parts corrected by the mean of the coupons; None without coupons.
    coupons_kept: Batches all of whose parts are good if the coupons are the first of the N; 0 with more coupons than
        parts, or without any.
    settled: Whether the run ended because its numbers had settled.
    """

    plain: Tally
    corrected: Tally | None
    coupons_kept: int
    settled: bool = False

    @property
    def told(self) -> Tally:
        """The counts that matter: corrected, where there are coupons."""
        return self.corrected or self.plain

    def add(self, other: Run) -> None:
        """Take in the next block."""
        self.plain.add(other.plain)
        if self.corrected and other.corrected:
            self.corrected.add(other.corrected)
        self.coupons_kept += other.coupons_kept


def run_batches(
    model: LinearModel,
    course: Course,
    batches: int,
    seed: int,
    *,
    threads: int | None = None,
    progress: Callable[[int], None] | None = None,
    settled: Callable[[Run], bool] | None = None,
) -> Run:
    """Simulate batches; memory does not grow with their number, nor with that of their parts.

    Parameters
    ----------
    model: What one part is.
    course: What happens from part to part.
    batches: How many, at least 1; the most, where `settled` may end the run before.
    seed: Not negative.
    threads: Worker threads; one unless given: two would wait for each other longer than they gain. The result does
        not depend on it.
    progress: Called with the number of batches of each block as it is done.
    settled: Asked after every block whether the counts so far are good enough.

    Raises
    ------
    ValueError: for fewer than one batch or part, or coupons without `reads`.
    """
    if batches < 1 or course.parts < 1:
        raise ValueError(f"at least one batch of one part is needed, not {batches} of {course.parts}")
    if course.coupons and course.reads is None:
        raise ValueError("coupons must be read: `reads` is missing")
    bench = _Bench(model, course)

    def work(block: int) -> tuple[Run, int]:
        count = min(BLOCK, batches - block * BLOCK)
        return bench.block(seed, block, count), count

    total: Run | None = None
    with in_order(work, -(-batches // BLOCK), threads or 1) as blocks:
        for run, count in blocks:
            if total is None:
                total = run
            else:
                total.add(run)
            if progress:
                progress(count)
            if settled and settled(total):
                total.settled = True
                break
    assert total is not None
    return total


class _PartDraws(Draws):
    """The draws of one part, or one coupon, of a block of batches: new for everything but what lasts."""

    def __init__(self, seed: int, block: int, which: str) -> None:
        super().__init__(seed, block)
        self._which = which

    def stream(self, key: str) -> np.random.Generator:
        return super().stream(key + self._which)


class _Bench:
    """A model made ready to be cut part after part."""

    def __init__(self, model: LinearModel, course: Course) -> None:
        self.model, self.course, self.plan = model, course, Plan(model)
        lasts = [source.life is Life.MACHINE for source in model.sources]
        self._reads = np.zeros((0, 0)) if course.reads is None else course.reads
        self._lasting = [i for i, last in enumerate(lasts) if last]
        self._passing = [i for i, last in enumerate(lasts) if not last]

    def block(self, seed: int, block: int, count: int) -> Run:
        """One block of batches, of which the first `count` are counted."""
        parts, coupons = self.course.parts, self.course.coupons
        machine = Draws(seed, block, keep=True)
        lasting = self.plan.add_sources(machine, self._lasting)
        growth = self._growth(machine)
        plain, after, kept = _Counter(parts), _Counter(parts), np.ones(BLOCK, dtype=bool)
        correction = np.zeros((len(self.model.shared), BLOCK))
        measured = np.zeros(BLOCK)
        for number in range(1, coupons + 1):
            draws = _PartDraws(seed, block, f", coupon {number}")
            sums, on = self._cut(lasting, growth, draws, number - 1)
            read = np.einsum("ij,jn->in", self._reads, sums[: self._reads.shape[1]])
            read *= on
            correction += read
            measured += on
            kept &= self._good(self._outputs(sums), on)
        correction /= np.maximum(measured, 1.0)
        removed = np.einsum("mk,kn->mn", self.model.mix, correction) if coupons else None
        for number in range(parts):
            draws = _PartDraws(seed, block, f", part {number + 1}" if number else "")
            sums, on = self._cut(lasting, growth, draws, coupons + self.course.skipped + number)
            outputs = self._outputs(sums)
            plain.count(self._good(outputs, on), number, count)
            if removed is not None:
                outputs -= removed
                good = self._good(outputs, on)
                after.count(good, number, count)
                if number < parts - coupons:
                    kept &= good
        both = int(np.count_nonzero(kept[:count])) if 0 < coupons <= parts else 0
        return Run(plain.tally(count), after.tally(count) if coupons else None, both)

    def _growth(self, machine: Draws) -> Array | None:
        """How much each form that the play depends on grows from part to part, mm, shape (F, BLOCK)."""
        growth = self.course.growth
        if growth is None or not np.any(growth):
            return None
        grown = np.zeros((len(growth), BLOCK))
        for i in self._lasting:
            rows = self.model.source_rows[i]
            if np.any(growth[:, rows]):
                grown += np.einsum("fr,rn->fn", growth[:, rows], machine.of(self.model.sources[i]))
        return grown

    def _cut(self, lasting: Array, growth: Array | None, draws: Draws, age: int) -> tuple[Array, Flags]:
        """One part of every batch, on pins that `age` parts have been on: its sums, and where it goes on."""
        sums = self.plan.add_sources(draws, self._passing)
        sums += lasting
        if growth is not None and age:
            sums[self.plan.count - len(growth) :] += age * growth
        _, on = self.plan.hang(sums, draws)
        return sums, on

    def _outputs(self, sums: Array) -> Array:
        outputs = self.plan.mix(sums)
        outputs += self.model.centre[:, None]
        return outputs

    def _good(self, outputs: Array, on: Flags) -> Flags:
        good = on.copy()
        for measure in self.model.measures:
            good &= measure.passes(measure.value(outputs), outputs)
        return good


class _Counter:
    """Counts the rejects of each batch of a block, and in how many batches each part is good."""

    def __init__(self, parts: int) -> None:
        self._rejects = np.zeros(BLOCK, dtype=np.int64)
        self._passed = np.zeros(parts, dtype=np.int64)

    def count(self, good: Flags, number: int, count: int) -> None:
        """Take in one part of every batch."""
        self._rejects += ~good
        self._passed[number] = np.count_nonzero(good[:count])

    def tally(self, count: int) -> Tally:
        """What the first `count` batches came to."""
        counts = np.bincount(self._rejects[:count], minlength=len(self._passed) + 1)
        return Tally(counts.astype(np.int64), self._passed)
