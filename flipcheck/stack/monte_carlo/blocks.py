"""Blocks of trials shared among threads, and taken up in their order."""

from __future__ import annotations

import contextlib
import os
from collections import deque
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Generator

T = TypeVar("T")


def cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def in_order(work: Callable[[int], T], blocks: int, threads: int | None) -> contextlib.closing[Generator[T]]:
    """Results of work(0), work(1), ... in that order, on `threads` threads that run a block ahead each at most.

    To be used as a context, so that what is under way ends when the caller has had enough.
    """
    return contextlib.closing(_results(work, blocks, threads or cores()))


def _results(work: Callable[[int], T], blocks: int, threads: int) -> Generator[T]:
    if min(blocks, threads) == 1:  # nothing to share: a thread, and fresh memory for it, would only cost time
        yield from map(work, range(blocks))
        return
    pool = ThreadPoolExecutor(threads)
    try:
        waiting: deque[Future[T]] = deque()
        for block in range(blocks):
            waiting.append(pool.submit(work, block))
            if len(waiting) > threads:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    finally:
        # reached early by an interrupt: blocks not yet begun are dropped, those under way take a few milliseconds
        pool.shutdown(wait=True, cancel_futures=True)
