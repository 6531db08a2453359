"""A straight line by least squares: the calibration of a thermometer in JCGM 100:2008 (the GUM), H.3.

Data and results from memory. The tolerance is half a unit of the last digit published.
"""

from __future__ import annotations

import numpy as np
import pytest

from flipcheck.stack.least_squares import fit, t_factor

READINGS = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
CORRECTIONS = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]


def test_the_thermometer():
    """Intercept at 20 degrees, slope, their standard uncertainties and their correlation, as published."""
    off = np.array(READINGS) - 20.0
    line = fit(np.column_stack([np.ones(11), off]), np.array(CORRECTIONS))
    s = np.sqrt(np.square(line.residuals).sum() / line.freedom)
    covariance = s**2 * line.weights @ line.weights.T
    u = np.sqrt(np.diag(covariance))
    assert 9 == line.freedom
    assert line.values[0] == pytest.approx(-0.1712, abs=0.00005)
    assert line.values[1] == pytest.approx(0.00218, abs=0.000005)
    assert u[0] == pytest.approx(0.0029, abs=0.00005)
    assert u[1] == pytest.approx(0.00067, abs=0.000005)
    assert covariance[0, 1] / (u[0] * u[1]) == pytest.approx(-0.930, abs=0.0005)
    assert s == pytest.approx(0.0035, abs=0.00005)


@pytest.mark.parametrize(
    ("freedom", "published"),
    [(1, 12.71), (2, 4.30), (3, 3.18), (4, 2.78), (5, 2.57), (10, 2.23), (20, 2.09), (50, 2.01)],
)
def test_student_s_t(freedom: int, published: float):
    """The points of Student's t for 95 %, JCGM 100:2008, Table G.2 (from memory)."""
    assert t_factor(freedom) == pytest.approx(published, abs=0.005)
