"""The fixture sheet: where every locator goes in both setups, how pins fit, and which edge is met at which side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from flipcheck.decide.layout import layouts
from flipcheck.decide.nest_fit import nest_fit
from flipcheck.decide.pin_fit import pin_fit
from flipcheck.decide.wrong_ways import pin_move, wrong_ways
from flipcheck.flip.frames import NORMALS
from flipcheck.job.records import NestMethod, PinsMethod, WebPair

if TYPE_CHECKING:
    from flipcheck.decide.layout import Layout
    from flipcheck.decide.nest_fit import NestFit
    from flipcheck.decide.pin_fit import PinFit
    from flipcheck.decide.results import MethodResult
    from flipcheck.decide.wrong_ways import PinMove, WrongWay
    from flipcheck.flip.frames import Face, Point
    from flipcheck.job.records import Job, Method, Side


@dataclass(frozen=True)
class EdgeMet:
    """What is met at one side of the machine in one setup.

    Attributes
    ----------
    face: The face that is up.
    by: Names of the locators, as in the layout.
    side: Side of the machine.
    edge: Physical edge that lies there, named as with face A up.
    axis: "x" or "y": the axis that it fixes.
    at: Where that side is on this axis, mm.
    sign: +1 where outward is towards plus, -1 where it is towards minus. A bit of radius r that touches the edge from
        outside stands at `at + sign * r`.
    """

    face: Face
    by: tuple[str, ...]
    side: Side
    edge: Side
    axis: str
    at: float
    sign: int


@dataclass(frozen=True)
class CornerMet:
    """The corner that is touched off in one setup.

    Attributes
    ----------
    face: The face that is up.
    machine: Sides of the machine at which it lies: left or right, front or back.
    blank: Physical edges that meet there, named as with face A up, in the same order.
    at: Its place, machine frame.
    """

    face: Face
    machine: tuple[Side, Side]
    blank: tuple[Side, Side]
    at: Point


@dataclass(frozen=True)
class CutLevel:
    """What Z reads at the bottom of the two cuts of a web, mm, counted from where Z is zeroed in each setup."""

    pair: str
    a: float
    b: float


@dataclass(frozen=True, eq=False)
class FixtureSheet:
    """What must be known to lay out the fixture of one method.

    Attributes
    ----------
    method, kind: Name and kind of the method.
    a, b: Both setups: locators and pairs in the frames of machine and blank.
    pins: How the pins fit; None for the other kinds.
    nest: How the nest fits; None for the other kinds.
    edges: What is met at each side in each setup; empty for pins and bores.
    corners: The corner that is touched in setup A, and in setup B; empty where none is.
    levels: Z at the bottom of the cuts of each web.
    wrong_ways: Wrong ways to lay the blank down for face B.
    move: A pin to move so that the wrong turn is plain to see; None where that is no help.
    """

    method: str
    kind: str
    a: Layout
    b: Layout
    pins: PinFit | None
    nest: NestFit | None
    edges: tuple[EdgeMet, ...]
    corners: tuple[CornerMet, ...]
    levels: tuple[CutLevel, ...]
    wrong_ways: tuple[WrongWay, ...]
    move: PinMove | None

    def __repr__(self) -> str:
        return f"FixtureSheet({self.method!r}, {self.kind})"


def fixture_sheet(job: Job, method: Method, result: MethodResult | None = None) -> FixtureSheet:
    """The fixture sheet of a method; with its result, the share of blanks that go onto the pins is told too."""
    a, b = layouts(job, method)
    return FixtureSheet(
        method=method.name,
        kind=method.kind,
        a=a,
        b=b,
        pins=pin_fit(job, method, result) if isinstance(method, PinsMethod) else None,
        nest=nest_fit(job, method, result) if isinstance(method, NestMethod) else None,
        edges=tuple(met for layout in (a, b) for met in edges_met(layout)),
        corners=tuple(corner for corner in (corner_met(a), corner_met(b)) if corner is not None),
        levels=tuple(
            CutLevel(
                pair.name, *(_level(job, layout, depth) for layout, depth in ((a, pair.depth_a), (b, pair.depth_b)))
            )
            for pair in job.pairs
            if isinstance(pair, WebPair)
        ),
        wrong_ways=wrong_ways(job, method),
        move=pin_move(job, method) if isinstance(method, PinsMethod) else None,
    )


def _level(job: Job, layout: Layout, depth: float) -> float:
    return job.blank.thickness - depth if layout.zero_z == "bed" else -depth


def edges_met(layout: Layout) -> tuple[EdgeMet, ...]:
    """What is met at each side of the machine in one setup, in the order in which it is met."""
    by: dict[Side, list[str]] = {}
    for locator in layout.locators:
        if locator.side is not None:
            by.setdefault(locator.side, []).append(locator.name)
    return tuple(
        EdgeMet(layout.face, tuple(names), side, layout.edges[side], *where(layout, side)) for side, names in by.items()
    )


def where(layout: Layout, side: Side) -> tuple[str, float, int]:
    """The axis that a side of the blank fixes, its place on it in mm, and +1 or -1 for the way that points outward."""
    x, y = NORMALS[side]
    sign = int(x + y)
    axis = "x" if x else "y"
    return axis, layout.placing.size[0 if x else 1] if sign > 0 else 0.0, sign


def corner_met(layout: Layout) -> CornerMet | None:
    """The corner that is touched in one setup; None where none is."""
    if layout.corner is None:
        return None
    x_side, y_side = layout.corner
    at = (where(layout, x_side)[1], where(layout, y_side)[1])
    return CornerMet(layout.face, layout.corner, (layout.edges[x_side], layout.edges[y_side]), at)
