"""A stack near its mean: the terms as sources of a linear model with one output, or with x and y."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.errors import StackError
from flipcheck.stack import methods
from flipcheck.stack.linear import LinearModel
from flipcheck.stack.measures import Radius
from flipcheck.stack.sources import Life, Source
from flipcheck.stack.spreads import Arcsine, Circle
from flipcheck.stack.worst_case import directions

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from flipcheck.stack.methods import Adding, Limits
    from flipcheck.stack.terms import Term

    Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Nearby:
    """Terms, what one unit of each does, and where they end up on average.

    Attributes
    ----------
    terms: The terms of the stack.
    correlation: Their correlation matrix, shape (terms, terms).
    coefficients: Of each term what one unit does, by name; in the plane the terms know it themselves.
    nominal: The result at the mean of every term.
    plane: Whether the terms add up to x and y.
    """

    terms: Sequence[Term]
    correlation: Array
    coefficients: Mapping[str, float]
    nominal: float
    plane: bool

    @cached_property
    def model(self) -> LinearModel:
        """One row a term, and two a circle; without what it has to itself, the centre is at nothing."""
        sources, columns = [], []
        for term in self.terms:
            circle = isinstance(term.spread, Circle)
            sources.append(Source(term.name, "", term.spread, Life.CUT, 2 if circle else 1))
            if not self.plane:
                columns.append(np.array([[self.coefficients[term.name]]]))
            elif circle:
                columns.append(np.eye(2) * term.coefficient)
            else:
                columns.append(np.reshape(term.coefficient, (2, 1)))
        own = np.hstack(columns)
        shared, mix = np.zeros((0, own.shape[1])), np.zeros((len(own), 0))
        return LinearModel("stack", tuple(sources), (), shared, mix, own, np.zeros(len(own)), ())

    @cached_property
    def middle(self) -> Array:
        """Mean of the result, shape (1,), or (2,) in the plane."""
        return middle(self.terms, axes=2) if self.plane else np.array([self.nominal])

    @cached_property
    def covariance(self) -> Array:
        """Covariance of the result, shape (1, 1), or (2, 2) in the plane.

        Raises
        ------
        StackError: if a term has no finite standard deviation.
        """
        model = self.model
        self._refuse_infinite()
        correlation = np.eye(len(model.stds))
        first_rows = [rows.start for rows in model.source_rows]
        correlation[np.ix_(first_rows, first_rows)] = self.correlation
        parts = model.coefficients * model.stds
        return parts @ correlation @ parts.T

    @property
    def std(self) -> float:
        """Standard deviation of a result that is a single number."""
        return math.sqrt(max(float(self.covariance[0, 0]), 0.0))

    def limits(self, adding: Adding) -> Limits:
        """The ends by one of the classic methods.

        Raises
        ------
        StackError: if a term has no finite standard deviation, and so no bound.
        """
        self._refuse_infinite()
        weights, nominal = np.eye(1), self.nominal
        if self.plane:
            (_, weights), nominal = directions(Radius(0, 1, math.inf)), math.hypot(*self.middle)
            if nominal:
                weights = np.vstack([weights, self.middle / nominal])
        widths = self.model.half_widths(weights @ self.model.coefficients, "bound")
        return methods.limits(adding, weights @ self.middle, widths, nominal, plane=self.plane)

    def _refuse_infinite(self) -> None:
        for term in self.terms:
            if not math.isfinite(term.spread.std):
                needed = f"a finite standard deviation of {term.name!r}"
                raise StackError(needed, "an infinite one, as of 2 degrees of freedom or fewer")


def middle(terms: Sequence[Term], axes: int) -> Array:
    """Where terms add up to on average, shape (axes,)."""
    moved = [np.broadcast_to(term.coefficient, axes) * term.mean for term in terms]
    return np.array([math.fsum(axis) for axis in zip(*moved, strict=True)])


def projected(term: Term, towards: tuple[float, float]) -> Term:
    """What a term of the plane is towards a direction of unit length."""
    if isinstance(term.spread, Circle):
        return replace(term, spread=Arcsine(term.spread.radius))
    return replace(term, coefficient=float(np.dot(term.coefficient, towards)))
