"""Who shares the work of a run."""

from __future__ import annotations

import os

import pytest

from flipcheck.stack.monte_carlo.blocks import cores, in_order


def test_only_the_cores_that_the_process_may_use(monkeypatch: pytest.MonkeyPatch):
    """A process that was given three cores of a large machine counts three."""
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {4, 5, 9}, raising=False)
    monkeypatch.setattr(os, "cpu_count", lambda: 64)
    assert 3 == cores()


@pytest.mark.parametrize(("told", "expected"), [(6, 6), (None, 1)])
def test_all_cores_where_the_system_does_not_tell(monkeypatch: pytest.MonkeyPatch, told: int | None, expected: int):
    """Elsewhere all cores count, and one where not even they are known."""
    monkeypatch.delattr(os, "sched_getaffinity", raising=False)
    monkeypatch.setattr(os, "cpu_count", lambda: told)
    assert expected == cores()


@pytest.mark.parametrize("threads", [1, 2, 5])
@pytest.mark.parametrize("blocks", [0, 1, 2, 30])
def test_results_come_in_order(threads: int, blocks: int):
    """Each block is worked once, and handed on in its turn."""
    with in_order(lambda block: block * block, blocks, threads) as results:
        assert [block * block for block in range(blocks)] == list(results)


def test_no_thread_runs_far_ahead():
    """While the first result is looked at, a block each for every thread and one more is all that was begun."""
    begun: list[int] = []
    with in_order(lambda block: begun.append(block) or block, 100, 3) as results:
        assert 0 == next(results)
        assert len(begun) <= 4
