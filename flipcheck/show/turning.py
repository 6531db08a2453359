"""What the turn does to each error of a stack, in a sentence with its lever arm."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flipcheck.flip.after_flip import AfterFlip
from flipcheck.show.error_sizes import in_unit, unit_of
from flipcheck.show.lengths import length, place

if TYPE_CHECKING:
    from collections.abc import Sequence

    from flipcheck.decide.results import StackEntry
    from flipcheck.flip.lever import Lever

#: An effect this many times larger one way than the other is said to go that way.
_ONE_WAY = 5.0
#: A factor nearer to 1 than this is not told.
_PLAIN = 0.005


_WORDS = {
    AfterFlip.CANCELS: "cancels: it acts the same way on both faces",
    AfterFlip.INDEPENDENT: "new on each face: two draws that know nothing of each other",
    AfterFlip.DOUBLES: "doubles",
    AfterFlip.ONCE: "counts once",
}


def turning(entry: StackEntry, units: str) -> str:
    """One sentence, such as "doubles along the flip line: 2 x 0.2 mm/m x 30 mm from the flip line".

    Sizes are standard deviations.
    """
    words = _WORDS[entry.after_flip]
    if entry.lever is None or entry.after_flip in (AfterFlip.CANCELS, AfterFlip.INDEPENDENT):
        return words
    if entry.lever.grows:
        return f"{words} {_direction(entry.lever)}: {_growth(entry.source, entry.lever, units)}"
    return f"{words} {_direction(entry.lever)}: {_product(entry.lever, units)}"


def turnings(stack: Sequence[StackEntry], units: str) -> list[str]:
    """A sentence for each source of a stack that has a lever, one for all that cancel, one for all that come anew."""
    lines = [
        f"{entry.source}: {turning(entry, units)}."
        for entry in stack
        if entry.lever and entry.after_flip in (AfterFlip.DOUBLES, AfterFlip.ONCE)
    ]
    for what in (AfterFlip.CANCELS, AfterFlip.INDEPENDENT):
        names = [entry.source for entry in stack if entry.lever and entry.after_flip is what]
        if names:
            lines.append(f"{', '.join(names)}: {_WORDS[what]}.")
    return lines


def _direction(lever: Lever) -> str:
    if lever.across > _ONE_WAY * lever.along:
        return "across the flip line"
    return "along the flip line" if lever.along > _ONE_WAY * lever.across else "across and along the flip line"


def _product(lever: Lever, units: str) -> str:
    times = "2 x " if lever.faces == 2 else ""
    if not lever.slope:
        factor = "" if abs(lever.arm - 1.0) < _PLAIN else f"{lever.arm:.2f} x "
        return f"{times}{factor}{length(lever.size, units)} {units}"
    return f"{times}{1000.0 * lever.size:.3g} mm/m x {place(lever.arm, units)} {units} {_origin(lever, units)}"


def _growth(source: str, lever: Lever, units: str) -> str:
    unit = unit_of(source, units)

    def step(size: float, between: str) -> str:
        return f"{in_unit(size, unit):.3g} {unit}{between}{length(abs(size) * lever.arm, units)} {units}"

    moved = step(lever.mean or lever.size, " moves it ")
    if lever.mean and lever.size:
        moved += f" (sd {step(lever.size, ': ')})"
    return f"{moved}, counted {_origin(lever, units)}" if lever.line or lever.centre else moved


def _origin(lever: Lever, units: str) -> str:
    if lever.from_flip_line:
        return "from the flip line"
    if lever.line is not None:
        axis, where = lever.line
        return f"from {axis} = {place(where, units)} {units}"
    if lever.centre is not None:
        x, y = (place(where, units) for where in lever.centre)
        return f"from the point ({x}, {y})"
    return "of lever arm"
