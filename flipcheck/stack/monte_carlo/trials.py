"""Monte Carlo of one quantity: draws of a stack, block by block, and what they amount to."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from flipcheck.errors import StackError
from flipcheck.stack import coverage as intervals
from flipcheck.stack.first_order import NO_VALUE
from flipcheck.stack.intervals import Chance, wilson
from flipcheck.stack.monte_carlo.streams import BLOCK, stream
from flipcheck.stack.sources import Life, Source
from flipcheck.stack.spreads import Circle, Normal

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from flipcheck.stack.coverage import Interval
    from flipcheck.stack.terms import Term

    Array = NDArray[np.float64]

#: Trials of each block whose value is worked out one by one too, to see whether a function is right about arrays.
_TRIED = 3


@dataclass(frozen=True, eq=False)
class Simulation:
    """What a Monte Carlo simulation of one quantity gave (JCGM 101:2008, 7.6 and 7.7).

    Attributes
    ----------
    seed: What it was seeded with.
    samples: Every value drawn, sorted, read-only, shape (trials,); 8 bytes each stay in memory.
    coverage: Share that its intervals hold.
    tolerance: What an adaptive run had to settle within; None for a run of a given length.
    settled: Whether it did before its ceiling; None for a run of a given length.
    """

    seed: int
    samples: Array
    coverage: float
    tolerance: float | None = None
    settled: bool | None = None

    def __post_init__(self) -> None:
        self.samples.flags.writeable = False

    def __repr__(self) -> str:
        return f"Simulation({self.trials} trials, seed {self.seed}: {self.mean:.6g}, u {self.u:.3g})"

    @property
    def trials(self) -> int:
        """How many values were drawn."""
        return len(self.samples)

    @cached_property
    def mean(self) -> float:
        """Average of the draws."""
        return float(self.samples.mean())

    @cached_property
    def u(self) -> float:
        """Standard deviation of the draws (divisor: trials less one)."""
        return float(self.samples.std(ddof=1)) if self.trials > 1 else math.nan

    @property
    def error(self) -> float:
        """Standard error of the mean by the number of trials, u / sqrt(trials)."""
        return self.u / math.sqrt(self.trials)

    @cached_property
    def symmetric(self) -> Interval:
        """The probabilistically symmetric coverage interval."""
        return intervals.symmetric(self.samples, self.coverage)

    @cached_property
    def shortest(self) -> Interval:
        """The shortest coverage interval."""
        return intervals.shortest(self.samples, self.coverage)

    def quantile(self, share: float) -> float:
        """The value below which a share of the draws lies, linear between neighbours."""
        return float(np.quantile(self.samples, share))

    def chance(self, low: float = -math.inf, high: float = math.inf) -> Chance:
        """The share of the draws from `low` to `high`, with the interval of that count."""
        first = np.searchsorted(self.samples, low, side="left")
        last = np.searchsorted(self.samples, high, side="right")
        return wilson(max(int(last - first), 0), self.trials)


class Drawing:
    """A stack made ready to be drawn.

    Parameters
    ----------
    terms: Its terms.
    correlation: Their correlation matrix, shape (terms, terms).
    function: What becomes of their values; None where they add up by their coefficients.

    Raises
    ------
    StackError: for a correlation with a term that is not normal.
    """

    def __init__(self, terms: Sequence[Term], correlation: Array, function: Callable[..., Any] | None) -> None:
        self._terms, self._function = terms, function
        self._tied = [i for i in range(len(terms)) if np.count_nonzero(correlation[i]) > 1]
        for i in self._tied:
            if not isinstance(terms[i].spread, Normal):
                needed = "normal terms where they are correlated (of others, the coefficient does not tell all)"
                came = f"{terms[i].name!r}, {type(terms[i].spread).__name__}"
                raise StackError(needed, came, "first_order(), or a common term instead of a correlation")
        self._lower = _lower(correlation[np.ix_(self._tied, self._tied)])

    def draws(self, seed: int) -> Iterator[Array]:
        """Block after block of values, each of shape (BLOCK,), without end."""
        block = 0
        while True:
            rows = self._rows(seed, block)
            yield self._added(rows) if self._function is None else self._computed(self._function, rows)
            block += 1

    def _rows(self, seed: int, block: int) -> list[Array]:
        """Draws of each term about its nominal, each of shape (rows, BLOCK)."""
        rows = []
        for i, term in enumerate(self._terms):
            circle = isinstance(term.spread, Circle)
            source = Source(
                term.name, "", Normal(1.0) if i in self._tied else term.spread, Life.CUT, 2 if circle else 1
            )
            drawn = np.empty((source.rows, BLOCK))
            source.fill(stream(seed, source.key, block), drawn)
            rows.append(drawn)
        alone = [rows[i][0] for i in self._tied]
        for i, weights in zip(self._tied, self._lower, strict=True):
            mixed = np.zeros(BLOCK)
            for weight, row in zip(weights, alone, strict=True):
                if weight:
                    mixed += weight * row
            rows[i] = (self._terms[i].spread.mean + self._terms[i].spread.std * mixed)[None]
        return rows

    def _added(self, rows: list[Array]) -> Array:
        """The sum of a chain, or the length of a sum in the plane."""
        axes = max(2 if isinstance(t.spread, Circle) else np.size(t.coefficient) for t in self._terms)
        total = np.zeros((axes, BLOCK))
        for term, row in zip(self._terms, rows, strict=True):
            row += term.nominal
            total += np.reshape(term.coefficient, (-1, 1)) * row
        return total[0] if axes == 1 else np.hypot(*total)

    def _computed(self, function: Callable[..., Any], rows: list[Array]) -> Array:
        inputs: dict[str, Array | float] = {}
        for term, row in zip(self._terms, rows, strict=True):
            inputs[term.name] = term.mean if term.spread.std == 0.0 else row[0] + term.nominal
        return _evaluate(function, inputs)


def collect(draws: Iterator[Array], trials: int) -> Array:
    """The first `trials` values, unsorted; a longer run begins with a shorter one.

    Raises
    ------
    StackError: for fewer than one trial.
    """
    if trials < 1:
        raise StackError("at least 1 trial", str(trials))
    out, filled = np.empty(trials), 0
    while filled < trials:
        block = next(draws)[: trials - filled]
        out[filled : filled + len(block)] = block
        filled += len(block)
    return out


def _lower(correlation: Array) -> Array:
    """The lower triangle L with L L' = correlation, which may be singular (Cholesky)."""
    lower = np.zeros_like(correlation)
    for j in range(len(lower)):
        left = correlation[j:, j] - lower[j:, :j] @ lower[j, :j]
        if left[0] > 1e-12:
            lower[j:, j] = left / math.sqrt(left[0])
    return lower


def _evaluate(function: Callable[..., Any], inputs: Mapping[str, Array | float]) -> Array:
    """The function of whole arrays, or, where it cannot take them or gets them wrong, one trial after another."""

    def trial(i: int) -> dict[str, float]:
        return {name: value if isinstance(value, float) else float(value[i]) for name, value in inputs.items()}

    def one(i: int) -> float:
        try:
            return float(function(**trial(i)))
        except NO_VALUE as error:
            raise _no_value(trial(i), str(error)) from error

    with np.errstate(all="ignore"):
        few = [one(i) for i in range(_TRIED)]
        try:
            found = np.asarray(function(**inputs), dtype=float)
        except (TypeError, ValueError, AttributeError):
            found = np.empty(0)
        if found.shape != (BLOCK,) or not np.abs(found[:_TRIED] - few).max() <= 1e-6 * np.ptp(found):
            found = np.array([one(i) for i in range(BLOCK)])
    bad = ~np.isfinite(found)
    if bad.any():
        raise _no_value(trial(int(np.argmax(bad))), f"{np.count_nonzero(bad)} of {BLOCK} without one")
    return found


def _no_value(inputs: Mapping[str, float], came: str) -> StackError:
    given = ", ".join(f"{name} = {value:.6g}" for name, value in inputs.items())
    return StackError(f"a value of the function in every trial, as at {given}", came)
