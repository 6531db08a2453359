"""How well a counted share is known, and the difference between two."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

#: Two-sided 95 % point of the normal distribution.
Z95 = 1.959963984540054


@dataclass(frozen=True)
class Chance:
    """A share counted in a simulation, with the 95 % interval of that count (not of the job's inputs)."""

    estimate: float
    low: float
    high: float


def wilson(count: float, trials: float, z: float = Z95) -> Chance:
    """Wilson's score interval for `count` successes in `trials`, whole numbers or sums of chances.

    Source: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212; values in R. G. Newcombe, Stat. Med. 17 (1998) 857-872,
        Table I.
    Neither need be whole: trials that are not independent count for less than one each.
    With no trials nothing is known: the interval is 0 to 1 and the estimate NaN.
    """
    if trials == 0:
        return Chance(math.nan, 0.0, 1.0)
    share = count / trials
    shrink = 1.0 + z * z / trials
    middle = (share + z * z / (2 * trials)) / shrink
    half = z / shrink * math.sqrt(share * (1.0 - share) / trials + z * z / (4 * trials * trials))
    low = 0.0 if count <= 0 else max(middle - half, 0.0)
    high = 1.0 if count >= trials else min(middle + half, 1.0)
    return Chance(share, low, high)


def paired_difference(only_first: int, only_second: int, trials: int, z: float = Z95) -> tuple[float, float]:
    """Interval of the difference between two shares counted on the same trials (first minus second).

    `only_first` and `only_second` count the trials in which just that one succeeded. Half a count is added to each of
    the four cells of the two-by-two table (after Agresti and Min, Stat. Med. 24 (2005) 729-740; from memory), so that
    seeing no difference is not taken for there being none.
    """
    n = trials + 2.0
    b, c = only_first + 0.5, only_second + 0.5
    difference = (b - c) / n
    half = z * math.sqrt(b + c - (b - c) ** 2 / n) / n
    return difference - half, difference + half


def independent_difference(
    first: float, first_trials: float, second: float, second_trials: float, z: float = Z95
) -> tuple[float, float]:
    """Interval of the difference between two shares counted on different trials (first minus second).

    Source: R. G. Newcombe, Stat. Med. 17 (1998) 873-890, method 10, made of Wilson's intervals of the two shares.
    Without trials of either nothing is known: the interval is -1 to 1.
    """
    if not first_trials or not second_trials:
        return -1.0, 1.0
    return difference(wilson(first, first_trials, z), wilson(second, second_trials, z))


def difference(first: Chance, second: Chance) -> tuple[float, float]:
    """Interval of the difference between two independent chances (first minus second), made of their own intervals.

    Source: as of `independent_difference`; exact chances, whose intervals are points, add nothing to it.
    """
    between = first.estimate - second.estimate
    down = math.hypot(first.estimate - first.low, second.high - second.estimate)
    up = math.hypot(first.high - first.estimate, second.estimate - second.low)
    return between - down, between + up


def clopper_pearson(count: int, trials: int, confidence: float = 0.95) -> Chance:
    """The exact interval for `count` successes in `trials`: covers at least `confidence`, so wider than Wilson's.

    Source: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413: quantiles of beta distributions.

    Neither need be whole: trials that are not independent count for less than one each.
    With no trials nothing is known: the interval is 0 to 1 and the estimate NaN.
    """
    from scipy.special import betaincinv

    if trials == 0:
        return Chance(math.nan, 0.0, 1.0)
    tail = 0.5 * (1.0 - confidence)
    low = float(betaincinv(count, trials - count + 1, tail)) if count else 0.0
    high = float(betaincinv(count + 1, trials - count, 1.0 - tail)) if count < trials else 1.0
    return Chance(count / trials, low, high)


#: Two-sided 95 % point of Student's t with 15 degrees of freedom: 16 repeats (any table of it; scipy gives the digits).
T95 = 2.131449545559776
#: With fewer expected misses, or hits, than this among the trials their scatter between repeats tells too little.
_FEW = 20.0


def half_width(repeats: Array) -> float:
    """Half-width of the 95 % interval of the mean of 16 independent repeats, shape (16,)."""
    return T95 * float(np.std(repeats, ddof=1)) / math.sqrt(len(repeats))


def from_repeats(estimate: float, repeats: Array, trials: float) -> Chance:
    """The interval of a share estimated in independent repeats, by Student's t.

    Where hardly any of the trials miss, or hit, Wilson's interval for a count: it is wide enough, since points spread
    evenly, and chances in place of counts, scatter less than a count does.

    Parameters
    ----------
    estimate: The estimate of all repeats together.
    repeats: The share by each repeat, shape (16,); NaN for one that says nothing.
    trials: Trials of all repeats together.
    """
    if not trials:
        return wilson(0, 0)
    if few(estimate, trials) or not np.all(np.isfinite(repeats)):
        return wilson(estimate * trials, trials)
    half = half_width(repeats)
    return Chance(estimate, max(estimate - half, 0.0), min(estimate + half, 1.0))


def few(estimate: float, trials: float) -> bool:
    """Whether so few trials miss, or hit, that their scatter between repeats tells too little."""
    return min(estimate, 1.0 - estimate) * trials < _FEW
