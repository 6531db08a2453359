"""What is asked of the outputs: distances and limits."""

from __future__ import annotations

import numpy as np
import pytest

from flipcheck.stack.measures import Band, Largest, Radius

OUTPUTS = np.array([[3.0, 0.0, -0.6, 0.0], [4.0, 0.0, 0.8, -2.0], [0.0, 1.0, -0.5, 0.25]])


def test_radius_is_the_length_of_two_rows():
    """Pythagoras, whatever the signs and the order of the rows."""
    expected = np.array([5.0, 0.0, 1.0, 2.0])

    assert expected == pytest.approx(Radius(0, 1, 1.0).value(OUTPUTS))
    assert expected == pytest.approx(Radius(1, 0, 1.0).value(OUTPUTS))


def test_radius_may_be_just_its_limit():
    """A distance equal to the limit passes, a hair more does not."""
    measure = Radius(0, 1, 5.0)
    values = np.array([5.0, np.nextafter(5.0, 6.0), 0.0])

    assert measure.passes(values, OUTPUTS).tolist() == [True, False, True]


def test_radius_leaves_the_outputs_as_they_were():
    """Measuring changes nothing."""
    outputs = OUTPUTS.copy()
    Radius(0, 1, 1.0).value(outputs)
    Largest((0, 1, 2), 1.0).value(outputs)
    Band(0, 0.0, 1.0).value(outputs)

    assert outputs.tolist() == OUTPUTS.tolist()


def test_slack_widens_the_limit_or_narrows_it():
    """The limit on the distance grows by the slack row and shrinks where it is negative."""
    measure = Radius(0, 1, 1.0, slack=2)
    values = np.array([1.0, 2.0, 0.75, 1.25])  # slack 0, 1, -0.5, 0.25

    assert measure.passes(values, OUTPUTS).tolist() == [True, True, False, True]


def test_too_little_slack_fails_at_any_distance():
    """A bolt thicker than either hole does not pass, however well they line up."""
    measure = Radius(0, 1, 9.0, slack=2, need=0.25)

    assert measure.passes(np.zeros(4), OUTPUTS).tolist() == [False, True, False, True]


def test_largest_takes_the_greatest_size_of_its_rows():
    """Signs do not count, and rows not asked for do not either."""
    assert Largest((0, 2), 1.0).value(OUTPUTS).tolist() == [3.0, 1.0, 0.6, 0.25]
    assert Largest((1,), 1.0).value(OUTPUTS).tolist() == [4.0, 0.0, 0.8, 2.0]


def test_largest_may_be_just_its_limit():
    """A step equal to the limit passes."""
    assert Largest((0,), 3.0).passes(np.array([3.0, np.nextafter(3.0, 4.0)]), OUTPUTS).tolist() == [True, False]


def test_band_is_the_row_itself():
    """A web keeps its sign: a negative one is an overlap."""
    assert Band(0, -1.0, 1.0).value(OUTPUTS).tolist() == [3.0, 0.0, -0.6, 0.0]


def test_band_includes_both_ends():
    """Values at the ends pass, values just beyond do not."""
    values = np.array([-0.5, 1.5, np.nextafter(-0.5, -1.0), np.nextafter(1.5, 2.0)])

    assert Band(0, -0.5, 1.5).passes(values, OUTPUTS).tolist() == [True, True, False, False]


def test_band_may_be_open():
    """A web with no upper limit may be as thick as it likes."""
    assert Band(0, -0.5, np.inf).passes(np.array([-1.0, 1e9]), OUTPUTS).tolist() == [False, True]
