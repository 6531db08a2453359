"""Which normal errors act on one measure only, so that their part of its chance needs no drawing.

Such are the scatter of a hole's own two cuts, or the unevenness of the bed under one web. Given everything else, the
chance that a distance with normal scatter of its own stays within its limit is known in closed form (see `rice`).
It is done only where it is exact: the scatter is normal, the same along both axes, and touches no other measure.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.measures import Band, Largest, Radius
from flipcheck.stack.spreads import Normal

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.stack.linear import LinearModel
    from flipcheck.stack.measures import Measure

    Array = NDArray[np.float64]

#: Variances that differ by less than this share of themselves are the same.
_SAME = 1e-9


@dataclass(frozen=True, eq=False)
class OwnScatter:
    """How the sources of a model are to be treated.

    Attributes
    ----------
    known: Places of the sources whose scatter is worked out rather than drawn.
    alone: Places of the other sources that act on one measure, or none, only.
    stds: Standard deviation, along each axis, of what is worked out for each measure, shape (Q,).
    variances: The variance that the sources worked out give to each output, shape (M,).
    """

    known: frozenset[int]
    alone: frozenset[int]
    stds: Array
    variances: Array

    def acts_alone(self, place: int) -> bool:
        """Whether the source at that place acts on one measure, or none, only."""
        return place in self.known or place in self.alone


def own_scatter(model: LinearModel) -> OwnScatter:
    """Sort the sources of a model."""
    looks = [rows_of(measure) for measure in model.measures]
    alone: dict[int, int | None] = {}
    for place, rows in enumerate(model.source_rows):
        forms = [contact.forms[:, rows] for contact in model.contacts]
        if np.any(model.shared[:, rows]) or any(np.any(form) for form in forms):
            continue
        outputs = set(np.flatnonzero(np.any(model.own[:, rows] != 0.0, axis=1)).tolist())
        touched = [q for q, look in enumerate(looks) if outputs & look]
        if len(touched) <= 1:
            alone[place] = touched[0] if touched else None
    stds, known = np.zeros(len(model.measures)), set()
    for q, measure in enumerate(model.measures):
        own = [i for i, to in alone.items() if to == q and _can_be_known(model, i, measure)]
        covariance = _covariance(model, own)
        std = _even_std(measure, covariance)
        if std:
            stds[q] = std
            known.update(own)
    variances = np.diag(_covariance(model, sorted(known)))
    return OwnScatter(frozenset(known), frozenset(alone) - known, stds, variances)


def rows_of(measure: Measure) -> set[int]:
    """The outputs that a measure looks at."""
    if isinstance(measure, Radius):
        return {measure.x, measure.y} | ({measure.slack} if measure.slack is not None else set())
    if isinstance(measure, Largest):
        return set(measure.rows)
    return {measure.row} if isinstance(measure, Band) else set()


def _can_be_known(model: LinearModel, place: int, measure: Measure) -> bool:
    """Whether a source is normal and leaves the limit itself alone."""
    slack = measure.slack if isinstance(measure, Radius) else None
    moves_limit = slack is not None and bool(np.any(model.own[slack, model.source_rows[place]]))
    return isinstance(model.sources[place].spread, Normal) and not moves_limit


def _covariance(model: LinearModel, places: list[int]) -> Array:
    """Covariance that some sources give to the outputs, shape (M, M)."""
    columns = model.rows_of(places)
    effect = model.own[:, columns] * model.stds[columns]
    return effect @ effect.T


def _even_std(measure: Measure, covariance: Array) -> float:
    """The standard deviation along each axis that the measure looks along; 0 where it is not the same, or unknown."""
    if isinstance(measure, Radius):
        xx, yy, xy = (covariance[i, j] for i, j in ((measure.x,) * 2, (measure.y,) * 2, (measure.x, measure.y)))
        even = abs(xx - yy) <= _SAME * xx and abs(xy) <= _SAME * xx
        return float(np.sqrt(xx)) if even else 0.0
    if isinstance(measure, Band):
        return float(np.sqrt(covariance[measure.row, measure.row]))
    if isinstance(measure, Largest) and len(measure.rows) == 1:
        return float(np.sqrt(covariance[measure.rows[0], measure.rows[0]]))
    return 0.0
