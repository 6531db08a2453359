"""How a pin fits its hole, how it sits in the bed, and how high it may stand: for the fixture sheet."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from flipcheck.job.records import HolePair, OutlinePair, SlotPair, WebPair
from flipcheck.job.stated import nominal

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from flipcheck.decide.results import MethodResult
    from flipcheck.flip.frames import Face, Point
    from flipcheck.job.records import Job, Pair, PinsMethod, SizeSpread

#: How far the top of a pin stays below the blank's top, or below a cut above it (mm; common practice, no source).
SAFE_MARGIN = 1.0
#: How deep a pin sits in the bed, in diameters, where the spoilboard allows (common practice, no source).
DIAMETERS_DEEP = 1.0


@dataclass(frozen=True)
class Size:
    """A diameter and its limits, mm: nominal, and with its error at either bound."""

    nominal: float
    low: float
    high: float


@dataclass(frozen=True)
class CutOver:
    """A cut that reaches, or may reach, over a pin.

    Attributes
    ----------
    pair: Name of the pair.
    face: The face from which it is cut.
    distance: From the middle of the pin to the middle of the pair, to its outline, or to the middle line of a slot, mm.
    floor: Height of the bottom of the cut above the bed on the thinnest blank, mm; 0 where the job gives no depth.
    sure: Whether it is known to reach there; a slot runs on along its line for a length that the job does not give.
    """

    pair: str
    face: Face
    distance: float
    floor: float
    sure: bool


@dataclass(frozen=True)
class PinHeight:
    """How high one pin may stand above the bed, mm; 0: it has to come out before the cut. `over`: what decides that."""

    pin: int
    tallest: float
    over: tuple[CutOver, ...]


@dataclass(frozen=True)
class PinFit:
    """Pins and their holes.

    Attributes
    ----------
    pin, hole: Diameters; a hole made by its bit has grown by runout and by the error of the bit.
    clearance: Diametral clearance: hole less pin, and play in the bed; negative where a pin may be too thick.
    spacing: Largest distance of two pins, mm.
    turn, largest_turn: How far the blank may turn on its pins, to either side, rad: (c1 + c2) / spacing, with radial
        clearances that are nominal, and the largest.
    goes_on: Share of blanks that go on; None where nothing was simulated.
    depth: How deep a pin should sit in the bed, mm.
    heights: How high each pin may stand.
    """

    pin: Size
    hole: Size
    clearance: Size
    spacing: float
    turn: float
    largest_turn: float
    goes_on: float | None
    depth: float
    heights: tuple[PinHeight, ...]


def pin_fit(job: Job, method: PinsMethod, result: MethodResult | None = None) -> PinFit:
    """How the pins of a method fit, sit and stand; the share that goes on is that of `result`."""
    pin, hole, spacing = _size(method.pin), _hole(job, method), spacing_of(method.pins)
    play_mean, play = (method.pin_play.mean, method.pin_play.bound) if method.pin_play else (0.0, 0.0)
    clearance = Size(
        method.hole.diameter - method.pin.diameter,
        hole.low - pin.high + play_mean - play,
        hole.high - pin.low + play_mean + play,
    )
    return PinFit(
        pin=pin,
        hole=hole,
        clearance=clearance,
        spacing=spacing,
        turn=max(clearance.nominal, 0.0) / spacing,
        largest_turn=max(clearance.high, 0.0) / spacing,
        goes_on=result.goes_on if result else None,
        depth=DIAMETERS_DEEP * nominal(method.pin.diameter),
        heights=tuple(_height(job, method, number) for number in range(1, len(method.pins) + 1)),
    )


def spacing_of(pins: Sequence[Point]) -> float:
    """Largest distance of two pins, mm."""
    return max(math.dist(*pair) for pair in combinations(pins, 2))


def _size(given: SizeSpread) -> Size:
    middle, bound = given.diameter + given.spread.mean, given.spread.bound
    return Size(given.diameter, middle - bound, middle + bound)


def _hole(job: Job, method: PinsMethod) -> Size:
    size = _size(method.hole)
    if not method.holes_by_bit:
        return size
    bit = job.errors.bit_diameter
    grown, bound = job.errors.bit_runout or 0.0, 0.0
    if bit is not None:
        grown, bound = grown + bit.mean, bit.bound
    return Size(size.nominal, size.low + grown - bound, size.high + grown + bound)


def thinnest(job: Job) -> float:
    """Least thickness of the blank, mm: nominal, and its error at its bound."""
    error = job.errors.stock_thickness
    return job.blank.thickness if error is None else job.blank.thickness + error.mean - error.bound


def _height(job: Job, method: PinsMethod, number: int) -> PinHeight:
    """Below the top of the thinnest blank, and below every cut that reaches over the pin, by a margin."""
    faces: tuple[Face, ...] = ("A", "B") if method.holes == "beforehand" else ("B",)
    over = tuple(_cuts_over(job, method.pins[number - 1], 0.5 * method.pin.diameter, faces))
    lowest = min((thinnest(job), *(cut.floor for cut in over)))
    return PinHeight(number, max(0.0, lowest - SAFE_MARGIN), over)


def _cuts_over(job: Job, pin: Point, radius: float, faces: Iterable[Face]) -> Iterator[CutOver]:
    for pair in job.pairs:
        for face in faces:
            distance, sure = _distance(pair, pin)
            if distance <= radius + _radius(pair, face):
                yield CutOver(pair.name, face, distance, _floor(job, pair, face), sure)


def _floor(job: Job, pair: Pair, face: Face) -> float:
    if not isinstance(pair, WebPair):
        return 0.0
    return max(0.0, thinnest(job) - (pair.depth_a if face == "A" else pair.depth_b))


def _radius(pair: Pair, face: Face) -> float:
    """How far the cut reaches from its middle, as far as the job tells; the width of other cuts it does not tell."""
    if not isinstance(pair, HolePair):
        return 0.0
    return 0.5 * ((pair.hole_a if face == "A" else pair.hole_b) or 0.0)


def _distance(pair: Pair, pin: Point) -> tuple[float, bool]:
    """From a pin to a pair, and whether the pair is known to reach that place."""
    if isinstance(pair, OutlinePair):
        ends = zip(pair.points, (*pair.points[1:], pair.points[0]), strict=True)
        return min(_from_side(pin, start, end) for start, end in ends), True
    dx, dy = pin[0] - pair.at[0], pin[1] - pair.at[1]
    if isinstance(pair, SlotPair):
        return abs(dy * math.cos(pair.angle) - dx * math.sin(pair.angle)), False
    return math.hypot(dx, dy), True


def _from_side(point: Point, start: Point, end: Point) -> float:
    """Distance of a point from the stretch between two others."""
    (x, y), (sx, sy), (ex, ey) = point, start, end
    along = ((x - sx) * (ex - sx) + (y - sy) * (ey - sy)) / math.dist(start, end) ** 2
    share = min(1.0, max(0.0, along))
    return math.dist(point, (sx + share * (ex - sx), sy + share * (ey - sy)))
