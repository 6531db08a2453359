"""Rows added to accumulators a few at a time: the same as one by one, to the last bit."""

from __future__ import annotations

import numpy as np
import pytest

from flipcheck.stack.monte_carlo.additions import TOGETHER, Additions, few

#: Effects, shape (accumulators, rows), that can be taken together in one way or another, or not at all.
EFFECTS = {
    "one onto one": [[0.3]],
    "one onto neighbours": [[1.0], [0.5], [-2.0]],
    "one onto many": np.arange(1.0, 10.0)[:, None],
    "one onto every other": [[1.0], [0.0], [1.0], [0.0], [1.0]],
    "one onto some": [[1.0], [0.0], [1.0], [1.0]],
    "each onto its own": np.diag([1.0, 1.0]),
    "each onto its own, away": np.diag([-1.0, -1.0, -1.0]),
    "each onto its own, turned": np.diag([1.0, -1.0]),
    "both onto both": [[1.0, 2.0], [3.0, 4.0]],
    "crosswise": [[0.0, 2.0], [1.0, 0.0]],
    "a step of each kind": [[1.0, 0.0, 0.0], [1.0, 1.0, 0.0], [0.0, 0.0, 1.0], [0.0, 0.0, 1.0]],
    "nothing": np.zeros((3, 2)),
}


@pytest.mark.parametrize("name", EFFECTS)
def test_as_one_by_one(name: str):
    """Every accumulator gets its rows in their order, each times its factor, on top of what it holds."""
    effects = np.array(EFFECTS[name], dtype=float)
    rng = np.random.default_rng(5)
    rows, onto = rng.normal(size=(effects.shape[1], 50)), rng.normal(size=(len(effects), 50))
    expected = onto.copy()
    for row, effect in zip(rows, effects.T, strict=True):
        for place, factor in enumerate(effect):
            expected[place] += factor * row

    Additions(effects).add(rows, onto)

    assert expected.tolist() == onto.tolist()


def test_any_effects():
    """So it is for effects of any pattern."""
    rng = np.random.default_rng(6)
    for _ in range(100):
        effects = rng.choice([0.0, 0.0, 1.0, -1.0, 0.7], size=rng.integers(1, 9, 2))
        rows, onto = rng.normal(size=(effects.shape[1], 20)), np.zeros((len(effects), 20))

        Additions(effects).add(rows, onto)

        assert effects @ rows == pytest.approx(onto, abs=1e-14)


@pytest.mark.parametrize("count", [0, 1, TOGETHER, TOGETHER + 1, 3 * TOGETHER])
def test_few_at_a_time(count: int):
    """All rows are taken, in order, never more than a few together."""
    taken = [list(range(count))[some] for some in few(count)]

    assert list(range(count)) == [row for some in taken for row in some]
    assert all(0 < len(some) <= TOGETHER for some in taken)
