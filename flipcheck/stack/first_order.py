"""First order: how much the value of a function moves with each of its inputs.

The only module that imports `uncertainties`. Its numbers carry derivatives through ordinary Python arithmetic; where a
function will not take them (numpy's and math's functions do not), the derivatives are taken numerically.

What has no derivative is refused: the length of a vector whose nominal is nothing has a spread, but no first-order one.
"""

from __future__ import annotations

import math
import warnings
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from flipcheck.errors import StackError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

#: What a function may raise where it has no value.
NO_VALUE = (ArithmeticError, ValueError)

#: Steps, in standard uncertainties of the input, of numerical derivatives and of the search for kinks.
_STEP, _KINK_STEP = 0.03, 0.01
#: A bend narrower than the step counts as a kink where it matters more than this share of all inputs together.
_MATTERS = 1e-3
#: Rounding of the function, as a share of its value, that may look like a kink at the smaller step.
_ROUNDING = 1e-11
_MONTE_CARLO = "monte_carlo(), which needs no derivative"


@dataclass(frozen=True)
class Linearised:
    """A function near its nominal inputs.

    Attributes
    ----------
    value: The function at the nominal inputs.
    coefficients: Its partial derivative by each input that has a spread.
    numerical: Whether the derivatives were taken numerically.
    """

    value: float
    coefficients: Mapping[str, float]
    numerical: bool


def linearise(function: Callable[..., Any], nominals: Mapping[str, float], stds: Mapping[str, float]) -> Linearised:
    """Push uncertain numbers through a function.

    Parameters
    ----------
    function: Any function that takes the inputs by name and returns one number.
    nominals: Value of each input.
    stds: Standard uncertainty of each input; one of 0 goes in as a plain float and gets no coefficient.

    Raises
    ------
    StackError: if the function has no value there, does not return one number, or has no derivative by some input.
    """
    value = value_at(function, nominals)
    spread = [name for name in nominals if stds[name] > 0.0]
    derivatives, numerical = _derivatives(function, nominals, stds, spread)
    for name, derivative in derivatives.items():
        if not math.isfinite(derivative):
            raise _no_derivative(name, nominals[name])
    _refuse_kinks(function, nominals, stds, derivatives)
    return Linearised(value, derivatives, numerical)


def combined(coefficients: Array, stds: Array, correlation: Array) -> float:
    """Combined standard uncertainty: root of the sum of c_i u_i r_ij c_j u_j over i and j.

    Source: JCGM 100:2008, equations (13) and (16). `coefficients` and `stds` have shape (R,), `correlation` (R, R).
    """
    parts = coefficients * stds
    return math.sqrt(max(float(parts @ correlation @ parts), 0.0))


def value_at(function: Callable[..., Any], inputs: Mapping[str, float]) -> float:
    """The function at given inputs, as a float.

    Raises
    ------
    StackError: if there is none, or the function returns something else than one finite number.
    """
    given = ", ".join(f"{name} = {value:.6g}" for name, value in inputs.items())
    try:
        with np.errstate(all="ignore"):
            found = function(**inputs)
    except NO_VALUE as error:
        raise StackError(f"a value of the function at {given}", str(error) or type(error).__name__) from error
    try:
        value = float(found)
    except (TypeError, ValueError) as error:
        raise StackError("a function that returns one number", f"{type(found).__name__} at {given}") from error
    if not math.isfinite(value):
        raise StackError(f"a value of the function at {given}", str(value))
    return value


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep to ourselves what `uncertainties` says about its own future (3.2.3 and 3.2.4 do in their basic use)."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=r"(AffineScalarFunc|Variable)\.", category=FutureWarning)
        yield


def _derivatives(
    function: Callable[..., Any], nominals: Mapping[str, float], stds: Mapping[str, float], spread: list[str]
) -> tuple[dict[str, float], bool]:
    """Derivative by each input that has a spread, and whether they were taken numerically."""
    from uncertainties import ufloat, wrap

    numbers = {name: ufloat(nominals[name], stds[name]) for name in spread}

    def numerically(**given: Any) -> Any:
        names = list(given)
        slopes = [_slope(function, names, name, stds[name]) if name in numbers else None for name in names]
        return wrap(lambda *values: value_at(function, dict(zip(names, values, strict=True))), slopes)(*given.values())

    with _quiet():
        numerical = False
        try:
            pushed = function(**{**nominals, **numbers})
        except (TypeError, AttributeError):
            pushed, numerical = numerically(**{**nominals, **numbers}), True
        except NO_VALUE as error:
            raise StackError("a derivative by every input", str(error), _MONTE_CARLO) from error
        found = getattr(pushed, "derivatives", {})
        return {name: float(found.get(number, 0.0)) for name, number in numbers.items()}, numerical


def _slope(function: Callable[..., Any], names: list[str], name: str, std: float) -> Callable[..., float]:
    """The derivative by one input, from central differences of two steps (Richardson)."""

    def slope(*values: float) -> float:
        at = dict(zip(names, values, strict=True))

        def central(step: float) -> float:
            up, down = at[name] + step, at[name] - step
            return (_or_nan(function, {**at, name: up}) - _or_nan(function, {**at, name: down})) / (up - down)

        return (4.0 * central(0.5 * _STEP * std) - central(_STEP * std)) / 3.0

    return slope


def _refuse_kinks(
    function: Callable[..., Any],
    nominals: Mapping[str, float],
    stds: Mapping[str, float],
    derivatives: Mapping[str, float],
) -> None:
    """Refuse a function whose slope jumps at the nominal inputs, as that of a length does at nothing.

    Where a slope is smooth, its change across a step shrinks with the step; where it jumps, it does not.
    """
    whole = math.sqrt(sum((slope * stds[name]) ** 2 for name, slope in derivatives.items()))
    middle = value_at(function, nominals)
    for name in derivatives:
        jumps = []
        for step in (_KINK_STEP * stds[name], 0.25 * _KINK_STEP * stds[name]):
            up, down = (_or_nan(function, {**nominals, name: nominals[name] + s}) for s in (step, -step))
            jumps.append(abs((up - middle) + (down - middle)) / step * stds[name])
        wide, narrow = jumps
        kink = narrow > 0.7 * wide and narrow > max(_MATTERS * whole, _ROUNDING * abs(middle))
        if kink or math.isnan(wide) or math.isnan(narrow):
            raise _no_derivative(name, nominals[name])


def _or_nan(function: Callable[..., Any], inputs: Mapping[str, float]) -> float:
    try:
        return value_at(function, inputs)
    except StackError:
        return math.nan


def _no_derivative(name: str, value: float) -> StackError:
    came = "none: the function has a kink or an end there"
    return StackError(f"a derivative by {name!r} at {value:.6g}", came, _MONTE_CARLO)
