"""Coverage intervals by order statistics, and the numerical tolerance."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flipcheck.errors import StackError
from flipcheck.stack.coverage import numerical_tolerance, shortest, symmetric


@pytest.mark.parametrize(
    ("trials", "coverage", "r", "q"),
    [
        (1000, 0.95, 25, 950),  # (M - q) / 2 a whole number
        (100, 0.95, 3, 95),  # 2.5, rounded up
        (1001, 0.9, 50, 901),  # pM = 900.9, rounded to the nearest
        (200, 0.5, 50, 100),
        (3, 0.5, 1, 2),
    ],
)
def test_ranks_of_the_symmetric_interval(trials: int, coverage: float, r: int, q: int):
    """The ends are the r-th and the (r + q)-th of the sorted draws (JCGM 101:2008, 7.7.2), worked out by hand."""
    found = symmetric(np.arange(1.0, trials + 1.0), coverage)

    assert (float(r), float(r + q)) == (found.low, found.high)
    assert coverage == found.coverage
    assert q == found.width


def test_shortest_lies_where_the_draws_are_dense():
    """Of 20 draws with one far out on the left, the shortest interval over 15 steps leaves that out."""
    ordered = np.array([-50.0, *np.arange(19.0)])

    assert (0.0, 15.0) == (shortest(ordered, 0.75).low, shortest(ordered, 0.75).high)
    assert symmetric(ordered, 0.75).width == 15.0
    assert shortest(ordered, 0.9).width == 18.0
    assert symmetric(ordered, 0.9).low == -50.0


@given(
    st.lists(st.floats(-1e6, 1e6), min_size=40, max_size=80),
    st.floats(0.1, 0.9),
)
def test_shortest_is_never_longer_and_holds_its_share(values: list[float], coverage: float):
    """The shortest interval is no longer than the symmetric one, and both hold at least their share of the draws."""
    ordered = np.sort(values)
    short, even = shortest(ordered, coverage), symmetric(ordered, coverage)

    assert short.width <= even.width
    for found in (short, even):
        inside = np.count_nonzero((ordered >= found.low) & (ordered <= found.high))
        assert inside >= coverage * len(ordered) - 0.5


@pytest.mark.parametrize("kind", [symmetric, shortest])
@pytest.mark.parametrize(
    ("trials", "coverage", "message"),
    [
        (5, 0.95, r"needed at least 20 trials for a coverage of 0\.95; came 5"),
        (2, 0.1, r"needed at least 10 trials for a coverage of 0\.1; came 2"),
        (100, 95.0, r"needed a coverage between 0 and 1; came 95\. Try: 0\.95"),
        (100, 1.0, r"needed a coverage between 0 and 1; came 1$"),
        (100, 0.0, r"needed a coverage between 0 and 1; came 0$"),
        (100, float("nan"), r"needed a coverage between 0 and 1; came nan"),
    ],
)
def test_what_no_interval_can_hold_is_refused(kind, trials: int, coverage: float, message: str):
    """Too few draws, and a coverage that is not a share, are refused; a percentage gets a hint."""
    with pytest.raises(StackError, match=message):
        kind(np.arange(float(trials)), coverage)


@pytest.mark.parametrize(
    ("u", "digits", "expected"),
    [
        (0.0004, 1, 0.00005),  # 4e-4, the example of JCGM 101:2008, 7.9.2 (seen)
        (0.00035, 2, 0.000005),  # 35e-5, the same place (from memory)
        (2.0, 2, 0.05),
        (10.149, 2, 0.5),
        (10.149, 1, 5.0),
        (0.0996, 1, 0.05),  # rounds up to 1e-1
        (9.96, 2, 0.5),  # rounds up to 10e0
        (35.8, 2, 0.5),
    ],
)
def test_numerical_tolerance(u: float, digits: int, expected: float):
    """Half a unit of the last significant digit of u."""
    assert expected == pytest.approx(numerical_tolerance(u, digits), rel=1e-15)


@pytest.mark.parametrize(
    ("u", "digits", "message"),
    [
        (0.0, 1, r"needed a standard uncertainty above 0 to take digits of; came 0"),
        (float("inf"), 1, r"needed a standard uncertainty above 0 to take digits of; came inf"),
        (1.0, 0, r"needed at least 1 significant digit; came 0"),
    ],
)
def test_no_digits_of_nothing(u: float, digits: int, message: str):
    """There is no significant digit of 0, and none is not a number of digits."""
    with pytest.raises(StackError, match=message):
        numerical_tolerance(u, digits)
