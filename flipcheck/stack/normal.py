"""The normal distribution without scipy, whose import costs more time than most answers."""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

#: Beyond this many standard deviations nothing is left: 1 - cdf is below 1e-16.
FAR = 8.5
#: Steps of a table over -FAR ... FAR; between them a straight line is off by 5e-7 at most.
STEPS = 4096

# Coefficients of the rational functions for the middle, the tails and the far tails, highest power first.
# Source: M. J. Wichura, Algorithm AS 241, Applied Statistics 37 (1988) 477-484, PPND16.
_MIDDLE = (
    (
        2.5090809287301226727e3,
        3.3430575583588128105e4,
        6.7265770927008700853e4,
        4.5921953931549871457e4,
        1.3731693765509461125e4,
        1.9715909503065514427e3,
        1.3314166789178437745e2,
        3.3871328727963666080e0,
    ),
    (
        5.2264952788528545610e3,
        2.8729085735721942674e4,
        3.9307895800092710610e4,
        2.1213794301586595867e4,
        5.3941960214247511077e3,
        6.8718700749205790830e2,
        4.2313330701600911252e1,
        1.0,
    ),
)
_TAIL = (
    (
        7.74545014278341407640e-4,
        2.27238449892691845833e-2,
        2.41780725177450611770e-1,
        1.27045825245236838258e0,
        3.64784832476320460504e0,
        5.76949722146069140550e0,
        4.63033784615654529590e0,
        1.42343711074968357734e0,
    ),
    (
        1.05075007164441684324e-9,
        5.47593808499534494600e-4,
        1.51986665636164571966e-2,
        1.48103976427480074590e-1,
        6.89767334985100004550e-1,
        1.67638483018380384940e0,
        2.05319162663775882187e0,
        1.0,
    ),
)
#: How far from one half the middle reaches, and the least probability that the tail is good for.
_HALF, LEAST = 0.425, 1.4e-11


def inverse(probability: Array) -> Array:
    """The standard normal deviate below which each probability lies, shape as given.

    Probabilities below `LEAST` or above 1 - `LEAST` are taken for these (6.7 standard deviations).
    """
    probability = np.clip(probability, LEAST, 1.0 - LEAST)
    off = probability - 0.5
    square = _HALF * _HALF - off * off
    deviate = off * _ratio(_MIDDLE, square)
    (tail,) = np.nonzero(square < 0.0)
    below = np.minimum(probability[tail], 1.0 - probability[tail])
    deviate[tail] = np.copysign(_ratio(_TAIL, np.sqrt(-np.log(below)) - 1.6), off[tail])
    return deviate


def _ratio(coefficients: tuple[tuple[float, ...], tuple[float, ...]], x: Array) -> Array:
    above, below = (np.full_like(x, powers[0]) for powers in coefficients)
    for total, powers in zip((above, below), coefficients, strict=True):
        for power in powers[1:]:
            total *= x
            total += power
    above /= below
    return above


class Table:
    """A function of one variable that is tabulated from `-FAR` to `FAR` and level beyond.

    `values` holds it at `STEPS` + 1 equal steps.
    """

    def __init__(self, values: Array) -> None:
        self._values, self._rises = values, np.append(np.diff(values), 0.0)

    def __call__(self, x: Array) -> Array:
        """The function at x, shape as given."""
        place = x + FAR
        place *= STEPS / (2.0 * FAR)
        np.clip(place, 0.0, STEPS, out=place)
        step = place.astype(np.intp)
        place -= step
        place *= self._rises[step]
        place += self._values[step]
        return place


def grid() -> Array:
    """Where a `Table` has its values, shape (`STEPS` + 1,)."""
    return np.linspace(-FAR, FAR, STEPS + 1)


@cache
def _cdf() -> Table:
    return Table(np.array([0.5 * math.erfc(-x / math.sqrt(2.0)) for x in grid()]))


def cdf(x: Array) -> Array:
    """The probability below each x, to 5e-7, shape as given."""
    return _cdf()(x)


def density(x: Array) -> Array:
    """The density at each x, shape as given."""
    return np.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi)


@cache
def gauss_legendre(count: int) -> tuple[Array, Array]:
    """Nodes on (-1, 1) and weights of the Gauss-Legendre rule, each of shape (count,)."""
    return np.polynomial.legendre.leggauss(count)
