"""Report and setup sheet on paper, as a browser prints them: read back from the PDF."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Page

from flipcheck.show.document.content import Block, Picture, Section, Table
from flipcheck.show.document.html import report_html
from tests.browser.conftest import PAGES
from tests.browser.printed import Printed, bare
from tests.show.reports import content

SIZES = ["A4", "Letter"]


def longer(section: Section) -> Section:
    """A section without pictures whose tables have all rows eleven times, numbered."""
    blocks: list[Block] = []
    for block in section.blocks:
        if isinstance(block, Table):
            rows = [(f"{turn}. {row[0]}", *row[1:]) for turn in range(1, 12) for row in block.rows]
            blocks.append(replace(block, rows=tuple(rows)))
        elif not isinstance(block, Picture):
            blocks.append(block)
    return replace(section, blocks=tuple(blocks), sections=tuple(longer(below) for below in section.sections))


@pytest.mark.parametrize("size", SIZES)
def test_the_report_prints_whole(page: Page, files: dict[str, Path], size: str):
    """No row is torn, no heading alone, no sheet of paper empty; the setup sheet has one of its own."""
    page.goto(files["report"].as_uri())
    printed = Printed(page, size)

    assert [] == printed.faults_of_tables()
    assert [] == printed.lonely_headings()
    assert 8 <= len(printed.pages) <= 30
    assert min(len(sheet.get_contents().get_data()) for sheet in printed.pages) > 2000
    (own,) = [text for text in printed.texts if "FaceAup" in text and "FaceBup" in text]
    assert "Whatwasassumed" not in own
    assert "Howsurethesenumbersare" not in own


@pytest.mark.parametrize("size", SIZES)
def test_long_tables_go_on_under_their_heads(page: Page, size: str):
    """Tables that need several sheets of paper lose no row, tear none, and show their heads on each sheet."""
    whole = content()
    page.set_content(report_html(replace(whole, sections=tuple(longer(section) for section in whole.sections))))
    printed = Printed(page, size)

    assert [] == printed.faults_of_tables()
    assert [] == printed.lonely_headings()
    (methods,) = [table for table in printed.tables if table["caption"].startswith("Methods: how")]
    assert 33 == len(methods["rows"])
    assert 2 <= sum(bare(methods["head"]) in text for text in printed.texts)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", PAGES[1:])
def test_a_sheet_prints_on_one_page(page: Page, files: dict[str, Path], name: str, size: str):
    """The whole sheet on one page: head, every row, every step with its cautions, and its last line."""
    page.goto(files[name].as_uri())
    said = page.evaluate("[...document.querySelectorAll('dt, dd, li, .foot')].map(one => one.textContent)")
    printed = Printed(page, size)

    assert [] == printed.faults_of_tables()
    assert [] == printed.lonely_headings()
    (text,) = printed.texts
    assert len(said) > 30
    assert [] == [words for words in said if bare(words) not in text]


def test_figures_are_not_cut(page: Page, files: dict[str, Path]):
    """A figure says that it may not be cut."""
    page.goto(files["report"].as_uri())
    page.emulate_media(media="print")
    inside = page.evaluate("[...document.querySelectorAll('figure')].map(one => getComputedStyle(one).breakInside)")
    assert {"avoid"} == set(inside)


ROW = "<tr><td>" + "<br>".join(["one of seven lines"] * 7) + "<td>{}</tr>"


@pytest.mark.parametrize(
    ("style", "faults"),
    [
        ("tr { break-inside: avoid }", set()),
        ("tr { break-inside: auto }", {"torn, lost or without its head", "on a new sheet without heads"}),
        ("tr { break-inside: avoid } thead { display: table-row-group }", {"on a new sheet without heads"}),
        ("tr { break-inside: avoid } tr:nth-child(5) { display: none }", {"torn, lost or without its head"}),
    ],
)
def test_the_check_sees_what_is_wrong_with_a_table(page: Page, style: str, faults: set[str]):
    """Rows that are torn or hidden and heads that are not repeated are found; a table without fault has none."""
    rows = "".join(ROW.format(number) for number in range(20))
    page.set_content(f"<style>{style}</style><table><thead><tr><th>what<th>number</thead><tbody>{rows}</table>")

    assert faults == {fault.split(":")[0] for fault in Printed(page, "A4").faults_of_tables()}


@pytest.mark.parametrize(
    "next_one", ["<p>Words below.</p>", "<figure><svg viewBox='0 0 9 9' width=300>{}</svg></figure>"]
)
def test_the_check_sees_a_heading_alone(page: Page, next_one: str):
    """A heading at the foot of a sheet is found, one that keeps with what follows is not."""
    lines = "".join(f"<line x1={x / 5} x2={x / 5} y1=0 y2=9 stroke=black stroke-width=.1 />" for x in range(40))
    found = {}
    for style in ("break-after: avoid", "break-after: auto"):
        page.set_content(
            f"<style>@page {{ margin: 10mm }} h2 {{ {style} }} div {{ height: 258mm }}</style>"
            f"<div>Above.</div><h2>A heading of its own</h2>{next_one.format(lines)}"
        )
        found[style] = Printed(page, "A4").lonely_headings()

    assert {"break-after: avoid": [], "break-after: auto": ["A heading of its own"]} == found
