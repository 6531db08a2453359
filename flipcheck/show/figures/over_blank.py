"""How far off a hole would be, anywhere on the blank."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flipcheck.decide.fixture.layout import layouts
from flipcheck.show.drawing.symbols import locator_mark, pair_mark
from flipcheck.show.drawing.tags import Row, Spots, points_of, rows_of
from flipcheck.show.figures.contours import filled_contours
from flipcheck.show.ink import (
    MARGIN,
    PAPER,
    POINTS_PER_INCH,
    SMALL,
    fit,
    lines,
    name_axes,
    nothing,
    plain_axes,
    room,
    title,
    wrapped,
)
from flipcheck.show.lengths import coordinate, in_units, length

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    from flipcheck.decide.fixture.layout import Layout
    from flipcheck.decide.survey import BlankMap
    from flipcheck.flip.frames import Point
    from flipcheck.job.records import Job, Method

    Array = NDArray[np.float64]

#: Around the map, points: numbers at its left and below it, the heading, and the list beside it.
_LEFT, _BELOW, _ABOVE, _LIST = 50.0, 34.0, 36.0, 200.0
#: From one line of the list to the next, points.
_PITCH = SMALL * 1.25
#: A field that varies by less than this share of itself is told as one number.
_EVEN = 0.01


def map_figure(map: BlankMap, job: Job, ax: Axes, method: Method | None = None) -> Axes:  # noqa: A002
    """Lines of equal p95 over the blank as it lies with face A up, with the pairs and what holds or finds the blank.

    `method` is the one that the map was drawn for: the first of the job unless given.
    """
    if np.isnan(map.p95).any():
        return nothing(ax, "No blank goes on: there is no map to draw.")
    layout = layouts(job, method or job.methods[0])[0]
    units = job.units
    plain_axes(ax, "left", "bottom", "right", "top")
    x, y, p95 = (in_units(1.0, units) * values for values in (map.x, map.y, map.p95))
    ax.set(xlim=(x[0], x[-1]), ylim=(y[0], y[-1]))
    marks = [(in_units(1.0, units) * mx, in_units(1.0, units) * my) for mx, my in points_of(rows_of(layout, units))]
    numbers = _contours(ax, x, y, p95, marks)
    name_axes(ax, f"x on face A, {units}", f"y on face A, {units}")
    least, most = (length(float(value), units) for value in (map.p95.min(), map.p95.max()))
    told = f"{least} {units} all over the blank" if numbers is None else f"{least} to {most} {units} over the blank"
    below = [f'by "{layout.method}": 95 in 100 parts within {told}']
    out = _reach_out(layout)
    ax.tick_params(pad=3.0 + out)
    head = "How far off a hole would be, anywhere on the blank"
    above = title(ax, head, below, left=_LEFT + out, up=7.0 + out)
    _marks(ax, layout, units, (_LEFT + out, above, _BELOW + out), numbers or [])
    return ax


def _contours(ax: Axes, x: Array, y: Array, p95: Array, marks: Iterable[Point]) -> list[Point] | None:
    """Numbered lines on a ground that darkens with them; where the numbers stand, None where there is one for all."""
    from matplotlib.ticker import MaxNLocator

    least, most = float(p95.min()), float(p95.max())
    if most - least <= _EVEN * most:
        ax.set_facecolor(PAPER)
        return None
    levels = MaxNLocator(nbins=7, steps=[1, 2, 2.5, 5, 10]).tick_values(least, most)
    return filled_contours(ax, x, y, p95, levels, (float(x[-1]), float(y[-1])), marks)


def _marks(ax: Axes, layout: Layout, units: str, around: tuple[float, float, float], numbers: list[Point]) -> None:
    """Everything that stands on the map; `around` it are so many points at the left, above and below."""
    left, above, below = around
    one = in_units(1.0, units)
    size = (one * layout.placing.size[0], one * layout.placing.size[1])
    width, height = room(ax)
    scale = max(min((width - left - _LIST) / size[0], (height - above - below) / size[1]), 60.0 / max(size))
    fit(ax, (scale * size[0], scale * size[1]), left, above)
    spots = Spots(ax, scale, size)
    rows = rows_of(layout, units)
    points = {(one * x, one * y): tags for (x, y), tags in points_of(rows).items()}
    for locator in layout.locators:
        locator_mark(ax, locator, units, scale)
    for pair in layout.pairs:
        pair_mark(ax, pair, units, scale)
    spots.keep_clear_of(layout, one)
    for at in numbers:
        spots.keep_clear(at, 11.0)
    for at, tag in points.items():
        spots.write(tag, at)
    _beside(ax, rows, units)


def _beside(ax: Axes, rows: tuple[Row, ...], units: str) -> None:
    """What the tags stand for; the corners of an outline are told by the drawing of the setup."""
    down = -2.0
    for row in rows:
        if not row.name:
            continue
        at = f" ({coordinate(row.at[0], units)},\u00a0{coordinate(row.at[1], units)})" if row.at else ""
        text = wrapped(row.name.removesuffix(", corners:") + at, _LIST - 44.0, SMALL)
        lines(ax, row.tag, (16, down - SMALL), _PITCH, size=SMALL, fontweight="bold")
        lines(ax, text, (42, down - SMALL), _PITCH, size=SMALL)
        down -= _PITCH * (text.count("\n") + 1) + 3.0


def _reach_out(layout: Layout) -> float:
    """How far what holds or finds the blank stands out over its edges, points; the numbers step back so far."""
    roles = {locator.role for locator in layout.locators}
    return 18.0 if "touch" in roles else 8.0 if roles & {"fence", "rail", "stop", "wall"} else 0.0


def map_size(job: Job, method: Method) -> tuple[float, float]:
    """Width and height that the map of a job wants, inches."""
    scale = min(330.0 / job.blank.length, 330.0 / job.blank.width)
    layout = layouts(job, method)[0]
    rows, out = [row for row in rows_of(layout, job.units) if row.name], _reach_out(layout)
    listed = sum(2.0 * _PITCH + 3.0 for _ in rows)
    width = scale * job.blank.length + _LEFT + out + _LIST
    height = max(scale * job.blank.width + _BELOW + out, listed) + _ABOVE + out
    return (width + 2.0 * MARGIN) / POINTS_PER_INCH, (height + 2.0 * MARGIN) / POINTS_PER_INCH
