"""Content as PDF, set by typst: what the user wrote goes to it as data and is never read as markup."""

from __future__ import annotations

import json
import re
from dataclasses import asdict
from importlib import resources
from typing import TYPE_CHECKING

from flipcheck.errors import FlipcheckError
from flipcheck.show.document.content import MARKS

if TYPE_CHECKING:
    from flipcheck.show.document.content import ReportContent, SheetContent


#: A word too long for a column, and the pieces it may be broken into.
_LONG, _PIECE = re.compile(r"\S{31,}"), re.compile(r"\S{1,10}")
#: Beyond Latin, Greek and Cyrillic with their signs.
_BEYOND = re.compile("[\u0590-\u1dff\u3000-\U0010ffff]")


def need_typst() -> None:
    """See whether PDFs can be made.

    Raises
    ------
    FlipcheckError: if typst is not installed.
    """
    try:
        import typst  # noqa: F401
    except ImportError:
        raise FlipcheckError(
            "a PDF needs typst, which is not installed. Try: pip install typst, or a name that ends in .html"
        ) from None


def report_pdf(content: ReportContent) -> bytes:
    """A report as PDF.

    Raises
    ------
    FlipcheckError: if typst is not installed.
    """
    return _set("report.typ", asdict(content) | {"mark": MARKS[content.mark], "met": content.mark})


def sheet_pdf(content: SheetContent) -> bytes:
    """A setup sheet as PDF, one page; raises as `report_pdf` does."""
    return _set("sheet.typ", asdict(content))


def _set(template: str, data: dict[str, object]) -> bytes:
    need_typst()
    import typst

    with resources.as_file(resources.files("flipcheck") / "show" / "document" / "templates") as folder:
        made = typst.compile(
            str(folder / template),
            root=str(folder),
            ignore_system_fonts=not needs_other_fonts(data),
            sys_inputs={"content": json.dumps(_breakable(data))},
        )
    assert isinstance(made, bytes)
    return made


def needs_other_fonts(data: object) -> bool:
    """Whether there is a letter beyond Latin, Greek and Cyrillic: typst's own font lacks it, the system's may have it.

    Without one the pages look the same on every machine.
    """
    return _BEYOND.search(json.dumps(data, ensure_ascii=False)) is not None


def _breakable(data: object) -> object:
    """The same, with places to break in words that no column would hold; pictures as they are."""
    if isinstance(data, dict):
        return {key: value if key in ("svg", "foot") else _breakable(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_breakable(part) for part in data]
    return _LONG.sub(lambda word: "\u200b".join(_PIECE.findall(word.group())), data) if isinstance(data, str) else data
