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

#: How the name of a letter begins; it has the same shape in every picture.
LETTER = "DejaVuSans-"
_METADATA = re.compile(r"\s*<metadata>.*?</metadata>|\s*<!--.*?-->", re.DOTALL)
_STYLE = re.compile(r"<defs>\s*<style[^>]*>.*?</style>\s*</defs>\s*", re.DOTALL)
#: What holds coordinates in points, and what they can spare: decimals beyond the third, spaces beside a letter.
_COORDINATES = re.compile(r' (?:d|x|y)="[^"]*"')
_IDLE = re.compile(r"(?<=\.\d\d\d)\d+|(?<=[A-Za-z]) +| +(?=[A-Za-z])|\n")
_BETWEEN = re.compile(r">\s+<")
_USED, _ID = re.compile(r'(?:href="#|url\(#)([^")]*)'), re.compile(r' id="(?P<name>[^"]*)"')
_NAMED = re.compile(r'(?P<before>\bid="|href="#|url\(#)(?P<name>[^")]*)')


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
    """Without prologue, metadata, comments, idle names and spaces; its names, but for letters, begin with its own."""
    svg = _METADATA.sub("", svg[svg.index("<svg") :])
    svg = _COORDINATES.sub(lambda some: " " + _IDLE.sub("", some.group()[1:]), svg)
    used = {
        old: old if old.startswith(LETTER) else f"{name}-{number}"
        for number, old in enumerate(dict.fromkeys(_USED.findall(svg)))
    }
    svg = _ID.sub(lambda one: one.group() if one["name"] in used else "", svg)
    svg = _NAMED.sub(lambda one: one["before"] + used[one["name"]], svg)
    return _BETWEEN.sub("><", svg).strip()


def inline(svg: str) -> str:
    """The SVG as it stands in HTML: no namespace is named, and the style sheet of the page says what its own said."""
    head, rest = svg.split(">", 1)
    view = re.search(r'viewBox="[^"]*"', head)
    assert view is not None
    rest = _STYLE.sub("", rest).replace("xlink:href", "href")
    return f"<svg {view.group()}>{rest}"


def letters_once(page: str) -> str:
    """A page of such pictures with the shape of each letter where it first stands, and nowhere else."""
    seen: set[str] = set()

    def first(shape: re.Match[str]) -> str:
        new = shape["name"] not in seen
        seen.add(shape["name"])
        return shape.group() if new else ""

    return re.sub(rf'<path id="(?P<name>{LETTER}[^"]*)"[^>]*/>', first, page)
