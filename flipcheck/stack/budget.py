"""The first-order budget of a stack: who contributes how much, degrees of freedom, expanded uncertainty; capability."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.errors import StackError
from flipcheck.stack.coverage import Interval, check_coverage
from flipcheck.stack.first_order import combined

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from flipcheck.stack.terms import Term

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class Contribution:
    """What one term adds to a first-order budget.

    Attributes
    ----------
    name: Name of the term.
    coefficient: What one unit of it does to the result.
    u: |coefficient| times its standard uncertainty.
    share: u^2 as a share of the combined variance.
    """

    name: str
    coefficient: float
    u: float
    share: float


@dataclass(frozen=True)
class FirstOrder:
    """A result by first-order propagation (JCGM 100:2008).

    Attributes
    ----------
    value: The function at the mean inputs.
    u: Combined standard uncertainty.
    contributions: One a term with a spread, in the order of the stack.
    correlated: Share of the variance that comes from correlations; with those of the terms it makes 1.
    dof: Effective degrees of freedom; infinite where every standard deviation is known.
    k: Coverage factor: a quantile of the normal, or of the t distribution for `dof` truncated to a whole number.
    interval: value ± k u.
    """

    value: float
    u: float
    contributions: tuple[Contribution, ...]
    correlated: float
    dof: float
    k: float
    interval: Interval

    @property
    def expanded(self) -> float:
        """Expanded uncertainty U = k u."""
        return self.k * self.u


@dataclass(frozen=True)
class Capability:
    """Process capability against limits (NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6).

    Attributes
    ----------
    cp: (high - low) / 6 sigma.
    lower, upper: Distance of the mean from the lower and to the upper limit, in 3 sigma.
    """

    cp: float
    lower: float
    upper: float

    @property
    def cpk(self) -> float:
        """The smaller of the two."""
        return min(self.lower, self.upper)


def budget(
    terms: Sequence[Term], value: float, coefficients: Mapping[str, float], correlation: Array, coverage: float
) -> FirstOrder:
    """The first-order budget of terms with the given coefficients; terms without a spread are left out.

    `correlation` is that of all terms, shape (terms, terms).

    Raises
    ------
    StackError: for a correlated term with finite degrees of freedom, or a coverage that is not between 0 and 1.
    """
    check_coverage(coverage)
    where = [i for i, term in enumerate(terms) if term.uncertainty[0] > 0.0]
    names = [terms[i].name for i in where]
    a = np.array([coefficients[name] for name in names])
    stds, dofs = np.array([terms[i].uncertainty for i in where]).reshape(-1, 2).T
    among = correlation[np.ix_(where, where)]
    u = combined(a, stds, among)
    parts = np.abs(a) * stds
    tied = (among != np.eye(len(where))).any(axis=1) & np.isfinite(dofs)
    if tied.any():
        name = names[int(np.argmax(tied))]
        needed = "independent terms where degrees of freedom are finite (JCGM 100:2008, G.4.1)"
        raise StackError(needed, f"{name!r}, which is correlated with another")
    shares = np.square(parts) / u**2 if u else np.zeros_like(parts)
    dof = welch_satterthwaite(u, parts, dofs)
    k = _factor(dof, coverage)
    return FirstOrder(
        value=value,
        u=u,
        contributions=tuple(
            Contribution(name, float(c), float(part), float(share))
            for name, c, part, share in zip(names, a, parts, shares, strict=True)
        ),
        correlated=float(1.0 - shares.sum()) if u and (among != np.eye(len(where))).any() else 0.0,
        dof=dof,
        k=k,
        interval=Interval(value - k * u, value + k * u, coverage),
    )


def welch_satterthwaite(u: float, parts: Array, dofs: Array) -> float:
    """Effective degrees of freedom: u^4 / sum of (u_i^4 / nu_i), for parts u_i of a combined u.

    Source: JCGM 100:2008, equation (G.2b).
    """
    if not u:
        return math.inf
    below = float((np.power(parts / u, 4) / dofs).sum())
    return 1.0 / below if below else math.inf


def _factor(dof: float, coverage: float) -> float:
    from scipy.special import ndtri, stdtrit

    upper = 0.5 * (1.0 + coverage)
    if math.isinf(dof):
        return float(ndtri(upper))
    return float(stdtrit(math.floor(dof + 1e-9), upper))  # truncated: JCGM 100:2008, G.4.1, note 1


def normal_within(mean: float, std: float, low: float, high: float) -> float:
    """P(low <= X <= high) of a normal X; of a value known exactly, 0 or 1."""
    from scipy.special import ndtr

    if std == 0.0:
        return float(low <= mean <= high)
    # from the nearer tail, so that small chances keep their digits
    a, b = (low - mean) / std, (high - mean) / std
    return float(ndtr(-a) - ndtr(-b)) if a > 0.0 else float(ndtr(b) - ndtr(a))


def capability(mean: float, std: float, low: float, high: float) -> Capability:
    """Capability of a mean and a standard deviation; a limit may be infinite.

    Raises
    ------
    StackError: for a standard deviation of 0, or limits in the wrong order.
    """
    if not std > 0.0:
        raise StackError("a stack that scatters", "a standard deviation of 0")
    check_limits(low, high)
    return Capability((high - low) / (6.0 * std), (mean - low) / (3.0 * std), (high - mean) / (3.0 * std))


def check_limits(low: float, high: float) -> None:
    """Refuse limits in the wrong order, or not numbers.

    Raises
    ------
    StackError: if so.
    """
    if not low <= high:
        raise StackError("a lower limit that is not above the upper one", f"{low:g} and {high:g}")
