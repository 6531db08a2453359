"""A sweep as text: where the goal is crossed, then the chances and the distances as tables."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from flipcheck.decide.wording import NOTHING, chance_text, goal_text
from flipcheck.show import words
from flipcheck.show.cautions import CAUTION
from flipcheck.show.lengths import length
from flipcheck.show.look import add_row, gap, laid_out, table_of, title
from flipcheck.show.sweep import words as sweep_words
from flipcheck.show.sweep.words import between_steps, value_text
from flipcheck.show.words import WIDTH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import RenderableType

    from flipcheck.decide.sweep.results import MethodPoint, Sweep

    #: A head, and a method at each value of the first quantity.
    Column = tuple[str, tuple[MethodPoint | None, ...]]

#: Columns side by side, and how wide the name of a method is set at its head.
_BESIDE, _HEAD = 5, 12


def sweep_to_text(sweep: Sweep, *, width: int = WIDTH, colour: bool = False) -> str:
    """A sweep as text; `width` and `colour` as for `look.laid_out`."""
    return laid_out(sweep_text(sweep), width=width, colour=colour)


def sweep_text(sweep: Sweep) -> Group:
    """First where each method meets the goal; then a table of chances and one of distances."""
    return Group(
        *(title(sweep_words.verdict(sweep, name)) for name in sweep.methods),
        *gap(Text(sweep_words.question(sweep)), Text(f"The goal is {goal_text(sweep.goal)}.")),
        *([] if sweep.empty else _tables(sweep)),
        *(part for one in sweep_words.impossible(sweep) for part in gap(Text(one))),
        *gap(
            Text(words.left_out(sweep.left_out)),
            Text(sweep_words.trials(sweep)),
            Text(CAUTION),
        ),
    )


def _tables(sweep: Sweep) -> list[RenderableType]:
    met = "Will line up, and is the goal met? (?: too near to be sure)"
    p95 = sweep_words.p95_title(sweep)
    parts: list[RenderableType] = []
    if len(sweep.varied) == 1:
        columns = [(textwrap.fill(name, _HEAD), sweep.row(name)) for name in sweep.methods]
        return [*gap(title(met)), *_chances(sweep, columns), *gap(title(p95)), *_distances(sweep, columns)]
    first, second = sweep.varied
    for name in sweep.methods:
        columns = [(value_text(value), sweep.row(name, i)) for i, value in enumerate(second.values)]
        across = f"Across: {_named(second.key, second.unit)}. Down: {_named(first.key, first.unit)}."
        parts += gap(title(f"{name}. {met}"), Text(across), *_chances(sweep, columns, _crossed(sweep, name)))
        parts += gap(title(f"{name}. {p95}"), *_distances(sweep, columns))
    return parts


def _named(key: str, unit: str) -> str:
    return f"{key}, {unit}" if unit else key


def _chances(sweep: Sweep, columns: Sequence[Column], last: Sequence[str] = ()) -> list[RenderableType]:
    def cell(method: MethodPoint | None) -> str:
        return NOTHING if method is None else f"{chance_text(method.chance)} {words.met(method.chance, sweep.goal)}"

    return _side_by_side(sweep, [(head, [cell(method) for method in row]) for head, row in columns], last)


def _distances(sweep: Sweep, columns: Sequence[Column]) -> list[RenderableType]:
    pair, units = sweep.pair, sweep.units

    def cell(method: MethodPoint | None) -> str:
        return NOTHING if method is None else length(method.pair(pair).p95, units)

    return _side_by_side(sweep, [(head, [cell(method) for method in row]) for head, row in columns])


def _crossed(sweep: Sweep, name: str) -> list[str]:
    """Where the goal is crossed, by value of the second quantity."""
    first, second = sweep.varied
    at: dict[float | None, list[str]] = {value: [] for value in second.values}
    for crossing in sweep.crossings:
        if crossing.method == name:
            at[crossing.beside].append(between_steps(crossing.value, first))
    return ["\n".join(at[value]) or NOTHING for value in second.values]


def _side_by_side(
    sweep: Sweep, columns: Sequence[tuple[str, list[str]]], last: Sequence[str] = ()
) -> list[RenderableType]:
    """Tables of a few columns each, one below the other; `last` is a line below, where the goal is crossed."""
    parts: list[RenderableType] = []
    varied = sweep.varied[0]
    done = {varied.values.index(point.values[0]) for point in sweep.done}
    for start in range(0, len(columns), _BESIDE):
        some = columns[start : start + _BESIDE]
        table = table_of(varied.unit or "value", *(head for head, _ in some), name=-1)
        for row, value in enumerate(varied.values):
            if row not in done:
                continue
            add_row(table, value_text(value), *(cells[row] for _, cells in some))
        if last:
            add_row(table, "goal at", *last[start : start + _BESIDE])
        parts += [table] if start == 0 else gap(table)
    return parts
