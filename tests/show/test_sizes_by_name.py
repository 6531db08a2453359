"""Sizes that the job takes from a standard are told by their names, with the numbers that they stand for."""

from __future__ import annotations

import pytest

from flipcheck.decide.fixture.sheet import fixture_sheet
from flipcheck.job.reader import parse_job
from flipcheck.job.records import Job
from flipcheck.show.document.content import Table
from flipcheck.show.report.fixture_words import fixture_blocks
from flipcheck.show.report.input_words import input_tables
from flipcheck.show.setup_sheet.file import write_sheet
from tests.job.sample import changed

TEXT = changed(
    ("pin = { diameter = 6, limit = 0.005 }", 'pin = "ISO 8734 6"'),
    ("hole = { diameter = 6.05, limit = 0.02 }", 'hole = "6 F7"'),
    ("bolt = 4\nhole_a = 4.5", 'bolt = "M4"\nhole_a = "medium"'),
    ("bit_runout = 0.02", 'bit_runout = "ISO 15488 class 1, 6 mm"'),
)


@pytest.fixture(scope="module")
def job() -> Job:
    """A job whose pins, holes, bolt and collet are those of standards."""
    return parse_job(TEXT)


def cells(tables: list[Table]) -> list[str]:
    """Every cell of some tables."""
    return [cell for table in tables for row in table.rows for cell in row]


def test_the_job_as_understood(job: Job):
    """Names, limits and sources stand among the inputs of a report."""
    told = cells(list(input_tables(job, TEXT)))
    assert "uniform (ISO 8734 6: m6 of ISO 286-1)" in told
    assert "uniform (6 F7: ISO 286-1)" in told
    assert "exact (ISO 15488 class 1, 6 mm: class 1, 16 mm from the nose)" in told
    (pins,) = (cell for cell in told if "pin ISO" in cell)
    assert "pin ISO 8734 6 (6.004 to 6.012: m6 of ISO 286-1); hole 6 F7 (6.01 to 6.022: ISO 286-1)" in pins
    (bolt,) = (cell for cell in told if "bolt M4" in cell)
    assert "bolt M4 (4: nominal diameter of the thread); hole_a medium (4.5: M4 of ISO 273)" in bolt


def test_the_fixture_sheet(job: Job):
    """Locators, and how the pins fit."""
    tables = [block for block in fixture_blocks(fixture_sheet(job, job.methods[0]), "mm") if isinstance(block, Table)]
    told = cells(tables)
    assert {"ISO 8734 6", "6 F7"} <= set(told)
    rows = {row[0]: row[1:] for table in tables for row in table.rows}
    assert ("6.008", "6.004", "6.012") == rows["diameter of the pins (ISO 8734 6), mm"]
    assert ("6.016", "6.010", "6.022") == rows["diameter of the holes (6 F7), mm"]
    assert ("0.008", "-0.002", "0.018") == rows["clearance on the diameter, mm"]


def test_the_setup_sheet(job: Job):
    """What to bore is told by its class with its limits, and a pin sits one nominal diameter deep."""
    told = " ".join(write_sheet(job, method="dowels", job_text=TEXT).split())
    assert "First bore the pin holes, 6 F7 (6.01 to 6.022 mm), through the blank" in told
    assert "bore the holes for pins of ISO 8734 6 (6.004 to 6.012 mm) into the bed" in told
    assert "6 mm deep or more" in told
    assert "pin hole 1, 6 F7" in told
    assert "bolt, dia. 4.5" in told.replace("\u00a0", " ")


def test_a_sheet_among_the_inputs():
    """The thickness of a sheet by its standard: its name and its source, with the numbers that they stand for."""
    text = changed(
        ("size = [200, 100, 12]", "size = [200, 100, 9]"),
        ("[errors]", '[errors]\nstock_thickness = "EN 312  particleboard 9"'),
    )
    (row,) = (row for table in input_tables(parse_job(text), text) for row in table.rows if "stock_thickness" in row[0])

    assert row[1].startswith("uniform (EN 312 particleboard 9: EN 312")
    assert ("0", "0.1732", "0.3", "mm") == row[2:6]


def test_a_face_that_is_not_cut():
    """A pocket in face A alone is told as not cut from face B, and only its own bottom is given."""
    web = '\n[[pairs]]\nname = "pocket"\nkind = "web"\nat = [90, 55]\ndepth_a = 5\ndepth_b = 0\nmin_web = 6\n'
    told = " ".join(write_sheet(parse_job(TEXT + web), method="dowels", job_text=TEXT).split())

    assert "pocket, 5 deep / pocket, not cut" in told
    assert 'Z at the bottom of "pocket": 7 mm from the bed for face A.' in told


def test_a_skimmed_face():
    """Among the inputs, and as the first thing that is cut."""
    text = changed(("size = [200, 100, 12]", "size = [200, 100, 12]\nskim_a = 0.5"))
    part = next(input_tables(parse_job(text), text))

    assert ("blank.skim_a", "0.5 mm", "8") == part.rows[-1][:3]
    told = " ".join(write_sheet(parse_job(text), job_text=text).split())
    cut = told[told.index("Cut face A") :]
    assert "Skim all of face A, 0.5 mm deep: the blank lies on this face after the turn." in cut
    assert cut.index("Skim all of face A") < cut.index("Run the program of face A")
