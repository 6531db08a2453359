"""The general tolerance stack: a chain of lengths, a sum in the plane, or any Python function of named inputs."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from numbers import Integral
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from flipcheck.errors import StackError
from flipcheck.stack import budget as budgets
from flipcheck.stack import methods, nearby
from flipcheck.stack.coverage import check_coverage, numerical_tolerance
from flipcheck.stack.first_order import linearise, value_at
from flipcheck.stack.monte_carlo.adaptive import CEILING, Ends, Goal, Verdict, interval, settle
from flipcheck.stack.monte_carlo.streams import seed_of
from flipcheck.stack.monte_carlo.trials import Drawing, Simulation, collect
from flipcheck.stack.nearby import Nearby
from flipcheck.stack.radial import normal_in_circle
from flipcheck.stack.terms import (
    Term,
    check_known,
    check_terms,
    correlation_matrix,
    inflation_factors,
    per_term,
    terms_of,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from numpy.typing import NDArray

    from flipcheck.stack.budget import Capability, FirstOrder
    from flipcheck.stack.methods import Allocation, Limits
    from flipcheck.stack.monte_carlo.streams import RngLike
    from flipcheck.stack.spreads import Spread
    from flipcheck.stack.terms import PerTerm

    Array = NDArray[np.float64]

_NOTHING: Mapping[tuple[str, str], float] = MappingProxyType({})


@dataclass(frozen=True, eq=False, repr=False)
class Stack:
    """A tolerance stack.

    The classic methods and first order take a function as linear about its mean inputs; `monte_carlo` does not. The
    classic methods know of no correlations.

    Attributes
    ----------
    terms: What it is made of. Their coefficients are all single numbers (a chain), or pairs and circles (the plane,
        where the result is the length of the sum).
    correlations: Correlation coefficients of pairs of terms, by their names.
    function: What becomes of the terms; None where they add up by their coefficients.

    Raises
    ------
    StackError: for terms or correlations that do not fit together.
    """

    terms: Sequence[Term]
    correlations: Mapping[tuple[str, str], float] = field(default_factory=lambda: _NOTHING)
    function: Callable[..., Any] | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "terms", tuple(self.terms))
        object.__setattr__(self, "correlations", MappingProxyType(dict(self.correlations)))
        check_terms(self.terms, of_function=self.function is not None)
        _ = self._correlation

    @classmethod
    def of(
        cls,
        function: Callable[..., Any],
        /,
        *,
        correlations: Mapping[tuple[str, str], float] = _NOTHING,
        dof: Mapping[str, float] = MappingProxyType({}),
        **inputs: Spread | float,
    ) -> Stack:
        """A stack of any Python function that takes its inputs by name and returns one number.

        Parameters
        ----------
        function: Called with numbers, with arrays of shape (N,) where it can take them, and with uncertain numbers.
        correlations: Correlation coefficients of pairs of inputs, by their names.
        dof: Degrees of freedom of inputs whose standard deviation is not simply known.
        inputs: A spread with its mean, or a number that is known exactly.

        Raises
        ------
        StackError: if the function does not take these inputs, or they do not fit together.
        """
        return cls(terms_of(function, inputs, dof), correlations, function)

    def __repr__(self) -> str:
        return f"Stack({', '.join(term.name for term in self.terms)})"

    # ---- what it is ----

    @cached_property
    def plane(self) -> bool:
        """Whether the terms add up in the plane, and the result is a length."""
        return any(term.in_plane for term in self.terms)

    @cached_property
    def nominal(self) -> float:
        """The result with every term at its mean; in the plane the length of the sum."""
        if self.function is not None:
            return value_at(self.function, {term.name: term.mean for term in self.terms})
        middle = nearby.middle(self.terms, 2 if self.plane else 1)
        return math.hypot(*middle) if self.plane else float(middle[0])

    def along(self, angle: float) -> Stack:
        """The chain that a stack of the plane is along one direction, at `angle` rad from x.

        Raises
        ------
        StackError: if the stack is not of the plane.
        """
        if not self.plane:
            raise StackError("a stack of the plane to look along a direction", "a stack of single numbers")
        towards = math.cos(angle), math.sin(angle)
        return Stack(tuple(nearby.projected(term, towards) for term in self.terms), self.correlations)

    # ---- the classic methods ----

    def worst_case(self) -> Limits:
        """Arithmetic worst case: nominal ± sum of |a_i| T_i; in the plane the largest over all directions."""
        return self._nearby.limits(methods.arithmetic)

    def rss(self) -> Limits:
        """Root of the sum of squares: nominal ± root of the sum of (a_i T_i)^2."""
        return self._nearby.limits(methods.root_of_squares)

    def inflated_rss(self, factors: PerTerm | None = None) -> Limits:
        """Root of the sum of (c_i a_i T_i)^2, with c_i = 3 sigma_i / T_i of each spread unless given.

        One number for all gives the customary factor on the whole, such as 1.5. Source: Scholz 1995, see `methods`.
        """
        return self._nearby.limits(methods.inflated(self._factors(factors)))

    def mean_shift(self, share: PerTerm, *, inflated: bool = False, factors: PerTerm | None = None) -> Limits:
        """Sum of eta_i |a_i| T_i plus root of the sum of ((1 - eta_i) c_i a_i T_i)^2 (Scholz 1995, see `methods`).

        Parameters
        ----------
        share: The share eta of each tolerance by which its mean may be off, 0 to 1; terms not named have none.
        inflated: Whether to count with the factors c of the spreads; otherwise they are 1.
        factors: Factors of your own, as for `inflated_rss`.
        """
        shares = per_term(share, self.terms, [0.0] * len(self.terms))
        if not ((shares >= 0.0) & (shares <= 1.0)).all():
            raise StackError("shares of the tolerances from 0 to 1", str(share))
        counted = self._factors(factors) if inflated or factors is not None else np.ones(len(shares))
        return self._nearby.limits(methods.shifted(shares, counted))

    def allocate(
        self, target: float, fixed: Iterable[str] = (), method: Literal["worst case", "rss"] = "rss"
    ) -> Allocation:
        """Scale the tolerances that are not fixed so that the stack just meets ± `target` (see `methods.allocate`)."""
        if method not in ("worst case", "rss"):
            raise StackError("'worst case' or 'rss'", repr(method))
        self._refuse_plane("an allocation")
        held = set(fixed)
        check_known(held, self.terms)
        tolerances = {term.name: term.spread.bound for term in self.terms}
        return methods.allocate(target, tolerances, self.coefficients, held, rss=method == "rss")

    # ---- first order ----

    @cached_property
    def coefficients(self) -> Mapping[str, float]:
        """What one unit of each term does to the result; of a function its derivatives (0 for inputs without spread).

        Raises
        ------
        StackError: in the plane, and where a function has no derivative.
        """
        self._refuse_plane("a coefficient")
        if self.function is None:
            return {term.name: float(np.ravel(term.coefficient)[0]) for term in self.terms}
        means = {term.name: term.mean for term in self.terms}
        found = linearise(self.function, means, {term.name: term.uncertainty[0] for term in self.terms})
        return {term.name: found.coefficients.get(term.name, 0.0) for term in self.terms}

    def first_order(self, coverage: float = 0.95) -> FirstOrder:
        """First-order propagation with effective degrees of freedom and expanded uncertainty (JCGM 100:2008).

        Raises
        ------
        StackError: for a length in the plane, a function without derivative, or a `coverage` not between 0 and 1.
        """
        self._refuse_plane("a first-order result")
        return budgets.budget(self.terms, self.nominal, self.coefficients, self._correlation, coverage)

    def chance(self, low: float = -math.inf, high: float = math.inf) -> float:
        """The chance of a result from `low` to `high` if it is normal to first order; in the plane, if its x and y are.

        Counted instead: ``monte_carlo(...).chance(low, high)``.
        """
        budgets.check_limits(low, high)
        if not self.plane:
            return budgets.normal_within(self.nominal, self._nearby.std, low, high)
        near = self._nearby
        within = [1.0 if math.isinf(r) else normal_in_circle(near.middle, near.covariance, r) for r in (high, low)]
        return within[0] - (within[1] if low > 0.0 else 0.0)

    def capability(self, low: float, high: float) -> Capability:
        """Cp and Cpk against limits, with mean and standard deviation to first order."""
        self._refuse_plane("a capability")
        return budgets.capability(self.nominal, self._nearby.std, low, high)

    # ---- Monte Carlo ----

    def monte_carlo(
        self,
        trials: int | Literal["auto"] = 1_000_000,
        *,
        rng: RngLike = None,
        coverage: float = 0.95,
        digits: int = 2,
        ends: Literal["symmetric", "shortest"] = "symmetric",
        ceiling: int = CEILING,
    ) -> Simulation:
        """Draw the stack (JCGM 101:2008, 7). Every value is kept, at 8 bytes each.

        Parameters
        ----------
        trials: How many, or "auto" for as many as it takes (7.9). A longer run begins with the shorter one.
        rng: Seed; the same one gives the same bytes.
        coverage: Share that the intervals hold.
        digits, ends, ceiling: Of an automatic run: significant digits of u that shall stand, the interval whose ends
            are watched, and the most trials. `Simulation.settled` says whether it got there.

        Raises
        ------
        StackError: for correlations between terms that are not normal, and where a function has no value.
        """
        check_coverage(coverage)
        if trials == "auto":
            return self._settled(Goal(coverage, digits, Ends(ends), 1.0, ceiling), rng)
        if not isinstance(trials, Integral):
            raise StackError('a whole number of trials, or "auto"', repr(trials))
        seed, draws = self._draws(rng)
        return Simulation(seed, np.sort(collect(draws, int(trials))), coverage)

    def validate(
        self,
        digits: Literal[1, 2] = 1,
        *,
        rng: RngLike = None,
        coverage: float = 0.95,
        ends: Literal["symmetric", "shortest"] = "symmetric",
        ceiling: int = CEILING,
    ) -> Verdict:
        """Whether first order is good enough here: its interval against that of an adaptive run (JCGM 101:2008, 8).

        The run settles to a fifth of the numerical tolerance of so many digits of its u. Parameters as above.
        """
        first = self.first_order(coverage)
        run = self._settled(Goal(coverage, digits, Ends(ends), 0.2, ceiling), rng)
        tolerance = numerical_tolerance(run.u, digits)
        return Verdict(first, run, interval(run.samples, coverage, Ends(ends)), tolerance)

    # ---- within ----

    def _draws(self, rng: RngLike) -> tuple[int, Any]:
        _ = self.nominal  # a function that does not work at all is refused in plain words
        seed = seed_of(rng)
        return seed, Drawing(self.terms, self._correlation, self.function).draws(seed)

    def _settled(self, goal: Goal, rng: RngLike) -> Simulation:
        seed, draws = self._draws(rng)
        end = settle(draws, goal)
        return Simulation(seed, np.sort(end.samples), goal.coverage, end.tolerance, end.settled)

    @cached_property
    def _correlation(self) -> Array:
        return correlation_matrix(self.terms, self.correlations)

    @cached_property
    def _nearby(self) -> Nearby:
        return Nearby(self.terms, self._correlation, {} if self.plane else self.coefficients, self.nominal, self.plane)

    def _factors(self, factors: PerTerm | None) -> Array:
        return per_term({} if factors is None else factors, self.terms, inflation_factors(self.terms))

    def _refuse_plane(self, asked: str) -> None:
        if self.plane:
            hint = "along(angle) for one direction, or monte_carlo() for the length"
            raise StackError(f"a stack of single numbers for {asked}", "the length of a sum in the plane", hint)
