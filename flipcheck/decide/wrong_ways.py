"""Wrong ways to lay the blank down for face B: which of them look right, and what makes them plain to see."""

from __future__ import annotations

import cmath
import itertools
import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.frames import placing
from flipcheck.job.records import PinsMethod

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.flip.frames import Face, Point
    from flipcheck.job.records import Job, Method

    Array = NDArray[np.float64]

#: An outline that lies less far off than this is taken for right (mm; common practice, no source).
LOOKS_RIGHT = 5.0
#: How far off a blank should lie to be seen at once, and so how far a pin is moved (mm; common practice, no source).
PLAIN_TO_SEE = 10.0
#: A blank that lies less crooked than this is told of as straight (rad).
_STRAIGHT = 1e-6


class Wrong(StrEnum):
    """What was done in place of the right turn."""

    OTHER_AXIS = "turned over about the other axis"
    NOT_TURNED = "not turned over"
    ROTATED = "not turned over, rotated by half a turn"
    CROOKED = "not turned over, laid crooked"
    QUARTER = "rotated by a quarter turn"
    TURNED_CROOKED = "turned over, laid crooked"


@dataclass(frozen=True)
class WrongWay:
    """One wrong way to lay the blank down.

    Attributes
    ----------
    what: What was done.
    face_up: The face that is then up: where it is A, its cuts can be seen.
    crooked: The angle between the edges of the blank and the axes, rad.
    off: How far the farthest corner of its outline lies from where a corner should be, mm.
    """

    what: Wrong
    face_up: Face
    crooked: float
    off: float

    @property
    def looks_right(self) -> bool:
        """Whether the outline lies as it should, so that only a mark, or the cuts of face A, can tell."""
        return self.off < LOOKS_RIGHT


@dataclass(frozen=True)
class PinMove:
    """A pin to move along the pin line, so that a blank turned about the other axis lies plainly off.

    `pin` is its number, from 1; `to` its new place, blank frame; `off` how far off the blank then lies, mm.
    """

    pin: int
    to: Point
    off: float


def wrong_ways(job: Job, method: Method) -> tuple[WrongWay, ...]:
    """The wrong ways in which a blank goes onto its pins, or can be laid at its place without them.

    Two holes at one spacing go onto two equal pins in four ways, whatever their places: with either face up, and each
    way about. What differs is where the blank then lies. Without pins it can be laid in eight ways; those that need
    more room along one side than the right one are told only where the two sides are nearly alike. A pattern of
    more pins takes only what maps it onto itself.
    """
    if isinstance(method, PinsMethod) and len(method.pins) > 2:
        return _on_pattern(job, method)
    return _on_pins(job, method) if isinstance(method, PinsMethod) else _without_pins(job)


def pin_move(job: Job, method: PinsMethod) -> PinMove | None:
    """Which pin to move where, if a blank turned about the other axis looks right; None where nothing need be moved."""
    if len(method.pins) > 2:
        return None
    first, second = (np.asarray(pin) for pin in method.pins)
    along = (second - first) / math.dist(*method.pins)
    if _swapped_off(job, first, second) >= LOOKS_RIGHT:
        return None
    radius = 0.5 * method.hole.diameter
    for pin, step in ((2, -1.0), (1, 1.0), (2, 1.0), (1, -1.0)):
        moved = [first, second]
        moved[pin - 1] = moved[pin - 1] + step * PLAIN_TO_SEE * along
        x, y = (float(place) for place in moved[pin - 1])
        fits = radius <= x <= job.blank.length - radius and radius <= y <= job.blank.width - radius
        apart = float(np.hypot(*(moved[1] - moved[0])))
        off = _swapped_off(job, *moved)
        if fits and apart > 2.0 * method.hole.diameter and off >= LOOKS_RIGHT:
            return PinMove(pin, (x, y), off)
    return None


def _swapped_off(job: Job, first: Array, second: Array) -> float:
    """How far off the blank lies with its holes on each other's pins: twice the way from its middle to the pins'."""
    return float(np.hypot(*(first + second - np.asarray(job.blank.size[:2]))))


def _on_pins(job: Job, method: PinsMethod) -> tuple[WrongWay, ...]:
    right = placing(job.flip, job.blank, "B")
    holes = [complex(*hole) for hole in method.pins]
    pins = [complex(*right.to_machine(hole)) for hole in method.pins]
    outline = _corners(*right.size)
    swapped = _swapped_off(job, *(np.asarray(pin) for pin in method.pins))
    ways = [WrongWay(Wrong.OTHER_AXIS, "B", 0.0, swapped)]
    for onto in (pins, pins[::-1]):
        turn = (onto[1] - onto[0]) / (holes[1] - holes[0])
        turn /= abs(turn)
        middle, target = 0.5 * (holes[0] + holes[1]), 0.5 * (onto[0] + onto[1])
        lies = [target + turn * (corner - middle) for corner in _corners(*job.blank.size[:2])]
        angle = cmath.phase(turn)
        crooked = abs(math.remainder(angle, 0.5 * math.pi))
        what = Wrong.CROOKED if crooked > _STRAIGHT else _straight(angle)
        ways.append(WrongWay(what, "A", crooked, _off(lies, outline)))
    return tuple(ways)


def _on_pattern(job: Job, method: PinsMethod) -> tuple[WrongWay, ...]:
    """Every other way in which all holes come onto pins: each order of the pins that a turn brings them into."""
    right = placing(job.flip, job.blank, "B")
    pins = np.array([complex(*right.to_machine(hole)) for hole in method.pins])
    holes = np.array([complex(*hole) for hole in method.pins])
    play = 0.5 * (method.hole.diameter - method.pin.diameter)
    outline, ways = _corners(*right.size), []
    starts: list[tuple[Face, Array, list[complex]]] = [
        ("B", pins, outline),
        ("A", holes, _corners(*job.blank.size[:2])),
    ]
    for face, start, corners in starts:
        arms = start - start.mean()
        for order in itertools.permutations(range(len(pins))):
            onto = pins[list(order)] - pins.mean()
            turn = complex(np.vdot(arms, onto))
            if (face == "B" and list(order) == sorted(order)) or abs(turn) < _STRAIGHT:
                continue
            turn /= abs(turn)
            if np.abs(turn * arms - onto).max() > play:
                continue
            lies = [complex(pins.mean() + turn * (corner - start.mean())) for corner in corners]
            angle = cmath.phase(turn)
            crooked = abs(math.remainder(angle, 0.5 * math.pi))
            ways.append(WrongWay(_called(face, angle, crooked), face, crooked, _off(lies, outline)))
    return tuple(ways)


def _called(face: Face, angle: float, crooked: float) -> Wrong:
    """What a wrong way onto a pattern of pins is called."""
    if crooked > _STRAIGHT:
        return Wrong.CROOKED if face == "A" else Wrong.TURNED_CROOKED
    straight = _straight(angle)
    return Wrong.OTHER_AXIS if face == "B" and straight is Wrong.ROTATED else straight


def _straight(angle: float) -> Wrong:
    """What a turn by a multiple of a quarter, face A still up, is called."""
    quarters = round(angle / (0.5 * math.pi)) % 4
    return {0: Wrong.NOT_TURNED, 2: Wrong.ROTATED}.get(quarters, Wrong.QUARTER)


def _without_pins(job: Job) -> tuple[WrongWay, ...]:
    """Laid at a fence, at a mark or by eye, with one corner of its outline where it should be."""
    longer = abs(job.blank.length - job.blank.width)
    unturned = longer if job.flip == "diagonal" else 0.0
    ways = (
        WrongWay(Wrong.OTHER_AXIS, "B", 0.0, 0.0),
        WrongWay(Wrong.NOT_TURNED, "A", 0.0, unturned),
        WrongWay(Wrong.ROTATED, "A", 0.0, unturned),
    )
    return (*ways, WrongWay(Wrong.QUARTER, "B", 0.0, longer)) if longer < LOOKS_RIGHT else ways


def _corners(length: float, width: float) -> list[complex]:
    return [complex(x, y) for x in (0.0, length) for y in (0.0, width)]


def _off(lies: list[complex], outline: list[complex]) -> float:
    """How far the farthest corner is from the nearest corner of the right outline."""
    return max(min(abs(corner - right) for right in outline) for corner in lies)
