"""Setups that cannot be: locators off the blank, or told to do what their place forbids.

Fence, contacts, stop and touches are in the machine frame of each setup, pins in the frame of the blank.
"""

from __future__ import annotations

import math
from itertools import combinations
from typing import TYPE_CHECKING

from flipcheck.job.checks.nests_and_bores import idle_position, of_bores, of_nest, whole_holes
from flipcheck.job.checks.part import NEARLY, Part
from flipcheck.job.findings import Finding
from flipcheck.job.flip_line import ON_THE_LINE, flip_line
from flipcheck.job.methods import SAME_SPOT
from flipcheck.job.records import BoresMethod, FenceMethod, NestMethod, PinsMethod, ProbeMethod

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flipcheck.job.records import Blank, Flip, Job, Method

#: A push steeper than this to the pin line still turns play into a known pose.
PUSH_ANGLE = math.radians(6.0)
_ACROSS = {"left": (1.0, 0.0), "right": (1.0, 0.0), "front": (0.0, 1.0), "back": (0.0, 1.0)}


def of_method(method: Method, part: Part) -> Iterator[Finding]:
    """What is impossible in one method; paths are counted from the method."""
    if isinstance(method, PinsMethod):
        yield from _pins(method, part)
    elif isinstance(method, FenceMethod):
        yield from _fence(method, part)
    elif isinstance(method, NestMethod):
        yield from of_nest(method, part)
    elif isinstance(method, BoresMethod):
        yield from of_bores(method, part)
    else:
        yield from _probe(method, part)


def _pins(method: PinsMethod, part: Part) -> Iterator[Finding]:
    largest = max(method.pin.diameter, method.hole.diameter)
    yield from whole_holes("pins", method.pins, method.hole.diameter, part)
    apart = min(math.dist(*pair) for pair in combinations(method.pins, 2))
    if apart < largest:
        needed = f"two pins further apart than one is thick, {part.text(largest)}"
        yield Finding("pins-too-close", ("pins",), needed, part.text(apart))
    elif len(method.pins) > 2:
        for key, plain in (("second_hole", "round"), ("push", "none")):
            value = getattr(method, key)
            if value != plain:
                came = f'{key} = "{value}" with {len(method.pins)} pins'
                yield Finding("only-two-pins", (key,), f"two pins beside {key}", came, f'{key} = "{plain}"')
    elif method.push != "none" and part.flip:
        yield from _push(method, part.flip)
    beforehand = method.holes == "beforehand"
    yield from idle_position(method)
    if method.wear_of == "blank" and not beforehand:
        needed = 'holes = "beforehand" beside wear_of = "blank"'
        hint = 'wear_of = "bed": holes made with face A are on the pins only once'
        yield Finding("option-unused", ("wear_of",), needed, f'holes = "{method.holes}"', hint)
    if method.bed_holes == "same stroke":
        if beforehand:
            needed = 'holes = "with face A", since one stroke makes the hole in the blank and in the bed'
            yield Finding("same-stroke-beforehand", ("bed_holes",), needed, 'holes = "beforehand"')
        if part.blank and part.flip:
            yield from _same_stroke(method, part.blank, part.flip, part)


def _push(method: PinsMethod, flip: str) -> Iterator[Finding]:
    (x1, y1), (x2, y2) = method.pins[:2]
    across = _ACROSS[method.push]
    lines = [(x2 - x1, y2 - y1)] if method.holes == "beforehand" else []
    lines.append((y2 - y1, x2 - x1) if flip == "diagonal" else (x2 - x1, y2 - y1))
    for line in lines:
        along = abs(line[0] * across[0] + line[1] * across[1]) / math.hypot(*line)
        if along > math.cos(PUSH_ANGLE):
            needed = "a push across the pin line"
            came = f'push = "{method.push}", along it'
            hint = '"front" or "back"' if across[0] else '"left" or "right"'
            yield Finding("push-along-pins", ("push",), needed, came, hint)
            return


def _same_stroke(method: PinsMethod, blank: Blank, flip: Flip, part: Part) -> Iterator[Finding]:
    line, (x, y) = flip_line(flip, blank), (0.5 * blank.length, 0.5 * blank.width)
    where = {"left-right": f"x = {part.text(x)}", "front-back": f"y = {part.text(y)}", "diagonal": "x = y"}[flip]
    for number, pin in enumerate(method.pins):
        if abs(line.off(pin)) > ON_THE_LINE:
            needed = f"pins on the flip line, {where}, to be bored in one stroke through blank and bed"
            hint = 'move the pin onto the line, or bed_holes = "separately"'
            yield Finding("same-stroke-off-line", ("pins", number), needed, part.text(*pin), hint)


def _fence(method: FenceMethod, part: Part) -> Iterator[Finding]:
    yield from _contacts(method.fence, method.contacts, part)
    if _ACROSS[method.fence] == _ACROSS[method.stop]:
        sides = '"left" or "right"' if method.fence in ("front", "back") else '"front" or "back"'
        came = f'stop = "{method.stop}" with fence = "{method.fence}"'
        yield Finding("stop-on-fence", ("stop",), f"a stop on a side next to the fence's: {sides}", came)
    else:
        yield from part.off_edge(("stop_at",), method.stop_at, method.stop)
    if part.flip == "diagonal" and method.after_flip == "same edge":
        needed = "a stop that stays on its machine side: after a diagonal turn its edge lies on the fence"
        given = "after_flip" in method.model_fields_set
        came = 'after_flip = "same edge"' + ("" if given else ", the default")
        yield Finding("diagonal-same-edge", ("after_flip",), needed, came, 'after_flip = "same side"')


def _contacts(fence: str, contacts: tuple[float, float], part: Part) -> Iterator[Finding]:
    for number, contact in enumerate(contacts):
        yield from part.off_edge(("contacts", number), contact, fence)
    if abs(contacts[0] - contacts[1]) < SAME_SPOT:
        needed = f"two contacts at least {part.text(SAME_SPOT)} apart"
        yield Finding("contacts-together", ("contacts",), needed, part.text(abs(contacts[0] - contacts[1])))


def _probe(method: ProbeMethod, part: Part) -> Iterator[Finding]:
    for number, side in enumerate(("front", "left")):
        yield from part.off_edge(("touch_in", number), method.touch_in[number], side)
    if len(set(method.middle)) < len(method.middle):
        yield Finding("not-a-choice", ("middle",), '"x" and "y" once each', ", ".join(method.middle))
    if method.angle == "two touches":
        yield from _second_touch(method, part)
    if method.angle == "fence":
        for key in ("fence", "contacts"):
            if getattr(method, key) is None:
                yield Finding("missing-key", (key,), 'fence and contacts beside angle = "fence"', f"no {key}")
        if method.fence and method.contacts:
            yield from _contacts(method.fence, method.contacts, part)


def idle_options(job: Job) -> tuple[str, ...]:
    """Options that do nothing as the job stands: not wrong, since people try one `angle` after another."""
    return tuple(
        f'methods "{method.name}": {key} does nothing with {because}'
        for method in job.methods
        if isinstance(method, ProbeMethod | BoresMethod)
        for key, because in _idle(method)
    )


def _idle(method: ProbeMethod | BoresMethod) -> Iterator[tuple[str, str]]:
    if method.same_phase and method.stylus == "probe":
        yield "same_phase", 'stylus = "probe"'
    if isinstance(method, BoresMethod):
        return
    angle = f'angle = "{method.angle}"'
    if method.angle != "two touches" and method.spacing is not None:
        yield "spacing", angle
    if method.angle != "fence":
        given = {
            "fence": method.fence,
            "contacts": method.contacts,
            "set_by": method.set_by == "hand",
            "rail": method.rail,
        }
        yield from ((key, angle) for key, value in given.items() if value)


def _second_touch(method: ProbeMethod, part: Part) -> Iterator[Finding]:
    if method.spacing is None:
        yield Finding("missing-key", ("spacing",), 'spacing beside angle = "two touches"', "no spacing")
        return
    if method.spacing < SAME_SPOT:
        needed = f"two touches at least {part.text(SAME_SPOT)} apart"
        yield Finding("contacts-together", ("spacing",), needed, part.text(method.spacing))
    second = method.touch_in[0] + method.spacing
    for setup, extent in part.extents(along_x=True):
        if second > extent + NEARLY:
            needed = f"a second touch on the blank, at most {part.text(extent)} from the corner in setup {setup}"
            came = f"{part.text(method.touch_in[0])} and {part.text(method.spacing)} further"
            yield Finding("beyond-edge", ("spacing",), needed, came)
            return
