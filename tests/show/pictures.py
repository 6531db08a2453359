"""Pictures drawn for tests, and what can be read back from them."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.transforms import Bbox

from flipcheck.show.ink import sheet

ODD = 'odd $a_1$ ^2 <&"> \\frac{1}{2} %'


def drawn(draw: Callable[[Axes], Axes], size: tuple[float, float] = (7.2, 4.8)) -> Axes:
    """Draw on fresh axes, lay the sheet out, and give the axes back."""
    figure, ax = sheet(*size)
    assert ax is draw(ax)
    FigureCanvasAgg(figure).draw()
    return ax


def shown(ax: Axes) -> list[Text]:
    """All texts that can be seen on the figure of an axes: not those of ticks beyond its ends."""
    beyond = {
        id(label)
        for axis in (ax.xaxis, ax.yaxis)
        for tick in axis.get_major_ticks()
        for label in (tick.label1, tick.label2)
        if not min(axis.get_view_interval()) <= tick.get_loc() <= max(axis.get_view_interval())
    }
    texts = ax.figure.findobj(Text)
    return [t for t in texts if t.get_visible() and t.get_text().strip() and id(t) not in beyond]


def words(ax: Axes) -> list[str]:
    """What they say, each with its lines joined, and blanks that do not break as blanks."""
    return [text.get_text().replace("\n", " ").replace("\u00a0", " ") for text in shown(ax)]


def said(ax: Axes) -> str:
    """All texts in one, in the order in which they were written."""
    return " ".join(words(ax))


def outside(ax: Axes) -> list[str]:
    """Texts that reach over the edge of the figure."""
    figure = ax.figure
    assert isinstance(figure, Figure)
    page = figure.bbox
    return [
        text.get_text()
        for text, box in _boxes(ax)
        if box.x0 < page.x0 - 0.5 or box.y0 < page.y0 - 0.5 or box.x1 > page.x1 + 0.5 or box.y1 > page.y1 + 0.5
    ]


def overlapping(ax: Axes, but: tuple[str, ...] = ()) -> list[tuple[str, str]]:
    """Pairs of texts that lie on each other, by more than a hair."""
    boxes = [(text.get_text(), box) for text, box in _boxes(ax) if text.get_text() not in but]
    found = []
    for number, (one, first) in enumerate(boxes):
        for other, second in boxes[number + 1 :]:
            common = Bbox.intersection(first, second)
            if common is not None and min(common.width, common.height) > 2.5:
                found.append((one, other))
    return found


def too_small(ax: Axes) -> list[str]:
    """Texts smaller than 7 points."""
    return [text.get_text() for text in shown(ax) if text.get_fontsize() < 7.0]


def _boxes(ax: Axes) -> Iterator[tuple[Text, Bbox]]:
    renderer = ax.figure.canvas.get_renderer()  # type: ignore[union-attr]
    for text in shown(ax):
        yield text, Text.get_window_extent(text, renderer)
