"""What all pictures share: inks, sizes, text that means what it says, and how wide a text is. Sizes in points."""

from __future__ import annotations

import warnings
from functools import lru_cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.text import Annotation

    from flipcheck.flip.frames import Point

#: Inks. They differ in lightness as well as in colour, so that they can be told apart in grey.
INK, MUTED, FAINT = "#20303a", "#5b6a74", "#c3ced4"
DEEP, MIDDLE, PALE = "#16455f", "#6d9db8", "#d5e1e8"
LIMIT, MISS, PAPER = "#a63d12", "#e9a35c", "#f6f3ec"

#: Sizes of text; none is smaller than the last.
TITLE, BODY, SMALL = 10.0, 8.0, 7.5
POINTS_PER_INCH = 72.0
#: Around everything on a sheet, points.
MARGIN = 9.0


def sheet(width: float, height: float) -> tuple[Figure, Axes]:
    """A figure of its own, in inches, with one axes that makes room for all its texts."""
    from matplotlib.figure import Figure
    from matplotlib.layout_engine import ConstrainedLayoutEngine

    margins = ConstrainedLayoutEngine(w_pad=0.12, h_pad=0.12)
    figure = Figure(figsize=(width, height), layout=margins, facecolor="white")
    return figure, figure.add_subplot()


def say(
    ax: Axes,
    at: Point,
    text: str,
    *,
    size: float = BODY,
    offset: Point = (0.0, 0.0),
    where: Any = "data",
    color: str = INK,
    **how: Any,
) -> Annotation:
    """Write a text at a place, `offset` points away from it. Dollars and underscores mean themselves."""
    return ax.annotate(
        text,
        at,
        xycoords=where,
        xytext=offset,
        textcoords="offset points",
        annotation_clip=False,
        fontsize=size,
        color=color,
        parse_math=False,
        **how,
    )


@lru_cache(maxsize=8192)
def text_width(text: str, size: float = BODY, *, bold: bool = False) -> float:
    """How wide the widest line of a text is, in points."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(size=size, weight="bold" if bold else "normal")
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Glyph")
        return max(
            float(text_to_path.get_text_width_height_descent(line, font, ismath=False)[0]) for line in text.split("\n")
        )


def without_shape(texts: Iterable[str]) -> str:
    """The letters of some texts for which the font of the pictures has no shape: each of them is drawn as a box."""
    from matplotlib.font_manager import FontProperties, findfont, get_font

    shapes = get_font(findfont(FontProperties())).get_charmap()
    return "".join(dict.fromkeys(letter for text in texts for letter in text if ord(letter) not in shapes))


def wrapped(text: str, width: float, size: float = BODY, *, bold: bool = False) -> str:
    """A text in lines at most `width` points wide; a word that is wider than that is broken."""
    lines = [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}".strip()
        if text_width(longer, size, bold=bold) <= width:
            lines[-1] = longer
            continue
        if lines[-1]:
            lines.append("")
        for letter in word:
            if lines[-1] and text_width(lines[-1] + letter, size, bold=bold) > width:
                lines.append("")
            lines[-1] += letter
    return "\n".join(lines)


def slot(ax: Axes) -> tuple[float, float, float, float]:
    """Where an axes may put its texts, in points: left, bottom, width, height; all of a figure in which it is alone."""
    figure = ax.figure
    width, height = (side / figure.dpi * POINTS_PER_INCH for side in (figure.bbox.width, figure.bbox.height))
    if len(figure.axes) == 1 and figure.get_layout_engine() is not None:
        return MARGIN, MARGIN, width - 2.0 * MARGIN, height - 2.0 * MARGIN
    box = ax.get_position(original=True)
    return box.x0 * width, box.y0 * height, box.width * width, box.height * height


def fit(ax: Axes, size: Point, left: float, above: float) -> None:
    """Give the drawing itself `size` points, `left` and `above` points in from the corner of what the axes may fill."""
    x, y, _, height = slot(ax)
    figure = ax.figure
    full = [side / figure.dpi * POINTS_PER_INCH for side in (figure.bbox.width, figure.bbox.height)]
    low = y + height - above - size[1]
    ax.set_position(((x + left) / full[0], low / full[1], size[0] / full[0], size[1] / full[1]))
    ax.set_aspect("equal", adjustable="box", anchor="NW")


def room(ax: Axes) -> Point:
    """Width and height that an axes may fill with its texts, in points."""
    return slot(ax)[2:]


def title(ax: Axes, head: str, below: Iterable[str] = (), *, left: float = 0.0, up: float = 7.0) -> float:
    """A heading with smaller lines below it, `up` points above the axes and `left` points out over its left end.

    Returns how far it reaches above the axes, points.
    """
    width = room(ax)[0]
    pitch = SMALL * 1.35
    small = [part for line in below for part in wrapped(line, width, SMALL).split("\n")]
    for number, line in enumerate(reversed(small)):
        at = (-left, up + number * pitch)
        say(ax, (0, 1), line, where="axes fraction", offset=at, size=SMALL, color=MUTED, va="baseline")
    up += len(small) * pitch + 4.0
    big = wrapped(head, width, TITLE, bold=True).split("\n")
    for number, line in enumerate(reversed(big)):
        at = (-left, up + number * TITLE * 1.3)
        say(ax, (0, 1), line, where="axes fraction", offset=at, size=TITLE, va="baseline", fontweight="bold")
    return up + len(big) * TITLE * 1.3


def nothing(ax: Axes, why: str) -> Axes:
    """An axes that says why there is nothing on it."""
    ax.set_axis_off()
    say(ax, (0.5, 0.5), wrapped(why, 0.8 * room(ax)[0]), where="axes fraction", ha="center", va="center", color=MUTED)
    return ax


def lines(ax: Axes, text: str, offset: Point, pitch: float, **how: Any) -> None:
    """Write lines downwards from the top right corner of the axes, the first baseline `offset` points from it."""
    for number, line in enumerate(text.split("\n")):
        at = (offset[0], offset[1] - number * pitch)
        say(ax, (1, 1), line, where="axes fraction", offset=at, va="baseline", **how)


def plain_axes(ax: Axes, *spines: str) -> None:
    """Only the named spines, thin, and small quiet ticks."""
    for name, spine in ax.spines.items():
        spine.set_visible(name in spines)
        spine.set_color(MUTED)
        spine.set_linewidth(0.7)
    ax.tick_params(colors=MUTED, labelsize=SMALL, labelcolor=INK, width=0.7, length=3)


def name_axes(ax: Axes, x: str, y: str = "") -> None:
    """What runs along the axes, with its units."""
    ax.set_xlabel(x, fontsize=BODY, color=INK, parse_math=False)
    ax.set_ylabel(y, fontsize=BODY, color=INK, parse_math=False)
