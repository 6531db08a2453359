"""Exact chances of linear models, without any trials, from characteristic functions.

The characteristic function of a sum of independent errors is the product of theirs, each known in closed form. From it
the chance of a length or a distance follows by one integral; that of several at once is in `joint`.

Sources: J. Gil-Pelaez, Biometrika 38 (1951) 481-482 for one dimension (from memory); for the distance, the Hankel
transform of a radial density, derived here. Bessel functions by the trapezoidal rule over their integrals, which for a
period converges faster than any power.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.measures import Band, Largest, Measure, Radius
from flipcheck.stack.normal import density, gauss_legendre
from flipcheck.stack.quasi_monte_carlo.own_scatter import rows_of
from flipcheck.stack.spreads import Arcsine, Circle, Exactly, Normal, Trapezoid, Triangular, Uniform, WithQuantile

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from flipcheck.stack.linear import LinearModel
    from flipcheck.stack.spreads import Spread

    Array = NDArray[np.float64]

#: Directions over half a turn, and where the function is taken to have died away.
_DIRECTIONS, _NOTHING = 48, 1e-12
#: Standard deviations beyond which nothing is left.
_FAR = 12.0
#: Nodes of one panel of an integral, and the most panels before the answer is not worth the work.
_NODES, _PANELS = 32, 40
#: How often the reach of a quantile is halved: to a billionth of a standard deviation.
_HALVINGS = 35
#: Nodes of an uncertain limit, and how many standard deviations of it count.
_LIMITS, _REACH = 24, 7.0
#: Steps of the table of the Bessel function.
_PER_UNIT = 40


def chances(model: LinearModel) -> list[float | None]:
    """The exact chance of each measure of a model, one by one; None where there is none.

    There is none where the model has contacts, where a source has no characteristic function here, where a measure
    looks along several lines, or where too little of the scatter is smooth for the integral to end.
    """
    return [_chance(_seen(model, measure), measure) if has_function(model) else None for measure in model.measures]


def _seen(model: LinearModel, measure: Measure) -> LinearModel:
    """The model with those of its sources that a measure sees."""
    return model.only(model.acting(model.coefficients[sorted(rows_of(measure))]))


def has_function(model: LinearModel) -> bool:
    """Whether a model is linear throughout and the characteristic function of each of its sources is known here."""
    kinds = Normal | Uniform | Triangular | Arcsine | Trapezoid | Exactly | Circle
    return not model.contacts and all(isinstance(source.spread, kinds) for source in model.sources)


def _chance(model: LinearModel, measure: Measure) -> float | None:
    if isinstance(measure, Band):
        return _between(model, measure.row, measure.low, measure.high)
    if isinstance(measure, Largest) and len(measure.rows) == 1:
        return _between(model, measure.rows[0], -measure.limit, measure.limit)
    if isinstance(measure, Radius):
        return _in_circle(model, measure)
    return None


def _between(model: LinearModel, row: int, low: float, high: float) -> float | None:
    """P(low <= X <= high): the integral over t of the characteristic function times (sin - sin) / (pi t)."""
    effects, middle = model.coefficients[row], float(model.expected[row])
    std = math.sqrt(float(np.square(effects * model.stds).sum()))
    if not std:
        return float(low <= middle <= high)
    far = _farthest(model, effects, std)  # a bound beyond it, or open, would only make the integrand wilder
    low, high = max(low, middle - far), min(high, middle + far)
    if low >= high:
        return 0.0
    found = _weighed(model, effects, std, max(abs(low - middle), abs(high - middle)))
    if found is None:
        return None
    t, weighed = found
    return _share(float(weighed @ (np.sin((high - middle) * t) - np.sin((low - middle) * t))))


def quantile(model: LinearModel, row: int, share: float) -> float | None:
    """The value below which a share of an output lies; None where there is none, as for `chances`.

    It is sought where it must be: of a sum that is symmetric about its mean, at most 1 / (2 k^2) lies more than k
    standard deviations to one side (Chebyshev's inequality).
    """
    effects, middle = model.coefficients[row], float(model.expected[row])
    std = math.sqrt(float(np.square(effects * model.stds).sum())) if has_function(model) else math.nan
    if not std:
        return middle
    if math.isnan(std):
        return None
    reach = min(std / math.sqrt(2.0 * min(share, 1.0 - share)), _farthest(model, effects, std))
    found = _weighed(model, effects, std, reach)
    if found is None:
        return None
    t, weighed = found
    low, high = -reach, reach
    for _ in range(_HALVINGS):
        half = 0.5 * (low + high)
        low, high = (half, high) if 0.5 + float(weighed @ np.sin(half * t)) < share else (low, half)
    return middle + 0.5 * (low + high)


def _farthest(model: LinearModel, effects: Array, std: float) -> float:
    """How far from its mean a sum of the sources gets: beyond it nothing is left."""
    return min(_FAR * std, float(model.half_widths(effects[None], "reach").sum()))


def _weighed(model: LinearModel, effects: Array, std: float, reach: float) -> tuple[Array, Array] | None:
    """Nodes t and the function of a sum over pi t, weighed for an integral against waves as wild as sin(reach t)."""
    end = _end(lambda t: function(model, effects[None], t[:, None]), 1.0 / std)
    nodes = None if end is None else _panels(end, reach)
    if nodes is None:
        return None
    t, weights = nodes
    return t, weights * function(model, effects[None], t[:, None]) / (math.pi * t)


def _in_circle(model: LinearModel, measure: Radius) -> float | None:
    """P(|D| <= r) = r times the integral over k of J1(r k) times the mean of the function over all directions."""
    radii = _radii(model, measure)
    if radii is None:
        return None
    limits, shares = radii
    rows = [measure.x, measure.y]
    effects, middle = model.coefficients[rows], model.expected[rows]
    stds = np.sqrt(np.square(effects * model.stds).sum(axis=1))
    if not stds.any():
        return float(shares[np.hypot(*middle) <= limits].sum())
    # beyond this nothing is left, and a limit that far would only make the integrand wilder
    limits = np.minimum(limits, float(np.hypot(*middle)) + _FAR * float(np.hypot(*stds)))
    angles = (np.arange(_DIRECTIONS) + 0.5) * (math.pi / _DIRECTIONS)
    ways = np.column_stack([np.cos(angles), np.sin(angles)])

    def mean(k: Array) -> Array:
        at = (k[:, None, None] * ways).reshape(-1, 2)
        values = function(model, effects, at) * np.cos(at @ middle)
        return values.reshape(len(k), -1).mean(axis=1)

    def envelope(k: Array) -> Array:
        at = (k[:, None, None] * ways).reshape(-1, 2)
        return np.abs(function(model, effects, at)).reshape(len(k), -1).max(axis=1)

    end = _end(envelope, 1.0 / float(stds.max()))
    nodes = None if end is None else _panels(end, max(float(limits.max()), float(np.hypot(*middle))))
    if nodes is None:
        return None
    k, weights = nodes
    radial = weights * mean(k)
    limits = np.maximum(limits, 0.0)
    waves = np.outer(limits, k)
    inside = limits * ((_bessel(1, waves) if len(limits) == 1 else _bessel_of_many(waves, 1)) @ radial)
    return _share(float(inside @ shares))


def _radii(model: LinearModel, measure: Radius) -> tuple[Array, Array] | None:
    """The values that the limit may have and their shares; None where they are not known, or move the hole too.

    Only what lets the least hole pass counts: slack of at least `need`.
    """
    if measure.slack is None:
        return np.array([measure.limit]), np.ones(1)
    effects = model.coefficients[measure.slack]
    moves = effects * model.stds != 0.0
    if np.any(model.coefficients[[measure.x, measure.y]][:, moves]):
        return None
    std, middle = math.sqrt(float(np.square(effects * model.stds).sum())), float(model.expected[measure.slack])
    if not std:
        return np.array([measure.limit + middle]), np.array([float(middle >= measure.need)])
    who = [source for source, rows in zip(model.sources, model.source_rows, strict=True) if np.any(moves[rows])]
    if all(isinstance(source.spread, Normal) for source in who):
        return _normal_limits(measure, middle, std)
    spread = who[0].spread
    reach = float(np.abs(effects[moves]).sum()) * spread.reach
    if len(who) > 1 or moves.sum() > 1 or middle - reach < measure.need or not isinstance(spread, WithQuantile):
        return None
    nodes, weights = gauss_legendre(_LIMITS)
    off = spread.quantile(0.5 * (nodes + 1.0)) - spread.mean
    return measure.limit + middle + float(effects[moves][0]) * off, 0.5 * weights


def _normal_limits(measure: Radius, middle: float, std: float) -> tuple[Array, Array]:
    """The same for slack that is normal about `middle`."""
    low, high = max(-_REACH, (measure.need - middle) / std), _REACH
    if low >= high:
        return np.array([measure.limit]), np.zeros(1)
    nodes, weights = gauss_legendre(_LIMITS)
    z = 0.5 * (high - low) * (nodes + 1.0) + low
    return measure.limit + middle + std * z, 0.5 * (high - low) * weights * density(z)


def function(model: LinearModel, effects: Array, at: Array) -> Array:
    """Characteristic function of some sums of the sources about their means: real, since all sources are symmetric.

    Parameters
    ----------
    model: Whose sources.
    effects: What each source row does to each sum, shape (D, R).
    at: Where the function is wanted, shape (N, D).

    Returns
    -------
    Values, shape (N,).
    """
    normal, others = _kinds(model)
    together = effects[:, normal] * model.stds[normal]
    total = np.exp(-0.5 * np.einsum("nd,nd->n", at @ (together @ together.T), at))
    for spread, rows in others:
        if np.any(effects[:, rows]):
            total *= _of_source(spread, at @ effects[:, rows])
    return total


@lru_cache(maxsize=8)
def _kinds(model: LinearModel) -> tuple[NDArray[np.bool_], list[tuple[Spread | Circle, slice]]]:
    """Which source rows are normal, and the spreads of the others that scatter with their rows."""
    sources = list(zip(model.sources, model.source_rows, strict=True))
    normal = np.zeros(len(model.stds), dtype=bool)
    for source, rows in sources:
        normal[rows] = isinstance(source.spread, Normal)
    return normal, [(s.spread, rows) for s, rows in sources if not isinstance(s.spread, Normal | Exactly)]


def _of_source(spread: Spread | Circle, at: Array) -> Array:
    """Of one source with as many rows as `at`, shape (N, rows), has columns."""
    if isinstance(spread, Circle):
        return _bessel_of_many(spread.radius * np.sqrt(np.einsum("nr,nr->n", at, at)))
    total = np.ones(len(at))
    for column in at.T:
        if isinstance(spread, Uniform):
            total *= _sinc(spread.half * column)
        elif isinstance(spread, Triangular):
            total *= np.square(_sinc(0.5 * spread.half * column))
        elif isinstance(spread, Arcsine):
            total *= _bessel_of_many(spread.half * column)
        elif isinstance(spread, Trapezoid):
            flat, slope = 0.5 * (1.0 + spread.top), 0.5 * (1.0 - spread.top)
            total *= _sinc(spread.half * flat * column) * _sinc(spread.half * slope * column)
    return total


def _sinc(x: Array) -> Array:
    x = np.where(x == 0.0, 1e-20, x)
    return np.sin(x) / x


def _bessel(order: int, x: Array) -> Array:
    """Bessel function of the first kind of order 0 or 1, to 1e-13: the mean over half a turn of cos(n a - x sin a)."""
    count = 40 + math.ceil(float(np.max(np.abs(x), initial=0.0)))
    angles = (np.arange(count) + 0.5) * (math.pi / count)
    return np.cos(order * angles - np.multiply.outer(x, np.sin(angles))).mean(axis=-1)


def _bessel_of_many(x: Array, order: int = 0) -> Array:
    """The same for a large array, shape as given: cubics through a table of it and its slope, to 1e-9."""
    if not order:
        x = np.abs(x)
    reach = 2 ** max(5, math.ceil(math.log2(max(float(x.max(initial=0.0)), 1.0))))
    if x.size < reach:
        return _bessel(order, x)
    values, slopes, turns, bends = _bessel_table(order, reach)
    along = _PER_UNIT * x
    left = np.minimum(along.astype(np.intp), _PER_UNIT * reach - 1)
    along -= left
    found = bends[left]
    for column in (turns, slopes, values):
        found *= along
        found += column[left]
    return found


@lru_cache(maxsize=8)
def _bessel_table(order: int, reach: int) -> Array:
    """Coefficients of the cubics over the steps from 0 to `reach`, shape (4, steps), the lowest power first."""
    grid: Array = np.arange(_PER_UNIT * reach + 1.0) / _PER_UNIT
    zero, one = _bessel(0, grid), _bessel(1, grid)
    values, slopes = (one, zero - 0.5) if order else (zero, -one)
    if order:
        slopes[1:] = zero[1:] - one[1:] / grid[1:]
    slopes = slopes / _PER_UNIT
    rise = values[1:] - values[:-1]
    bend = slopes[:-1] + slopes[1:] - 2.0 * rise
    return np.array([values[:-1], slopes[:-1], rise - slopes[:-1] - bend, bend])


def _end(values: Callable[[Array], Array], start: float) -> float | None:
    """From where on a function of one variable is nothing; None where it is not within reach."""
    end = 4.0 * start
    for _ in range(10):
        if np.max(np.abs(values(np.linspace(end, 1.25 * end, 16)))) < _NOTHING:
            return end
        end *= 1.5
    return None


def _panels(end: float, wave: float) -> tuple[Array, Array] | None:
    """Nodes and weights over (0, end) for an integrand that swings as fast as sin(wave t)."""
    panels = max(2, math.ceil(end * wave / 20.0))
    if panels > _PANELS:
        return None
    nodes, weights = gauss_legendre(_NODES)
    width = end / panels
    starts = width * np.arange(panels)[:, None]
    return (starts + 0.5 * width * (nodes + 1.0)).ravel(), np.tile(0.5 * width * weights, panels)


def _share(value: float) -> float:
    return min(max(value, 0.0), 1.0)
