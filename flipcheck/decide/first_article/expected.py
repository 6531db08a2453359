"""What a job expects of the readings: what lasts with the machine, what is new with every part, and how both are seen.

A *field* here is six numbers: for the mismatch in x and in y a constant, a slope along x and a slope along y (1/mm), in
the axes of the blank.

Letters for shapes: M readings of one part, L rows of the sources that last.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.entries import OF_A_LOCATOR
from flipcheck.stack.monte_carlo.draws import Draws, Plan, sample
from flipcheck.stack.sources import Life
from flipcheck.stack.spreads import Exactly

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from flipcheck.flip.model import FlipModel
    from flipcheck.job.readings.records import Offset, Point
    from flipcheck.job.records import Job
    from flipcheck.stack.linear import LinearModel
    from flipcheck.stack.sources import Source

    Array = NDArray[np.float64]

#: Half a micrometre: no reading is better than this, whatever is said of it (common practice, no source).
_FINEST = 0.0005
#: How far a clearance is changed to see how a pushed blank follows it, mm.
_STEP = 1e-4
#: Where fewer blanks go on, of a block of trials, nothing can be said of their play.
_FEWEST_ON = 100


def seen_at(at: Point) -> Array:
    """What a field shows at a place, in x and in y, shape (2, 6)."""
    along = np.array([1.0, *at])
    return np.kron(np.eye(2), along)


@dataclass(frozen=True, eq=False)
class Expected:
    """What a job expects of the mismatch field.

    Attributes
    ----------
    mean: The field at the mean of every source, shape (6,).
    sources: The sources that last with the machine and act on the field, by their place in the model.
    rows: Their rows in the model, shape (L,).
    effect: What one unit of each row does to the field, shape (6, L).
    stds: Standard deviation of each row, shape (L,).
    scatter: Covariance of the field from part to part, shape (6, 6).
    cut: Variance of a mismatch by the scatter of its own two cuts, mm².
    """

    mean: Array
    sources: tuple[int, ...]
    rows: NDArray[np.intp]
    effect: Array
    stds: Array
    scatter: Array
    cut: float

    def field_covariance(self) -> Array:
        """Covariance of the field by what lasts, as the job has it, shape (6, 6)."""
        each = self.effect * self.stds
        return each @ each.T


def expected_of(job: Job, model: FlipModel, seed: int) -> Expected:
    """What a job expects by one method; where the blank has play, the poses are simulated."""
    linear = model.linear
    effect = _effects(linear)
    acts = np.abs(effect).max(axis=0, initial=0.0) > 1e-12
    lasting = [
        i
        for i, source in enumerate(linear.sources)
        if source.life is Life.MACHINE and source.spread.std and acts[linear.source_rows[i]].any()
    ]
    rows = linear.rows_of(lasting)
    mean, scatter = _drawn(linear, seed) if linear.contacts else _added(linear)
    return Expected(
        mean=mean,
        sources=tuple(lasting),
        rows=rows,
        effect=effect[:, rows],
        stds=linear.stds[rows],
        scatter=scatter,
        cut=2.0 * stroke_variance(job),
    )


def stroke_variance(job: Job) -> float:
    """Variance of the place of one cut along one axis, mm²."""
    return sum(spread.std**2 for spread in (job.errors.positioning, job.errors.lost_motion) if spread)


def readings_of(offsets: Sequence[Offset], expected: Expected) -> tuple[Array, Array, Array]:
    """The readings of one part.

    Returns
    -------
    How each sees the field (M, 6), the readings (M,), and the covariance that is expected of their scatter (M, M).
    """
    forms, values, own, cuts = [], [], [], []
    for offset in offsets:
        for axis, value in enumerate((offset.dx, offset.dy)):
            if value is not None:
                forms.append(seen_at(offset.at)[axis])
                values.append(value)
                own.append(max(offset.u or 0.0, _FINEST) ** 2)
                cuts.append((offset.cut, axis))
    seen = np.array(forms)
    number = {cut: i for i, cut in enumerate(dict.fromkeys(cuts))}
    which = np.array([number[cut] for cut in cuts])
    same_cut = which[:, None] == which
    return seen, np.array(values), seen @ expected.scatter @ seen.T + expected.cut * same_cut + np.diag(own)


def title_of(source: Source) -> str:
    """The cause that a source belongs to: what a person would look at."""
    return "locator_places" if source.name.startswith(OF_A_LOCATOR) else source.name


def _effects(linear: LinearModel) -> Array:
    """What one unit of each source row does to the field, itself and by where a pushed blank comes to lie."""
    effect = linear.shared[:, : linear.stds.size].copy()
    for contact, rows in zip(linear.contacts, linear.contact_rows, strict=True):
        at = contact.offsets + contact.forms @ linear.source_means
        lies = [contact.mean_pose(at + step) - contact.mean_pose(at - step) for step in _STEP * np.eye(len(at))]
        effect += linear.shared[:, rows] @ (np.array(lies).T / (2.0 * _STEP)) @ contact.forms
    return effect


def _added(linear: LinearModel) -> tuple[Array, Array]:
    """Mean of the field, and its covariance by what is new with every part."""
    new = np.repeat([s.life is not Life.MACHINE for s in linear.sources], [s.rows for s in linear.sources])
    each = linear.shared[:, new] * linear.stds[new]
    return linear.shared @ linear.means, each @ each.T


def _drawn(linear: LinearModel, seed: int) -> tuple[Array, Array]:
    """The same of blanks that have play, drawn with everything that lasts at its mean, of those that go on."""
    kept = [
        replace(source, spread=Exactly(source.spread.mean)) if source.life is Life.MACHINE else source
        for source in linear.sources
    ]
    rows = linear.shared.shape[1]
    field = replace(
        linear, sources=tuple(kept), mix=np.eye(6), own=np.zeros((6, rows)), centre=np.zeros(6), measures=()
    )
    fields, _, on = sample(Plan(field), Draws(seed, 0))
    if np.count_nonzero(on) < _FEWEST_ON:
        return _added(linear)
    return fields[:, on].mean(axis=1), np.cov(fields[:, on])
