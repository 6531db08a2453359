"""How loose may each thing be? The question of `check` turned round: from the goal to the sizes."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.decide.check import method_named, refuse_impossible
from flipcheck.decide.fixture import HoleReach, PinLimits, hole_reaches, pin_limits
from flipcheck.flip.model import flip_model
from flipcheck.job.records import PinsMethod
from flipcheck.stack.intervals import Chance, wilson
from flipcheck.stack.monte_carlo import cores
from flipcheck.stack.spreads import Circle, Normal
from flipcheck.stack.streams import seed_of
from flipcheck.stack.what_if import WhatIf, largest

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from flipcheck.flip.model import FlipModel
    from flipcheck.job.records import Job, Method
    from flipcheck.stack.streams import RngLike

    #: The places of the sources of each entry of a job.
    Groups = dict[str, tuple[int, ...]]

#: Trials kept unless told otherwise: a chance near 95 % is then known to 0.0017.
TRIALS = 65_536

#: What a tighter fit of the pins is called among the changes.
CLEARANCE = "pin clearance"

#: How many errors are still tried after the first of a list of changes.
_HOPEFUL = 6

#: Errors that one entry of a job is drawn as.
_PART_OF = {"locator_positioning": "positioning", "locator_lost_motion": "lost_motion"}
_OF_METHOD = {"pin_size": "pin", "hole_size": "hole", "pin_play": "pin_play", "hole_position": "hole_position"}


@dataclass(frozen=True)
class SourceLimit:
    """How large one error may be with everything else as given.

    Attributes
    ----------
    source: Its key in the job.
    given_as: "std", "limit" or "reading": what `size` is.
    size: Its present size, mm, rad or a ratio.
    factor: The largest size of the same shape at which the goal is met, in times the present one; infinite where any
        size will do, None where even none of it would not.
    """

    source: str
    given_as: str
    size: float
    factor: float | None

    @property
    def largest(self) -> float | None:
        """The largest size itself; None where even zero would not do."""
        return None if self.factor is None else self.size * self.factor


@dataclass(frozen=True)
class Changes:
    """The shortest list of changes found that reaches a missed goal.

    Attributes
    ----------
    sources: Keys of the errors to shrink, the one that helps most first; "pin clearance" stands for a fit as tight as
        still goes on.
    factor: What each error must shrink to, in times its present size; None where even without them the goal is missed.
    """

    sources: tuple[str, ...]
    factor: float | None


@dataclass(frozen=True)
class MethodLimits:
    """The limits of one method. `pins` is None for the other kinds; `changes` is None where the goal is met."""

    name: str
    kind: str
    chance: Chance
    sources: tuple[SourceLimit, ...]
    pins: PinLimits | None
    holes: tuple[HoleReach, ...]
    changes: Changes | None


@dataclass(frozen=True)
class Limits:
    """The answer to `limits`."""

    title: str
    units: str
    goal: float
    flip: str
    trials: int
    seed: int
    methods: tuple[MethodLimits, ...]

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
    threads: int | None = None,
) -> Limits:
    """How loose each error may be, by each method of a job or by those named.

    Parameters and errors are those of `check`; `trials` is rounded up to whole blocks.
    """
    refuse_impossible(job)
    chosen = [method_named(job, name) for name in dict.fromkeys(methods)] if methods else list(job.methods)
    seed = seed_of(rng)
    with ThreadPoolExecutor(threads or cores()) as pool:
        found = list(pool.map(lambda method: _method_limits(job, method, trials, seed), chosen))
    return Limits(job.title, job.units, job.goal, job.flip, trials, seed, tuple(found))


def _method_limits(job: Job, method: Method, trials: int, seed: int) -> MethodLimits:
    model = flip_model(job, method)
    what_if = WhatIf(model.linear, trials, seed)
    chance = what_if.chance()
    groups = _groups(model)
    sources = [
        SourceLimit(name, *_size(model, group), what_if.largest_size(group, job.goal)) for name, group in groups.items()
    ]
    pins = pin_limits(job, method, what_if, seed) if isinstance(method, PinsMethod) else None
    tight = 0.5 * max(pins.clearance - pins.tightest, 0.0) if pins else None
    return MethodLimits(
        name=method.name,
        kind=method.kind,
        chance=wilson(round(chance * what_if.trials), what_if.trials),
        sources=tuple(sorted(sources, key=lambda limit: -1.0 if limit.factor is None else limit.factor)),
        pins=pins,
        holes=hole_reaches(job, model, what_if),
        changes=_changes(what_if, sources, groups, tight, job.goal) if chance < job.goal else None,
    )


def _groups(model: FlipModel) -> Groups:
    """The sources of each entry of the job that acts on this method at all, by its key."""
    linear = model.linear
    acts = np.abs(linear.coefficients[:, : linear.source_means.size]).max(axis=0, initial=0.0)
    for contact in linear.contacts:
        acts = np.maximum(acts, np.abs(np.vstack([contact.pitch, contact.clearance])).max(axis=0))
    groups: Groups = {}
    for i, (source, rows) in enumerate(zip(linear.sources, linear.source_rows, strict=True)):
        if acts[rows].max() > 1e-9:
            name = _PART_OF.get(source.name, _OF_METHOD.get(source.name, source.name))
            groups[name] = (*groups.get(name, ()), i)
    return groups


def _size(model: FlipModel, group: tuple[int, ...]) -> tuple[str, float]:
    """How the size of a group is given, and what it is now."""
    source = model.linear.sources[group[0]]
    if source.name == "bit_runout":
        reading = source.spread.radius * 2.0 if isinstance(source.spread, Circle) else source.spread.mean
        return "reading", reading
    if isinstance(source.spread, Normal) and source.spread.limit is None:
        return "std", source.spread.std
    return "limit", source.spread.bound


def _changes(
    what_if: WhatIf, sources: Sequence[SourceLimit], groups: Groups, tight: float | None, goal: float
) -> Changes:
    """The shortest list found that reaches a missed goal.

    One error, if any does alone: the one that must shrink least. Else the error whose absence helps most joins the
    list, one after another, until the goal is in reach; then all of them shrink together as little as they must. A
    tighter fit of the pins (`tight`, the radial clearance taken away, mm) is one of the changes.
    """
    alone = [limit for limit in sources if limit.factor is not None]
    if alone:
        least = max(alone, key=lambda limit: limit.factor or 0.0)
        return Changes((least.source,), least.factor)
    chosen: list[str] = []
    rest = {*groups, CLEARANCE} if tight else set(groups)
    while rest:
        without = {name: _without(what_if, groups, [*chosen, name], tight)(0.0) for name in sorted(rest)}
        best = max(without, key=lambda name: without[name])
        chosen.append(best)
        rest.remove(best)
        if without[best] >= goal:
            return Changes(tuple(chosen), largest(_without(what_if, groups, chosen, tight), goal))
        if not chosen[1:]:
            hopeful = sorted(rest, key=lambda name: -without[name])[:_HOPEFUL]
            rest = set(hopeful)
    return Changes(tuple(chosen), None)


def _without(what_if: WhatIf, groups: Groups, names: Sequence[str], tight: float | None) -> Callable[[float], float]:
    """The chance as a function of the common size of the named errors."""
    together = [i for name in names for i in groups.get(name, ())]
    return what_if.chance_of_size(together, widen=-(tight or 0.0) if CLEARANCE in names else 0.0)
