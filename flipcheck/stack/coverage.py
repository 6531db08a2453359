"""Coverage intervals from sorted draws, by order statistics."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.errors import StackError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class Interval:
    """An interval that holds a share `coverage` of a quantity."""

    low: float
    high: float
    coverage: float

    @property
    def width(self) -> float:
        """From end to end."""
        return self.high - self.low


def check_coverage(coverage: float) -> None:
    """Refuse a coverage that is not between 0 and 1.

    Raises
    ------
    StackError: if so.
    """
    if not 0.0 < coverage < 1.0:
        hint = f"{coverage / 100.0:g}" if 1.0 < coverage < 100.0 else ""
        raise StackError("a coverage between 0 and 1", f"{coverage:g}", hint)


def _ranks(trials: int, coverage: float) -> tuple[int, int]:
    """How many steps between sorted draws an interval spans (q), and at how many draws it may begin (M - q)."""
    check_coverage(coverage)
    q = math.floor(coverage * trials + 0.5)
    if q < 1 or trials - q < 1:
        least = math.ceil(1.0 / min(coverage, 1.0 - coverage))
        raise StackError(f"at least {least} trials for a coverage of {coverage:g}", str(trials))
    return q, trials - q


def symmetric(ordered: Array, coverage: float) -> Interval:
    """The probabilistically symmetric interval: as many draws below it as above.

    Source: JCGM 101:2008, 7.7.2: from y_(r) to y_(r+q), q = pM and r = (M - q) / 2, rounded as told there.

    Parameters
    ----------
    ordered: Sorted draws, shape (M,).
    coverage: Share p of the draws inside.

    Raises
    ------
    StackError: for too few draws, or a coverage that is not between 0 and 1.
    """
    q, rest = _ranks(len(ordered), coverage)
    r = (rest + 1) // 2
    return Interval(float(ordered[r - 1]), float(ordered[r + q - 1]), coverage)


def shortest(ordered: Array, coverage: float) -> Interval:
    """The shortest interval that holds a share of the draws.

    Source: JCGM 101:2008, 7.7.4: r chosen so that y_(r+q) - y_(r) is least. Parameters and errors as for `symmetric`.
    """
    q, _ = _ranks(len(ordered), coverage)
    at = int(np.argmin(ordered[q:] - ordered[:-q]))
    return Interval(float(ordered[at]), float(ordered[at + q]), coverage)


def numerical_tolerance(u: float, digits: int) -> float:
    """Half a unit of the last of `digits` significant digits of a standard uncertainty.

    Source: JCGM 101:2008, 7.9.2: u = c * 10^l with c a whole number of so many digits; then it is 10^l / 2.

    Raises
    ------
    StackError: for fewer than one digit, or an uncertainty that is not a positive number.
    """
    if digits < 1:
        raise StackError("at least 1 significant digit", str(digits))
    if not (u > 0.0 and math.isfinite(u)):
        raise StackError("a standard uncertainty above 0 to take digits of", f"{u:g}")
    exponent = int(f"{u:.{digits - 1}e}".split("e")[1]) - digits + 1
    return 0.5 * float(f"1e{exponent}")
