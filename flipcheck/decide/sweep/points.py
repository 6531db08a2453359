"""The points of a sweep are worked out, one after the other or by any executor; none is lost with a worker."""

from __future__ import annotations

from concurrent.futures import CancelledError, as_completed
from dataclasses import dataclass
from typing import TYPE_CHECKING

from flipcheck.decide.compare import compare
from flipcheck.decide.sweep.results import Impossible, MethodPoint, PairPoint, SweepPoint
from flipcheck.errors import JobError
from flipcheck.job.checks.geometry import problems_of
from flipcheck.job.key_paths.numbers import with_number

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from concurrent.futures import Executor, Future

    from flipcheck.decide.results import MethodResult, PairResult
    from flipcheck.decide.sweep.results import Varied
    from flipcheck.job.records import Job

#: How often lost points are given to an executor before they are worked out here.
_TRIES = 2


@dataclass(frozen=True)
class Task:
    """One point to work out: it holds all that a worker elsewhere needs, and can be pickled."""

    job: Job
    methods: tuple[str, ...]
    varied: tuple[Varied, ...]
    values: tuple[float, ...]
    trials: int
    seed: int
    plain: bool
    threads: int | None


def work_out(task: Task) -> SweepPoint:
    """One point; a method that is impossible there has a reason in place of a result."""
    job = task.job
    try:
        for one, value in zip(task.varied, task.values, strict=True):
            job = with_number(job, one.path, one.written(value))
    except JobError as error:
        return SweepPoint(task.values, (), tuple(Impossible(name, _reason(error)) for name in task.methods))
    possible: list[str] = []
    impossible = []
    for method in job.methods:
        if method.name not in task.methods:
            continue
        if problems := problems_of(_only(job, method.name)):
            impossible.append(Impossible(method.name, _reason(JobError(problems))))
        else:
            possible.append(method.name)
    if not possible:
        return SweepPoint(task.values, (), tuple(impossible))
    able = _only(job, *possible)
    result = compare(able, trials=task.trials, rng=task.seed, plain=task.plain, threads=task.threads)
    ranked = {method.name: _method(method) for method in result.methods}
    return SweepPoint(task.values, tuple(ranked[name] for name in possible), tuple(impossible))


def _only(job: Job, *names: str) -> Job:
    """The job with no other methods."""
    return job.model_copy(update={"methods": tuple(method for method in job.methods if method.name in names)})


def in_turn(tasks: Mapping[int, Task], executor: Executor | None) -> Iterator[tuple[int, SweepPoint]]:
    """Work out numbered tasks, and give each result with its number as it comes.

    What an executor loses, with a worker or a broken pool, is given to it once more, and then worked out here.
    """
    left = dict(tasks)
    for _ in range(_TRIES if executor is not None else 0):
        for number, point in _by(executor, dict(left)) if executor is not None else ():
            del left[number]
            yield number, point
    for number, task in left.items():
        yield number, work_out(task)


def _by(executor: Executor, tasks: Mapping[int, Task]) -> Iterator[tuple[int, SweepPoint]]:
    """What an executor gets done."""
    futures: dict[Future[SweepPoint], int] = {}
    try:
        try:
            for number, task in tasks.items():
                futures[executor.submit(work_out, task)] = number
        except Exception:  # a pool that is broken or shut down takes nothing more
            pass
        yield from _results(futures)
    finally:
        for future in futures:
            future.cancel()


def _results(futures: Mapping[Future[SweepPoint], int]) -> Iterator[tuple[int, SweepPoint]]:
    for future in as_completed(futures):
        try:
            point = future.result()
        except (Exception, CancelledError):  # each kind of executor has its own for a lost worker
            continue
        yield futures[future], point


def _method(result: MethodResult) -> MethodPoint:
    return MethodPoint(result.name, result.goes_on, result.chance, tuple(_pairs(result.pairs)))


def _pairs(pairs: Iterable[PairResult]) -> Iterator[PairPoint]:
    for pair in pairs:
        spread = pair.web or pair.distance
        assert spread is not None
        yield PairPoint(pair.name, pair.kind, pair.allowed, pair.chance, spread.quantiles["p95"])


def _reason(error: JobError) -> str:
    """Why a job is impossible, in a line."""
    first, *others = error.problems
    text = f"{first.where}: needed {first.needed}" + (f"; came {first.came}" if first.came else "")
    hint = f"; try {first.hint}" if first.hint else ""
    return text + hint + (f" (and {len(others)} more)" if others else "")
