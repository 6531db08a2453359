"""What a report and a setup sheet consist of: text, tables and pictures as plain records, for every renderer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

#: How a verdict is marked, in words as well: the goal is met, it is not, or the trials leave it open.
Mark: TypeAlias = Literal["met", "missed", "open"]
MARKS: dict[Mark, str] = {"met": "Goal met", "missed": "Goal not met", "open": "Too near the goal to be sure"}


@dataclass(frozen=True)
class Text:
    """A paragraph."""

    text: str
    kind: Literal["text"] = "text"


@dataclass(frozen=True)
class Items:
    """A list of short sentences."""

    items: tuple[str, ...]
    kind: Literal["items"] = "items"


@dataclass(frozen=True)
class Table:
    """A table.

    Attributes
    ----------
    caption: What it holds.
    heads: One a column.
    rows: Cells; the first of a row is its heading.
    numbers: Columns that are set flush right.
    marked: Rows to set off, counted from 0.
    """

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: tuple[int, ...] = ()
    marked: tuple[int, ...] = ()
    kind: Literal["table"] = "table"


@dataclass(frozen=True)
class Picture:
    """A picture as SVG, its name among all pictures, what it says in words, and its size in points."""

    name: str
    alt: str
    svg: str
    width: float
    height: float
    kind: Literal["picture"] = "picture"


Block: TypeAlias = Text | Items | Table | Picture


@dataclass(frozen=True)
class Section:
    """A part of a report under a heading; `name` is its own in the document, `sections` stand one level below."""

    name: str
    title: str
    blocks: tuple[Block, ...]
    sections: tuple[Section, ...] = ()


@dataclass(frozen=True)
class SheetStep:
    """One step of a setup sheet: its number, what to do, and what to beware of."""

    number: int
    text: str
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class SheetStage:
    """Steps under a heading."""

    title: str
    steps: tuple[SheetStep, ...]


@dataclass(frozen=True)
class SheetContent:
    """A setup sheet: one page, to be pinned to the wall.

    Attributes
    ----------
    title: Name of the part.
    facts: What stands in its head, name and value.
    a, b: What is done with face A up, and with face B up.
    picture_a, picture_b: Plans of the two setups.
    places: Locators and pairs with their coordinates in both setups.
    notes: What to know about the table and the turn.
    tucked: Whether table and notes stand below the steps of face A; else below both columns.
    lines: About how many lines it has, for a renderer that cannot measure.
    foot: Version and checksum.
    """

    title: str
    facts: tuple[tuple[str, str], ...]
    a: tuple[SheetStage, ...]
    b: tuple[SheetStage, ...]
    picture_a: Picture
    picture_b: Picture
    places: Table
    notes: tuple[str, ...]
    tucked: bool
    lines: int
    foot: str


@dataclass(frozen=True)
class ReportContent:
    """A report.

    Attributes
    ----------
    title: Name of the part.
    mark: Whether the goal is met.
    verdict, reason: What to do, and why.
    facts: What stands in the head, name and value.
    sections: All that follows, but for the setup sheet.
    sheet: The setup sheet of the recommended method.
    last: What stands after the setup sheet.
    foot: Version and checksum.
    """

    title: str
    mark: Mark
    verdict: str
    reason: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    sections: tuple[Section, ...]
    sheet: SheetContent
    last: tuple[Section, ...]
    foot: str
