"""The look of every text: bare tables that never cut off a number, headlines whose colour says nothing new."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from rich.box import Box
from rich.console import Console, Group
from rich.measure import Measurement
from rich.table import Table
from rich.text import Text

from flipcheck.show.words import WIDTH, too_near

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rich.console import RenderableType

    from flipcheck.stack.intervals import Chance

#: A line under the heads, in ASCII, and nothing else.
_RULED = Box("    \n    \n -  \n    \n    \n    \n    \n    \n", ascii=True)


def laid_out(parts: Group, *, width: int = WIDTH, colour: bool = False) -> str:
    """Paragraphs and tables as text.

    Parameters
    ----------
    parts: What to lay out, one below the other.
    width: Columns to fill; a table whose numbers need more gets more.
    colour: Whether to add colour, for a terminal; it says nothing that the words do not.
    """
    console = Console(file=io.StringIO(), width=width, force_terminal=colour, color_system="auto" if colour else None)
    tables = [part for part in parts.renderables if isinstance(part, Table)]
    console.width = max([width, *(_least_width(console, table) for table in tables)])
    with console.capture() as capture:
        console.print(parts)
    return "\n".join(line.rstrip() for line in capture.get().splitlines()) + "\n"


def gap(*parts: RenderableType) -> list[RenderableType]:
    """An empty line, and what comes after it."""
    return [Text(""), *parts]


def title(text: str) -> Text:
    """The title of a part of a text."""
    return Text(text, style="bold")


def headline(text: str, chance: Chance, goal: float) -> Text:
    """A verdict: green where the goal is met, red where it is not, yellow where the trials leave it open."""
    if too_near(chance, goal):
        return Text(text, style="bold yellow")
    return Text(text, style="bold green" if chance.estimate >= goal else "bold red")


def table_of(*heads: str, name: int = 0, left: Mapping[int, int | None] | None = None) -> Table:
    """An empty table. Its column number `name` holds names and wraps as it must; the others hold numbers and do not.

    `left` numbers further columns of words, with the width to wrap them at, or None for words that stay on one line.
    """
    table = Table(box=_RULED, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0), header_style="")
    for i, head in enumerate(heads):
        if i == name:
            table.add_column(Text(head), overflow="fold", min_width=10)
        elif left and i in left:
            table.add_column(Text(head), overflow="fold", width=left[i], no_wrap=left[i] is None)
        else:
            table.add_column(Text(head), justify="right", no_wrap=True)
    return table


def add_row(table: Table, *cells: str) -> None:
    """Add a row; what looks like markup in a cell is taken literally."""
    table.add_row(*(Text(cell) for cell in cells))


def _least_width(console: Console, table: Table) -> int:
    """The columns a table needs when its names wrap as much as they may and its numbers are whole."""
    names = [column for column in table.columns if column.min_width]
    for column in names:
        column.max_width = column.min_width
    needed = Measurement.get(console, console.options.update(width=10_000), table).maximum
    for column in names:
        column.max_width = None
    return needed
