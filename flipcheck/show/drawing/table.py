"""The table beside a plan: what each tag stands for, and its place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flipcheck.show.ink import FAINT, INK, MUTED, SMALL, lines, text_width, wrapped
from flipcheck.show.lengths import in_units

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from flipcheck.show.drawing.tags import Row

#: Width of the column of names, height of a line, and space between rows and columns, points.
_NAMES, _LINE, _GAP, _BETWEEN = 132.0, SMALL * 1.25, 3.0, 8.0


class Table:
    """Rows of tag, name, X and Y, with notes below; it knows its own size."""

    def __init__(self, rows: Sequence[Row], notes: Sequence[str], units: str) -> None:
        places = _decimals(rows, units)
        self._rows = [
            (row.tag, wrapped(row.name, _NAMES, SMALL), *(
                (f"{in_units(value, units) + 0.0:.{places}f}" for value in row.at) if row.at else ("", "")
            ))
            for row in rows
        ]  # fmt: skip
        self._units = units
        self._tag = max(text_width(row[0], SMALL, bold=True) for row in self._rows)
        self._number = max(text_width(number, SMALL) for row in self._rows for number in (*row[2:], f"X, {units}"))
        self._name = max(text_width(row[1], SMALL) for row in self._rows)
        self.width = self._tag + self._name + 2.0 * self._number + 3.0 * _BETWEEN
        self.width = max(self.width, 150.0)
        self._notes = [wrapped(note, self.width, SMALL) for note in notes]

    @property
    def height(self) -> float:
        """Height of all rows and notes, points."""
        lines = sum(_height(row[1]) for row in self._rows) + sum(_height(note) for note in self._notes)
        return lines + 2.0 * (_LINE + _GAP) + 6.0

    def draw(self, ax: Axes, right: float, most: float) -> None:
        """Write the table `right` points beside the plan, at most so high; rows beyond that are counted, not lost."""
        first = right
        ends = (first + self._tag + _BETWEEN + self._name + _BETWEEN + self._number,
                first + self._tag + 2.0 * _BETWEEN + self._name + 2.0 * self._number + _BETWEEN)  # fmt: skip
        down = 0.0
        for end, axis in zip(ends, "XY", strict=True):
            self._cell(ax, f"{axis}, {self._units}", end, down, ha="right", color=MUTED)
        down -= _LINE + _GAP
        self._rule(ax, first, down + 0.9 * _GAP)
        room = most - (self.height - sum(_height(row[1]) for row in self._rows))
        shown = self._fitting(room)
        for tag, name, x, y in self._rows[:shown]:
            self._cell(ax, tag, first, down, fontweight="bold")
            self._cell(ax, name, first + self._tag + _BETWEEN, down)
            self._cell(ax, x, ends[0], down, ha="right")
            self._cell(ax, y, ends[1], down, ha="right")
            down -= _height(name)
        if shown < len(self._rows):
            self._cell(ax, f"and {len(self._rows) - shown} more", first, down, color=MUTED)
            down -= _LINE
        self._rule(ax, first, down + 0.2 * _GAP)
        down -= 1.5 * _GAP
        for note in self._notes:
            self._cell(ax, note, first, down, color=MUTED)
            down -= _height(note)

    def _fitting(self, room: float) -> int:
        used = 0.0
        for number, row in enumerate(self._rows):
            used += _height(row[1])
            if used > max(room, 3.0 * _LINE):
                return number
        return len(self._rows)

    def _cell(self, ax: Axes, text: str, right: float, down: float, *, color: str = INK, **how: Any) -> None:
        if text:
            lines(ax, text, (right, down - SMALL), _LINE, size=SMALL, color=color, **how)

    def _rule(self, ax: Axes, right: float, down: float) -> None:
        """A thin line across the table."""
        from matplotlib.text import OffsetFrom

        corner = OffsetFrom(ax, (1, 1))
        ax.annotate(
            "",
            (right, down),
            xytext=(right + self.width, down),
            xycoords=corner,
            textcoords=corner,
            annotation_clip=False,
            arrowprops={"arrowstyle": "-", "color": FAINT, "linewidth": 0.8, "shrinkA": 0, "shrinkB": 0},
        )


def _height(text: str) -> float:
    return _LINE * (text.count("\n") + 1) + _GAP


def _decimals(rows: Sequence[Row], units: str) -> int:
    """As few decimals as write every place as it is, three at most, or four in inches."""
    most = 3 if units == "mm" else 4
    numbers = [in_units(value, units) for row in rows if row.at for value in row.at]
    return next(
        (places for places in range(most) if all(abs(round(n, places) - n) < 0.5 * 10.0**-most for n in numbers)), most
    )
