"""The blank on a plan: its outline, the face that is up, the marked corner; and an outline that was cut out of it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from flipcheck.show.ink import INK, MUTED, PAPER, say
from flipcheck.show.lengths import in_units

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.patches import Rectangle

    from flipcheck.decide.fixture.layout import Layout
    from flipcheck.flip.frames import Point

    #: Its front-left and its back-right corner.
    Corners = tuple[Point, Point]


def corners_in(corners: Corners, units: str) -> Corners:
    """Corners given in mm, in `units`."""
    (x1, y1), (x2, y2) = corners
    return (in_units(x1, units), in_units(y1, units)), (in_units(x2, units), in_units(y2, units))


def marked_at(layout: Layout, part: Corners) -> Point:
    """The marked corner of what lies in a setup."""
    x, y = (part[1 if layout.datum[axis] > 0.0 else 0][axis] for axis in (0, 1))
    return x, y


def blank_mark(ax: Axes, layout: Layout, units: str, scale: float) -> None:
    """The outline, a pale letter for the face that is up, and a triangle at the same corner in both setups."""
    from matplotlib.patches import Polygon

    part = corners_in(layout.part, units)
    (x1, y1), (x2, y2) = part
    if layout.is_cut_out:
        length, width = (in_units(side, units) for side in layout.placing.size)
        dashed_outline(ax, ((0.0, 0.0), (length, width)))
    ax.add_patch(_rectangle(part, facecolor=PAPER, edgecolor=INK, linewidth=1.5, zorder=1, gid="blank"))
    middle, tall = (0.5 * (x1 + x2), 0.5 * (y1 + y2)), min(x2 - x1, y2 - y1) * scale
    letter = max(9.0, min(110.0, 0.55 * tall))
    say(ax, middle, layout.face, size=letter, color="#e8e1d2", ha="center", va="center", fontweight="bold", zorder=1.5)
    x, y = marked_at(layout, part)
    side = min(12.0, 0.2 * tall) / scale
    right, back = math.copysign(side, x1 + x2 - 2.0 * x), math.copysign(side, y1 + y2 - 2.0 * y)
    corner = [(x, y), (x + right, y), (x, y + back)]
    ax.add_patch(Polygon(corner, closed=True, facecolor=INK, edgecolor=INK, zorder=5, clip_on=False, gid="datum"))


def dashed_outline(ax: Axes, corners: Corners) -> None:
    """An outline that is not there yet, or no more."""
    how: dict[str, Any] = {"fill": False, "edgecolor": MUTED, "linewidth": 1.0, "linestyle": (0, (5, 3)), "zorder": 2}
    ax.add_patch(_rectangle(corners, gid="outline", **how))


def _rectangle(corners: Corners, **how: Any) -> Rectangle:
    from matplotlib.patches import Rectangle

    (x1, y1), (x2, y2) = corners
    return Rectangle((x1, y1), x2 - x1, y2 - y1, clip_on=False, **how)
