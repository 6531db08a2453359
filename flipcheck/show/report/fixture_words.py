"""The fixture sheet in words and tables: locators, the fit of pins, edges and corners that are met, wrong ways."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flipcheck.decide.fixture.wrong_ways import Wrong
from flipcheck.decide.setup.steps import marked_corner
from flipcheck.decide.wording import NOTHING, percent
from flipcheck.job.stated import Stated
from flipcheck.show.document.content import Items, Table, Text
from flipcheck.show.lengths import coordinate, diameter_text, length
from flipcheck.show.setup_sheet.words import corner_name

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flipcheck.decide.fixture.layout import Layout, Locator
    from flipcheck.decide.fixture.nest_fit import NestFit
    from flipcheck.decide.fixture.pin_fit import PinFit, PinHeight, Size
    from flipcheck.decide.fixture.sheet import CornerMet, EdgeMet, FixtureSheet
    from flipcheck.decide.fixture.wrong_ways import WrongWay
    from flipcheck.flip.frames import Point
    from flipcheck.show.document.content import Block


def fixture_blocks(sheet: FixtureSheet, units: str) -> Iterator[Block]:
    """All of a fixture sheet but the plans and the places of the pairs."""
    yield _locators(sheet, units)
    if sheet.pins is not None:
        yield _pins(sheet.pins, units)
        yield Items(tuple(_heights(sheet.pins, units)))
    if sheet.nest is not None:
        yield _nest(sheet.nest, units)
    if sheet.edges:
        yield _edges(sheet.edges, units)
    if sheet.corners:
        yield Text(" ".join(_corner(corner, units) for corner in sheet.corners))
    yield _ways(sheet, units)
    yield Items(tuple(mistakes(sheet, units)))


def _locators(sheet: FixtureSheet, units: str) -> Table:
    return Table(
        caption=f"Locators, {units}: machine X and Y from the front-left corner of the blank as it lies, blank x and y"
        " from its front-left corner with face A up",
        heads=("locator", "face up", "machine X", "machine Y", "blank x", "blank y", "on the machine", "what is there"),
        rows=tuple(_locator(layout, one, units) for layout in (sheet.a, sheet.b) for one in layout.locators),
        numbers=(2, 3, 4, 5),
    )


def _locator(layout: Layout, one: Locator, units: str) -> tuple[str, ...]:
    side = f"{one.side} side" if one.side else "in the bed" if one.role == "pin" else "in the blank"
    there = f"{one.edge} edge" if one.edge else diameter_text(one.diameter or 0.0, units)
    if layout.face == "B" and one.role not in ("touch", "bore") and not one.stays:
        there += ", at a new place"
    numbers = (length(value, units) for point in (one.machine, one.blank) for value in point)
    return (one.name, layout.face, *numbers, side, there)


def _pins(fit: PinFit, units: str) -> Table:
    goes_on = NOTHING if fit.goes_on is None else f"{percent(fit.goes_on, 2)} %"
    rows = (
        (_diameter("pins", fit.pin, units), *_size(fit.pin, units)),
        (_diameter("holes", fit.hole, units), *_size(fit.hole, units)),
        (f"clearance on the diameter, {units}", *_size(fit.clearance, units)),
        ("turn on the pins to either side, mm/m", f"{1e3 * fit.turn:.3g}", NOTHING, f"{1e3 * fit.largest_turn:.3g}"),
        (f"distance of the pins{_the_widest(fit)}, {units}", length(fit.spacing, units), NOTHING, NOTHING),
        ("blanks that go on", goes_on, NOTHING, NOTHING),
    )
    caption = "How the pins fit; the turn is the sum of both radial clearances over the distance of the pins"
    return Table(caption, ("", "nominal", "least", "most"), rows, (1, 2, 3))


def _nest(fit: NestFit, units: str) -> Table:
    goes_in = NOTHING if fit.goes_on is None else f"{percent(fit.goes_on, 2)} %"
    rows = (
        (f"clearance along X and along Y, {units}", *_size(fit.clearance, units)),
        ("turn in the nest to either side, mm/m", f"{1e3 * fit.turn:.3g}", NOTHING, f"{1e3 * fit.largest_turn:.3g}"),
        ("blanks that go in", goes_in, NOTHING, NOTHING),
    )
    caption = "How it fits the nest, edges out of square left aside; the turn is the clearance over the longer side"
    return Table(caption, ("", "nominal", "least", "most"), rows, (1, 2, 3))


def _the_widest(fit: PinFit) -> str:
    return " farthest apart" if len(fit.heights) > 2 else ""


def _diameter(of: str, size: Size, units: str) -> str:
    called = f" ({size.nominal.name})" if isinstance(size.nominal, Stated) else ""
    return f"diameter of the {of}{called}, {units}"


def _size(size: Size, units: str) -> tuple[str, ...]:
    return tuple(length(value, units) for value in (size.nominal, size.low, size.high))


def _heights(fit: PinFit, units: str) -> Iterator[str]:
    yield (
        f"A pin sits {coordinate(fit.depth, units)} {units} deep in the bed or deeper, one diameter, where the"
        " spoilboard allows (common practice, no source)."
    )
    for height in fit.heights:
        yield _height(height, units)


def _height(height: PinHeight, units: str) -> str:
    over = ", ".join(
        f'"{cut.pair}" from face {cut.face}' + ("" if cut.sure else " may, for the job does not give its length")
        for cut in height.over
    )
    if not height.tallest:
        return f"Pin {height.pin} has to come out before the cut: {over} reaches over it."
    reason = f"; {over} reaches over it" if over else "; no pair of the job reaches over it"
    tallest = f"{coordinate(height.tallest, units)} {units}"
    return f"Pin {height.pin} stands at most {tallest} above the bed{reason} (the cutter's own radius comes on top)."


def _edges(edges: tuple[EdgeMet, ...], units: str) -> Table:
    return Table(
        caption=f"Which edge is met at which side of the machine, {units}",
        heads=("face up", "machine side", "edge of the blank", "met by", "it lies at", "a bit of radius r touches at"),
        rows=tuple(
            (
                met.face,
                met.side,
                met.edge,
                ", ".join(met.by),
                f"{met.axis.upper()} = {coordinate(met.at, units)}",
                _touched_at(met, units),
            )
            for met in edges
        ),
    )


def _touched_at(met: EdgeMet, units: str) -> str:
    if not any(name.startswith("touch") for name in met.by):
        return NOTHING
    return f"{met.axis.upper()} = {coordinate(met.at, units)} {'+' if met.sign > 0 else '-'} r"


def _corner(corner: CornerMet, units: str) -> str:
    return (
        f"With face {corner.face} up the {corner_name(corner.blank)} corner of the blank is touched off; it lies"
        f" {corner_name(corner.machine)} on the machine, at {_point(corner.at, units)}."
    )


def _point(at: Point, units: str) -> str:
    return f"X {coordinate(at[0], units)} Y {coordinate(at[1], units)}"


def _ways(sheet: FixtureSheet, units: str) -> Table:
    caption = (
        "Wrong ways in which the blank goes onto the pins"
        if sheet.pins
        else "Wrong ways in which the blank fits its place"
    )
    return Table(
        caption=f"{caption}, and how far off its outline then lies, {units}",
        heads=("what was done", "face up", "off by", "looks right"),
        rows=tuple(
            (way.what.value, way.face_up, length(way.off, units), "yes" if way.looks_right else "no")
            for way in sheet.wrong_ways
        ),
        numbers=(2,),
    )


def mistakes(sheet: FixtureSheet, units: str) -> Iterator[str]:
    """Which wrong ways look right, and what to do against them."""
    alike = [_way(way) for way in sheet.wrong_ways if way.looks_right]
    off = [f"{_way(way)} ({coordinate(way.off, units)} {units})" for way in sheet.wrong_ways if not way.looks_right]
    goes = "goes onto the pins and looks right" if sheet.pins else "fits its place and looks right"
    if alike:
        yield f"A blank {goes} when it is {'; '.join(alike)}."
    if off and sheet.pins:
        yield f"It goes onto the pins but lies plainly off when it is {'; '.join(off)}."
    where = corner_name(marked_corner(sheet.b))
    yield f"So look for the mark: with face B up it is {where}, and no cut of face A can be seen on top."
    if sheet.move is not None:
        to = _point(sheet.move.to, units)
        yield (
            f"Better: put pin hole {sheet.move.pin} at {to} (face A up); turned about the other axis the blank then"
            f" lies {coordinate(sheet.move.off, units)} {units} off, plain to see."
        )


def _way(way: WrongWay) -> str:
    seen = " (the cuts of face A are on top)" if way.face_up == "A" and way.what is Wrong.NOT_TURNED else ""
    return f"{way.what.value}{seen}"
