"""Will a whole batch line up, and how many of it will not?

The parts of a batch share what lasts with the machine, so the chance that all are good is no power of the chance of
one. Batches are simulated whole; they are the independent units of every interval here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.decide.batch.wear import Wear, wear_of
from flipcheck.decide.check import method_named, refuse_impossible
from flipcheck.flip.coupon import readings
from flipcheck.flip.model import flip_model
from flipcheck.flip.wear import growth
from flipcheck.stack.intervals import Chance, wilson
from flipcheck.stack.monte_carlo.batches import Course, Run, Tally, run_batches
from flipcheck.stack.monte_carlo.streams import BLOCK, seed_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from flipcheck.decide.check import Trials
    from flipcheck.job.records import Job
    from flipcheck.stack.monte_carlo.streams import RngLike

#: Left to themselves, batches are run until half the interval of "all are good" is this, or so many parts are cut.
_ENOUGH, _MOST_PARTS, _MOST_BATCHES = 0.0025, 8_000_000, 1_000_000
_P95 = 0.95
#: Chances below this are left off the end of a list of rejects.
_SEEN = 1e-9


@dataclass(frozen=True)
class Rejects:
    """How many parts of a batch are not good.

    `chance[k]` is the chance of k rejects, as far as any were seen; `p95` the number that 95 batches in 100 do not
    pass.
    """

    mean: float
    p95: int
    chance: tuple[float, ...]


@dataclass(frozen=True)
class Fares:
    """How the parts of a batch fare.

    Attributes
    ----------
    all_pass: Share of batches whose parts all go on and line up.
    part: Share of parts that do; its interval counts batches, not parts.
    rejects: What is seen of the number of rejects.
    naive_all_pass: What `all_pass` would be if parts were independent: a power of `part`.
    naive_rejects: Binomial, for the same reason and as wrong.
    """

    all_pass: Chance
    part: Chance
    rejects: Rejects
    naive_all_pass: float
    naive_rejects: Rejects


@dataclass(frozen=True)
class Batch:
    """The answer to `batch`.

    Attributes
    ----------
    method: Name of the method.
    goal: Wanted chance of a part.
    parts: Parts of a batch, the coupons not among them.
    coupons: Parts cut and measured before, by whose mean the rest is corrected.
    batches: How many batches were simulated.
    seed: What they were seeded with.
    plain: The parts as they come, without any correction.
    corrected: The same parts corrected; None without coupons.
    coupons_kept: Share of batches whose N parts are all good if the coupons are the first of them; None without coupons
        or with more of them than parts.
    wear: What wear does; None where nothing wears.
    settled: Whether the batches, left to themselves, ended because the numbers stood still; None for a number that was
        asked for.
    """

    method: str
    goal: float
    parts: int
    coupons: int
    batches: int
    seed: int
    plain: Fares
    corrected: Fares | None
    coupons_kept: Chance | None
    wear: Wear | None
    settled: bool | None = None

    def __repr__(self) -> str:
        return f"Batch({self.method!r}, {self.parts} parts, all pass: {self.told.all_pass.estimate:.4f})"

    @property
    def told(self) -> Fares:
        """What the user will see: the corrected parts, where there are coupons."""
        return self.corrected or self.plain

    @property
    def meets_goal(self) -> bool:
        """Whether the chance of a part reaches the goal, all through the batch where holes wear."""
        if self.wear:
            return self.wear.lost_at is None or self.wear.lost_at > self.parts
        return self.told.part.estimate >= self.goal


def batch(
    job: Job,
    method: str | None = None,
    *,
    parts: int,
    coupons: int = 0,
    trials: Trials = "auto",
    rng: RngLike = 1,
    threads: int | None = None,
    progress: Callable[[int], None] | None = None,
) -> Batch:
    """Work out a batch of parts by one method of a job.

    Parameters
    ----------
    job, method, rng, threads: As for `check`; part 1 of each batch has the draws of one of its trials.
    parts: How many good parts are wanted, N.
    coupons: Parts cut and measured before; their mean misalignment, as shift and turn, is taken out of all N.
    trials: How many batches to simulate; "auto" runs until the chance that all pass is known to a quarter of a per
        cent, or 8 million parts have been cut.
    progress: Called with the number of batches of each block as it is done.

    Raises
    ------
    JobError: as for `check`.
    ValueError: for fewer than one part or batch, fewer than no coupons, or a negative seed.
    """
    if parts < 1 or coupons < 0:
        raise ValueError(f"at least one part and no fewer than 0 coupons are needed, not {parts} and {coupons}")
    refuse_impossible(job)
    model = flip_model(job, method_named(job, method))
    seed, course = seed_of(rng), Course(parts, growth(model), coupons, readings(model))
    run = run_batches(
        model.linear,
        course,
        most_batches(parts, coupons) if trials == "auto" else trials,
        seed,
        threads=threads,
        progress=progress,
        settled=_settled if trials == "auto" else None,
    )
    batches = run.plain.batches
    return Batch(
        method=model.method.name,
        goal=job.goal,
        parts=parts,
        coupons=coupons,
        batches=batches,
        seed=seed,
        plain=fares(run.plain),
        corrected=fares(run.corrected) if run.corrected else None,
        coupons_kept=wilson(run.coupons_kept, batches) if 0 < coupons <= parts else None,
        wear=wear_of(model, course, run.told, job.goal, seed, threads),
        settled=run.settled if trials == "auto" else None,
    )


def most_batches(parts: int, coupons: int) -> int:
    """The most batches that are run unasked."""
    return max(BLOCK, min(_MOST_BATCHES, _MOST_PARTS // (parts + coupons)))


def fares(tally: Tally) -> Fares:
    """What counted batches amount to, beside what independent parts would."""
    parts, batches = len(tally.passed), tally.batches
    one = part_chance(tally)
    return Fares(
        all_pass=wilson(int(tally.rejects[0]), batches),
        part=one,
        rejects=_rejects(tally.rejects / batches),
        naive_all_pass=one.estimate**parts,
        naive_rejects=_rejects(_binomial(parts, 1.0 - one.estimate)),
    )


def part_chance(tally: Tally) -> Chance:
    """The share of parts that are good.

    Parts of one batch miss together, so they count for less than independent ones: Wilson's interval of as many
    independent parts as would scatter like the shares of the batches do (the design effect of cluster sampling; common
    practice, no source). Where all or none are good each batch counts as one.
    """
    parts, batches = len(tally.passed), tally.batches
    missed = np.arange(parts + 1) / parts
    share = float(tally.passed.sum()) / (parts * batches)
    variance = float(tally.rejects @ np.square(missed - (1.0 - share))) / batches
    worth = batches * share * (1.0 - share) / variance if variance else float(batches)
    around = wilson(share * worth, worth)
    return Chance(share, around.low, around.high)


def _rejects(chance: NDArray[np.float64]) -> Rejects:
    """From the chance of each number of rejects, shape (N + 1,)."""
    seen = int(np.flatnonzero(chance > _SEEN)[-1]) + 1
    p95 = int(np.searchsorted(np.cumsum(chance), _P95 - 1e-12))
    return Rejects(float(chance @ np.arange(len(chance))), p95, tuple(float(c) for c in chance[:seen]))


def _binomial(parts: int, miss: float) -> NDArray[np.float64]:
    """Chances of 0 to N rejects if each part missed by itself, shape (N + 1,)."""
    from scipy.special import bdtr

    return np.diff(bdtr(np.arange(parts + 1), parts, miss), prepend=0.0)


def _settled(run: Run) -> bool:
    around = wilson(int(run.told.rejects[0]), run.told.batches)
    return around.high - around.low <= 2.0 * _ENOUGH
