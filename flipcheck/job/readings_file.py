"""A CSV file of readings becomes `Readings`, or every problem in it is told at once."""

from __future__ import annotations

import csv
import math
from typing import TYPE_CHECKING

from flipcheck.errors import JobError, Problem
from flipcheck.job import quantities
from flipcheck.job.fields import LONGEST_NAME
from flipcheck.job.findings import nearest
from flipcheck.job.quantities import RefusedError, printable, shown
from flipcheck.job.reader import text_of
from flipcheck.job.readings import Diagonals, Distance, Growth, Offset, Readings
from flipcheck.job.records import HolePair, OutlinePair, WebPair

if TYPE_CHECKING:
    import os
    from collections.abc import Iterator, Mapping

    from flipcheck.job.readings import Point
    from flipcheck.job.records import Job, Pair

#: What a row may hold, one form a row: a mismatch, the steps of a coupon, a pin that passes, two diagonals.
FORMS = {
    "mismatch": ("dx", "dy"),
    "steps": ("left", "right", "front", "back"),
    "pin": ("pin", "hole"),
    "diagonals": ("along_x", "along_y", "rising", "falling"),
}
_WHERE = ("part", "pair", "x", "y", "u", "seen", "note")
COLUMNS = (*_WHERE, *(column for form in FORMS.values() for column in form))
#: A first article has a few dozen; this keeps a wrong file from taking all memory.
MOST_READINGS = 1000
#: Rows that differ more than this from Pythagoras are a slip of the pen, no rectangle.
_RECTANGLE = 0.02


def read_readings(path: str | os.PathLike[str], job: Job) -> Readings:
    """The readings in a CSV file, of parts made by `job`.

    Raises
    ------
    JobError: the file cannot be read, or something in it must be mended.
    """
    return parse_readings(text_of(path, "readings file", ".csv"), job, str(path))


def parse_readings(text: str, job: Job, file: str | None = None) -> Readings:
    """The readings in a CSV text; `file` is the name to give in messages.

    Raises
    ------
    JobError: with everything that must be mended, in the order of the text.
    """
    reading = _Reading(text.removeprefix("\ufeff"), job)
    readings = reading.readings()
    if reading.problems:
        raise JobError(sorted(reading.problems, key=lambda problem: problem.line or 0), file)
    return readings


def tool_size(text: str, name: str, job: Job) -> float:
    """The size of a bit or a plate as it is written on the command line, mm.

    Raises
    ------
    JobError: for what is no length above 0.
    """
    try:
        return _size(text, job.units, positive=True)
    except RefusedError as error:
        came = error.came or shown(text)
        raise JobError([Problem(error.code, f"--{name}", error.needed, came, error.hint)], f"--{name}") from None


class _Reading:
    """One pass over a text, gathering what is wrong instead of stopping at it."""

    def __init__(self, text: str, job: Job) -> None:
        self.text, self.job = text, job
        self.pairs = {pair.name: pair for pair in job.pairs}
        self.problems: list[Problem] = []

    def readings(self) -> Readings:
        """What could be read."""
        offsets: list[Offset] = []
        growths: list[Growth] = []
        distances: list[Distance] = []
        diagonals: list[Diagonals] = []
        rows = list(self.rows())
        if len(rows) > MOST_READINGS:
            needed = f"at most {MOST_READINGS} readings"
            self.find("too-many-readings", rows[MOST_READINGS][0], "the file", needed, str(len(rows)))
            return Readings()
        for line, cells in rows:
            row = _Row(self, line, cells)
            form = row.form()
            if form == "mismatch":
                offsets += row.mismatch()
            elif form == "steps":
                row.steps(offsets, growths)
            elif form == "pin":
                distances += row.pin()
            elif form == "diagonals":
                diagonals += row.diagonals()
        if not rows and not self.problems:
            needed = "a line for each reading, below the line of headings"
            self.find("no-readings", None, "the file", needed, "none")
        return Readings(tuple(offsets), tuple(distances), tuple(diagonals), tuple(growths))

    def rows(self) -> Iterator[tuple[int, Mapping[str, str]]]:
        """The lines that hold readings: their number, and their filled cells by column."""
        lines = [line for line in self.lines() if any(line[1])]
        if not lines:
            return
        head, titles = lines[0]
        columns = self.columns(head, [title.lower() for title in titles])
        for number, cells in lines[1:]:
            if len(cells) > len(columns) and any(cells[len(columns) :]):
                comma = "a point as the decimal sign, or ; between the cells" if "." not in "".join(cells) else ""
                needed = f"at most {len(columns)} cells, as in the headings"
                self.find("row-length", number, "the row", needed, f"{len(cells)}", comma)
            else:
                yield number, {name: cell for name, cell in zip(columns, cells, strict=False) if name and cell}

    def lines(self) -> Iterator[tuple[int, list[str]]]:
        """Every line that is no comment, cut into cells."""
        text = "".join("\n" if line.lstrip().startswith("#") else line for line in self.text.splitlines(keepends=True))
        first = next((line for line in text.splitlines() if line.strip()), "")
        separator = next((sign for sign in (";", "\t") if sign in first), ",")
        reader = csv.reader(text.splitlines(), delimiter=separator, strict=True, skipinitialspace=True)
        try:
            for cells in reader:
                yield reader.line_num, [cell.strip() for cell in cells]
        except csv.Error as error:
            needed = "cells with a separator between them, quotes only around whole cells"
            self.find("csv-syntax", reader.line_num, "the row", needed, f"something else ({error})")

    def columns(self, line: int, titles: list[str]) -> list[str]:
        """The columns by the headings; empty where a heading says nothing that is known."""
        for i, title in enumerate(titles):
            if title and title in titles[:i]:
                self.find("repeated-column", line, "the headings", "each heading once", f"{shown(title)} twice")
            elif title and title not in COLUMNS:
                known = ", ".join(COLUMNS)
                close = nearest(title, COLUMNS)
                self.find("unknown-column", line, "the headings", f"headings such as {known}", shown(title), close)
        if "part" not in titles:
            needed = "a column part, with a name or number of its own for each part"
            came = f"{', '.join(shown(title) for title in titles[:8] if title)}" or "none"
            hint = "" if any(title in COLUMNS for title in titles) else "a first line of headings, part,pair,dx,dy"
            self.find("missing-column", line, "the headings", needed, came, hint)
        if not any(column in titles for form in FORMS.values() for column in form):
            forms = "; or ".join(", ".join(form) for form in FORMS.values())
            self.find("missing-column", line, "the headings", f"columns with readings: {forms}")
        return [title if title in COLUMNS and title not in titles[:i] else "" for i, title in enumerate(titles)]

    def find(self, code: str, line: int | None, where: str, needed: str, came: str = "", hint: str = "") -> None:
        """Note a problem."""
        self.problems.append(Problem(code, where, needed, came, hint, line))


class _Row:
    """One line of readings."""

    def __init__(self, reading: _Reading, line: int, cells: Mapping[str, str]) -> None:
        self.reading, self.line, self.cells, self.job = reading, line, cells, reading.job
        self.bad = False

    def find(self, code: str, column: str, needed: str, came: str = "", hint: str = "") -> None:
        """Note a problem of a cell, or of the row where `column` is empty."""
        self.bad = True
        where = f"column {column}" if column else "the row"
        self.reading.find(code, self.line, where, needed, came, hint)

    def form(self) -> str:
        """What kind of reading stands here; empty where that cannot be said."""
        forms = [name for name, columns in FORMS.items() if any(column in self.cells for column in columns)]
        if len(forms) == 1:
            return forms[0]
        filled = [column for form in FORMS.values() for column in form if column in self.cells]
        needed = "one kind of reading in each row: " + "; or ".join(", ".join(form) for form in FORMS.values())
        self.find("reading-form", "", needed, ", ".join(filled) or "none")
        return ""

    def mismatch(self) -> list[Offset]:
        """A mismatch, in one direction or in both."""
        dx, dy = self.length("dx"), self.length("dy")
        at, common = self.place(), self.common()
        return [self.offset(at, dx, dy, common)] if at and not self.bad else []

    def steps(self, offsets: list[Offset], growths: list[Growth]) -> None:
        """Steps of a coupon: half the difference of opposite ones is a mismatch, half their sum a growth."""
        (dx, over_x), (dy, over_y) = self.opposite("left", "right"), self.opposite("front", "back")
        at, (part, u) = self.place(), self.common()
        if at is None or self.bad:
            return
        offsets.append(self.offset(at, dx, dy, (part, None if u is None else u / math.sqrt(2.0))))
        if self.seen() == "B" and self.job.flip == "diagonal":
            over_x, over_y = over_y, over_x
        growths.append(Growth(part, over_x, over_y))

    def opposite(self, low: str, high: str) -> tuple[float | None, float | None]:
        """Half the difference and half the sum of two opposite steps; nothing where there are none."""
        self.together(low, high)
        self.together(high, low)
        first, second = self.length(low), self.length(high)
        if first is None or second is None:
            return None, None
        return 0.5 * (second - first), 0.5 * (second + first)

    def pin(self) -> list[Distance]:
        """The largest plain pin that passes: (hole A + hole B) / 2 less the pin is how far the halves are apart."""
        pair = self.pair()
        hole = None
        if "hole" not in self.cells and isinstance(pair, HolePair) and pair.hole_a and pair.hole_b:
            hole = 0.5 * (pair.hole_a + pair.hole_b)
        else:
            self.together("pin", "hole", "or a pair that says hole_a in the job")
            hole = self.length("hole", positive=True)
        if "pin" not in self.cells:
            self.together("hole", "pin")
        pin = self.length("pin", positive=True)
        at, (part, u) = self.place(), self.common()
        if hole is not None and pin is not None and pin > hole:
            self.find("pin-too-big", "pin", f"a pin of at most the hole, {hole:g} mm", f"{pin:g} mm")
        if not at or self.bad or hole is None or pin is None:
            return []
        return [Distance(part, at, hole - pin, u, self.cells.get("pair", ""))]

    def diagonals(self) -> list[Diagonals]:
        """The diagonals of a rectangle, with its sides."""
        for column in FORMS["diagonals"]:
            if column not in self.cells:
                self.find("reading-incomplete", column, "both sides and both diagonals of the rectangle")
        sizes = [self.length(column, positive=True) for column in FORMS["diagonals"]]
        part, u = self.common()
        if self.bad or any(size is None for size in sizes):
            return []
        x, y, rising, falling = (float(size or 0.0) for size in sizes)
        longest = math.hypot(x, y)
        if max(abs(rising - longest), abs(falling - longest)) > _RECTANGLE * longest:
            needed = f"diagonals within 2 % of {longest:g} mm, those of a rectangle with these sides"
            self.find("no-rectangle", "rising and falling", needed, f"{rising:g} and {falling:g} mm")
            return []
        return [Diagonals(part, x, y, rising, falling, u)]

    def offset(self, at: Point, dx: float | None, dy: float | None, common: tuple[str, float | None]) -> Offset:
        """A mismatch in the axes of the blank, whichever face was up when it was read."""
        if self.seen() == "B":
            turned = {"left-right": (_minus(dx), dy), "front-back": (dx, _minus(dy)), "diagonal": (dy, dx)}
            dx, dy = turned[self.job.flip]
        part, u = common
        return Offset(part, at, dx, dy, u, self.cells.get("pair", ""))

    def common(self) -> tuple[str, float | None]:
        """The part and the uncertainty."""
        part = self.cells.get("part", "")
        if not part or len(part) > LONGEST_NAME or not part.isprintable():
            needed = f"a name or number for the part, at most {LONGEST_NAME} printable characters"
            self.find("bad-part", "part", needed, shown(part) if part else "none")
        self.seen()
        return part, self.length("u", positive=True)

    def seen(self) -> str:
        """The face that was up when it was read."""
        face = self.cells.get("seen", "A").upper()
        if face not in ("A", "B") and not self.bad:
            self.find("seen-face", "seen", "A or B, the face that was up", shown(self.cells["seen"]))
        return face

    def pair(self) -> Pair | None:
        """The pair that is named, if one is."""
        name = self.cells.get("pair")
        if name is None:
            return None
        pair = self.reading.pairs.get(name)
        if pair is None and not self.bad:
            known = ", ".join(f'"{printable(known)}"' for known in self.reading.pairs)
            close = nearest(name, self.reading.pairs)
            self.find("unknown-pair", "pair", f"the name of a pair of the job ({known})", shown(name), close)
        return pair

    def place(self) -> Point | None:
        """Where the reading was taken, on the blank with face A up."""
        pair = self.pair()
        if "x" in self.cells or "y" in self.cells:
            self.together("x", "y")
            self.together("y", "x")
            x, y = self.length("x"), self.length("y")
            if x is None or y is None:
                return None
            size = self.job.blank.size
            if not (0.0 <= x <= size[0] and 0.0 <= y <= size[1]):
                needed = f"a point on the blank, from (0, 0) to ({size[0]:g}, {size[1]:g}) mm"
                self.find("reading-off-blank", "x and y", needed, f"({x:g}, {y:g}) mm")
                return None
            return x, y
        if isinstance(pair, OutlinePair | WebPair):
            needed = f"x and y beside the pair, as {'an outline' if isinstance(pair, OutlinePair) else 'a web'} is"
            self.find("reading-place", "x and y", f"{needed} not one place", "none")
        elif pair is not None:
            return pair.at
        elif "pair" not in self.cells:
            self.find("reading-place", "pair", "the name of a pair, or x and y on the blank", "none")
        return None

    def together(self, first: str, second: str, besides: str = "") -> None:
        """What stands only with its fellow."""
        if first in self.cells and second not in self.cells:
            needed = f"{second}, which belongs to {first}"
            self.find("reading-incomplete", second, f"{needed}{', ' if besides else ''}{besides}", "none")

    def length(self, column: str, *, positive: bool = False) -> float | None:
        """The length in a column, mm; None where the cell is empty or wrong."""
        text = self.cells.get(column)
        if text is None:
            return None
        try:
            return _size(text, self.job.units, positive=positive)
        except RefusedError as error:
            self.bad = True
            came = error.came or shown(text)
            self.reading.problems.append(
                Problem(error.code, f"column {column}", error.needed, came, error.hint, self.line)
            )
            return None


def _size(text: str, units: str, *, positive: bool) -> float:
    """A length as a person writes it, mm."""
    text = text.replace("\u2212", "-")  # the minus sign of spreadsheets and word processors
    try:
        value: float | str = float(text)
    except ValueError:
        value = text
    size = quantities.length(value, units)
    if positive and size <= 0.0:
        raise RefusedError("out-of-range", "a value above 0", shown(text))
    return size


def _minus(value: float | None) -> float | None:
    return None if value is None else -value
