"""Published numbers beside those of flipcheck, as text and as plain data, source by source."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from rich.console import Group
from rich.text import Text

from flipcheck.show.look import add_row, gap, laid_out, table_of, title
from flipcheck.show.plain import json_text
from flipcheck.show.words import WIDTH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import RenderableType
    from rich.table import Table

    from flipcheck.decide.validation.validation import Outcome

_HEADS = ("what", "published", "flipcheck", "off by", "allowed", "within")
_NUMBERS = range(1, len(_HEADS))
_LEGEND = (
    "Allowed: half a unit of the last published digit; where something is simulated, what chance adds to it as well."
    ' "From memory": the publication was not at hand. "Computed here": no number is published; this one was worked out'
    " another way."
)


def validation_to_text(outcomes: Sequence[Outcome], *, width: int = WIDTH, colour: bool = False) -> str:
    """Outcomes as text; `width` and `colour` as for `look.laid_out`."""
    return laid_out(validation_text(outcomes), width=width, colour=colour)


def validation_text(outcomes: Sequence[Outcome]) -> Group:
    """How many numbers agree, then all of them under one row of heads."""
    rows = {source: [_cells(outcome) for outcome in found] for source, found in by_source(outcomes).items()}
    widths = [
        max(len(row[i]) for row in [_HEADS, *(row for found in rows.values() for row in found)]) for i in _NUMBERS
    ]
    parts: list[RenderableType] = [*gap(_table([], widths))]
    for source, found in rows.items():
        parts += gap(title(f"{source[0].upper()}{source[1:]}"), _table(found, widths))
    return Group(_verdict(outcomes), *parts, *gap(Text(_LEGEND)))


def validation_to_json(outcomes: Sequence[Outcome]) -> str:
    """Outcomes as JSON text."""
    return json_text(validation_to_plain(outcomes))


def validation_to_plain(outcomes: Sequence[Outcome]) -> dict[str, Any]:
    """Outcomes as plain data, in the order of the text."""
    return {
        "checks": len(outcomes),
        "within": sum(outcome.within for outcome in outcomes),
        "sources": [
            {"source": source, "checks": [_check(outcome) for outcome in found]}
            for source, found in by_source(outcomes).items()
        ],
    }


def by_source(outcomes: Sequence[Outcome]) -> dict[str, list[Outcome]]:
    """Outcomes by their source, in the order in which the sources come up."""
    found: dict[str, list[Outcome]] = {}
    for outcome in outcomes:
        found.setdefault(outcome.source, []).append(outcome)
    return found


def _verdict(outcomes: Sequence[Outcome]) -> Text:
    count, off = len(outcomes), [outcome for outcome in outcomes if not outcome.within]
    if not off:
        return Text(f"All {count} numbers are as published, within what is allowed.", style="bold green")
    names = "; ".join(f"{outcome.name} ({outcome.source})" for outcome in off)
    return Text(f"{len(off)} of {count} numbers are not as published: {names}.", style="bold red")


def _table(rows: Sequence[Sequence[str]], widths: Sequence[int]) -> Table:
    """The rows of one source; the heads alone where there are none."""
    table = table_of(*_HEADS)
    table.show_header = not rows
    for column, width in zip(table.columns[1:], widths, strict=True):
        column.width = width
    table.columns[0].width = WIDTH - sum(widths) - 2 * len(widths)
    for row in rows:
        add_row(table, *row)
    return table


def _cells(outcome: Outcome) -> tuple[str, ...]:
    rounding = abs(outcome.difference) <= 1e-12 * abs(outcome.published)
    return (
        outcome.name,
        f"{outcome.published:.10g}",
        number(outcome.ours, outcome.tolerance),
        "0" if rounding else f"{outcome.difference:+.1e}",
        f"{outcome.tolerance:.1e}" if outcome.tolerance else "0",
        "yes" if outcome.within else "NO",
    )


def number(value: float, tolerance: float) -> str:
    """A number to one digit more than its tolerance has, or whole where it must be met exactly."""
    if not math.isfinite(value) or not value or not tolerance:
        return f"{value:.10g}"
    digits = math.floor(math.log10(abs(value))) - math.floor(math.log10(tolerance)) + 2
    return f"{value:#.{min(max(digits, 1), 10)}g}".rstrip(".")


def _check(outcome: Outcome) -> dict[str, Any]:
    return {
        "name": outcome.name,
        "published": outcome.published,
        "ours": outcome.ours,
        "difference": outcome.difference,
        "tolerance": outcome.tolerance,
        "within": outcome.within,
    }
