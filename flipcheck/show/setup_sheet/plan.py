"""The small plan of a setup on the setup sheet: how the blank lies and where things are, by their tags alone."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from flipcheck.show.drawing.blank import blank_mark
from flipcheck.show.drawing.symbols import fence_bar, locator_mark, nest_mark, pair_mark, push_arrow
from flipcheck.show.drawing.tags import Spots, points_of, rows_of
from flipcheck.show.ink import INK, LIMIT, MUTED, SMALL, say
from flipcheck.show.lengths import in_units

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from flipcheck.decide.fixture.layout import Layout
    from flipcheck.flip.frames import Point
    from flipcheck.job.records import Side

#: Width of the picture, the most room for the blank in it, and what stays free above and below, points.
_WIDTH, _ROOM, _AROUND = 256.0, (204.0, 124.0), 46.0


def plan_size(layout: Layout) -> Point:
    """Width and height of the plan of a setup, points."""
    return _WIDTH, _scale(layout.placing.size) * layout.placing.size[1] + _AROUND


def sheet_plan(layout: Layout, units: str, ax: Axes) -> Axes:
    """Draw a setup on an axes that fills a picture of `plan_size`; the blank is to scale, its signs are not."""
    one = in_units(1.0, units)
    size = (one * layout.placing.size[0], one * layout.placing.size[1])
    scale = _scale(size)
    ax.set_axis_off()
    width, height = (side / scale for side in plan_size(layout))
    ax.set(xlim=(0.5 * (size[0] - width), 0.5 * (size[0] + width)))
    ax.set(ylim=(0.5 * (size[1] - height), 0.5 * (size[1] + height)))
    blank_mark(ax, layout, units, scale)
    _flip_line(ax, layout, one, scale)
    for side, role in {one.side: one.role for one in layout.locators if one.role in ("fence", "rail")}.items():
        if side is not None:
            fence_bar(ax, side, size, 0.0 if role == "rail" else 5.0, scale)
    if layout.nest:
        nest_mark(ax, layout.nest, units, scale)
    for pair in layout.pairs:
        pair_mark(ax, pair, units, scale)
    for locator in layout.locators:
        locator_mark(ax, locator, units, scale)
    for side in layout.push:
        push_arrow(ax, side, size, scale)
    _tags(ax, layout, units, size, scale)
    return ax


def _scale(size: Point) -> float:
    """Points to a unit."""
    return min(_ROOM[0] / size[0], _ROOM[1] / size[1])


def _flip_line(ax: Axes, layout: Layout, one: float, scale: float) -> None:
    (x1, y1), (x2, y2) = ((one * x, one * y) for x, y in layout.flip_line)
    length = math.hypot(x2 - x1, y2 - y1)
    over = ((x2 - x1) / length * 9.0 / scale, (y2 - y1) / length * 9.0 / scale)
    ends = ([x1 - over[0], x2 + over[0]], [y1 - over[1], y2 + over[1]])
    ax.plot(*ends, color=MUTED, linewidth=0.9, linestyle=(0, (9, 2, 2, 2)), zorder=3)


def _tags(ax: Axes, layout: Layout, units: str, size: Point, scale: float) -> None:
    """Tags beside the things; of an outline only that of its first corner."""
    one = in_units(1.0, units)
    spots = Spots(ax, scale, size)
    rows = [row for row in rows_of(layout, units) if not row.tag[-1:].isalpha() or row.tag.endswith("a")]
    points = {(one * x, one * y): tag for (x, y), tag in points_of(rows).items()}
    for at in points:
        spots.keep_clear(at, 6.0)
    for at, tag in points.items():
        spots.write(tag, at, color=INK if tag[0].isdigit() else LIMIT)
    for side in ("left", "right", "front"):
        _edge_name(ax, layout, side, size, one)


def _edge_name(ax: Axes, layout: Layout, side: Side, size: Point, one: float) -> None:
    """The name of the edge that lies at a side, outside the blank, away from what stands there."""
    along = 0 if side == "front" else 1
    there = [one * locator.machine[along] / size[along] for locator in layout.locators if locator.side == side]
    share = max((0.5, 0.78, 0.22), key=lambda at: min((abs(at - other) for other in there), default=1.0))
    if side == "front" and not there:
        share = 0.24
    beside = {locator.role for locator in layout.locators if locator.side == side}
    out = 21.0 if beside & {"fence", "rail", "wall"} and not layout.is_cut_out else 10.0
    place = (share * size[0], 0.0) if side == "front" else (0.0 if side == "left" else size[0], share * size[1])
    away = {"left": (-out, 0.0), "right": (out, 0.0), "front": (0.0, -out)}[side]
    say(
        ax,
        place,
        f"{layout.edges[side]} edge",
        size=SMALL,
        offset=away,
        rotation=0.0 if side == "front" else 90.0,
        color=MUTED,
        ha="center",
        va="center",
        zorder=8,
        bbox={"facecolor": "white", "pad": 0.6, "linewidth": 0},
    )
