"""Least squares, what it can tell apart, and the update of what was expected, against answers worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from flipcheck.stack.least_squares import (
    chi_square_beyond,
    fit,
    mahalanobis,
    mean_and_covariance,
    root,
    t_factor,
    told_apart,
    updated,
)


def test_readings_weigh_by_their_uncertainty():
    """The mean of 0 with u = 1 and 3 with u = 2 weighs them 4 to 1: 0.6."""
    mean = fit(np.ones((2, 1)), np.array([0.0, 3.0]), np.array([1.0, 2.0]))
    assert mean.values[0] == pytest.approx(0.6)
    assert [0.8, 0.2] == pytest.approx(mean.weights[0].tolist())
    assert fit(np.ones((2, 1)), np.array([0.0, 3.0])).values[0] == pytest.approx(1.5)


def test_what_cannot_be_told_apart():
    """A third column that is the sum of the first two is left out, and said to be confused with both."""
    one, two = np.array([1.0, 0.0, 1.0]), np.array([0.0, 1.0, 1.0])
    assert ([0, 1], {2: [0, 1], 3: []}) == told_apart(np.column_stack([one, two, one + two, 0.0 * one]), 0.01)
    assert ([0, 1], {}) == told_apart(np.column_stack([one, two]), 0.01)


def test_one_quantity_is_updated():
    """Prior 0 +- 2, a reading 10 +- 1: mean 8, variance 0.8, whether it comes at once or as two of +- sqrt 2."""
    prior = np.zeros(1), np.array([[4.0]])
    form, ten = np.ones((1, 1)), np.array([10.0])
    mean, covariance = updated(*prior, [(form, ten, np.array([[1.0]]))])
    assert mean[0] == pytest.approx(8.0)
    assert covariance[0, 0] == pytest.approx(0.8)
    mean, covariance = updated(*prior, [(form, ten, np.array([[2.0]]))] * 2)
    assert mean[0] == pytest.approx(8.0)
    assert covariance[0, 0] == pytest.approx(0.8)


def test_two_quantities_seen_only_together_share_what_is_seen():
    """Of a sum of 5 of two quantities of variance 1 and 4 each takes up its share: 1 and 4; their sum is then known."""
    mean, covariance = updated(
        np.zeros(2), np.diag([1.0, 4.0]), [(np.ones((1, 2)), np.array([5.0]), np.array([[1e-9]]))]
    )
    assert [1.0, 4.0] == pytest.approx(mean.tolist(), abs=1e-6)
    assert np.ones(2) @ covariance @ np.ones(2) == pytest.approx(0.0, abs=1e-6)
    assert covariance[0, 0] == pytest.approx(0.8)


def test_distance_and_root_of_a_covariance():
    """(3, 0) is three standard deviations of 1 off; directions that do not vary are left out; B B' gives C back."""
    assert mahalanobis(np.array([3.0, 0.0]), np.diag([1.0, 0.0])) == pytest.approx(9.0)
    covariance = np.array([[4.0, 2.0], [2.0, 1.0]])
    assert (2, 1) == root(covariance).shape
    assert np.allclose(covariance, root(covariance) @ root(covariance).T)
    assert (3, 0) == root(np.zeros((3, 3))).shape


def test_chi_square():
    """With two degrees of freedom the chance to exceed x is exp(-x / 2)."""
    assert chi_square_beyond(3.0, 2) == pytest.approx(np.exp(-1.5))


@pytest.mark.parametrize(("freedom", "share", "factor"), [(1, 0.95, 12.71), (4, 0.95, 2.78), (10, 0.99, 3.17)])
def test_t_factor(freedom: int, share: float, factor: float):
    """Points of Student's t as JCGM 100:2008, Table G.2 prints them."""
    assert t_factor(freedom, share) == pytest.approx(factor, abs=0.005)


def test_mean_and_covariance_of_rows():
    """(0, 0), (2, 4) and (4, 2): means 2 and 2; sums of products 8, 4 and 8 over two."""
    mean, covariance = mean_and_covariance([np.array([0.0, 0.0]), np.array([2.0, 4.0]), np.array([4.0, 2.0])])
    assert [2.0, 2.0] == pytest.approx(mean.tolist())
    assert np.allclose([[4.0, 2.0], [2.0, 4.0]], covariance)

    one = mean_and_covariance([np.array([1.0]), np.array([3.0])])[1]
    assert (1, 1) == one.shape
    assert one[0, 0] == pytest.approx(2.0)
