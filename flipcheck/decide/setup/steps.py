"""The steps of one part in the order of the shop: prepare, zero and cut face A, turn over, seat, zero, prove, cut B."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from flipcheck.decide.fixture.sheet import place_of_side
from flipcheck.decide.setup.step import MARKED, SCRATCH, Action, Caution, Ruler, Spot, Stage, Step
from flipcheck.flip.ledger import SAME_LOCATOR
from flipcheck.job.records import BoresMethod, FenceMethod, NestMethod, PinsMethod, ProbeMethod

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flipcheck.decide.fixture.layout import Layout, Locator
    from flipcheck.decide.fixture.sheet import FixtureSheet
    from flipcheck.job.records import Job, Method, Side


def setup_steps(job: Job, method: Method, sheet: FixtureSheet) -> tuple[Step, ...]:
    """All steps of one part by a method, in the order of the work; `sheet` is its fixture sheet."""
    return (
        *_prepare(job),
        *_first_setup(method, sheet),
        *_cut_a(job, method, sheet),
        *_turn(job, method, sheet),
        *_seat(method, sheet),
        *_zero(method, sheet.b, Stage.ZERO_B),
        *_prove(job, sheet),
        *_cut_b(method),
    )


def _prepare(job: Job) -> Iterator[Step]:
    error, stage = job.errors.stock_thickness, Stage.PREPARE
    cautions = (Caution.BODY, Caution.RULES)
    size, limit = (job.blank.thickness + error.mean, error.bound) if error else (job.blank.thickness, None)
    yield Step(stage, Action.MEASURE_THICKNESS, size=size, limit=limit, cautions=cautions)
    yield Step(stage, Action.MARK, corner=MARKED)
    yield Step(stage, Action.CLEAN)


def _first_setup(method: Method, sheet: FixtureSheet) -> Iterator[Step]:
    stage, layout = Stage.ZERO_A, sheet.a
    if isinstance(method, PinsMethod):
        if not method.datum_with_face_a:
            yield _bore_bed(method, sheet, stage, (*_spots(sheet.a), *_spots(sheet.b)))
            yield from _pins_in(sheet, layout, stage)
    elif isinstance(method, NestMethod):
        yield from _cut_nest(method, layout, stage)
    elif isinstance(method, FenceMethod | ProbeMethod):
        yield from _fence(method, sheet.a, stage)
    yield from _lay(layout, stage)
    yield Step(stage, Action.CLAMP, cautions=(Caution.CLAMPS,))
    yield from _zero(method, layout, stage)


def _bore_bed(method: PinsMethod, sheet: FixtureSheet, stage: Stage, spots: tuple[Spot, ...]) -> Step:
    """The holes in the bed; a place that serves both setups is told once."""
    assert sheet.pins is not None
    once: dict[tuple[int, ...], Spot] = {}
    for spot in spots:
        once.setdefault(tuple(round(place / SAME_LOCATOR) for place in spot.at), spot)
    holes = tuple(Spot(f"hole {number}", spot.at) for number, spot in enumerate(once.values(), start=1))
    return Step(stage, Action.BORE_BED, spots=holes, size=method.pin.diameter, limit=sheet.pins.depth)


def _cut_nest(method: NestMethod, layout: Layout, stage: Stage) -> Iterator[Step]:
    """The pocket that the blank is dropped into, with half of the clearance all round."""
    if layout.nest is not None:
        spots = tuple(Spot(name, at) for name, at in zip(("front-left", "back-right"), layout.nest, strict=True))
        yield Step(stage, Action.CUT_NEST, layout.face, spots=spots, size=0.5 * method.clearance)


def _spots(layout: Layout, *roles: str) -> tuple[Spot, ...]:
    return tuple(Spot(one.name, one.machine) for one in layout.locators if not roles or one.role in roles)


def _pins_in(sheet: FixtureSheet, layout: Layout, stage: Stage) -> Iterator[Step]:
    assert sheet.pins is not None
    tallest = min(height.tallest for height in sheet.pins.heights)
    spots, depth = _spots(layout), sheet.pins.depth
    yield Step(stage, Action.PUSH_PINS, layout.face, spots=spots, size=tallest, limit=depth)


def _fence(method: FenceMethod | ProbeMethod, layout: Layout, stage: Stage) -> Iterator[Step]:
    """A fence, and a stop where there is one, as they stand for face A."""
    bearing = [one for one in layout.locators if one.role in ("fence", "rail")]
    if bearing and bearing[0].side is not None:
        side, spots = bearing[0].side, tuple(Spot(one.name, one.machine) for one in bearing)
        axis, at, _ = place_of_side(layout, side)
        yield Step(stage, Action.SET_FENCE, side=side, spots=spots, axis=axis, at=at, detail=method.set_by)
    yield from _stop(method, layout, stage)


def _stop(method: FenceMethod | ProbeMethod, layout: Layout, stage: Stage) -> Iterator[Step]:
    for one in layout.locators:
        if one.role == "stop" and one.side is not None:
            axis, at, _ = place_of_side(layout, one.side)
            detail = method.set_by if layout.face == "A" else "stays" if one.stays else "moved"
            spots = (Spot(one.name, one.machine),)
            yield Step(
                *(stage, Action.SET_STOP, layout.face, one.side, one.edge),
                spots=spots,
                axis=axis,
                at=at,
                detail=detail,
            )


def _lay(layout: Layout, stage: Stage) -> Iterator[Step]:
    """Lay the blank down: onto pins, against what it bears on, or by eye."""
    on_pins = any(one.role == "pin" for one in layout.locators)
    bearing = {one.side: one for one in layout.locators if one.role in ("fence", "rail", "stop")}
    by_eye = layout.kind == "probe" and not any(one.name == "touch for the angle" for one in layout.locators)
    in_nest = layout.nest is not None
    detail = "pins" if on_pins else "nest" if in_nest else "locators" if bearing else "by eye" if by_eye else "roughly"
    yield Step(stage, Action.LAY, layout.face, corner=marked_corner(layout), detail=detail)
    for side, one in bearing.items():
        yield Step(stage, Action.AGAINST, layout.face, side, one.edge, detail=one.role)
    if layout.push:
        into = "nest" if layout.nest else "pins"
        corner = (layout.push[1], layout.push[0]) if len(layout.push) == 2 else None
        yield Step(stage, Action.PUSH, layout.face, side=layout.push[0], corner=corner, detail=into)


def _zero(method: Method, layout: Layout, stage: Stage) -> Iterator[Step]:
    """X and Y, then Z."""
    if isinstance(method, ProbeMethod):
        yield from _touches(method, layout, stage)
    elif layout.face == "A" and method.datum_with_face_a:
        what = {"pins": "pin holes", "bores": "bores", "nest": "outline"}[method.kind]
        yield Step(stage, Action.ZERO_XY, detail=what)
    elif isinstance(method, BoresMethod):
        spots = _spots(layout)
        caution = (Caution.SPINDLE_OFF,)
        yield Step(stage, Action.FIND_BORES, layout.face, spots=spots, detail=method.zero_at, cautions=caution)
    elif layout.face == "A" and isinstance(method, FenceMethod) and method.set_by == "hand":
        yield Step(stage, Action.ZERO_AT_FENCE)
    else:
        yield Step(stage, Action.KEEP_XY, layout.face, detail=method.kind)
    yield Step(stage, Action.ZERO_Z, layout.face, detail=layout.zero_z, cautions=(Caution.PLATE_OFF,))


def _touches(method: ProbeMethod, layout: Layout, stage: Stage) -> Iterator[Step]:
    """Each edge that is touched, with what its axis shall read there; a second one where the middle is taken."""
    named = {one.name: one for one in layout.locators if one.role == "touch"}
    yield _touch(method, layout, stage, named["touch Y"], named.get("touch Y, opposite"))
    angle = named.get("touch for the angle")
    if angle is not None:
        spots = tuple(Spot(each.name, each.machine) for each in (named["touch Y"], angle))
        yield Step(stage, Action.ANGLE, layout.face, angle.side, angle.edge, spots=spots, size=method.spacing)
    yield _touch(method, layout, stage, named["touch X"], named.get("touch X, opposite"))


def _touch(method: ProbeMethod, layout: Layout, stage: Stage, one: Locator, other: Locator | None) -> Step:
    assert one.side is not None
    axis, at, sign = place_of_side(layout, one.side)
    spots = tuple(Spot(each.name, each.machine) for each in (one, other) if each is not None)
    action = Action.TOUCH
    if other is not None:
        action, at, sign = Action.MIDDLE, 0.5 * layout.placing.size[0 if axis == "x" else 1], 0
    cautions = (Caution.SPINDLE_OFF,) if one.name == "touch Y" else ()
    return Step(
        *(stage, action, layout.face, one.side, one.edge),
        spots=spots,
        axis=axis,
        at=at,
        sign=sign,
        detail=method.stylus,
        cautions=cautions,
    )


def _cut_a(job: Job, method: Method, sheet: FixtureSheet) -> Iterator[Step]:
    if job.blank.skim_a is not None:
        yield Step(Stage.CUT_A, Action.SKIM, size=job.blank.skim_a)
    if isinstance(method, PinsMethod) and method.datum_with_face_a:
        assert sheet.pins is not None
        size, depth = method.hole.diameter, sheet.pins.depth
        spots = _spots(sheet.a)
        yield Step(Stage.CUT_A, Action.BORE_PIN_HOLES, spots=spots, size=size, limit=depth, detail=method.bed_holes)
    elif isinstance(method, BoresMethod) and method.datum_with_face_a:
        yield Step(Stage.CUT_A, Action.BORE_BORES, spots=_spots(sheet.a), size=method.diameter)
    yield Step(Stage.CUT_A, Action.CUT, cautions=(Caution.LOOSE,))
    if sheet.a.outline is not None:
        spots = tuple(Spot(name, at) for name, at in zip(("front-left", "back-right"), sheet.a.outline, strict=True))
        yield Step(Stage.CUT_A, Action.CUT_OUTLINE, spots=spots, cautions=(Caution.LOOSE,))


def _turn(job: Job, method: Method, sheet: FixtureSheet) -> Iterator[Step]:
    if not isinstance(method, ProbeMethod | BoresMethod):
        yield Step(Stage.TURN, Action.NO_HOMING, detail=method.kind)
    if isinstance(method, NestMethod) and (method.datum_with_face_a or method.after_flip == "second pocket"):
        yield from _cut_nest(method, sheet.b, Stage.TURN)
    if isinstance(method, PinsMethod) and method.datum_with_face_a and method.bed_holes == "separately":
        yield _bore_bed(method, sheet, Stage.TURN, _spots(sheet.b))
    yield Step(Stage.TURN, Action.TURN_OVER, "B", corner=marked_corner(sheet.b), detail=job.flip)
    yield Step(Stage.TURN, Action.CLEAN, "B")


def marked_corner(layout: Layout) -> tuple[Side, Side]:
    """Sides of the machine at which the marked corner of the blank lies in a setup."""
    x, y = layout.datum
    return "left" if x == 0.0 else "right", "front" if y == 0.0 else "back"


def _seat(method: Method, sheet: FixtureSheet) -> Iterator[Step]:
    stage, layout = Stage.SEAT, sheet.b
    if isinstance(method, FenceMethod | ProbeMethod):
        yield from _stop(method, layout, stage)
    elif isinstance(method, PinsMethod) and (method.datum_with_face_a or not all(one.stays for one in layout.locators)):
        yield from _pins_in(sheet, layout, stage)
    yield from _lay(layout, stage)
    yield Step(stage, Action.CLAMP, "B", cautions=(Caution.CLAMPS_MIRRORED, Caution.LESS_MATERIAL))


def _prove(job: Job, sheet: FixtureSheet) -> Iterator[Step]:
    yield Step(Stage.PROVE, Action.DRY_RUN, "B")
    spot = _farthest(sheet.b)
    if spot is not None:
        rulers = _rulers(sheet.b, spot)
        yield Step(Stage.PROVE, Action.POINT_AT, "B", spots=(spot,), rulers=rulers, cautions=(Caution.SPINDLE_OFF,))
    yield Step(Stage.PROVE, Action.SCRATCH, "B", size=SCRATCH[job.units])


def _farthest(layout: Layout) -> Spot | None:
    """The hole or slot farthest from the flip line, where a wrong turn or a wrong sign shows most."""
    (x1, y1), (x2, y2) = layout.flip_line
    length = math.dist(*layout.flip_line)
    found = [
        (abs((x - x1) * (y2 - y1) - (y - y1) * (x2 - x1)) / length, Spot(pair.name, (x, y)))
        for pair in layout.pairs
        if pair.kind in ("hole", "slot")
        for x, y in pair.machine
    ]
    return max(found, key=lambda one: one[0])[1] if found else None


def _rulers(layout: Layout, spot: Spot) -> tuple[Ruler, ...]:
    """How far a spot lies from the nearest edge along X, and from the nearest along Y, of what is left of the blank."""
    low, high = layout.part
    sides: tuple[tuple[Side, Side], ...] = (("left", "right"), ("front", "back"))
    rulers = []
    for axis, (towards_low, towards_high) in enumerate(sides):
        below, above = spot.at[axis] - low[axis], high[axis] - spot.at[axis]
        side = towards_low if below <= above else towards_high
        rulers.append(Ruler(side, layout.edges[side], min(below, above)))
    return tuple(rulers)


def _cut_b(method: Method) -> Iterator[Step]:
    pins = (Caution.PINS_OUT,) if isinstance(method, PinsMethod) else ()
    yield Step(Stage.CUT_B, Action.CUT, "B", cautions=pins)
    yield Step(Stage.CUT_B, Action.MEASURE, "B")
