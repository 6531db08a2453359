"""The page of tables shows the numbers as they are."""

from __future__ import annotations

import re
from pathlib import Path

from flipcheck.tables import clearance_holes, collets, iso286
from flipcheck.tables.dowels import ASME_DIAMETERS, ISO_CLASSES, ISO_DIAMETERS

PAGE = (Path(__file__).parents[2] / "docs" / "reference" / "tables.md").read_text(encoding="utf-8")


def rows(head: str) -> list[list[str]]:
    """The cells of the table whose first line begins with that."""
    lines = PAGE.splitlines()
    start = next(number for number, line in enumerate(lines) if line.startswith(f"| {head} |"))
    found = []
    for line in lines[start + 2 :]:
        if not line.startswith("|"):
            break
        found.append(line.strip("| ").split(" | "))
    return found


def test_limits_and_fits():
    """Tolerances and deviations, range by range."""
    shown = rows("mm | IT4")
    assert [f"{a} to {b}" for a, b in zip((0, *iso286.ENDS), iso286.ENDS, strict=False)] == [row[0] for row in shown]
    for place, (tolerances, deviations) in enumerate(zip(shown, rows("mm | f"), strict=True)):
        assert [values[place] for values in iso286.TOLERANCES.values()] == [int(cell) for cell in tolerances[1:]]
        signs = [-1, -1, -1, 1, 1, 1, 1]
        expected = [sign * values[place] for sign, values in zip(signs, iso286.DEVIATIONS.values(), strict=True)]
        assert expected == [int(cell) for cell in deviations[1:]]


def test_dowels():
    """Diameters and classes, standard by standard."""
    *iso, asme = rows("standard")
    assert set(ISO_DIAMETERS) == {name for name, _, _ in iso}
    for name, sizes, classes in iso:
        assert [float(size) for size in sizes.removesuffix(" mm").split(", ")] == list(ISO_DIAMETERS[name])
        assert " or ".join(ISO_CLASSES[name]) + " of ISO 286-1" == classes
    fractions = [size.split("/") for size in asme[1].removesuffix(" in").split(", ")]
    assert [64 * int(top) // int(bottom[0] if bottom else 1) for top, *bottom in fractions] == list(ASME_DIAMETERS)


def test_clearance_holes():
    """Thread by thread."""
    assert clearance_holes.HOLES == {name: tuple(float(size) for size in sizes) for name, *sizes in rows("thread")}


def test_collets():
    """Range by range."""
    shown = [[float(cell) for cell in row[1:]] for row in rows("bore, mm")]
    assert [list(row) for row in zip(collets.MEASURED_AT, *collets.READINGS.values(), strict=True)] == shown
    assert list(collets.ENDS) == [float(re.split(" to ", row[0])[1]) for row in rows("bore, mm")]
