"""A sweep by many workers: the same bytes as in one process, and nothing lost with a worker."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from concurrent.futures import CancelledError, Executor, Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context

import pytest

from flipcheck.decide.sweep import points
from flipcheck.decide.sweep.results import Sweep
from flipcheck.decide.sweep.sweep import SweepInterruptedError, sweep
from flipcheck.show.sweep.plain import sweep_to_csv, sweep_to_json
from tests.make import FENCE, make_job

JOB = make_job(FENCE, errors={"seating": {"std": 0.02}})
#: A thousand jobs, and how few trials each needs to be quick.
GRID = ["errors.seating=0.001:0.05:40", "pairs[0].at[1]=10:100:25"]
FEW = "errors.seating=0.001:0.05:12"
HOW = {"trials": 200, "plain": True, "threads": 1}


@pytest.fixture(scope="module")
def here() -> Sweep:
    """The grid, worked out in this process."""
    return sweep(JOB, GRID, **HOW)


def pool() -> ProcessPoolExecutor:
    return ProcessPoolExecutor(2, mp_context=get_context("spawn"))


def same(one: Sweep, other: Sweep) -> bool:
    return (one, sweep_to_json(one), sweep_to_csv(one)) == (other, sweep_to_json(other), sweep_to_csv(other))


def when_done(points: int, act: Callable[[], object]) -> Callable[[int], None]:
    """Do something as soon as so many points are done."""
    done: list[int] = []

    def progress(count: int) -> None:
        done.append(count)
        if len(done) == points:
            act()

    return progress


def test_a_pool_of_processes_that_loses_a_worker(here: Sweep):
    """A thousand jobs by a pool that breaks on the way, since one of its processes is killed: nothing is missing."""
    assert 1000 == len(here.points)
    with pool() as workers:
        found = sweep(JOB, GRID, executor=workers, **HOW)
        assert same(here, found)

        def kill() -> None:
            os.kill(next(iter(workers._processes)), signal.SIGKILL)

        found = sweep(JOB, FEW, executor=workers, progress=when_done(3, kill), **HOW)
        assert same(sweep(JOB, FEW, **HOW), found)
        with pytest.raises(BrokenProcessPool):
            workers.submit(print)
        assert same(found, sweep(JOB, FEW, executor=workers, **HOW))  # by a pool that is dead from the start


def test_a_dask_cluster_that_loses_a_worker(here: Sweep):
    """A thousand jobs by a cluster of two processes, one of which is killed on the way."""
    distributed = pytest.importorskip("distributed")
    options = {"n_workers": 2, "threads_per_worker": 1, "dashboard_address": None}
    with distributed.LocalCluster(**options) as cluster, distributed.Client(cluster) as client:
        first, _ = client.run(os.getpid).values()
        kill = when_done(200, lambda: os.kill(first, signal.SIGKILL))
        found = sweep(JOB, GRID, executor=client.get_executor(), progress=kill, **HOW)

        assert same(here, found)
        assert first not in client.run(os.getpid).values()


class Faulty(Executor):
    """Works here, but loses some of its tasks, each in another way."""

    def __init__(self, *losses: BaseException | None) -> None:
        self.losses, self.submitted, self.cancelled = losses, 0, 0

    def submit(self, work, /, *arguments, **keywords) -> Future:
        future: Future = Future()
        loss = self.losses[self.submitted % len(self.losses)]
        self.submitted += 1
        if loss is None:
            future.set_result(work(*arguments, **keywords))
        else:
            future.set_exception(loss)
        return future


def test_only_lost_points_are_worked_out_again(monkeypatch: pytest.MonkeyPatch):
    """What was done is kept; what was lost is given to the executor once more, and then worked out here."""
    worked: list[tuple[float, ...]] = []
    work_out = points.work_out

    def counted(task):
        worked.append(task.values)
        return work_out(task)

    expected = sweep(JOB, FEW, **HOW)
    monkeypatch.setattr(points, "work_out", counted)
    executor = Faulty(None, BrokenProcessPool(), None, CancelledError(), OSError("the line is dead"))
    found = sweep(JOB, FEW, executor=executor, **HOW)

    assert same(expected, found)
    assert 12 == len(worked) == len(set(worked))
    assert 12 + 7 == executor.submitted  # 5 of 12 are done at once, 7 are tried again


def test_an_error_of_the_work_itself_comes_out(monkeypatch: pytest.MonkeyPatch):
    """What fails here too is no lost worker."""

    def fail(task):
        raise ZeroDivisionError

    monkeypatch.setattr(points, "work_out", fail)
    with pytest.raises(ZeroDivisionError):
        sweep(JOB, FEW, executor=Faulty(OSError()), **HOW)


def test_an_interrupt_gives_up_what_waits():
    """Points that are done are kept, those that wait are cancelled."""
    futures: list[Future] = []

    class Slow(Faulty):
        def submit(self, work, /, *arguments, **keywords) -> Future:
            future = super().submit(work, *arguments, **keywords) if len(futures) < 3 else Future()
            futures.append(future)
            return future

    def stop() -> None:
        raise KeyboardInterrupt

    with pytest.raises(SweepInterruptedError) as stopped:
        sweep(JOB, FEW, executor=Slow(None), progress=when_done(3, stop), **HOW)

    assert 3 == len(stopped.value.sweep.done)
    assert 9 == sum(future.cancelled() for future in futures)
