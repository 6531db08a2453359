"""A picture as SVG that can stand inside a document: letters are shapes, and its names are its own."""

from __future__ import annotations

import io
import re
import warnings
from typing import TYPE_CHECKING

from flipcheck.show.document.content import Picture
from flipcheck.show.ink import POINTS_PER_INCH, sheet

if TYPE_CHECKING:
    from collections.abc import Callable

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_METADATA = re.compile(r"\s*<metadata>.*?</metadata>|\s*<!--.*?-->", re.DOTALL)
_STYLE = re.compile(r"<defs>\s*<style[^>]*>.*?</style>\s*</defs>\s*", re.DOTALL)
#: Shapes need no more than two decimals of a point.
_PATH, _LONG = re.compile(r' d="[^"]*"'), re.compile(r"(\.\d\d)\d+")
_USED, _ID = re.compile(r'(?:href="#|url\(#)([^")]*)'), re.compile(r' id="(?P<name>[^"]*)"')
_NAMED = re.compile(r'(?P<before>\bid="|href="#|url\(#)')


def picture(name: str, alt: str, size: tuple[float, float], draw: Callable[[Axes], Axes]) -> Picture:
    """What `draw` draws on an axes in a figure of `size`, inches; `name` is its own within a document."""
    figure, ax = sheet(*size)
    draw(ax)
    return of_figure(figure, name, alt)


def bare_picture(name: str, alt: str, size: tuple[float, float], draw: Callable[[Axes], Axes]) -> Picture:
    """The same on an axes that fills the figure; `size` in points."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(size[0] / POINTS_PER_INCH, size[1] / POINTS_PER_INCH), facecolor="white")
    draw(figure.add_axes((0.0, 0.0, 1.0, 1.0)))
    return of_figure(figure, name, alt)


def of_figure(figure: Figure, name: str, alt: str) -> Picture:
    """A figure as a picture; the same bytes for the same figure."""
    from matplotlib import rc_context

    out = io.BytesIO()
    with rc_context({"svg.fonttype": "path", "svg.hashsalt": "flipcheck"}), warnings.catch_warnings():
        # a letter that the font of the pictures lacks is a box there; the text around has it
        warnings.filterwarnings("ignore", "Glyph")
        figure.savefig(out, format="svg", metadata={"Date": None}, facecolor="white")
    width, height = (side * POINTS_PER_INCH for side in figure.get_size_inches())
    return Picture(name, alt, _tidy(out.getvalue().decode(), name), float(width), float(height))


def _tidy(svg: str, name: str) -> str:
    """Without prologue, metadata, comments and idle names; the names it uses begin with that of the picture."""
    svg = _METADATA.sub("", svg[svg.index("<svg") :])
    svg = _PATH.sub(lambda path: _LONG.sub(r"\1", path.group()).replace("\n", " "), svg)
    used = set(_USED.findall(svg))
    svg = _ID.sub(lambda one: one.group() if one["name"] in used else "", svg)
    return _NAMED.sub(rf"\g<before>{name}-", svg).strip()


def inline(svg: str) -> str:
    """The SVG as it stands in HTML: no namespace is named, and the style sheet of the page says what its own said."""
    head, rest = svg.split(">", 1)
    view = re.search(r'viewBox="[^"]*"', head)
    assert view is not None
    rest = _STYLE.sub("", rest).replace("xlink:href", "href")
    return f"<svg {view.group()}>{rest}"
