"""Evenly spread points, against scipy's generator of the same sequence."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import qmc

from flipcheck.stack.monte_carlo.streams import BLOCK
from flipcheck.stack.quasi_monte_carlo import sobol
from flipcheck.stack.quasi_monte_carlo.sobol import DIMENSIONS, REPEATS, Sobol, _directions, _words

COUNT = BLOCK // REPEATS


@pytest.mark.parametrize("blocks", [1, 2, 4])
def test_points_are_those_of_scipy(blocks: int):
    """The first blocks, not shifted, hold the very points of scipy's sequence, in all dimensions."""
    ours = np.concatenate([_words(_directions(DIMENSIONS), number) for number in range(blocks)], axis=1) / 2.0**32
    theirs = qmc.Sobol(DIMENSIONS, scramble=False, bits=32).random(blocks * COUNT).T

    assert set(map(tuple, theirs.T.tolist())) == set(map(tuple, ours.T.tolist()))


def test_each_repeat_is_even():
    """Along every dimension each repeat of a block has one point in each of as many equal steps as it has points."""
    points = np.array(list(Sobol(3, [f"d{i}" for i in range(DIMENSIONS)]).block(0)))
    points = points.reshape(DIMENSIONS, COUNT, REPEATS)

    steps = np.sort(np.floor(points * COUNT), axis=1)
    assert np.array_equal(np.broadcast_to(np.arange(COUNT)[None, :, None], steps.shape), steps)
    assert points.min() > 0.0
    assert points.max() < 1.0


def test_repeats_are_independent():
    """Repeats and dimensions have shifts of their own, which the seed and the name decide."""
    one, again, other = (np.array(list(Sobol(seed, ["a", "b"]).block(0))) for seed in (1, 1, 2))

    assert np.array_equal(one, again)
    assert not np.any(one == other)
    assert REPEATS == len(np.unique(one[0, :REPEATS]))
    assert np.array_equal(Sobol(1, ["b"])._shifts[0], Sobol(1, ["a", "b"])._shifts[1])


def test_no_dimension():
    """A model in which nothing is drawn has no points."""
    assert [] == list(Sobol(1, []).block(5))


def test_more_even_than_random():
    """The mean of a smooth function of five variables is found better than by random points, by far."""
    points = np.array(list(Sobol(1, [f"d{i}" for i in range(5)]).block(0)))
    values = np.prod(1.0 + 0.5 * (points - 0.5), axis=0)
    by_repeat = values.reshape(COUNT, REPEATS).mean(axis=0)

    assert 1.0 == pytest.approx(float(values.mean()), abs=1e-5)
    assert by_repeat.std() < 0.05 * values.std() / COUNT**0.5


def test_table_is_whole():
    """The table has as many dimensions as it says."""
    assert DIMENSIONS == len(_directions(DIMENSIONS)) == 64
    assert sobol._BITS == _directions(DIMENSIONS).shape[1]
