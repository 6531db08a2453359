"""How loose may each thing be? The question of `check` turned round: from the goal to the sizes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from flipcheck.decide.answer import Answer, asked
from flipcheck.decide.check import methods_named, refuse_impossible
from flipcheck.decide.limits.changes import Changes, Search, single_change
from flipcheck.decide.limits.fixture import HoleReach, PinLimits, hole_reaches, nest_limits, pin_limits
from flipcheck.flip.entries import entry_of
from flipcheck.flip.model import flip_model
from flipcheck.job.records import NestMethod, PinsMethod
from flipcheck.stack.monte_carlo.streams import seed_of
from flipcheck.stack.quasi_monte_carlo.what_if import WhatIf
from flipcheck.stack.spreads import Circle, Exactly, Normal

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from flipcheck.flip.model import FlipModel
    from flipcheck.job.records import Job
    from flipcheck.stack.intervals import Chance
    from flipcheck.stack.monte_carlo.streams import RngLike

    #: The places of the sources of each entry of a job.
    Groups = dict[str, tuple[int, ...]]

#: What the size of an error is: a standard deviation, a limit (plus or minus), a total indicator reading, or a change
#: that is known.
GivenAs: TypeAlias = Literal["std", "limit", "reading", "change"]

#: Trials for each chance unless told otherwise: one near 95 % is then known to about 0.001.
TRIALS = 16_384


@dataclass(frozen=True)
class SourceLimit:
    """How large one error may be with everything else as given.

    Attributes
    ----------
    source: Its key in the job.
    given_as: What `size` is.
    size: Its present size, mm, rad, K or a ratio.
    factor: The largest size of the same shape at which the goal is met, in times the present one; infinite where any
        size will do, None where even none of it would not.
    """

    source: str
    given_as: GivenAs
    size: float
    factor: float | None

    @property
    def largest(self) -> float | None:
        """The largest size itself; None where even zero would not do."""
        return None if self.factor is None else self.size * self.factor


@dataclass(frozen=True)
class MethodLimits:
    """The limits of one method.

    `pins` are those of the fit on pins or in a nest, None for the other kinds; `changes` is None where the goal is met.
    """

    name: str
    kind: str
    chance: Chance
    sources: tuple[SourceLimit, ...]
    pins: PinLimits | None
    holes: tuple[HoleReach, ...]
    changes: Changes | None


@dataclass(frozen=True)
class Limits(Answer):
    """The answer to `limits`: each method in the order asked for, and the changes between the faces that are given."""

    methods: tuple[MethodLimits, ...]
    between: tuple[str, ...] = ()

    @property
    def meets_goal(self) -> bool:
        """Whether any method reaches the goal as things stand."""
        return any(method.chance.estimate >= self.goal for method in self.methods)


def limits(
    job: Job,
    methods: Sequence[str] | None = None,
    *,
    trials: int = TRIALS,
    rng: RngLike = 1,
    progress: Callable[[int], None] | None = None,
) -> Limits:
    """How loose each error may be, by each method of a job or by those named.

    Parameters and errors are those of `check`; `trials` is rounded up to whole blocks, and `progress` is called with
    the number of trials of each method as it is done.
    """
    if trials < 1:
        raise ValueError(f"at least one trial is needed, not {trials}")
    refuse_impossible(job)
    seed = seed_of(rng)
    found = []
    for method in methods_named(job, methods):
        model = flip_model(job, method)
        what_if = WhatIf(model.linear, trials, seed)
        found.append(_method_limits(job, model, what_if))
        if progress:
            progress(what_if.trials)
    return Limits(
        **asked(job, what_if.trials, seed),
        methods=tuple(found),
        between=job.changes,
    )


def _method_limits(job: Job, model: FlipModel, what_if: WhatIf) -> MethodLimits:
    method, goal = model.method, job.goal
    groups, chance = _groups(model), what_if.interval()
    factors = {name: what_if.largest_size(group, goal) for name, group in groups.items()}
    sources = [SourceLimit(name, *_size(model, group), factors[name]) for name, group in groups.items()]
    pins = None
    if isinstance(method, PinsMethod):
        pins = pin_limits(job, method, what_if)
    elif isinstance(method, NestMethod):
        pins = nest_limits(job, method, what_if)
    changes = None
    if chance.estimate < goal:
        search = Search(what_if, groups, goal, pins.clearance if pins else None)
        changes = single_change(factors, pins) or search.changes()
    return MethodLimits(
        name=method.name,
        kind=method.kind,
        chance=chance,
        sources=tuple(sorted(sources, key=lambda limit: math.inf if limit.factor is None else limit.factor)),
        pins=pins,
        holes=hole_reaches(job, model, what_if),
        changes=changes,
    )


def _groups(model: FlipModel) -> Groups:
    """The sources of each entry of the job that acts on this method at all, by its key; a mere bias has no size."""
    linear = model.linear
    acts = np.abs(linear.coefficients[:, : linear.source_means.size]).max(axis=0, initial=0.0)
    for contact in linear.contacts:
        acts = np.maximum(acts, np.abs(contact.forms).max(axis=0))
    groups: Groups = {}
    for i, (source, rows) in enumerate(zip(linear.sources, linear.source_rows, strict=True)):
        if source.name == "wear":
            continue  # a matter of batches: to the first part it does next to nothing
        if acts[rows].max() > 1e-9 and (source.spread.std or isinstance(source.spread, Exactly)):
            name = entry_of(source.name)
            groups[name] = (*groups.get(name, ()), i)
    return groups


def _size(model: FlipModel, group: tuple[int, ...]) -> tuple[GivenAs, float]:
    """How the size of a group is given, and what it is now."""
    source = model.linear.sources[group[0]]
    if source.name == "bit_runout":
        reading = source.spread.radius * 2.0 if isinstance(source.spread, Circle) else source.spread.mean
        return "reading", reading
    if isinstance(source.spread, Exactly):
        return "change", source.spread.mean
    if isinstance(source.spread, Normal) and source.spread.limit is None:
        return "std", source.spread.std
    return "limit", source.spread.bound
