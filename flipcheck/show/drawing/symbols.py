"""Signs for what stands on a plan. Diameters that are known are to scale; a sign that stands for a thing is not.

Places are in the units of the axes; `scale` is points to such a unit, so that signs keep their size on paper.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from flipcheck.flip.frames import NORMALS
from flipcheck.show.ink import DEEP, INK, LIMIT, SMALL, say
from flipcheck.show.lengths import in_units

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from flipcheck.decide.fixture.layout import Locator, PlacedPair
    from flipcheck.flip.frames import Point
    from flipcheck.job.records import Side

#: Sizes on paper, points: a hole of unknown size, a slot, a web, the block of a stop, the bar of a fence, a touch.
_HOLE, _SLOT, _WEB, _BLOCK, BAR, _TOUCH = 4.5, (30.0, 9.0), 15.0, (12.0, 9.0), 8.0, 20.0


def pair_mark(ax: Axes, pair: PlacedPair, units: str, scale: float) -> None:
    """Draw a pair as it lies."""
    from matplotlib.patches import Circle, Polygon, Rectangle

    points = [(in_units(x, units), in_units(y, units)) for x, y in pair.machine]
    if pair.kind == "outline":
        ax.add_patch(Polygon(points, closed=True, fill=False, edgecolor=DEEP, linewidth=1.2, zorder=4))
        return
    at = points[0]
    if pair.kind == "slot":
        _slot(ax, at, pair.angle or 0.0, scale)
    elif pair.kind == "web":
        side = _WEB / scale
        corner = (at[0] - 0.5 * side, at[1] - 0.5 * side)
        ax.add_patch(
            Rectangle(corner, side, side, fill=False, edgecolor=DEEP, linewidth=1.0, linestyle=(0, (4, 2)), zorder=4)
        )
        centre_mark(ax, at, 0.2 * side)
    else:
        known = pair.diameter is not None
        radius = 0.5 * in_units(pair.diameter, units) if pair.diameter is not None else _HOLE / scale
        dashes = "-" if known else (0, (2, 1.5))
        ax.add_patch(Circle(at, radius, facecolor="white", edgecolor=DEEP, linewidth=1.2, linestyle=dashes, zorder=4))
        centre_mark(ax, at, radius + 3.0 / scale)


def _slot(ax: Axes, at: Point, angle: float, scale: float) -> None:
    """A round-ended slot along its angle, with its middle line."""
    from matplotlib.patches import Polygon

    length, width = (size / scale for size in _SLOT)
    straight, radius = 0.5 * (length - width), 0.5 * width
    c, s = math.cos(angle), math.sin(angle)
    steps = [math.pi * step / 12.0 for step in range(13)]
    ends = [(straight + radius * math.sin(t), -radius * math.cos(t)) for t in steps]
    ends += [(-x, -y) for x, y in ends]
    outline = [(at[0] + c * x - s * y, at[1] + s * x + c * y) for x, y in ends]
    ax.add_patch(Polygon(outline, closed=True, facecolor="white", edgecolor=DEEP, linewidth=1.2, zorder=4))
    reach = 0.5 * length + 3.0 / scale
    ax.plot(
        [at[0] - c * reach, at[0] + c * reach],
        [at[1] - s * reach, at[1] + s * reach],
        color=INK,
        linewidth=0.5,
        linestyle=(0, (7, 1.5, 1.5, 1.5)),
        zorder=5,
    )
    centre_mark(ax, at, 2.5 / scale)


def centre_mark(ax: Axes, at: Point, reach: float) -> None:
    """A small cross on the middle of a thing."""
    ax.plot([at[0] - reach, at[0] + reach], [at[1]] * 2, color=INK, linewidth=0.5, zorder=5, clip_on=False)
    ax.plot([at[0]] * 2, [at[1] - reach, at[1] + reach], color=INK, linewidth=0.5, zorder=5, clip_on=False)


def locator_mark(ax: Axes, locator: Locator, units: str, scale: float) -> None:
    """Draw a pin, its hole, the place where a fence or stop bears, or a touch."""
    from matplotlib.patches import Circle

    at = (in_units(locator.machine[0], units), in_units(locator.machine[1], units))
    if locator.side is None:
        assert locator.diameter is not None
        radius = 0.5 * in_units(locator.diameter, units)
        standing = locator.role == "pin"
        ax.add_patch(
            Circle(at, radius, facecolor=LIMIT if standing else "white", edgecolor=LIMIT, linewidth=1.4, zorder=6)
        )
        centre_mark(ax, at, radius + 4.0 / scale)
    elif locator.role == "touch":
        _touch(ax, at, locator.side, scale)
    elif locator.role == "wall":
        return  # the whole nest is drawn at once
    elif locator.role == "stop":
        _block(ax, at, locator.side, _BLOCK, scale)
    else:
        _block(ax, at, locator.side, (4.0, BAR), scale)


def _block(ax: Axes, at: Point, side: Side, size: Point, scale: float) -> None:
    """A block outside a side of the blank that bears on it: `size` along the side and away from it, points."""
    from matplotlib.patches import Polygon

    nx, ny = NORMALS[side]
    along, out = (extent / scale for extent in size)
    corners = [
        (-0.5 * along, out),
        (-0.5 * along, 0.15 * out),
        (0.0, 0.0),
        (0.5 * along, 0.15 * out),
        (0.5 * along, out),
    ]
    outline = [(at[0] + abs(ny) * a + nx * o, at[1] + abs(nx) * a + ny * o) for a, o in corners]
    ax.add_patch(
        Polygon(outline, closed=True, facecolor=LIMIT, edgecolor=LIMIT, linewidth=0.8, zorder=6, clip_on=False)
    )


def _touch(ax: Axes, at: Point, side: Side, scale: float) -> None:
    """An arrow that comes from outside and ends on the edge."""
    nx, ny = NORMALS[side]
    start = (at[0] + nx * _TOUCH / scale, at[1] + ny * _TOUCH / scale)
    ax.annotate(
        "",
        at,
        xytext=start,
        annotation_clip=False,
        arrowprops={"arrowstyle": "-|>", "color": LIMIT, "linewidth": 1.3, "shrinkA": 0, "shrinkB": 0},
        zorder=7,
    )


def fence_bar(ax: Axes, side: Side, size: Point, gap: float, scale: float) -> None:
    """A fence or rail along a whole side of the blank, `gap` points away from it."""
    from matplotlib.patches import Rectangle

    near, far = gap / scale, (gap + BAR) / scale
    over = 6.0 / scale
    low, high = {
        "front": ((-over, -far), (size[0] + over, -near)),
        "back": ((-over, size[1] + near), (size[0] + over, size[1] + far)),
        "left": ((-far, -over), (-near, size[1] + over)),
        "right": ((size[0] + near, -over), (size[0] + far, size[1] + over)),
    }[side]
    ax.add_patch(
        Rectangle(
            low,
            high[0] - low[0],
            high[1] - low[1],
            facecolor="white",
            edgecolor=LIMIT,
            linewidth=0.8,
            hatch="////",
            zorder=2,
            clip_on=False,
        )
    )


def nest_mark(ax: Axes, nest: tuple[Point, Point], units: str, scale: float) -> None:
    """The walls of a nest: a hatched frame around what lies in it."""
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    (x1, y1), (x2, y2) = ((in_units(x, units), in_units(y, units)) for x, y in nest)
    wide = BAR / scale
    inner = [(x1, y1), (x2, y1), (x2, y2), (x1, y2), (x1, y1)]
    outer = [(x1 - wide, y1 - wide), (x1 - wide, y2 + wide), (x2 + wide, y2 + wide), (x2 + wide, y1 - wide)]
    codes = [Path.MOVETO, *[Path.LINETO] * 3, Path.CLOSEPOLY]
    frame = Path([*outer, outer[0], *inner], [*codes, *codes])
    ax.add_patch(
        PathPatch(
            frame, facecolor="white", edgecolor=LIMIT, linewidth=0.8, hatch="////", zorder=2, clip_on=False, gid="nest"
        )
    )


def push_arrow(ax: Axes, side: Side, size: Point, scale: float) -> None:
    """An arrow that pushes the blank towards a machine side, from outside the opposite one."""
    nx, ny = NORMALS[side]
    x = 0.5 * size[0] * (1.0 - nx) if nx else 0.3 * size[0]
    y = 0.5 * size[1] * (1.0 - ny) if ny else 0.3 * size[1]
    tail = (x - nx * 26.0 / scale, y - ny * 26.0 / scale)
    ax.annotate(
        "",
        (x, y),
        xytext=tail,
        annotation_clip=False,
        arrowprops={"arrowstyle": "simple,head_width=0.7,tail_width=0.25", "color": LIMIT, "shrinkA": 2, "shrinkB": 1},
    )
    middle = (x - nx * 14.0 / scale, y - ny * 14.0 / scale)
    if nx:
        say(ax, middle, "push", offset=(0.0, 5.0), size=SMALL, color=LIMIT, ha="center", va="bottom")
    else:
        say(ax, middle, "push", offset=(6.0, 0.0), size=SMALL, color=LIMIT, va="center")
