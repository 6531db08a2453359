"""Chances within a circle where the scatter has no width, one way or both, or next to none."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from flipcheck.stack.radial import normal_between, normal_in_circle

NOWHERE = np.zeros(2)


def turned(variances: tuple[float, float], angle: float) -> np.ndarray:
    """A covariance with the given principal variances, the first along `angle`."""
    cos, sin = math.cos(angle), math.sin(angle)
    turn = np.array([[cos, -sin], [sin, cos]])
    return turn @ np.diag(variances) @ turn.T


@pytest.mark.parametrize(
    ("mean", "expected"),
    [((0.0, 0.0), 1.0), ((0.6, 0.8), 1.0), ((0.6, 0.8 + 1e-12), 0.0), ((-3.0, 0.0), 0.0)],
)
def test_no_scatter(mean: tuple[float, float], expected: float):
    """Without scatter the point is within the circle, its edge included, or not."""
    assert expected == normal_in_circle(np.array(mean), np.zeros((2, 2)), 1.0)


@pytest.mark.parametrize("angle", [0.0, 0.5 * math.pi, 0.7, -2.0])
@pytest.mark.parametrize(("along", "off"), [(0.0, 0.0), (0.3, 0.0), (0.3, 0.5), (0.0, 0.999)])
def test_scatter_along_one_line(angle: float, along: float, off: float):
    """Scatter along a line only: the chance of the chord that the circle cuts off that line."""
    direction, across = np.array([math.cos(angle), math.sin(angle)]), np.array([-math.sin(angle), math.cos(angle)])
    half = math.sqrt(1.0 - off**2)
    expected = stats.norm.cdf(half, along, 0.4) - stats.norm.cdf(-half, along, 0.4)
    found = normal_in_circle(along * direction + off * across, turned((0.16, 0.0), angle), 1.0)

    assert expected == pytest.approx(found, abs=1e-9)


def test_a_line_that_misses_the_circle():
    """Scatter along a line beyond the circle never comes within."""
    assert 0.0 == normal_in_circle(np.array([0.0, 1.001]), np.diag([4.0, 0.0]), 1.0)


@pytest.mark.parametrize("angle", [0.0, 0.4])
@pytest.mark.parametrize("ratio", [1e-3, 1e-5, 1e-7, 1e-8, 1e-10, 1e-12])
def test_next_to_no_width(ratio: float, angle: float):
    """A scatter of next to no width has the chance of one without, to second order in its width."""
    expected = 2.0 * stats.norm.cdf(1.0, 0.0, 0.5) - 1.0
    found = normal_in_circle(NOWHERE, turned((0.25, (0.5 * ratio) ** 2), angle), 1.0)

    assert expected == pytest.approx(found, abs=max(ratio**2, 1e-9))


@pytest.mark.parametrize("ratio", [0.9, 0.3, 0.05, 0.01])
def test_two_widths_against_an_adaptive_quadrature(ratio: float):
    """Widths that differ much, off the middle, as by integrating the chord with an adaptive rule."""
    from scipy.integrate import quad

    wide, narrow, x, y = 0.5, 0.5 * ratio, 0.35, -0.2

    def chord(u: float) -> float:
        half = math.sqrt(max(1.0 - u * u, 0.0))
        return float(stats.norm.pdf(u, y, narrow) * (stats.norm.cdf(half, x, wide) - stats.norm.cdf(-half, x, wide)))

    expected, _ = quad(chord, -1.0, 1.0, points=[y - 5.0 * narrow, y, y + 5.0 * narrow], epsabs=1e-12, limit=200)
    assert expected == pytest.approx(normal_in_circle(np.array([x, y]), np.diag([wide**2, narrow**2]), 1.0), abs=1e-10)


@pytest.mark.parametrize("radius", [0.0, -1.0])
def test_no_circle(radius: float):
    """Nothing scattered lies within a circle of no size."""
    assert 0.0 == normal_in_circle(NOWHERE, np.eye(2), radius)


def test_a_circle_larger_than_everything():
    """A circle of ten standard deviations holds all."""
    assert 1.0 == pytest.approx(normal_in_circle(NOWHERE, np.diag([1.0, 0.3]), 10.0), abs=1e-12)


def test_a_circle_far_away():
    """A circle ten standard deviations off the mean holds next to nothing, and never less than that."""
    assert 0.0 <= normal_in_circle(np.array([12.0, 0.0]), np.eye(2), 1.0) < 1e-20


def test_not_a_covariance():
    """A negative variance is refused; one that is negative by rounding counts as none."""
    with pytest.raises(ValueError, match="a covariance has no negative eigenvalue"):
        normal_in_circle(NOWHERE, np.diag([1.0, -0.1]), 1.0)
    assert 2.0 * stats.norm.cdf(1.0) - 1.0 == pytest.approx(normal_in_circle(NOWHERE, np.diag([1.0, -1e-17]), 1.0))


@pytest.mark.parametrize(
    ("low", "high", "mean", "std", "expected"),
    [
        (-1.0, 1.0, 0.0, 1.0, 0.6826895),
        (-math.inf, 0.0, 0.0, 2.0, 0.5),
        (0.0, math.inf, 1.6448536, 1.0, 0.95),
        (-math.inf, math.inf, 3.0, 1.0, 1.0),
        (0.0, 1.0, 1.0, 0.0, 1.0),
        (0.0, 1.0, 1.1, 0.0, 0.0),
    ],
)
def test_between(low: float, high: float, mean: float, std: float, expected: float):
    """The chance between two values, either of which may be missing; a known value is within, ends included, or not."""
    assert expected == pytest.approx(normal_between(low, high, mean, std), abs=1e-7)
