"""Will the faces line up by one method?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from flipcheck.decide.answer import asked
from flipcheck.decide.heights import with_heights, zeroed
from flipcheck.decide.judge import judge
from flipcheck.decide.results import MethodResult, Result
from flipcheck.decide.settle import MOST, Settled
from flipcheck.errors import JobError, Problem
from flipcheck.flip.model import flip_model
from flipcheck.job.checks.geometry import problems_of
from flipcheck.job.findings import nearest
from flipcheck.stack.monte_carlo.simulate import simulate as monte_carlo
from flipcheck.stack.monte_carlo.streams import seed_of
from flipcheck.stack.quasi_monte_carlo.simulate import simulate as quasi_monte_carlo

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from flipcheck.decide.heights import WebHeights
    from flipcheck.decide.results import Recommendation
    from flipcheck.decide.zero_z import ZeroAdvice
    from flipcheck.job.records import Job, Method
    from flipcheck.stack.estimate import Estimate
    from flipcheck.stack.monte_carlo.simulate import Run
    from flipcheck.stack.monte_carlo.streams import RngLike
    from flipcheck.stack.quasi_monte_carlo.simulate import QuasiRun

    Trials = int | Literal["auto"]


def check(
    job: Job,
    method: str | None = None,
    *,
    trials: Trials = "auto",
    rng: RngLike = 1,
    plain: bool = False,
    threads: int | None = None,
    progress: Callable[[int], None] | None = None,
) -> Result:
    """Work out a job by one of its methods.

    Parameters
    ----------
    job: The job.
    method: Name of the method; the first of the job unless given.
    trials: How many blanks to simulate; "auto" runs until the numbers stand still in the digits printed (see `settle`).
    rng: Seed; the same seed gives the same result, to the bit, for any number of threads.
    plain: Ordinary Monte Carlo: every error drawn at random, every trial counted. Needs more trials for the same
        certainty; see docs/explanation/fewer-trials.md.
    threads: Worker threads; one a core unless given for plain trials, one for the others, to which more are no help.
    progress: Called with the number of trials of each block as it is done.

    Raises
    ------
    JobError: if the job has no method of that name, or what it describes is impossible.
    ValueError: for fewer than one trial or a negative seed.
    """
    chosen = method_named(job, method)
    run, methods = run_methods(job, [chosen], trials, rng, plain, threads, progress)
    return result(job, run, with_heights(job, methods, zeroed(job, [chosen.zero_z], run.seed)), trials)


def refuse_impossible(job: Job) -> None:
    """Raise a `JobError` for a job, built in Python, whose geometry cannot be; a file has been through this."""
    problems = problems_of(job)
    if problems:
        raise JobError(problems)


def methods_named(job: Job, names: Sequence[str] | None) -> list[Method]:
    """The methods of those names, each once; all of the job where none is named. Raises as `method_named` does."""
    return [method_named(job, name) for name in dict.fromkeys(names)] if names else list(job.methods)


def method_named(job: Job, name: str | None) -> Method:
    """The method of that name; the first of the job where none is named.

    Raises
    ------
    JobError: if there is none of that name.
    """
    if name is None:
        return job.methods[0]
    for method in job.methods:
        if method.name == name:
            return method
    names = [method.name for method in job.methods]
    near = nearest(name, names, alike=0.4)
    listed = ", ".join(f'"{known}"' for known in names)
    hint = f'"{near}"' if near else ""
    raise JobError(
        [Problem("unknown-method", "methods", f"the name of a method of this job ({listed})", f'"{name}"', hint)]
    )


def run_methods(
    job: Job,
    methods: Sequence[Method],
    trials: Trials,
    rng: RngLike,
    plain: bool,
    threads: int | None,
    progress: Callable[[int], None] | None,
) -> tuple[Run | QuasiRun, tuple[MethodResult, ...]]:
    """Simulate some methods of a job on common random numbers."""
    refuse_impossible(job)
    models = [flip_model(job, method) for method in methods]
    linear, seed = [model.linear for model in models], seed_of(rng)
    most, settled = (MOST, Settled(job)) if trials == "auto" else (trials, None)
    simulate: Callable[..., Run | QuasiRun] = monte_carlo if plain else quasi_monte_carlo
    run = simulate(linear, most, seed, threads=threads, progress=progress, settled=settled)
    estimates: Sequence[Estimate] = run.estimates
    return run, tuple(judge(job, model, estimate) for model, estimate in zip(models, estimates, strict=True))


def result(
    job: Job,
    run: Run | QuasiRun,
    methods: tuple[MethodResult, ...],
    trials: Trials,
    advice: Recommendation | None = None,
    webs: tuple[WebHeights, ...] = (),
    zero_z: ZeroAdvice | None = None,
) -> Result:
    """The answer to the user."""
    settled = run.settled if trials == "auto" else None
    return Result(
        **asked(job, run.trials, run.seed),
        methods=methods,
        recommendation=advice,
        settled=settled,
        between=job.changes,
        heights=webs,
        zero_z=zero_z,
    )
