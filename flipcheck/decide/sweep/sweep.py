"""How do the chance and the distances change as one quantity of a job changes, or two?"""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from typing import TYPE_CHECKING

from flipcheck.decide.answer import asked
from flipcheck.decide.check import methods_named, refuse_impossible
from flipcheck.decide.sweep.points import Task, in_turn
from flipcheck.decide.sweep.results import Sweep
from flipcheck.decide.sweep.varied import varied
from flipcheck.errors import JobError, Problem
from flipcheck.stack.monte_carlo.streams import BLOCK, seed_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from concurrent.futures import Executor

    from flipcheck.decide.sweep.results import SweepPoint, Varied
    from flipcheck.job.records import Job
    from flipcheck.stack.monte_carlo.streams import RngLike

#: Trials of each point unless told otherwise. A chance near 95 % is then known to 0.33 % even by counting, and its
#: changes better, since all points meet the same trial parts.
TRIALS = BLOCK


class SweepInterruptedError(KeyboardInterrupt):
    """A sweep that was interrupted; `sweep` is what was done by then."""

    def __init__(self, sweep: Sweep) -> None:
        self.sweep = sweep
        super().__init__(repr(sweep))


def sweep(
    job: Job,
    vary: str | Sequence[str],
    methods: Sequence[str] | None = None,
    *,
    trials: int = TRIALS,
    rng: RngLike = 1,
    plain: bool = False,
    job_text: str | None = None,
    threads: int | None = None,
    executor: Executor | None = None,
    progress: Callable[[int], None] | None = None,
) -> Sweep:
    """Work out a job again and again while one quantity, or two, take other values.

    Every point has the same seed, so its trial parts differ by nothing but what is varied.

    Parameters
    ----------
    job: The job.
    vary: ``KEY=FROM:TO:N``, or two of them: the key path of any number in the job, the ends of its range (bare in the
        units of the job, or with their unit), and how many values, as in "errors.machine_squareness=0:0.5 mm/m:11".
    methods: Names of the methods to look at; all unless given.
    trials: How many blanks to simulate at each point.
    rng, plain: As of `check`.
    job_text: The text of the job, which tells whether a spread was given by its limit or its total.
    threads: Worker threads at each point, as of `check`. Without effect on an executor, whose workers have one each.
    executor: Anything that works like `concurrent.futures.Executor`: a pool of processes, or a cluster. What it loses
        is worked out again, here if need be.
    progress: Called with 1 as each point is done.

    Raises
    ------
    JobError: if the job is impossible as it is, has no such number or method, or the range is none. A point at which
        the job becomes impossible is no error: it has a reason in place of a result.
    SweepInterruptedError: a KeyboardInterrupt that holds what was done.
    ValueError: for fewer than one trial or a negative seed.
    """
    if trials < 1:
        raise ValueError(f"at least one trial is needed, not {trials}")
    refuse_impossible(job)
    quantities = varied(job, [vary] if isinstance(vary, str) else list(vary), job_text)
    wanted = {method.name for method in methods_named(job, methods)}
    names = tuple(method.name for method in job.methods if method.name in wanted)
    _refuse_idle(job, names, quantities)
    seed = seed_of(rng)
    grid = list(product(*(quantity.values for quantity in quantities)))
    workers = threads if executor is None else 1
    tasks = {i: Task(job, names, quantities, values, trials, seed, plain, workers) for i, values in enumerate(grid)}
    points: list[SweepPoint | None] = [None] * len(grid)
    begun = _begun(job, quantities, names, trials, seed)
    try:
        for number, point in in_turn(tasks, executor):
            points[number] = point
            if progress:
                progress(1)
    except KeyboardInterrupt:
        raise SweepInterruptedError(replace(begun, points=tuple(points))) from None
    return replace(begun, points=tuple(points))


def _begun(job: Job, quantities: tuple[Varied, ...], names: tuple[str, ...], trials: int, seed: int) -> Sweep:
    """A sweep without its points."""
    given = {quantity.path[1] for quantity in quantities if quantity.path[0] == "errors"}
    left_out = tuple(key for key in job.left_out if key not in given)
    head = asked(job, trials, seed) | {"left_out": left_out}
    return Sweep(**head, varied=quantities, methods=names, points=())


def _refuse_idle(job: Job, names: Sequence[str], quantities: Sequence[Varied]) -> None:
    """Raise a `JobError` for a quantity of a method that is not looked at: nothing would change."""
    for quantity in quantities:
        block, number = quantity.path[0], quantity.path[1]
        if block == "methods" and isinstance(number, int) and job.methods[number].name not in names:
            needed = "a quantity of a method that is looked at (" + ", ".join(f'"{name}"' for name in names) + ")"
            came = f'one of "{job.methods[number].name}"'
            raise JobError([Problem("sweep-key", f'vary "{quantity.key}"', needed, came)])
