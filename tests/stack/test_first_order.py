"""First order through uncertain numbers: derivatives, correlations, and what has no derivative."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flipcheck.errors import FlipcheckError, StackError
from flipcheck.stack.first_order import combined, linearise, value_at

AT = {"x": 0.7, "y": 1.9}
STDS = {"x": 0.01, "y": 0.02}


def test_arithmetic_carries_derivatives_exactly():
    """Plain arithmetic takes uncertain numbers: x^2 y + x / y has the derivatives 2 x y + 1 / y and x^2 - x / y^2."""
    found = linearise(lambda x, y: x**2 * y + x / y, AT, STDS)

    assert not found.numerical
    assert 0.7**2 * 1.9 + 0.7 / 1.9 == pytest.approx(found.value, rel=1e-15)
    assert 2.0 * 0.7 * 1.9 + 1.0 / 1.9 == pytest.approx(found.coefficients["x"], rel=1e-14)
    assert 0.7**2 - 0.7 / 1.9**2 == pytest.approx(found.coefficients["y"], rel=1e-14)


@pytest.mark.parametrize("library", [math, np], ids=["math", "numpy"])
def test_functions_of_other_libraries_are_differentiated_numerically(library):
    """Functions of math and numpy refuse uncertain numbers; the slopes of sin(x) exp(y) are found nevertheless."""
    found = linearise(lambda x, y: library.sin(x) * library.exp(y), AT, STDS)

    assert found.numerical
    assert math.cos(0.7) * math.exp(1.9) == pytest.approx(found.coefficients["x"], rel=1e-9)
    assert math.sin(0.7) * math.exp(1.9) == pytest.approx(found.coefficients["y"], rel=1e-9)


def test_numerical_steps_go_by_the_spread_of_the_input():
    """An input at nothing beside a length of fifty million keeps its coefficient of 1, which a tiny step would lose."""
    found = linearise(lambda x, y: np.add(y, x) + math.sin(0.0), {"x": 0.0, "y": 5e7}, {"x": 4.0, "y": 25.0})

    assert pytest.approx(found.coefficients["x"], rel=1e-6) == 1.0
    assert linearise(lambda x, y: math.fsum([x, y]), {"x": 0.0, "y": 5e7}, {"x": 4.0, "y": 25.0}).numerical


def test_exact_inputs_are_plain_floats():
    """An input without spread comes to the function as a float and gets no coefficient."""
    came = []

    def product(x, y):
        came.append(type(y))
        return x * y

    found = linearise(product, AT, {"x": 0.01, "y": 0.0})

    assert {float} == set(came)
    assert {"x"} == set(found.coefficients)
    assert pytest.approx(found.coefficients["x"]) == 1.9


def test_all_inputs_exact():
    """Without any spread there is a value and nothing else."""
    found = linearise(lambda x, y: x - y, AT, {"x": 0.0, "y": 0.0})

    assert {} == found.coefficients
    assert pytest.approx(found.value) == -1.2


def test_an_input_that_does_not_matter_has_coefficient_zero():
    """A function that ignores an input, or returns a constant, is told so."""
    assert linearise(lambda x, y: 2.0 * x, AT, STDS).coefficients == {"x": 2.0, "y": 0.0}
    assert linearise(lambda x, y: 3.0, AT, STDS).coefficients == {"x": 0.0, "y": 0.0}


@given(st.lists(st.floats(-10.0, 10.0).map(lambda sign: round(sign, 6)), min_size=2, max_size=2), st.floats(-5.0, 5.0))
def test_pushing_a_chain_through_gives_its_coefficients(signs: list[float], nominal: float):
    """What uncertain numbers make of a sum with coefficients is those coefficients."""
    found = linearise(lambda x, y: signs[0] * x + signs[1] * y, {"x": nominal, "y": 1.0}, STDS)

    assert signs == pytest.approx(list(found.coefficients.values()), rel=1e-12)


LENGTHS = {
    "a root of squares": lambda x, y: (x**2 + y**2) ** 0.5,
    "numpy's hypot": lambda x, y: np.hypot(x, y),
    "math's hypot": lambda x, y: math.hypot(x, y),
    "an absolute value": lambda x, y: abs(x) + y,
    "numpy's absolute value": lambda x, y: np.abs(x) + np.sin(y),
    "the larger of two": lambda x, y: max(x, y),
    "numpy's norm": lambda x, y: np.linalg.norm([x, y]),
}


@pytest.mark.parametrize("length", LENGTHS.values(), ids=LENGTHS.keys())
def test_a_length_at_nothing_has_no_first_order(length):
    """Where a length is nothing its slope jumps: refused, whichever way the function is written."""
    with pytest.raises(StackError, match=r"needed a derivative by 'x' at 0; came none: .* kink .*\. Try: monte_carlo"):
        linearise(length, {"x": 0.0, "y": 0.0}, {"x": 0.01, "y": 0.01})


@pytest.mark.parametrize("name", ["a root of squares", "numpy's hypot", "numpy's norm"])
def test_a_length_away_from_nothing_has_one(name: str):
    """Three and four make five, and the slopes are 3/5 and 4/5, even where the scatter is as large as the length."""
    found = linearise(LENGTHS[name], {"x": 3.0, "y": 4.0}, {"x": 5.0, "y": 5.0})

    assert pytest.approx(found.value) == 5.0
    assert [0.6, 0.8] == pytest.approx(list(found.coefficients.values()), rel=1e-5)


@pytest.mark.parametrize("root", [lambda x, y: x**0.5 + y, lambda x, y: math.sqrt(x) + y, lambda x, y: np.sqrt(x) + y])
def test_the_end_of_a_function_is_no_place_for_a_derivative(root):
    """The root of x is steep without limit at 0 and has no value below."""
    with pytest.raises(
        StackError, match=r"needed a derivative by 'x' at 0; came none: the function has a kink or an end"
    ):
        linearise(root, {"x": 0.0, "y": 1.0}, STDS)


@pytest.mark.parametrize(
    "smooth",
    [
        lambda x, y: x**2 + y**2,
        lambda x, y: x * y,
        lambda x, y: np.cos(x) * np.cosh(y),
        lambda x, y: (5e7 + x) * (1.0 + 1e-6 * y) - 5e7,
    ],
)
def test_smooth_functions_are_not_taken_for_kinked(smooth):
    """A slope of nothing, a product at nothing and rounding of large numbers are no kinks."""
    found = linearise(smooth, {"x": 0.0, "y": 0.0}, {"x": 1e-3, "y": 1e-3})

    assert all(math.isfinite(slope) for slope in found.coefficients.values())


@pytest.mark.parametrize(
    ("function", "at", "message"),
    [
        (lambda x, y: math.log(x) + y, -1.0, r"needed a value of the function at x = -1, y = 1.9; came .+"),
        (lambda x, y: np.log(x) + y, -1.0, r"needed a value of the function at x = -1, y = 1.9; came nan"),
        (lambda x, y: y / x, 0.0, r"needed a value of the function at x = 0, y = 1.9; came .*division"),
        (lambda x, y: math.exp(x + y), 1e4, r"needed a value of the function at x = 10000, y = 1.9; came math range"),
        (lambda x, y: (x, y), 1.0, r"needed a function that returns one number; came tuple at x = 1, y = 1.9"),
        (lambda x, y: None, 1.0, r"needed a function that returns one number; came NoneType"),
    ],
)
def test_a_function_without_a_value_is_refused(function, at: float, message: str):
    """No value at the nominal inputs, or something else than one number, is told with the inputs."""
    with pytest.raises(StackError, match=message):
        linearise(function, {"x": at, "y": 1.9}, STDS)


def test_the_error_is_one_of_flipcheck():
    """A refused stack is caught with everything else that flipcheck refuses, and keeps its parts."""
    with pytest.raises(FlipcheckError) as caught:
        value_at(lambda x: 1.0 / x, {"x": 0.0})

    assert caught.value.needed == "a value of the function at x = 0"
    assert "division" in caught.value.came
    assert caught.value.hint == ""


def test_correlated_inputs_agree_with_the_package_itself():
    """The combined uncertainty of three correlated inputs is the one that correlated uncertain numbers carry."""
    import uncertainties

    matrix = np.array([[1.0, 0.6, -0.3], [0.6, 1.0, 0.2], [-0.3, 0.2, 1.0]])
    nominals, stds = [1.5, -2.0, 0.4], [0.1, 0.3, 0.05]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", FutureWarning)  # what newer versions say about themselves
        a, b, c = uncertainties.correlated_values_norm(list(zip(nominals, stds, strict=True)), matrix)
        expected = (a * b - c**2 / a).std_dev
    at = dict(zip("abc", nominals, strict=True))
    found = linearise(lambda a, b, c: a * b - c**2 / a, at, dict(zip("abc", stds, strict=True)))

    ours = combined(np.array(list(found.coefficients.values())), np.array(stds), matrix)
    assert expected == pytest.approx(ours, rel=1e-12)


def test_full_correlation_adds_or_cancels():
    """u of a sum of two inputs correlated by 1 is the sum of both u; of their difference, the difference."""
    ones = np.ones((2, 2))

    assert pytest.approx(combined(np.array([1.0, 1.0]), np.array([0.3, 0.4]), ones)) == 0.7
    assert pytest.approx(combined(np.array([1.0, -1.0]), np.array([0.4, 0.4]), ones), abs=1e-15) == 0.0


def test_warnings_of_the_package_stay_inside_and_those_of_the_function_come_out():
    """Comparing and taking absolute values of uncertain numbers warns in some versions; that is not the user's affair.

    (Every warning is an error in these tests.) What the user's own function warns of is.
    """

    def bent(x, y):
        return abs(x) if x < y else y

    def old(x, y):
        warnings.warn("mine will change", FutureWarning, stacklevel=1)
        return x + y

    assert linearise(bent, AT, STDS).coefficients == {"x": 1.0, "y": 0.0}
    with pytest.warns(FutureWarning, match="mine will change"):
        linearise(old, AT, STDS)


def test_errors_in_the_function_are_not_hidden():
    """A mistake in the user's function comes out as Python tells it."""
    with pytest.raises(TypeError, match="can only concatenate str"):
        linearise(lambda x, y: "x" + x, AT, STDS)
