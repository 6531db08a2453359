"""From what was drawn to what it means: the estimates of a run become results, pair by pair."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.decide.results import Distribution, MethodResult, Moments, PairResult, StackEntry
from flipcheck.flip.after_flip import AfterFlip, after_flip
from flipcheck.flip.lever import Lever, lever
from flipcheck.job.records import WebPair
from flipcheck.stack.exact.joint import exact
from flipcheck.stack.measures import Band, Largest, Radius
from flipcheck.stack.radial import normal_between, normal_in_circle
from flipcheck.stack.sources import Life
from flipcheck.stack.worst_case import bounds

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.flip.model import FlipModel
    from flipcheck.flip.targets import Target
    from flipcheck.job.records import Job
    from flipcheck.stack.estimate import Estimate
    from flipcheck.stack.worst_case import Bounds

    Array = NDArray[np.float64]
    #: Names of sources, and where those of each stand in the model.
    Groups = dict[str, list[int]]

_DISTANCE_QUANTILES = {"p50": 0.50, "p95": 0.95, "p99": 0.99}
_WEB_QUANTILES = {"p01": 0.01, "p05": 0.05, "p95": 0.95, "p99": 0.99}


def judge(job: Job, model: FlipModel, estimate: Estimate) -> MethodResult:
    """The result of one method."""
    method = model.method
    exact_of_all, exact_of_each = exact(model.linear)
    groups = _groups(model)
    return MethodResult(
        name=method.name,
        kind=method.kind,
        minutes=method.minutes,
        goes_on=estimate.goes_on,
        chance=estimate.chance,
        pairs=tuple(_pair(job, model, estimate, groups, q, alone) for q, alone in enumerate(exact_of_each)),
        exact=exact_of_all,
    )


def _pair(job: Job, model: FlipModel, estimate: Estimate, groups: Groups, q: int, alone: float | None) -> PairResult:
    target = model.targets[q]
    pair = target.pair
    is_web = isinstance(pair, WebPair)
    wanted = _WEB_QUANTILES if is_web else _DISTANCE_QUANTILES
    quantiles = {name: estimate.quantile(q, share) for name, share in wanted.items()}
    distribution = Distribution(*estimate.value(q), quantiles)
    limits = bounds(model.linear, target.measure)
    stack = _Stack(job, model, estimate, target)
    return PairResult(
        name=pair.name,
        kind=pair.kind,
        allowed=target.allowed,
        min_web=_finite(pair.limits[0]) if isinstance(pair, WebPair) else None,
        max_web=_finite(pair.limits[1]) if isinstance(pair, WebPair) else None,
        chance=estimate.passed(q),
        at=target.at,
        x=_output(estimate, target.x),
        y=_output(estimate, target.y),
        distance=None if is_web else distribution,
        web=distribution if is_web else None,
        worst_case=limits.worst,
        rss=limits.rss,
        stack=stack.entries(groups, limits),
        normal_chance=_normal_chance(model, target, stack.covariance(_measured(target))),
        exact=alone,
    )


def _finite(limit: float) -> float | None:
    return limit if math.isfinite(limit) else None


def _output(estimate: Estimate, row: int | None) -> Moments | None:
    return None if row is None else Moments(*estimate.output(row))


class _Stack:
    """The sources that act on one pair: sizes from the coefficients, that of the play on pins from the poses drawn."""

    def __init__(self, job: Job, model: FlipModel, estimate: Estimate, target: Target) -> None:
        self._job, self._model, self._target = job, model, target
        self._linear = model.linear
        self._stds = model.linear.stds
        self._poses = estimate.pose_covariance()
        self._rows = [target.x, target.y] if target.x is not None and target.y is not None else list(_measured(target))

    def entries(self, groups: Groups, limits: Bounds) -> tuple[StackEntry, ...]:
        """One entry a source, the largest share first; the shares of the whole add to 1."""
        acting = set(self._linear.acting(self._model.by_face[:, self._rows]))
        acts = {name: sorted(acting.intersection(members)) for name, members in groups.items()}
        found = [self._entry(name, who, limits.by(groups[name])) for name, who in acts.items() if who]
        entries = [entry for entry in [*found, self._play(limits)] if entry]
        sizes = [e.std_x**2 + e.std_y**2 + (e.std_z or 0.0) ** 2 for e in entries]
        total, measured = sum(sizes), sum(e.measured_share for e in entries)
        shared = [
            replace(
                e, share=size / total if total else 0.0, measured_share=e.measured_share / measured if measured else 0.0
            )
            for e, size in zip(entries, sizes, strict=True)
        ]
        return tuple(sorted(shared, key=lambda entry: (-entry.share, entry.source)))

    def covariance(self, rows: list[int]) -> Array:
        """Covariance of some outputs by the linear model, shape (rows, rows)."""
        effect = self._linear.coefficients[rows]
        sources = effect[:, : len(self._stds)] * self._stds
        play = effect[:, len(self._stds) :]
        return sources @ sources.T + play @ self._poses @ play.T

    def _entry(self, name: str, members: list[int], worst: float) -> StackEntry:
        columns = self._linear.rows_of(members)
        by_face = self._model.by_face[:, self._rows][:, :, columns]
        face_a, face_b = by_face * self._stds[columns]
        life = self._linear.sources[members[0]].life
        what = after_flip(life, face_a, face_b)
        measured = self._linear.coefficients[_measured(self._target)][:, columns] * self._stds[columns]
        arm = None
        if self._target.at is not None:
            faces = {AfterFlip.DOUBLES: 2, AfterFlip.CANCELS: 0}.get(what, 1)
            arm = lever(self._job, self._model, self._target, members, faces)
        sizes = np.sqrt(np.square(face_a + face_b).sum(axis=1))
        return _stack_entry(name, life, what, sizes, worst, float(np.square(measured).sum()), arm)

    def _play(self, limits: Bounds) -> StackEntry | None:
        effect = self._linear.coefficients[self._rows][:, len(self._stds) :]
        if not np.any(effect):
            return None
        what = AfterFlip.ONCE if len(self._linear.contacts) == 1 else AfterFlip.INDEPENDENT
        measured = self._linear.coefficients[_measured(self._target)][:, len(self._stds) :]
        size, of_measured = (np.einsum("ir,rs,is->i", e, self._poses, e) for e in (effect, measured))
        worst = float(limits.contacts.sum(axis=1).max())
        sizes = np.sqrt(np.maximum(size, 0.0))
        name = self._linear.contacts[0].key.split("/")[0]
        return _stack_entry(name, Life.SETUP, what, sizes, worst, float(of_measured.sum()), None)


def _measured(target: Target) -> list[int]:
    """The outputs that the measure of a pair looks at: of an outline those at its most exposed corner."""
    measure = target.measure
    if isinstance(measure, Band):
        return [measure.row]
    if isinstance(measure, Largest) and len(measure.rows) == 1:
        return list(measure.rows)
    assert target.x is not None
    assert target.y is not None
    return [target.x, target.y]


def _groups(model: FlipModel) -> Groups:
    """Sources of one name belong together, the left and the right edge, say."""
    groups: Groups = {}
    for i, source in enumerate(model.linear.sources):
        groups.setdefault(source.name, []).append(i)
    return groups


def _stack_entry(
    name: str, life: Life, what: AfterFlip, sizes: Array, worst: float, measured: float, arm: Lever | None
) -> StackEntry:
    x, y, z = (0.0, 0.0, float(sizes[0])) if len(sizes) == 1 else (float(sizes[0]), float(sizes[1]), None)
    return StackEntry(name, life, what, x, y, z, 0.0, worst, measured, arm)


def _normal_chance(model: FlipModel, target: Target, covariance: Array) -> float | None:
    """The chance of a pair if what is measured were normal; None for an outline, the largest of many."""
    measure, expected = target.measure, model.linear.expected
    if not np.all(np.isfinite(covariance)):
        return None
    if isinstance(measure, Radius):
        slack = 0.0 if measure.slack is None else float(expected[measure.slack])
        return normal_in_circle(expected[[measure.x, measure.y]], covariance, measure.limit + slack)
    if isinstance(measure, Largest):
        if len(measure.rows) > 1:
            return None
        low, high = -measure.limit, measure.limit
    elif isinstance(measure, Band):
        low, high = measure.low, measure.high
    else:
        return None
    return normal_between(low, high, float(expected[_measured(target)[0]]), float(np.sqrt(covariance[0, 0])))
