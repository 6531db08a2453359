"""Least squares for a few unknowns, which of them the readings can tell apart, and the update of what was expected.

Letters for shapes: M readings, P unknowns, L quantities to update.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Fit:
    """A straight-line fit: values = weights @ readings.

    Attributes
    ----------
    values: The unknowns, shape (P,).
    weights: How each depends on each reading, shape (P, M).
    residuals: Readings less what the fit says, shape (M,).
    design: What each unknown does to each reading, shape (M, P).
    """

    values: Array
    weights: Array
    residuals: Array
    design: Array

    @property
    def freedom(self) -> int:
        """Readings beyond those that the unknowns take up."""
        return len(self.residuals) - len(self.values)


def fit(design: Array, readings: Array, u: Array | None = None) -> Fit:
    """Least squares (Gauss-Markov; JCGM 100, H.3 does a straight line so).

    Parameters
    ----------
    design: What each unknown does to each reading, shape (M, P), of full rank.
    readings: Shape (M,).
    u: Standard uncertainty of each reading, which weighs with 1/u²; all weigh the same unless given.
    """
    scale = np.ones(len(readings)) if u is None else 1.0 / u
    weights = np.linalg.pinv(design * scale[:, None]) * scale
    values = weights @ readings
    return Fit(values, weights, readings - design @ values, design)


def told_apart(design: Array, least: float) -> tuple[list[int], dict[int, list[int]]]:
    """Which unknowns readings can tell from each other, taken in their order.

    Parameters
    ----------
    design: What each unknown does to each reading, shape (M, P), all in one unit.
    least: What a column must do (root mean square over the readings) that the columns taken before cannot.

    Returns
    -------
    The columns taken, and for each column left out those taken with which it is confused (none, if it does nothing).
    """
    taken: list[int] = []
    confused: dict[int, list[int]] = {}
    for i, column in enumerate(design.T):
        kept = design[:, taken]
        share = np.linalg.pinv(kept, rcond=1e-12) @ column if taken else np.zeros(0)
        left = column - kept @ share
        if np.sqrt(np.mean(np.square(left))) > least:
            taken.append(i)
        else:
            sizes = np.abs(share) * np.sqrt(np.mean(np.square(kept), axis=0))
            confused[i] = [j for j, size in zip(taken, sizes, strict=True) if size > least]
    return taken, confused


def updated(mean: Array, covariance: Array, seen: Iterable[tuple[Array, Array, Array]]) -> tuple[Array, Array]:
    """Normal quantities after independent sets of readings of linear forms of them.

    Conditioning of a normal distribution, set after set: gain = C H' (H C H' + V)^-1 (standard; in this form in
    R. E. Kalman, J. Basic Eng. 82 (1960) 35-45, from memory).

    Parameters
    ----------
    mean, covariance: Before, shapes (L,) and (L, L).
    seen: For each set its forms H (M, L), its readings (M,) and the covariance V of their scatter (M, M).

    Returns
    -------
    Mean and covariance after.
    """
    for forms, readings, scatter in seen:
        cross = covariance @ forms.T
        gain = np.linalg.solve(forms @ cross + scatter, cross.T).T
        mean = mean + gain @ (readings - forms @ mean)
        # Joseph's form keeps the covariance symmetric and positive
        rest = np.eye(len(mean)) - gain @ forms
        covariance = rest @ covariance @ rest.T + gain @ scatter @ gain.T
    return mean, covariance


def mahalanobis(off: Array, covariance: Array) -> float:
    """Squared distance in standard deviations: off' C^-1 off, over what varies at all."""
    sizes, axes = np.linalg.eigh(covariance)
    along = axes.T @ off
    varies = sizes > 1e-10 * max(float(sizes.max(initial=0.0)), 1e-300)
    return float((np.square(along[varies]) / sizes[varies]).sum())


def root(covariance: Array) -> Array:
    """A matrix B of full column rank with B B' = C, shape (L, rank)."""
    sizes, axes = np.linalg.eigh(covariance)
    varies = sizes > 1e-14 * max(float(sizes.max(initial=0.0)), 1e-300)
    return axes[:, varies] * np.sqrt(sizes[varies])


def mean_and_covariance(rows: Sequence[Array]) -> tuple[Array, Array]:
    """Mean of equal-sized rows and their sample covariance (divisor: rows less one)."""
    stacked = np.array(rows)
    return stacked.mean(axis=0), np.atleast_2d(np.cov(stacked, rowvar=False))


def t_factor(freedom: int, share: float = 0.95) -> float:
    """Two-sided point of Student's t distribution (JCGM 100, Table G.2)."""
    from scipy.special import stdtrit

    return float(stdtrit(freedom, 0.5 * (1.0 + share)))


def chi_square_beyond(value: float, freedom: int) -> float:
    """The chance that a chi-square variable exceeds a value."""
    from scipy.special import chdtrc

    return float(chdtrc(freedom, value))
