"""What a stack is made of: named terms, and how they are correlated."""

from __future__ import annotations

import inspect
import math
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

import numpy as np

from flipcheck.errors import StackError
from flipcheck.stack.rarer_spreads import StudentT
from flipcheck.stack.spreads import Circle, Exactly, Spread

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

    #: One number for every term, or one for each that is named.
    PerTerm = float | Mapping[str, float]


@dataclass(frozen=True)
class Term:
    """One length, or one error, of a stack.

    Attributes
    ----------
    name: What it is called; keys its random stream too.
    spread: Its scatter about `nominal`, with the mean of the spread as an offset.
    nominal: Its value as drawn.
    coefficient: What one unit of it does to the result: +1 or -1 in a chain; a pair (x, y) in a stack of the plane. A
        `Circle` fills the plane by itself and takes a single number there.
    dof: Degrees of freedom behind its standard deviation; infinite if that is simply known. `StudentT` brings its own.
    """

    name: str
    spread: Spread | Circle
    nominal: float = 0.0
    coefficient: float | tuple[float, float] = 1.0
    dof: float = math.inf

    def __post_init__(self) -> None:
        if not self.name:
            raise StackError("a name for every term", "an empty one")
        if not hasattr(self.spread, "bound"):
            raise StackError(f"a spread for term {self.name!r}, such as Uniform(0.1)", repr(self.spread))
        if np.size(self.coefficient) not in (1, 2):
            raise StackError(f"one coefficient or a pair of them in term {self.name!r}", str(self.coefficient))
        numbers = [self.nominal, self.spread.mean, *np.ravel(self.coefficient)]
        if not all(math.isfinite(number) for number in numbers):
            raise StackError(f"finite numbers in term {self.name!r}", ", ".join(f"{number:g}" for number in numbers))
        if self.spread.bound < 0.0 or self.spread.std < 0.0:
            raise StackError(f"a spread of 0 or more in term {self.name!r}", str(self.spread))
        if not self.dof >= 1.0:
            raise StackError(f"at least 1 degree of freedom in term {self.name!r}", f"{self.dof:g}")
        if isinstance(self.spread, Circle) and (self.nominal or np.size(self.coefficient) != 1):
            hint = "terms of their own for what it goes round"
            raise StackError(f"no nominal and a single coefficient for the circle {self.name!r}", str(self), hint)

    @property
    def in_plane(self) -> bool:
        """Whether it adds to x and y, and not to a single number."""
        return isinstance(self.spread, Circle) or np.size(self.coefficient) == 2

    @property
    def mean(self) -> float:
        """Where it lies on average."""
        return self.nominal + self.spread.mean

    @property
    def uncertainty(self) -> tuple[float, float]:
        """Its standard uncertainty in the sense of the GUM, and the degrees of freedom of that.

        Of a mean of few readings this is s / sqrt n with n - 1 degrees of freedom (JCGM 100:2008, 4.2), not the larger
        standard deviation of its t distribution: the GUM puts the difference into the coverage factor.
        """
        if isinstance(self.spread, StudentT):
            return self.spread.scale, min(self.dof, self.spread.dof)
        return self.spread.std, self.dof


def terms_of(
    function: Callable[..., Any], inputs: Mapping[str, Spread | float], dof: Mapping[str, float]
) -> tuple[Term, ...]:
    """The named inputs of a function as terms; a plain number is known exactly.

    Raises
    ------
    StackError: if the function does not take inputs of these names, or `dof` names another.
    """
    try:
        inspect.signature(function).bind(**inputs)
    except TypeError as error:
        raise StackError(f"a function of {', '.join(inputs) or 'named inputs'}", str(error)) from error
    except ValueError:
        pass  # some functions written in C do not tell; a wrong call will show
    spreads = {
        name: Exactly(float(given)) if isinstance(given, int | float | np.number) else given
        for name, given in inputs.items()
    }
    terms = tuple(Term(name, spread, dof=dof.get(name, math.inf)) for name, spread in spreads.items())
    check_known(dof, terms)
    return terms


def check_terms(terms: Sequence[Term], *, of_function: bool) -> None:
    """Refuse an empty stack, names given twice, and kinds of terms that do not fit together.

    Raises
    ------
    StackError: in any of these cases.
    """
    if not terms:
        raise StackError("at least one term", "none")
    names = [term.name for term in terms]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise StackError("a name of its own for every term", f"{twice[0]!r} {names.count(twice[0])} times")
    for term in terms:
        if of_function and (term.in_plane or term.coefficient != 1.0):
            raise StackError(f"a single number without a coefficient for {term.name!r} of a function", str(term))
        if not term.in_plane and any(other.in_plane for other in terms):
            raise StackError(f"a pair of coefficients for {term.name!r}, as others have", f"{term.coefficient:g}")


def check_known(names: Iterable[str], terms: Sequence[Term]) -> None:
    """Refuse names that no term has.

    Raises
    ------
    StackError: for the first of them, with the nearest name there is.
    """
    known = [term.name for term in terms]
    for name in names:
        if name not in known:
            near = get_close_matches(str(name), known, 1)
            raise StackError(f"the name of a term ({', '.join(known)})", repr(name), repr(near[0]) if near else "")


def correlation_matrix(terms: Sequence[Term], correlations: Mapping[tuple[str, str], float]) -> Array:
    """The correlation matrix of the terms, shape (terms, terms).

    Raises
    ------
    StackError: for an unknown name, a coefficient beyond ±1, a term with itself, or pairs that contradict each other.
    """
    places = {term.name: i for i, term in enumerate(terms)}
    matrix = np.eye(len(terms))
    for (a, b), r in correlations.items():
        check_known((a, b), terms)
        i, j = places[a], places[b]
        if i == j or (matrix[i, j] not in (0.0, r)):
            raise StackError("one correlation for each pair of different terms", f"a second for ({a!r}, {b!r})")
        if not -1.0 <= r <= 1.0:
            raise StackError(f"a correlation of {a!r} and {b!r} from -1 to 1", f"{r:g}")
        if isinstance(terms[i].spread, Circle) or isinstance(terms[j].spread, Circle):
            raise StackError("correlations between single numbers", f"({a!r}, {b!r}), one of them a circle")
        matrix[i, j] = matrix[j, i] = r
    if np.linalg.eigvalsh(matrix)[0] < -1e-10:
        raise StackError("correlations that can hold together", str(dict(correlations)))
    return matrix


def per_term(given: PerTerm, terms: Sequence[Term], otherwise: Sequence[float]) -> Array:
    """One number a term, shape (terms,): the same for all, or as named, with `otherwise` for those that are not.

    Raises
    ------
    StackError: for a name that no term has.
    """
    if not isinstance(given, Mapping):
        return np.full(len(terms), float(given))
    check_known(given, terms)
    return np.array([given.get(term.name, other) for term, other in zip(terms, otherwise, strict=True)])


def inflation_factors(terms: Sequence[Term]) -> list[float]:
    """3 sigma / T of each term (1 for one without tolerance): what makes T count as the 3 sigma of a normal one."""
    return [3.0 * term.spread.std / term.spread.bound if term.spread.bound else 1.0 for term in terms]
