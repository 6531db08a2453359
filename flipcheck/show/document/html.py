"""Content as HTML: one file that needs nothing else, no script and no network."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from flipcheck.show.document.content import MARKS
from flipcheck.show.document.picture import inline, letters_once

if TYPE_CHECKING:
    from jinja2 import Environment

    from flipcheck.show.document.content import Picture, ReportContent, SheetContent


def report_html(content: ReportContent) -> str:
    """A report as one HTML file."""
    return letters_once(_environment().get_template("report.html.j2").render(report=content, marks=MARKS))


def sheet_html(content: SheetContent) -> str:
    """A setup sheet as one HTML file."""
    return letters_once(_environment().get_template("sheet.html.j2").render(sheet=content))


@cache
def _environment() -> Environment:
    """Everything that is put into a template is escaped, but for pictures, which hold shapes and no text."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    def unbroken(value: object) -> object:
        """A per cent sign stays with its number."""
        return value.replace(" %", "\u00a0%") if isinstance(value, str) and not isinstance(value, Markup) else value

    def drawn(picture: Picture) -> Markup:
        return Markup(inline(picture.svg))

    environment = Environment(
        loader=PackageLoader("flipcheck", "show/document/templates"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=unbroken,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["drawn"] = drawn
    return environment
