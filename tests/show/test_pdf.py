"""Reports and setup sheets as PDF: pages, fonts, what can be read, and what is said where typst is missing."""

from __future__ import annotations

import io
import sys
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from flipcheck.errors import FlipcheckError
from flipcheck.job.reader import built_in
from flipcheck.show.document.pdf import needs_other_fonts, report_pdf, sheet_pdf
from flipcheck.show.report.report import write_report
from flipcheck.show.setup_sheet.file import write_sheet
from flipcheck.show.setup_sheet.sheet import sheet_text
from tests.make import PINS, hole, make_job
from tests.show.reports import (
    LONG_METHOD,
    LONG_PAIR,
    METHOD,
    TEXT,
    TITLE,
    TRIALS,
    awkward,
    awkward_sheet,
    content,
    sheet,
)

#: A page that prints whole on A4 (210 x 297 mm) and on Letter (215.9 x 279.4 mm), in points.
PAGE = (210.0 / 25.4 * 72.0, 279.4 / 25.4 * 72.0)


@cache
def report() -> PdfReader:
    """The report on the awkward job."""
    return PdfReader(io.BytesIO(report_pdf(content())))


@cache
def words(reader: PdfReader) -> str:
    """All that can be read, on one line."""
    return " ".join(" ".join(page.extract_text() for page in reader.pages).replace("\u00a0", " ").split())


def fonts(reader: PdfReader) -> list[dict[str, Any]]:
    """The descriptors of all fonts."""
    found = []
    for page in reader.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            below = font.get_object().get("/DescendantFonts", [font])[0].get_object()
            found.append(below["/FontDescriptor"].get_object())
    return found


def test_what_it_says():
    """Verdict, sections and foot stand in the text."""
    text = words(report())
    for needed in (content().verdict, "Goal met", "Fixture sheet", "How sure these numbers are", "setup sheet".upper()):
        assert needed in text
    assert content().foot in text.replace("- ", "-")


@pytest.mark.parametrize(
    ("text", "other"), [("Gehäuse ±0.1 µm → Ø 6", False), ("Крышка λ", False), ("軸受", True), ("מכסה", True)]
)
def test_other_fonts_only_where_a_letter_needs_them(text: str, other: bool):
    """Without such a letter the pages look the same on every machine."""
    assert other == needs_other_fonts({"title": "plate", "facts": [("Method", text)]})


def test_user_text_stays_text():
    """What is code to typst is read as it was written."""
    text = words(report())
    assert TITLE in text
    assert METHOD in text
    assert "<img src=x onerror=alert(2)>" in text
    assert TITLE == report().metadata.title


def test_pages():
    """Several pages that print whole on A4 and on Letter; each says how many there are."""
    pages = report().pages
    assert 8 <= len(pages) <= 24
    for number, page in enumerate(pages, start=1):
        assert pytest.approx(PAGE, abs=0.1) == (page.mediabox.width, page.mediabox.height)
        assert f"{number} of {len(pages)}" in page.extract_text()


def test_fonts_are_embedded():
    """Every font is in the file."""
    assert fonts(report())
    for descriptor in fonts(report()):
        assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor)


def test_it_is_tagged_and_says_its_language():
    """A reader of the screen finds headings, tables and the words of the figures."""
    root = report().trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "en" == root["/Lang"]


def test_nothing_of_the_day_in_it():
    """The same content gives the same bytes, on any day."""
    assert sheet_pdf(sheet()) == sheet_pdf(sheet())
    assert not {"/CreationDate", "/ModDate"} & set(PdfReader(io.BytesIO(sheet_pdf(sheet()))).metadata)


@pytest.mark.parametrize(
    ("name", "method"), [*(("carrier", number) for number in range(7)), *(("panel", number) for number in range(5))]
)
def test_a_sheet_is_one_page(name: str, method: int):
    """One page to pin to the wall, with every step on it."""
    made = sheet(name, method)
    reader = PdfReader(io.BytesIO(sheet_pdf(made)))
    assert 1 == len(reader.pages)
    text = words(reader)
    for stage in (*made.a, *made.b):
        assert stage.title in text
    assert sheet_text(made).count("[ ]") == made.b[-1].steps[-1].number
    assert made.foot in text.replace("- ", "-")


def test_a_crowded_sheet_is_one_page(tmp_path: Path):
    """Twenty-four pairs with long names: the table is cut, and the rest is set smaller."""
    pairs = [hole(7.0 * number + 3.0, 50.0, f"a hole with a rather long name, number {number}") for number in range(24)]
    write_sheet(make_job(PINS | {"holes": "beforehand", "push": "left"}, pairs=pairs), tmp_path / "s.pdf")
    assert 1 == len(PdfReader(tmp_path / "s.pdf").pages)


def test_long_names_are_broken_and_whole():
    """Names of eighty letters without a gap stay on their page: all of their letters can be read there."""
    reader = PdfReader(io.BytesIO(sheet_pdf(awkward_sheet())))
    assert 1 == len(reader.pages)
    text = words(reader).replace("\u200b", "").replace(" ", "")
    assert LONG_PAIR in text
    assert LONG_METHOD in text
    right: list[float] = []
    reader.pages[0].extract_text(visitor_text=lambda text, _cm, tm, *_: right.append(tm[4]) if text.strip() else None)
    assert max(right) < PAGE[0] - 14.0 / 25.4 * 72.0


def test_report_is_written(tmp_path: Path):
    """The file is the report."""
    write_report(awkward(), tmp_path / "r.pdf", trials=TRIALS, rng=7, job_text=TEXT, file="awkward.toml")
    assert content().verdict in words(PdfReader(tmp_path / "r.pdf"))
    assert ["r.pdf"] == [path.name for path in tmp_path.iterdir()]


def test_without_typst(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """What to install is named, before any work is done, and nothing is written."""
    monkeypatch.setitem(sys.modules, "typst", None)
    for write in (
        lambda: write_report(awkward(), tmp_path / "r.pdf"),
        lambda: write_sheet(built_in(), tmp_path / "r.pdf"),
    ):
        with pytest.raises(FlipcheckError, match=r"needs typst, which is not installed.*pip install typst.*\.html"):
            write()
    assert [] == list(tmp_path.iterdir())


def test_html_needs_no_typst(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Only a PDF needs it."""
    monkeypatch.setitem(sys.modules, "typst", None)
    write_sheet(built_in(), tmp_path / "s.html")
    assert (tmp_path / "s.html").exists()
