"""Where everything lies in each setup: blank, locators and pairs, in the frame of the machine and in that of the blank.

Lengths in mm. The machine frame has its origin at the front-left corner of the blank as it lies, in both setups.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from flipcheck.flip.frames import NORMALS, placing
from flipcheck.flip.ledger import SAME_LOCATOR
from flipcheck.flip.nest import nested
from flipcheck.job.records import (
    BoresMethod,
    FenceMethod,
    HolePair,
    NestMethod,
    OutlinePair,
    PinsMethod,
    ProbeMethod,
    SlotPair,
    WebPair,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flipcheck.flip.frames import Face, Placing, Point
    from flipcheck.job.records import Blank, Job, Method, Pair, Side

#: A pin that stands in the bed; a hole for one that is cut in this setup; a place where the blank bears on a fence, on
#: a straight rail or on a stop; a place that is touched off; a wall of a nest; a bore that is cut or touched off.
Role: TypeAlias = Literal["pin", "pin hole", "fence", "rail", "stop", "touch", "wall", "bore"]

_OPPOSITE: dict[Side, Side] = {"front": "back", "back": "front", "left": "right", "right": "left"}


@dataclass(frozen=True)
class Locator:
    """One thing that holds or finds the blank in one setup.

    Attributes
    ----------
    name: What it is called, such as "pin 1", "fence 2", "stop", "touch X"; its own within a setup.
    role: What it is.
    machine, blank: Its place: middle of a pin, a bore or a wall, point of contact or of touch; machine frame and blank
        frame.
    side: Machine side of the blank on which it bears or touches; None for pins and bores.
    edge: Physical edge that lies there, named as with face A up; None for pins and bores.
    diameter: Nominal diameter of a pin, of its hole in the blank, or of a bore; None for the others.
    stays: Whether one like it is at the same place of the machine in the other setup.
    """

    name: str
    role: Role
    machine: Point
    blank: Point
    side: Side | None = None
    edge: Side | None = None
    diameter: float | None = None
    stays: bool = False


@dataclass(frozen=True)
class PlacedPair:
    """One pair as it lies in one setup.

    Attributes
    ----------
    name, kind: As in the job.
    machine, blank: Its place in either frame: one point, or the corners of an outline in the order of the job.
    angle: Of the long axis of a slot from machine X, rad, at least 0 and below pi; None for the others.
    diameter: Of the hole that is cut in this setup, where the job gives it.
    depth: Of the cut of a web in this setup; None for the others.
    """

    name: str
    kind: str
    machine: tuple[Point, ...]
    blank: tuple[Point, ...]
    angle: float | None = None
    diameter: float | None = None
    depth: float | None = None


@dataclass(frozen=True, eq=False)
class Layout:
    """One setup of a job by one method.

    Attributes
    ----------
    method, kind: Name and kind of the method.
    face: The face that is up and is cut.
    flip: The turn between the two setups.
    placing: How the blank lies; `placing.size` is what it measures along machine X and Y.
    flip_line: Ends of the flip line on the blank, machine frame; the line is the same in both setups.
    datum: The corner of the blank that is front-left with face A up, machine frame.
    edges: Which physical edge lies at each machine side.
    locators: What holds or finds the blank, in the order in which it is made or used.
    pairs: All pairs, in the order of the job.
    push: Machine sides towards which the blank is pushed in its play: none, one, or two that meet in a corner.
    nest: Front-left and back-right corner of what lies in a nest, machine frame; None where nothing does.
    corner: Machine sides, left or right and front or back, of the corner that is touched off; None where none is.
    zero_z: Where Z is touched off in this setup.
    """

    method: str
    kind: str
    face: Face
    flip: str
    placing: Placing
    flip_line: tuple[Point, Point]
    datum: Point
    edges: dict[Side, Side]
    locators: tuple[Locator, ...]
    pairs: tuple[PlacedPair, ...]
    push: tuple[Side, ...]
    nest: tuple[Point, Point] | None
    corner: tuple[Side, Side] | None
    zero_z: Literal["bed", "top"]

    def __repr__(self) -> str:
        return f"Layout({self.method!r}, face {self.face}, {len(self.locators)} locators, {len(self.pairs)} pairs)"


def layouts(job: Job, method: Method) -> tuple[Layout, Layout]:
    """Both setups of a job by one of its methods: face A up, then face B up."""
    a, b = (_layout(job, method, face) for face in ("A", "B"))
    return _with_stays(a, b), _with_stays(b, a)


def _layout(job: Job, method: Method, face: Face) -> Layout:
    lies = placing(job.flip, job.blank, face)
    return Layout(
        method=method.name,
        kind=method.kind,
        face=face,
        flip=job.flip,
        placing=lies,
        flip_line=_flip_line(job.flip, job.blank),
        datum=lies.to_machine((0.0, 0.0)),
        edges={side: lies.edge_at(side) for side in NORMALS},
        locators=tuple(_locators(method, lies, job.blank)),
        pairs=tuple(_placed(pair, lies) for pair in job.pairs),
        push=_push(method, face),
        nest=_nest(method, lies, job.blank),
        corner=_corner(method, lies) if isinstance(method, ProbeMethod) else None,
        zero_z="top" if method.zero_z == "top" or (method.zero_z == "top then bed" and face == "A") else "bed",
    )


def _flip_line(flip: str, blank: Blank) -> tuple[Point, Point]:
    length, width = blank.length, blank.width
    if flip == "left-right":
        return (0.5 * length, 0.0), (0.5 * length, width)
    if flip == "front-back":
        return (0.0, 0.5 * width), (length, 0.5 * width)
    return (0.0, 0.0), (min(length, width),) * 2


def _with_stays(here: Layout, there: Layout) -> Layout:
    """Mark what is at the same place of the machine in the other setup; a hole bored into the bed becomes a pin."""

    def alike(one: Locator, other: Locator) -> bool:
        same_kind = one.role == other.role or {one.role, other.role} == {"pin", "pin hole"}
        return same_kind and one.side == other.side and math.dist(one.machine, other.machine) < SAME_LOCATOR

    locators = (replace(one, stays=any(alike(one, other) for other in there.locators)) for one in here.locators)
    return replace(here, locators=tuple(locators))


def _locators(method: Method, lies: Placing, blank: Blank) -> Iterator[Locator]:
    if isinstance(method, PinsMethod):
        yield from _pins(method, lies)
    elif isinstance(method, NestMethod):
        yield from _walls(method, lies, blank)
    elif isinstance(method, BoresMethod):
        for number, bore in enumerate(method.bores, start=1):
            yield Locator(f"bore {number}", "bore", lies.to_machine(bore), bore, diameter=method.diameter)
    elif isinstance(method, FenceMethod):
        yield from _fence(method, method.fence, method.contacts, lies)
        stop = method.stop if method.after_flip == "same side" else lies.edge_at(method.stop)
        yield _on_side("stop", "stop", lies, stop, method.stop_at)
    else:
        if method.angle == "fence" and method.fence is not None and method.contacts is not None:
            yield from _fence(method, method.fence, method.contacts, lies)
        yield from _touches(method, lies)


def _pins(method: PinsMethod, lies: Placing) -> Iterator[Locator]:
    """Pins in the bed; in setup A their holes in the blank, where these are cut with face A."""
    cut = lies.face == "A" and method.holes == "with face A"
    role: Role = "pin hole" if cut else "pin"
    size = method.hole if cut else method.pin
    for number, hole in enumerate(method.pins, start=1):
        yield Locator(f"{role} {number}", role, lies.to_machine(hole), hole, diameter=size.diameter)


def _nest(method: Method, lies: Placing, blank: Blank) -> tuple[Point, Point] | None:
    if not isinstance(method, NestMethod) or (lies.face == "A" and method.outline == "with face A"):
        return None
    (x1, y1), (x2, y2) = (lies.to_machine(corner) for corner in nested(method, blank))
    return (min(x1, x2), min(y1, y2)), (max(x1, x2), max(y1, y2))


def _walls(method: NestMethod, lies: Placing, blank: Blank) -> Iterator[Locator]:
    """The four walls of a nest, each at the middle of its side."""
    nest = _nest(method, lies, blank)
    if nest is None:
        return
    middle, half = 0.5 * np.add(*nest), 0.5 * np.subtract(nest[1], nest[0])
    for side, normal in NORMALS.items():
        x, y = middle + half * normal
        machine = (float(x), float(y))
        yield Locator(f"{side} wall", "wall", machine, lies.to_blank(machine), side, lies.edge_at(side))


def _fence(
    method: FenceMethod | ProbeMethod, side: Side, contacts: tuple[float, float], lies: Placing
) -> Iterator[Locator]:
    """Two contacts of a fence; on a rail the two spots of the edge that are taken to bear on it."""
    role: Role = "rail" if method.rail else "fence"
    first, second = contacts
    if method.rail and lies.face == "B" and lies.edge_at(side) == side:
        # the same edge bears on the same two spots, wherever these have come to lie
        along = 0 if side in ("front", "back") else 1
        first, second = (lies.to_machine(lies.on_side(side, at))[along] for at in contacts)
    for number, at in enumerate((first, second), start=1):
        yield _on_side(f"{role} {number}", role, lies, side, at)


def _touches(method: ProbeMethod, lies: Placing) -> Iterator[Locator]:
    """The touches of one setup: Y, X, their opposites where the middle is taken, and a second one for the angle."""
    x_side, y_side = _corner(method, lies)
    along_x, along_y = (
        _inward(side, size, into) for side, size, into in zip((x_side, y_side), lies.size, method.touch_in, strict=True)
    )
    yield _on_side("touch Y", "touch", lies, y_side, along_x)
    if "y" in method.middle:
        yield _on_side("touch Y, opposite", "touch", lies, _OPPOSITE[y_side], along_x)
    yield _on_side("touch X", "touch", lies, x_side, along_y)
    if "x" in method.middle:
        yield _on_side("touch X, opposite", "touch", lies, _OPPOSITE[x_side], along_y)
    if method.angle == "two touches" and method.spacing is not None:
        second = _inward(x_side, lies.size[0], method.touch_in[0] + method.spacing)
        yield _on_side("touch for the angle", "touch", lies, y_side, second)


def _corner(method: ProbeMethod, lies: Placing) -> tuple[Side, Side]:
    """The machine sides, left or right and front or back, of the corner that is touched in this setup."""
    sides: list[Side] = [side for side in NORMALS if side in method.corner.split("-")]
    if method.after_flip == "same corner":
        sides = [lies.edge_at(side) for side in sides]
    x_side = next(side for side in sides if side in ("left", "right"))
    y_side = next(side for side in sides if side in ("front", "back"))
    return x_side, y_side


def _inward(side: Side, size: float, distance: float) -> float:
    return distance if side in ("left", "front") else size - distance


def _on_side(name: str, role: Role, lies: Placing, side: Side, along: float) -> Locator:
    machine = lies.on_side(side, along)
    return Locator(name, role, machine, lies.to_blank(machine), side, lies.edge_at(side))


def _push(method: Method, face: Face) -> tuple[Side, ...]:
    if isinstance(method, PinsMethod):
        held = face == "B" or method.holes == "beforehand"
    elif isinstance(method, NestMethod):
        held = face == "B" or method.outline == "beforehand"
    else:
        return ()
    return tuple(side for side in NORMALS if held and side in method.push.split("-"))


def _placed(pair: Pair, lies: Placing) -> PlacedPair:
    blank = pair.points if isinstance(pair, OutlinePair) else (pair.at,)
    machine = tuple(lies.to_machine(point) for point in blank)
    angle = diameter = depth = None
    if isinstance(pair, SlotPair):
        x, y = lies.matrix @ (math.cos(pair.angle), math.sin(pair.angle))
        angle = _half_turn(float(np.arctan2(y, x)))
    elif isinstance(pair, HolePair):
        diameter = pair.hole_a if lies.face == "A" else pair.hole_b
    elif isinstance(pair, WebPair):
        depth = pair.depth_a if lies.face == "A" else pair.depth_b
    return PlacedPair(pair.name, pair.kind, machine, blank, angle, diameter, depth)


def _half_turn(angle: float) -> float:
    """The same direction of a line, at least 0 and below pi; rounding does not turn 0 into pi."""
    turned = angle % math.pi
    return 0.0 if math.pi - turned < 1e-12 else turned
