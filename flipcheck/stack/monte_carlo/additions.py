"""Rows of numbers added to others, a few at a time: each call of numpy costs time in which other threads must wait.

No matrix product: its last digits depend on the machine, while sums taken in a fixed order are the same everywhere.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    #: Rows to add from and accumulators to add onto, by number.
    Run = list[tuple[int, int]]

#: Rows taken together: more of them would not stay in a core's cache.
TOGETHER = 4


class _Step(NamedTuple):
    """Some rows, or one row for all, times `factors` (k, 1), go onto as many accumulators."""

    rows: slice
    onto: slice
    factors: Array
    operation: np.ufunc | None


class Additions:
    """What each of R rows does to each of A accumulators, `effects` of shape (A, R), made ready to be added."""

    def __init__(self, effects: Array) -> None:
        self._steps = [_step(run, effects) for run in _runs(effects)]

    def add(self, rows: Array, onto: Array) -> None:
        """Add rows (R, N) to the accumulators (A, N)."""
        for step in self._steps:
            part = onto[step.onto]
            if step.operation:
                step.operation(part, rows[step.rows], out=part)
            else:
                part += step.factors * rows[step.rows]


def few(count: int) -> Iterator[slice]:
    """So many rows, a few together."""
    return (slice(first, first + TOGETHER) for first in range(0, count, TOGETHER))


def _runs(effects: Array) -> list[Run]:
    """The effects that can be added together: one row to accumulators at equal steps, or rows in turn to such."""
    runs: list[Run] = []
    for row, onto in np.argwhere(effects.T).tolist():
        if runs and _goes_on(runs[-1], row, onto):
            runs[-1].append((row, onto))
        else:
            runs.append([(row, onto)])
    return runs


def _goes_on(run: Run, row: int, onto: int) -> bool:
    last_row, last = run[-1]
    if len(run) > 1:
        return len(run) < TOGETHER and (row - last_row, onto - last) == (run[1][0] - run[0][0], run[1][1] - run[0][1])
    return row - last_row <= 1 and onto > last


def _step(run: Run, effects: Array) -> _Step:
    first, last = run[0], run[-1]
    factors = [effects.item(onto, row) for row, onto in run]
    operation = np.add if set(factors) == {1.0} else np.subtract if set(factors) == {-1.0} else None
    apart = run[1][1] - first[1] if len(run) > 1 else 1
    rows, onto = slice(first[0], last[0] + 1), slice(first[1], last[1] + 1, apart)
    return _Step(rows, onto, np.array(factors)[:, None], operation)
