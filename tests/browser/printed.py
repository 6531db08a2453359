"""A page of HTML as it comes out of the printer: which rows are torn or lost, which headings are left alone."""

from __future__ import annotations

import io
import unicodedata
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from playwright.sync_api import Page
from pypdf import PageObject, PdfReader

#: Of each table the words of its caption, of its heads and of each of its rows.
TABLES = """() => [...document.querySelectorAll('table')].map(table => ({
  caption: table.caption ? table.caption.textContent : '',
  head: table.tHead ? table.tHead.textContent : '',
  rows: [...table.tBodies[0].rows].map(row => row.textContent),
}))"""

#: Of each heading its words, and what comes next: the kind of it, and the words it begins with.
HEADINGS = """() => {
  const blocks = [...document.querySelectorAll('h1, h2, h3, h4, dl, p, li, table, figure')]
    .filter(one => one.checkVisibility());
  return blocks.flatMap((one, i) => {
    if (!/^H/.test(one.tagName) || i + 1 === blocks.length) return [];
    const next = blocks[i + 1];
    const words = next.tagName === 'FIGURE' ? '' : next.textContent;
    return [{heading: one.textContent, next: next.tagName, words}];
  });
}"""

#: Letters from here on may lack a font.
_LAST = "\u2e80"
#: So many signs, or lines of a picture, show that something follows.
_ENOUGH = 20


def bare(text: str) -> str:
    """Text without white space, ligatures, and letters that the fonts of a bare machine lack."""
    plain = unicodedata.normalize("NFKC", text)
    return "".join(sign for sign in plain if sign.isprintable() and not sign.isspace() and sign < _LAST)


@dataclass
class Place:
    """Where something begins: a page, and a sign of its bare text."""

    page: int
    start: int


class Printed:
    """A page of HTML, printed on paper of a size that the browser knows ("A4", "Letter")."""

    def __init__(self, page: Page, size: str) -> None:
        page.emulate_media(media="print")
        self.tables: list[dict[str, Any]] = page.evaluate(TABLES)
        self.headings: list[dict[str, str]] = page.evaluate(HEADINGS)
        page.emulate_media(media="null")
        self.pages = PdfReader(io.BytesIO(page.pdf(format=size, print_background=True))).pages

    @cached_property
    def texts(self) -> list[str]:
        """The bare text of each sheet of paper, in the order it is printed in."""
        return [bare(sheet.extract_text()) for sheet in self.pages]

    def find(self, text: str, after: Place) -> Place | None:
        """The first sheet, from a place on, that has the whole of a text."""
        for number in range(after.page, len(self.texts)):
            start = self.texts[number].find(text, after.start if number == after.page else 0)
            if start >= 0:
                return Place(number, start)
        return None

    def faults_of_tables(self) -> list[str]:
        """Rows that are torn, lost or away from their neighbours, and tables that go on without their heads."""
        faults, at = [], Place(0, 0)
        for table in self.tables:
            top = bare(table["caption"] + table["head"])
            for number, words in enumerate(table["rows"]):
                row = bare(words)
                found = self.find(row if number else top + row, at)
                if found is None:
                    faults.append(f"torn, lost or without its head: {words}")
                    continue
                start = found.start if number else found.start + len(top)
                if number and found.page == at.page and found.start != at.start:
                    faults.append(f"away from the row before: {words}")
                if number and found.page > at.page and not self.texts[found.page][:start].endswith(bare(table["head"])):
                    faults.append(f"on a new sheet without heads: {words}")
                at = Place(found.page, start + len(row))
        return faults

    def lonely_headings(self) -> list[str]:
        """Headings that are not on one sheet with the beginning of what they head."""
        lonely, at = [], Place(0, 0)
        for one in self.headings:
            heading = bare(one["heading"])
            found = self.find(heading + bare(one["words"])[:_ENOUGH], at)
            if found is None or (one["next"] == "FIGURE" and drawn_below(self.pages[found.page], heading) < _ENOUGH):
                lonely.append(one["heading"])
            else:
                at = Place(found.page, found.start + len(heading))
        return lonely


def drawn_below(sheet: PageObject, heading: str) -> int:
    """How many lines and curves are drawn on a sheet below the line in which a heading, bare, ends."""
    heights: list[float] = []
    drawn: list[float] = []
    line: dict[float, str] = {}

    def text(words: str, matrix: list[float], place: list[float], *_: Any) -> None:
        height = round(place[5] * matrix[3] + matrix[5], 1)
        line[height] = line.get(height, "") + bare(words)
        if line[height].endswith(heading[-8:]):
            heights.append(height)

    def stroke(operator: bytes, operands: list[Any], matrix: list[float], _: list[float]) -> None:
        if operator in (b"l", b"c", b"re"):
            drawn.append(float(operands[-1]) * matrix[3] + matrix[5])

    sheet.extract_text(visitor_text=text, visitor_operand_before=stroke)
    return sum(height < max(heights) for height in drawn) if heights else 0
