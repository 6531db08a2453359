"""Setups that cannot be: nests and bores, and holes that the blank has no room for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from flipcheck.job.checks.part import NEARLY, Part
from flipcheck.job.findings import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from flipcheck.job.checks.part import Place
    from flipcheck.job.findings import Path
    from flipcheck.job.records import BoresMethod, NestMethod, PinsMethod


def of_nest(method: NestMethod, part: Part) -> Iterator[Finding]:
    """What is impossible in a nest; paths are counted from the method."""
    with_a = method.datum_with_face_a
    if method.rectangle is not None:
        yield from _rectangle(method.rectangle, part)
        if not with_a:
            hint = "leave rectangle out: the blank as it comes lies in the nest"
            needed = 'outline = "with face A" beside rectangle'
            yield Finding("option-unused", ("rectangle",), needed, f'outline = "{method.outline}"', hint)
    if with_a and method.after_flip == "second pocket":
        needed = 'outline = "beforehand" beside a second pocket'
        hint = "leave after_flip out: an outline cut with face A is nested only for face B"
        yield Finding("option-unused", ("after_flip",), needed, f'outline = "{method.outline}"', hint)
    if part.blank and part.flip == "diagonal" and not with_a and method.after_flip == "same pocket":
        length, width = part.blank.length, part.blank.width
        if abs(length - width) > NEARLY:
            needed = "a second pocket, or a square blank: after a diagonal turn its sides have changed places"
            came = 'after_flip = "same pocket"'
            came += "" if "after_flip" in method.model_fields_set else ", the default"
            yield Finding("nest-oblong", ("after_flip",), needed, came, 'after_flip = "second pocket"')


def _rectangle(corners: tuple[Place, Place], part: Part) -> Iterator[Finding]:
    path: Path = ("rectangle",)
    for number, corner in enumerate(corners):
        yield from part.off_blank((*path, number), corner)
    (x1, y1), (x2, y2) = corners
    if min(x2 - x1, y2 - y1) < NEARLY:
        needed = "the front-left corner of the outline, then its back-right corner"
        yield Finding("rectangle-corners", path, needed, f"{part.text(x1, y1)} and {part.text(x2, y2)}")


def of_bores(method: BoresMethod, part: Part) -> Iterator[Finding]:
    """What is impossible with two bores; paths are counted from the method."""
    yield from whole_holes("bores", method.bores, method.diameter, part)
    apart = math.dist(*method.bores)
    if apart < method.diameter:
        needed = f"two bores further apart than one is wide, {part.text(method.diameter)}"
        yield Finding("pins-too-close", ("bores",), needed, part.text(apart))
    yield from idle_position(method)


def whole_holes(key: str, holes: Sequence[Place], diameter: float, part: Part) -> Iterator[Finding]:
    """Holes that lie off the blank, or break through its edge."""
    radius = diameter / 2.0
    for number, hole in enumerate(holes):
        path: Path = (key, number)
        yield from part.off_blank(path, hole)
        if part.on_blank(hole) and not part.on_blank(hole, radius):
            needed = f"a hole that stays within the blank, its middle at least {part.text(radius)} from the edges"
            yield Finding("pin-breaks-edge", path, needed, part.text(*hole))


def idle_position(method: PinsMethod | BoresMethod) -> Iterator[Finding]:
    """An error of place for holes that are cut with face A."""
    if method.hole_position is not None and method.datum_with_face_a:
        needed = 'holes = "beforehand" beside hole_position'
        hint = "leave hole_position out: holes made with face A take the machine's own errors"
        yield Finding("option-unused", ("hole_position",), needed, f'holes = "{method.holes}"', hint)
