"""Limits as text: a paragraph a method that says what matters, then what each error, the pins and the holes may do."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from flipcheck.decide.wording import NOTHING, chance_text, goal_text
from flipcheck.show import words
from flipcheck.show.cautions import CAUTION
from flipcheck.show.error_sizes import size_text, unit_of
from flipcheck.show.lengths import in_units, length, place
from flipcheck.show.look import add_row, gap, headline, laid_out, table_of, title
from flipcheck.show.words import WIDTH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import RenderableType
    from rich.table import Table

    from flipcheck.decide.limits.changes import Changes
    from flipcheck.decide.limits.fixture import HoleReach, PinLimits
    from flipcheck.decide.limits.limits import Limits, MethodLimits, SourceLimit

#: How many errors are named as the tightest.
_NAMED = 3
_NOTHING_ACTS = "No error acts on it."
_GIVEN_AS = {"std": "sd", "limit": "limit", "reading": "reading", "change": "change"}
_LEGEND = (
    "Largest: of this error alone, at which the goal is still met, everything else as given; a bias stays as it is."
    " sd: standard deviation; limit: plus or minus; reading: total indicator reading."
)
_HOLES_LEGEND = "May lie up to: for this pair by itself to meet the goal, straight away from the flip line."


def limits_to_text(limits: Limits, *, width: int = WIDTH, colour: bool = False) -> str:
    """Limits as text; `width` and `colour` as for `look.laid_out`."""
    return laid_out(limits_text(limits), width=width, colour=colour)


def limits_text(limits: Limits) -> Group:
    """First what matters, a paragraph a method; then their tables."""
    first, *others = [_verdict(method, limits) for method in limits.methods]
    return Group(
        first,
        *(part for verdict in others for part in gap(verdict)),
        *gap(Text(_question(limits))),
        *(part for method in limits.methods for part in _method(method, limits)),
        *gap(Text(_LEGEND)),
        *([Text(_HOLES_LEGEND)] if any(method.holes for method in limits.methods) else []),
        *gap(
            Text(words.left_out(limits.left_out, limits.between)),
            Text(f"{words.whole(limits.trials)} trials, seed {limits.seed}."),
            Text(CAUTION),
        ),
    )


def _question(limits: Limits) -> str:
    return f"{words.part(limits)}. How large may each error be for {goal_text(limits.goal)} of the parts to line up?"


def _verdict(method: MethodLimits, limits: Limits) -> Text:
    """What matters about one method; its first sentence is the headline."""
    met = method.chance.estimate >= limits.goal
    holds = "meets the goal" if met else "misses the goal"
    open_ = " Too near to be sure: run more trials (--trials)." if words.too_near(method.chance, limits.goal) else ""
    text = headline(f'"{method.name}" {holds}: {chance_text(method.chance)}.', method.chance, limits.goal)
    return Text.assemble(text, f"{open_} {_tightest(method.sources) if met else _remedy(method, limits.units)}")


def _tightest(sources: Sequence[SourceLimit]) -> str:
    """Which errors have the least room to grow."""
    named = [s for s in sources if s.factor is not None and math.isfinite(s.factor)][:_NAMED]
    if not sources:
        return _NOTHING_ACTS
    if not named:
        return "Any one of its errors may be of any size."
    first, *others = named
    room = [f"{first.source} may grow to {times(first.factor)} times its size"]
    room += [f"{s.source} to {times(s.factor)}" for s in others]
    return f"The tightest: {', '.join(room)}."


def _remedy(method: MethodLimits, units: str) -> str:
    """What would reach a missed goal: each thing that does so alone, or else several together."""
    alone = _alone(method, units)
    if len(alone) == 1:
        return f"One change reaches it: {alone[0]}."
    if alone:
        return f"Any one of these reaches it: {'; '.join(alone)}."
    if method.changes is None or method.changes.factor is None:
        return (
            "It would miss without any of its errors: a bias, a push against pins or walls, or the part as drawn is in"
            " the way."
        )
    return f"It takes several changes at once: {_together(method.changes, method.pins, units)}."


def _alone(method: MethodLimits, units: str) -> list[str]:
    pins, alone = method.pins, []
    if pins and pins.largest is not None and pins.smallest is not None:
        alone.append(_new_clearance(min(max(pins.clearance, pins.smallest), pins.largest), pins, units))
    if pins and pins.smallest_spacing is not None and pins.spacing is not None:
        alone.append(f"pins {place(pins.smallest_spacing, units)} {units} apart, not {place(pins.spacing, units)}")
    helpful = [s for s in reversed(method.sources) if s.factor is not None and s.factor < 1.0]
    return alone + [f"{s.source} at {_per_cent(s.factor)} of its size" for s in helpful]


def _together(changes: Changes, pins: PinLimits | None, units: str) -> str:
    listed = []
    if changes.sources and changes.factor is not None:
        each = ", each" if len(changes.sources) > 1 else ""
        listed.append(f"{words.listed(changes.sources)}{each} at {_per_cent(changes.factor)} of its size")
    if changes.clearance is not None and pins:
        listed.append(_new_clearance(changes.clearance, pins, units))
    return "; and ".join(listed)


def _new_clearance(clearance: float, pins: PinLimits, units: str) -> str:
    what = "pin clearance" if pins.spacing is not None else "clearance of the nest"
    return f"a {what} of {length(clearance, units)} {units}, not {length(pins.clearance, units)}"


def _per_cent(factor: float | None) -> str:
    """A size that is small enough, in per cent of the present one: rounded down."""
    share = 100.0 * (factor or 0.0)
    text = f"{math.floor(share)}" if share >= 10.0 else f"{math.floor(10.0 * share) / 10.0:.1f}"
    return f"{text} %" if float(text) else "next to nothing"


def times(factor: float | None) -> str:
    """How many times its size an error may have, in about three digits."""
    if factor is None:
        return NOTHING
    if math.isinf(factor):
        return "any"
    if 0.0 < factor < 0.1:
        return f"{factor:.2g}"
    return f"{factor:.{2 if factor < 10.0 else 1 if factor < 100.0 else 0}f}"


def _method(method: MethodLimits, limits: Limits) -> list[RenderableType]:
    units = limits.units
    parts: list[RenderableType] = gap(title(f"{method.name} ({method.kind})"), *_sources(method, limits))
    if method.pins:
        parts += gap(Text(_pins(method.pins, limits)))
    if method.holes:
        parts += gap(_holes(method.holes, units))
    return parts


def _sources(method: MethodLimits, limits: Limits) -> list[RenderableType]:
    if not method.sources:
        return [Text(_NOTHING_ACTS)]
    some = [source for source in method.sources if source.factor is not None]
    none = [source.source for source in method.sources if source.factor is None]
    open_ = "any size" if method.chance.estimate >= limits.goal else "if larger"
    parts: list[RenderableType] = []
    if some:
        table = table_of("error", "given as", "now", "largest", "times", left={1: None})
        for source in some:
            unit = unit_of(source.source, limits.units)
            largest = open_ if source.factor == math.inf else size_text(source.largest or 0.0, unit)
            given = f"{_GIVEN_AS[source.given_as]}, {unit}"
            add_row(table, source.source, given, size_text(source.size, unit), largest, times(source.factor))
        parts.append(table)
    if none:
        parts.append(Text(f"Not enough alone, even at zero: {', '.join(none)}."))
    return parts


def _pins(pins: PinLimits, limits: Limits) -> str:
    units = limits.units
    now, on = length(pins.clearance, units), length(pins.goes_on, units)
    way = "on" if pins.spacing is not None else "in"
    if pins.smallest is None or pins.largest is None:
        share = goal_text(limits.goal)
        fit = f"no clearance meets the goal (now {now} {units}); {share} of the blanks go {way} from {on} {units}"
    else:
        smallest, largest = length(pins.smallest, units), length(pins.largest, units)
        between = f"{smallest} {units} or more" if math.isinf(pins.largest) else f"{smallest} to {largest} {units}"
        fit = f"a clearance of {between} meets the goal (now {now})"
    if pins.spacing is None:
        return f"Nest: {fit}."
    apart = place(pins.spacing, units)
    if pins.smallest_spacing is None:
        spacing = f"no distance between them on the blank meets it (now {apart} {units})"
    else:
        spacing = f"they must be {place(pins.smallest_spacing, units)} {units} apart or more (now {apart})"
    return f"Pins: {fit}; {spacing}."


def _holes(holes: Sequence[HoleReach], units: str) -> Table:
    table = table_of("pair", f"from the flip\nline now, {units}", "may lie\nup to")
    places = {"mm": 1, "in": 2}[units]
    for hole in holes:
        largest = "nowhere" if hole.largest is None else "anywhere"
        if hole.largest is not None and math.isfinite(hole.largest):
            largest = f"{in_units(hole.largest, units):.{places}f}"
        add_row(table, hole.pair, f"{in_units(hole.distance, units):.{places}f}", largest)
    return table
