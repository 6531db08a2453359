"""Limits of a fixture: clearance and spacing of pins, and how far from the flip line a hole may lie."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.model import flip_model
from flipcheck.job.records import HolePair
from flipcheck.stack.what_if import WhatIf

if TYPE_CHECKING:
    from collections.abc import Callable

    from flipcheck.flip.frames import Point
    from flipcheck.flip.model import FlipModel
    from flipcheck.job.records import Job, PinsMethod

#: A clearance is found to a micrometre's tenth, a spacing to a tenth of a millimetre.
_CLEARANCE_STEP, _SPACING_STEP = 1e-4, 0.1
#: Clearances tried between nothing and the largest looked at, before the edge of the good ones is found by halving.
_TRIED = 16


@dataclass(frozen=True)
class PinLimits:
    """How loose, how tight and how close together two pins may be, mm.

    Attributes
    ----------
    clearance: Nominal diametral clearance now, hole minus pin.
    largest: The largest at which the goal is met; None where none does, infinite where any does.
    smallest: The smallest at which the wanted share of blanks still goes onto the pins.
    tightest: A clearance a little larger, at which blanks that do not go on are at most half of the misses allowed.
    spacing: Distance of the pins now.
    smallest_spacing: The smallest along the same line, about the same middle, that meets the goal; None where none.
    """

    clearance: float
    largest: float | None
    smallest: float
    tightest: float
    spacing: float
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


def pin_limits(job: Job, method: PinsMethod, what_if: WhatIf, seed: int) -> PinLimits:
    """The limits of clearance and spacing of a method that uses pins."""
    clearance = method.hole.diameter - method.pin.diameter
    largest = _largest_clearance(lambda c: what_if.chance(widen=0.5 * (c - clearance)), job.goal, clearance)
    smallest, tightest = (
        _smallest_going_on(lambda c: what_if.goes_on(widen=0.5 * (c - clearance)), share, clearance)
        for share in (job.goal, 0.5 * (1.0 + job.goal))
    )

    def chance_at(spacing: float) -> float:
        moved = method.model_copy(update={"pins": _spaced(method.pins, spacing)})
        return WhatIf(flip_model(job, moved).linear, what_if.trials, seed).chance()

    spacing = math.dist(*method.pins)
    widest = _widest(job, method)
    closest = max(method.pin.diameter, method.hole.diameter)
    return PinLimits(
        clearance,
        largest,
        smallest,
        tightest,
        spacing,
        _smallest_spacing(chance_at, job.goal, closest, spacing, widest),
    )


def _largest_clearance(chance: Callable[[float], float], goal: float, now: float) -> float | None:
    """Scan upwards, since too tight a pin misses the goal as well as too loose a one."""
    step = max(abs(now), 0.02) * 4.0 / _TRIED
    tried = [step * (i + 1) for i in range(_TRIED)]
    good = [c for c in [*tried, now] if c > 0.0 and chance(c) >= goal]
    if not good:
        return None
    low = max(good)
    high = low + step
    while chance(high) >= goal:
        low, high = high, 2.0 * high
        if low > 1e3 * max(abs(now), 0.02):
            return math.inf
    return _edge(lambda c: chance(c) >= goal, low, high, _CLEARANCE_STEP)


def _smallest_going_on(goes_on: Callable[[float], float], goal: float, now: float) -> float:
    high = max(now, _CLEARANCE_STEP)
    while goes_on(high) < goal:
        high *= 2.0
    return _edge(lambda c: goes_on(c) >= goal, high, 0.0, _CLEARANCE_STEP)


def _smallest_spacing(
    chance: Callable[[float], float], goal: float, closest: float, now: float, widest: float
) -> float | None:
    start = now if chance(now) >= goal else widest
    if start == widest and chance(widest) < goal:
        return None
    if chance(closest) >= goal:
        return closest
    return _edge(lambda spacing: chance(spacing) >= goal, start, closest, _SPACING_STEP)


def _edge(holds: Callable[[float], bool], good: float, bad: float, step: float) -> float:
    """Halve the way between a value at which something holds and one at which it does not; the last that held."""
    while abs(good - bad) > step:
        middle = 0.5 * (good + bad)
        good, bad = (middle, bad) if holds(middle) else (good, middle)
    return good


def _spaced(pins: tuple[Point, Point], spacing: float) -> tuple[Point, Point]:
    """The pins moved along their line to a spacing, about the same middle."""
    first, second = np.asarray(pins[0]), np.asarray(pins[1])
    middle, half = 0.5 * (first + second), 0.5 * spacing * (second - first) / math.dist(*pins)
    (x1, y1), (x2, y2) = middle - half, middle + half
    return (float(x1), float(y1)), (float(x2), float(y2))


def _widest(job: Job, method: PinsMethod) -> float:
    """The widest spacing along the same line, about the same middle, at which both holes stay whole in the blank."""
    radius = 0.5 * method.hole.diameter
    (x1, y1), (x2, y2) = method.pins
    half = math.dist(*method.pins) / 2.0
    room = math.inf
    for low, middle, along in ((x1, 0.5 * (x1 + x2), job.blank.length), (y1, 0.5 * (y1 + y2), job.blank.width)):
        lean = abs(middle - low) / half
        if lean > 1e-9:
            room = min(room, (min(middle, along - middle) - radius) / lean)
    return max(2.0 * room, 2.0 * half)


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


def _from_flip_line(job: Job, point: Point) -> tuple[Point, Point, float, float]:
    """Foot of a point on the flip line, the direction away from it, the distance, and how far the blank reaches."""
    x, y = point
    length, width = job.blank.length, job.blank.width
    if job.flip == "left-right":
        side = -1.0 if x < 0.5 * length else 1.0
        return (0.5 * length, y), (side, 0.0), abs(x - 0.5 * length), 0.5 * length
    if job.flip == "front-back":
        side = -1.0 if y < 0.5 * width else 1.0
        return (x, 0.5 * width), (0.0, side), abs(y - 0.5 * width), 0.5 * width
    side = math.copysign(math.sqrt(0.5), x - y)
    along = 0.5 * (x + y)
    room = min(length - along, along) if side > 0 else min(width - along, along)
    return (along, along), (side, -side), abs(x - y) / math.sqrt(2.0), room * math.sqrt(2.0)
