"""Arithmetic worst case and root sum of squares of what a measure looks at.

Sources add by their bounds. Play on pins adds by its support function: the farthest that the poses allowed by the
clearance reach towards a direction. A radial worst case is the largest over all directions.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.linear import CONTACT_ROWS
from flipcheck.stack.measures import Band, Largest, Measure, Radius

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from flipcheck.stack.linear import LinearModel

    Array = NDArray[np.float64]

#: Directions tried around the circle: a step of a quarter degree misses at most 2.4e-6 of the largest.
_DIRECTIONS = 1440
#: Directions whose totals differ by less than this part are equally bad: rounding does not choose between them.
_TIE = 1e-9


@dataclass(frozen=True, eq=False)
class Bounds:
    """Worst case and root sum of squares of one measure.

    Attributes
    ----------
    worst: Largest deviation with every source at its bound, all in the worst sense.
    rss: Mean deviation plus root of the sum of the squared bounds, along the worst direction; of several that are
        equally bad the largest.
    places: Places in the model of the sources that act on the measure at all.
    sources: Deviation by each of these alone in each direction tried, shape (D, places).
    contacts: The same by the play of each contact, shape (D, contacts).
    """

    worst: float
    rss: float
    places: tuple[int, ...]
    sources: Array
    contacts: Array

    def by(self, places: Sequence[int]) -> float:
        """The largest deviation by some sources of the model together."""
        columns = [i for i, place in enumerate(self.places) if place in places]
        return float(self.sources[:, columns].sum(axis=1).max())


def bounds(model: LinearModel, measure: Measure) -> Bounds:
    """Worst case of one of the model's measures; of a `Band` the deviation from its centre."""
    outputs, weights = directions(measure)
    raw = raw_coefficients(model, outputs)
    places = model.acting(raw)
    acting = model.only(places)
    towards = weights @ raw[:, model.rows_of(places)]
    mean = towards @ acting.source_means
    if not isinstance(measure, Band):
        mean = mean + weights @ model.centre[outputs]
    sources = acting.half_widths(towards, "bound")
    plays = weights @ raw[:, model.stds.size :]
    highs = np.zeros((len(weights), len(model.contacts)))
    for i, contact in enumerate(model.contacts):
        alphas = plays[:, CONTACT_ROWS * i : CONTACT_ROWS * (i + 1)]
        highs[:, i] = contact.support(alphas, model.spans(contact, "bound"))
    lows = -np.roll(highs, len(highs) // 2, axis=0)
    middle, half = 0.5 * (highs + lows), 0.5 * (highs - lows)
    total = mean + sources.sum(axis=1) + highs.sum(axis=1)
    worst = float(total.max())
    at = np.flatnonzero(total >= worst - _TIE * abs(worst))
    squares = np.square(acting.draw_widths(towards[at], "bound")).sum(axis=1) + np.square(half[at]).sum(axis=1)
    return Bounds(
        worst=worst,
        rss=float(np.max(mean[at] + middle[at].sum(axis=1) + np.sqrt(squares))),
        places=tuple(places),
        sources=sources,
        contacts=highs,
    )


def directions(measure: Measure, around: int = _DIRECTIONS) -> tuple[list[int], Array]:
    """The outputs that a measure looks at, and the combinations of them whose largest value it is.

    These have the shape (D, outputs); around a circle there are `around` of them, an even number. The opposite of each
    stands half of them further on.
    """
    if isinstance(measure, Radius):
        angles = np.arange(around) * (2.0 * np.pi / around)
        return [measure.x, measure.y], np.column_stack([np.cos(angles), np.sin(angles)])
    rows = list(measure.rows) if isinstance(measure, Largest) else [measure.row] if isinstance(measure, Band) else []
    weights = np.eye(len(rows))
    return rows, np.concatenate([weights, -weights])


def raw_coefficients(model: LinearModel, outputs: list[int]) -> Array:
    """Coefficients with what the sources carry along of each pose counted as theirs, shape (outputs, R)."""
    raw = model.coefficients[outputs]
    for contact, rows in zip(model.contacts, model.contact_rows, strict=True):
        raw[:, : contact.forms.shape[1]] += raw[:, rows] @ contact.carried @ contact.forms
    return raw


def pose_reach(model: LinearModel, towards: Array) -> Array:
    """How far the play of all contacts carries combinations of outputs, rows of `towards` (D, R), off their mean."""
    reach = np.zeros(len(towards))
    for contact, rows in zip(model.contacts, model.contact_rows, strict=True):
        spans, alphas = model.spans(contact, "reach"), towards[:, rows]
        low, high = spans(alphas @ contact.carried)
        mean = alphas @ model.means[rows]
        reach += np.maximum(contact.support(alphas, spans) + high - mean, contact.support(-alphas, spans) - low + mean)
    return reach
