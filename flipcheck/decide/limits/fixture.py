"""Limits of a fixture: clearance and spacing of pins, and how far from the flip line a hole may lie."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.decide.fixture.pin_fit import spacing_of
from flipcheck.flip.model import flip_model
from flipcheck.job.flip_line import flip_line
from flipcheck.job.records import HolePair
from flipcheck.stack.quasi_monte_carlo.what_if import edge

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from flipcheck.flip.frames import Point
    from flipcheck.flip.model import FlipModel
    from flipcheck.job.records import Job, NestMethod, PinsMethod
    from flipcheck.stack.quasi_monte_carlo.what_if import WhatIf

    Array = NDArray[np.float64]
    #: A chance as a function of a clearance or a spacing, mm.
    ChanceOf = Callable[[float], float]

#: A clearance is found to a hundredth of a micrometre, a spacing to a tenth of a millimetre.
_CLEARANCE_STEP, _SPACING_STEP = 1e-5, 0.1
#: Where the goal is missed, clearances this much above the one that just goes on are tried, mm.
_TRIED = tuple(1e-3 * 2.0**i for i in range(13))
#: Beyond this clearance, mm, any will do.
_LOOSEST = 100.0


@dataclass(frozen=True)
class PinLimits:
    """How loose, how tight and how close together pins may be; of a nest how loose and how tight it may be, mm.

    Attributes
    ----------
    clearance: Nominal clearance now: hole minus pin, or nest minus blank.
    smallest, largest: The range of it in which the goal is met, everything else as given; both None where there is
        none, the largest infinite where it has no end.
    goes_on: The smallest at which the wanted share of blanks goes on, wherever they come to lie then.
    spacing: Largest distance of two pins now; None for a nest.
    smallest_spacing: The smallest that meets the goal, with all pins moved straight towards their middle; None where
        none does, and for a nest.
    """

    clearance: float
    smallest: float | None
    largest: float | None
    goes_on: float
    spacing: float | None
    smallest_spacing: float | None


@dataclass(frozen=True)
class HoleReach:
    """How far from the flip line a hole pair may lie, straight away from it, for this pair alone to reach the goal.

    Attributes
    ----------
    pair: Its name.
    distance: Its distance from the flip line now, mm.
    largest: The largest, mm; infinite where it may lie anywhere on the blank, None where not even on the line.
    """

    pair: str
    distance: float
    largest: float | None


def clearance_of(method: PinsMethod) -> float:
    """Nominal diametral clearance of the pins of a method, mm."""
    return round(method.hole.diameter - method.pin.diameter, 9)


def pin_limits(job: Job, method: PinsMethod, what_if: WhatIf) -> PinLimits:
    """The limits of clearance and spacing of a method that uses pins."""
    clearance, spacing = clearance_of(method), spacing_of(method.pins)
    goes_on = max(clearance + 2.0 * what_if.tightest(job.goal), 0.0)
    smallest, largest = _window(lambda c: what_if.chance(0.5 * (c - clearance)), job.goal, clearance, goes_on)

    def chance_at(wanted: float) -> float:
        moved = method.model_copy(update={"pins": _spaced(method.pins, wanted)})
        return what_if.chance(model=flip_model(job, moved).linear)

    nearest = min(math.dist(*pair) for pair in combinations(method.pins, 2))
    touching = max(method.pin.diameter, method.hole.diameter) * spacing / nearest
    closest = _closest(chance_at, job.goal, touching, spacing, _widest(job, method))
    return PinLimits(clearance, smallest, largest, goes_on, spacing, closest)


def nest_limits(job: Job, method: NestMethod, what_if: WhatIf) -> PinLimits:
    """The limits of the clearance of a nest."""
    clearance = method.clearance
    goes_on = max(clearance + 2.0 * what_if.tightest(job.goal), 0.0)
    smallest, largest = _window(lambda c: what_if.chance(0.5 * (c - clearance)), job.goal, clearance, goes_on)
    return PinLimits(clearance, smallest, largest, goes_on, None, None)


def _window(chance: ChanceOf, goal: float, now: float, goes_on: float) -> tuple[float, float] | tuple[None, None]:
    """The range of clearances that meets the goal: too tight a pin misses it as well as too loose a one."""
    good = now if chance(now) >= goal else max((goes_on + more for more in _TRIED), key=chance)
    if chance(good) < goal:
        return None, None
    smallest = goes_on if chance(goes_on) >= goal else edge(chance, goal, good, goes_on, _CLEARANCE_STEP)
    step = max(abs(good), _TRIED[0])  # a clearance may be 0, or less, where the spreads make up for it
    low, high = good, good + step
    while chance(high) >= goal:
        step *= 2.0
        low, high = high, high + step
        if low > _LOOSEST:
            return smallest, math.inf
    return smallest, edge(chance, goal, low, high, _CLEARANCE_STEP)


def _closest(chance: ChanceOf, goal: float, touching: float, now: float, widest: float) -> float | None:
    """The smallest spacing that meets the goal, down to pins that touch."""
    good = now if chance(now) >= goal else widest
    if chance(good) < goal:
        return None
    return touching if chance(touching) >= goal else edge(chance, goal, good, touching, _SPACING_STEP)


def _spaced(pins: Sequence[Point], spacing: float) -> tuple[Point, ...]:
    """The pins moved straight towards their middle, or away from it, to a spacing."""
    middle = np.mean(pins, axis=0)
    moved = middle + (np.asarray(pins) - middle) * (spacing / spacing_of(pins))
    return tuple((float(x), float(y)) for x, y in moved)


def _widest(job: Job, method: PinsMethod) -> float:
    """The widest spacing about the same middle at which all holes stay whole in the blank."""
    radius, middle = 0.5 * method.hole.diameter, np.mean(method.pins, axis=0)
    times = math.inf
    for pin in method.pins:
        for at, centre, along in zip(pin, middle, job.blank.size, strict=False):
            away = abs(at - centre)
            if away > 1e-9 * along:
                room = (along - centre if at > centre else centre) - radius
                times = min(times, float(room) / away)
    return spacing_of(method.pins) * max(times, 1.0)


def hole_reaches(job: Job, model: FlipModel, what_if: WhatIf) -> tuple[HoleReach, ...]:
    """For each hole pair how far from the flip line it may lie."""
    return tuple(
        _reach(job, model, what_if, i) for i, target in enumerate(model.targets) if isinstance(target.pair, HolePair)
    )


def _reach(job: Job, model: FlipModel, what_if: WhatIf, place: int) -> HoleReach:
    target = model.targets[place]
    assert target.at is not None
    foot, away, distance, room = _from_flip_line(job, target.at)
    start, step = np.zeros((2, *model.linear.mix.shape))
    for row, first in ((target.x, 0), (target.y, 3)):
        start[row, first + 1 : first + 3] = np.subtract(foot, target.at)
        step[row, first + 1 : first + 3] = away
    farthest = what_if.farthest(target.measure, start, step, job.goal)
    if farthest is not None and farthest >= room:
        farthest = math.inf
    return HoleReach(target.pair.name, distance, farthest)


def _from_flip_line(job: Job, point: Point) -> tuple[Array, Array, float, float]:
    """Foot of a point on the flip line, the direction away from it, the distance, and how far the blank reaches."""
    line = flip_line(job.flip, job.blank)
    off = line.off(point)
    away = np.copysign(1.0, off) * np.asarray(line.across)
    foot = np.asarray(point) - abs(off) * away
    reach = [
        (extent - at if way > 0.0 else at) / abs(way)
        for at, way, extent in zip(foot, away, job.blank.size[:2], strict=True)
        if way
    ]
    return foot, away, abs(off), float(min(reach))
