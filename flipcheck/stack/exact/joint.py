"""The exact chance that a linear model passes all its measures, where they share few sums.

Given what the measures share, each passes on its own with a chance known from its own scatter (`conditional`).
What they share is a point in at most three dimensions, and its density is the Fourier transform of its characteristic
function. So the chance is one sum over a grid, exact to far better than any trials.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.exact.characteristic import chances, function, has_function
from flipcheck.stack.quasi_monte_carlo.conditional import conditional
from flipcheck.stack.quasi_monte_carlo.draws import factor
from flipcheck.stack.quasi_monte_carlo.own_scatter import own_scatter, rows_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.stack.linear import LinearModel
    from flipcheck.stack.quasi_monte_carlo.own_scatter import OwnScatter

    Array = NDArray[np.float64]

#: How far the grid reaches, in standard deviations of each shared sum.
_REACH = 7.0
#: Points along each side, tried in turn, by the number of dimensions.
_SIDES = {1: (128, 512, 2048), 2: (64, 128, 256), 3: (48, 64)}
#: What the characteristic function may be at the edge, and how far from 1 the density may add up.
_EDGE, _WHOLE = 1e-8, 1e-6
#: Cells with less than this are left out (all of them together hold less than 1e-8), and how many are summed at a time.
_EMPTY, _CELLS = 1e-13, 8192


def exact(model: LinearModel) -> tuple[float | None, list[float | None]]:
    """The exact chance that all measures are passed, and that of each (`characteristic.chances`); None for none.

    There is none of all where a model is not linear throughout, where several measures share more than three sums, or
    where one of these has scatter of its own that is not normal.
    """
    alone = chances(model)
    if not has_function(model):
        return None, alone
    scatter, total = own_scatter(model), 1.0
    for group in _groups(model, scatter):
        share = alone[group[0]] if len(group) == 1 else _together(model, scatter, group)
        if share is None:
            return None, alone
        total *= share
    return total, alone


def _groups(model: LinearModel, scatter: OwnScatter) -> list[list[int]]:
    """Measures that share a source, however indirectly, belong together."""
    groups: list[tuple[set[int], list[int]]] = []
    for q, measure in enumerate(model.measures):
        moves = np.any(model.coefficients[sorted(rows_of(measure))] * model.stds, axis=0)
        sources = {i for i, rows in enumerate(model.source_rows) if np.any(moves[rows])} - scatter.known
        members = [q]
        for group in [group for group in groups if group[0] & sources]:
            groups.remove(group)
            sources |= group[0]
            members = group[1] + members
        groups.append((sources, members))
    return [members for _, members in groups]


def _together(model: LinearModel, scatter: OwnScatter, group: list[int]) -> float | None:
    """The chance of passing several measures."""
    if not all(scatter.stds[q] for q in group):
        return None
    drawn = np.ones(len(model.stds), dtype=bool)
    for i in scatter.known:
        drawn[model.source_rows[i]] = False
    looked = sorted(set().union(*(rows_of(model.measures[q]) for q in group)))
    effects = model.coefficients[looked] * drawn
    axes = factor(effects * model.stds)
    dimensions = axes.shape[1]
    if not 1 <= dimensions <= 3:
        return None
    # the unit sums w with effects @ rows = axes @ w, as sums of the rows themselves
    unit: Array = np.linalg.lstsq(axes, effects, rcond=None)[0].astype(float, copy=False)
    for side in _SIDES[dimensions]:
        density = _density(model, unit, side)
        if density is not None:
            return _sum(model, scatter, group, dict(zip(looked, axes, strict=True)), density)
    return None


def _density(model: LinearModel, unit: Array, side: int) -> Array | None:
    """Probability of each cell of the grid, shape (side,) * dimensions; None where so few points do not do."""
    dimensions = len(unit)
    steps: Array = (np.fft.fftfreq(side, 1.0 / side) * (math.pi / _REACH)).astype(float)

    def values_at(*axes: Array) -> Array:
        at = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
        return function(model, unit, at.reshape(-1, dimensions)).reshape(at.shape[:-1])

    for axis in range(dimensions):
        edge = values_at(*(steps[side // 2, None] if i == axis else steps for i in range(dimensions)))
        if np.abs(edge).max() > _EDGE:
            return None
    # the function is even, so half of the last axis tells the other half
    values = values_at(*[steps] * (dimensions - 1), steps[: side // 2 + 1])
    density = np.fft.fftshift(np.fft.irfftn(values, (side,) * dimensions, range(dimensions)))
    return density if abs(density.sum() - 1.0) < _WHOLE else None


def _sum(model: LinearModel, scatter: OwnScatter, group: list[int], axes: dict[int, Array], density: Array) -> float:
    """The density times the chance of passing all, summed over the grid."""
    side, total = len(density), 0.0
    places = (np.arange(side) - side // 2) * (2.0 * _REACH / side)
    asks = [conditional(model, model.measures[q], float(scatter.stds[q])) for q in group]
    cells = np.flatnonzero(density > _EMPTY)
    for some in np.split(cells, range(_CELLS, len(cells), _CELLS)):
        grid = places[np.array(np.unravel_index(some, density.shape))]
        outputs = np.zeros((len(model.centre), len(some)))
        for row, axis in axes.items():
            outputs[row] = model.expected[row] + axis @ grid
        passes = density.ravel()[some]
        for ask in asks:
            passes *= ask.passes(ask.measure.value(outputs), outputs)
        total += float(passes.sum())
    return min(max(total, 0.0), 1.0)
