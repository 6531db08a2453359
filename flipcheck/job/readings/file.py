"""A CSV file of readings becomes `Readings`, or every problem in it is told at once."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING

from flipcheck.errors import JobError, Problem
from flipcheck.job.findings import nearest
from flipcheck.job.quantities import RefusedError, shown
from flipcheck.job.reader import text_of
from flipcheck.job.readings.records import Diagonals, Distance, Growth, Offset, Readings
from flipcheck.job.readings.row import COLUMNS, FORMS, Row, size_of

if TYPE_CHECKING:
    import os
    from collections.abc import Iterator

    from flipcheck.job.records import Job

#: A first article has a few dozen; this keeps a wrong file from taking all memory.
MOST_READINGS = 1000


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


def tool_size(text: str | None, name: str, job: Job) -> float | None:
    """The size of a bit or a plate as it is written on the command line, mm; None where it is not given.

    Raises
    ------
    JobError: for what is no length above 0.
    """
    if text is None:
        return None
    try:
        return size_of(text, job.units, positive=True)
    except RefusedError as error:
        came = error.came or shown(text)
        raise JobError([Problem(error.code, f"--{name}", error.needed, came, error.hint)], f"--{name}") from None


class _Reading:
    """One pass over a text, gathering what is wrong instead of stopping at it."""

    def __init__(self, text: str, job: Job) -> None:
        self.text, self.job = text, job
        self.problems: list[Problem] = []

    def readings(self) -> Readings:
        """What could be read."""
        offsets: list[Offset] = []
        growths: list[Growth] = []
        distances: list[Distance] = []
        diagonals: list[Diagonals] = []
        for line, cells in self.rows():
            row = Row(self.job, line, cells)
            form = row.form()
            if form == "mismatch":
                offsets += row.mismatch()
            elif form == "steps":
                row.steps(offsets, growths)
            elif form == "pin":
                distances += row.pin()
            elif form == "diagonals":
                diagonals += row.diagonals()
            self.problems += row.problems.values()
        found = Readings(tuple(offsets), tuple(distances), tuple(diagonals), tuple(growths))
        if not self.problems and not any(True for _ in found):
            self.find("no-readings", None, "the file", "a line for each reading, below the line of headings", "none")
        return found

    def rows(self) -> list[tuple[int, dict[str, str]]]:
        """The lines that hold readings: their number, and their filled cells by column."""
        lines = [line for line in self.lines() if any(line[1])]
        if not lines:
            return []
        (head, titles), *rest = lines
        columns = self.columns(head, [title.lower() for title in titles])
        if not any(column in columns for form in FORMS.values() for column in form):
            forms = "; or ".join(", ".join(form) for form in FORMS.values())
            self.find("missing-column", head, "the headings", f"columns with readings: {forms}")
            return []
        if len(rest) > MOST_READINGS:
            needed = f"at most {MOST_READINGS} readings"
            self.find("too-many-readings", rest[MOST_READINGS][0], "the file", needed, str(len(rest)))
            return []
        return [(number, self.by_column(number, columns, cells)) for number, cells in rest]

    def by_column(self, line: int, columns: list[str], cells: list[str]) -> dict[str, str]:
        """The filled cells of a row by their columns."""
        if any(cells[len(columns) :]):
            decimal = "a point as the decimal sign, or ; between the cells" if "." not in "".join(cells) else ""
            needed = f"at most {len(columns)} cells, as in the headings"
            self.find("row-length", line, "the row", needed, str(len(cells)), decimal)
        return {name: cell for name, cell in zip(columns, cells, strict=False) if name and cell}

    def lines(self) -> Iterator[tuple[int, list[str]]]:
        """Every line that is no comment, cut into cells."""
        lines = ["" if line.lstrip().startswith("#") else line for line in self.text.splitlines()]
        first = next((line for line in lines if line.strip()), "")
        separator = next((sign for sign in (";", "\t") if sign in first), ",")
        reader = csv.reader(lines, delimiter=separator, strict=True, skipinitialspace=True)
        try:
            for cells in reader:
                yield reader.line_num, [cell.strip() for cell in cells]
        except csv.Error as error:
            needed = "cells with a separator between them, quotes only around whole cells"
            self.find("csv-syntax", reader.line_num, "the row", needed, f"something else ({error})")

    def columns(self, line: int, titles: list[str]) -> list[str]:
        """The columns by the headings; one that is misspelt is told, and read as the one that was probably meant."""
        columns: list[str] = []
        for title in titles:
            meant = title if title in COLUMNS else nearest(title, COLUMNS)
            if title and title not in COLUMNS:
                known = ", ".join(COLUMNS)
                self.find("unknown-column", line, "the headings", f"headings such as {known}", shown(title), meant)
            if meant and meant in columns:
                self.find("repeated-column", line, "the headings", "each heading once", f"{shown(title)} twice")
            columns.append("" if meant in columns else meant)
        if "part" not in columns:
            needed = "a column part, with a name or number of its own for each part"
            hint = "" if any(columns) else "a first line of headings, such as part,pair,dx,dy"
            self.find("missing-column", line, "the headings", needed, ", ".join(titles[:8]), hint)
        return columns

    def find(self, code: str, line: int | None, where: str, needed: str, came: str = "", hint: str = "") -> None:
        """Note a problem."""
        self.problems.append(Problem(code, where, needed, came, hint, line))
