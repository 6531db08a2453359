"""Arithmetic worst case and root sum of squares of what a measure looks at.

Sources add by their bounds. Play on pins adds by its support function: the farthest that the poses allowed by the
clearance reach towards a direction. A radial worst case is the largest over all directions.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.contact.two_pins import Hang, TwoPins
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
#: Places tried along the play of the first hole: a loss of about 1e-5 at most.
_PLACES = 721


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
    lows, highs = _contact_ends(model, weights @ raw[:, model.stds.size :])
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

    These have the shape (D, outputs); around a circle there are `around` of them.
    """
    if isinstance(measure, Radius):
        angles = np.arange(around) * (2.0 * np.pi / around)
        return [measure.x, measure.y], np.column_stack([np.cos(angles), np.sin(angles)])
    rows = list(measure.rows) if isinstance(measure, Largest) else [measure.row] if isinstance(measure, Band) else []
    weights = np.eye(len(rows))
    return rows, np.concatenate([weights, -weights])


def raw_coefficients(model: LinearModel, outputs: list[int]) -> Array:
    """Coefficients with the first row of each contact on two pins counted from the pin itself, shape (outputs, R)."""
    raw = model.coefficients[outputs]
    for contact, rows in zip(model.contacts, model.contact_rows, strict=True):
        if isinstance(contact, TwoPins):
            along = raw[:, rows.start]
            raw[:, : len(contact.pitch)] += contact.follow * along[:, None] * contact.pitch
    return raw


def _contact_ends(model: LinearModel, towards: Array) -> tuple[Array, Array]:
    """Lowest and highest value of each contact's play in each direction, two arrays of shape (D, contacts).

    `towards`: what the rows of the contacts do, shape (D, 3 C).
    """
    lows, highs = np.zeros((2, len(towards), len(model.contacts)))
    for i, contact in enumerate(model.contacts):
        alphas = towards[:, CONTACT_ROWS * i : CONTACT_ROWS * (i + 1)]
        if isinstance(contact, TwoPins):
            ends = model.extremes(contact, "bound")
            highs[:, i] = _support(contact, alphas, *ends)
            # what is not pushed reaches as far on either side
            lows[:, i] = -_support(contact, -alphas, *ends) if contact.push else -highs[:, i]
        else:
            spans = model.spans(contact, "bound")
            highs[:, i], lows[:, i] = contact.support(alphas, spans), -contact.support(-alphas, spans)
    return lows, highs


def _support(
    contact: TwoPins, alphas: Array, first: tuple[float, float], second: tuple[float, float], pitch: float
) -> Array:
    """Largest value of alphas @ (d_1u, d_1n, d_2n) over the play, shape (D,), for alphas of shape (D, 3)."""
    if contact.push:
        return _pushed_support(contact, alphas, first, second, pitch)
    c1, c2 = first[1], second[1]
    farthest = min(c1, c2 + pitch)
    # the play is the same on either side along every axis: one quarter of it tells all
    u = farthest * np.sin(np.linspace(0.0, 0.5 * np.pi, _PLACES // 2 + 1))
    across_1 = np.sqrt(np.maximum(c1 * c1 - u * u, 0.0))
    across_2 = np.sqrt(np.maximum(c2 * c2 - np.maximum(u - pitch, 0.0) ** 2, 0.0))
    return (np.abs(alphas) @ np.array([u, across_1, across_2])).max(axis=1)


def _pushed_support(
    contact: TwoPins, alphas: Array, first: tuple[float, float], second: tuple[float, float], pitch: float
) -> Array:
    """The same when pushed until both pins touch: d_1u = -c_1 sin a, d_in = +-c_i cos a, sin a = p / (c_1 + c_2)."""
    sines = np.zeros(1)
    if contact.hang is not Hang.SLOT and pitch:
        sums = np.add.outer(first, second).ravel()
        leans = np.divide(pitch, sums, out=np.ones(4), where=sums > pitch)  # where each corner begins to be cut off
        sines = np.sin(np.arcsin(leans[0]) * np.linspace(-1.0, 1.0, _PLACES))
        sines = np.concatenate([sines, leans, -leans])
    most = np.divide(pitch, np.abs(sines), out=np.full(len(sines), np.inf), where=sines != 0.0)
    cosines = contact.push * np.sqrt(1.0 - sines * sines)
    # at one angle a form is linear in the clearances, so it is largest at a corner of those that allow the angle: of
    # the rectangle of both, cut off at c_1 + c_2 = p / sin a
    up_first, up_second = np.clip(most - second[0], *first), np.clip(most - first[0], *second)
    corners = [
        (first[0], second[0]),
        (up_first, second[0]),
        (first[0], up_second),
        (up_first, np.clip(most - up_first, *second)),
        (np.clip(most - up_second, *first), up_second),
    ]
    poses = [np.array([-c1 * sines, c1 * cosines, c2 * cosines]) for c1, c2 in corners]
    return np.max([np.max(alphas @ pose, axis=1) for pose in poses], axis=0)


def pose_reach(model: LinearModel, towards: Array) -> Array:
    """How far the play of all contacts carries combinations of outputs, rows of `towards` (D, R), off their mean."""
    reach = np.zeros(len(towards))
    for contact, rows in zip(model.contacts, model.contact_rows, strict=True):
        if not isinstance(contact, TwoPins):
            spans, alphas, mean = model.spans(contact, "reach"), towards[:, rows], towards[:, rows] @ model.means[rows]
            reach += np.maximum(contact.support(alphas, spans) - mean, contact.support(-alphas, spans) + mean)
            continue
        first, second, _ = model.extremes(contact, "reach")
        # the first row is shifted by a share of the pitch error, which is at most the sum of both clearances
        farthest = np.array([2.0 * first[1] + second[1], 2.0 * first[1], 2.0 * second[1]])
        reach += np.abs(towards[:, rows]) @ farthest
    return reach
