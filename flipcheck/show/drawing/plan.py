"""The plan of a setup, seen from above, the front of the machine at the bottom."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from flipcheck.decide.fixture.layout import layouts
from flipcheck.flip.frames import NORMALS
from flipcheck.show.drawing.blank import blank_mark, corners_in, dashed_outline, marked_at
from flipcheck.show.drawing.ordinates import ordinates, reach
from flipcheck.show.drawing.symbols import BAR, fence_bar, locator_mark, nest_mark, pair_mark, push_arrow
from flipcheck.show.drawing.table import Table
from flipcheck.show.drawing.tags import Spots, points_of, rows_of
from flipcheck.show.ink import INK, LIMIT, MARGIN, MUTED, POINTS_PER_INCH, SMALL, fit, room, say, title
from flipcheck.show.lengths import coordinate, in_units
from flipcheck.show.words import TURNED

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from flipcheck.decide.fixture.layout import Layout
    from flipcheck.flip.frames import Face, Point
    from flipcheck.job.records import Job, Method

#: The plan on paper, points: its longest side, and the least of its shortest where that does not make it longer still.
_LONGEST, _LONGEST_OF_ALL, _SHORTEST = 330.0, 500.0, 110.0
#: Around the plan, points: above it heading and turn arrow, of which the arrow; and the margins of the sheet.
_ABOVE, _TURN, _AROUND = 74.0, 34.0, 2.0 * MARGIN

#: Right of the plan, before the table, points: the turn arrow with its name, or an arrow that pushes.
_RIGHT = {"left-right": 58.0, "front-back": 76.0, "diagonal": 64.0}


def setup_drawing(job: Job, method: Method, face: Face, ax: Axes) -> Axes:
    """Draw the setup in which `face` is cut, to scale, in the machine frame and the units of the job.

    Setup B shows the blank as it lies after the turn. A triangle marks the same corner of the blank in both.
    """
    layout = layouts(job, method)[0 if face == "A" else 1]
    one = in_units(1.0, job.units)
    size = (one * layout.placing.size[0], one * layout.placing.size[1])
    rows = rows_of(layout, job.units)
    table = Table(rows, _notes(method, layout), job.units)
    points = points_of(rows)
    xs, ys = ({0.0, layout.placing.size[axis], *(at[axis] for at in points)} for axis in (0, 1))
    left, below = reach(list(ys), job.units), reach(list(xs), job.units)
    above = title(ax, f"Setup {face}, face {face} up", _below(job, layout), left=left, up=_TURN)
    width, height = room(ax)
    scale = min((width - left - _RIGHT[job.flip] - table.width) / size[0], (height - above - below) / size[1])
    scale = max(scale, 20.0 / max(size))
    fit(ax, (scale * size[0], scale * size[1]), left, above)
    ax.set(xlim=(0.0, size[0]), ylim=(0.0, size[1]))
    ax.set_axis_off()
    blank_mark(ax, layout, job.units, scale)
    if layout.outline:
        dashed_outline(ax, corners_in(layout.outline, job.units))
    _flip_line(ax, layout, job.units, scale)
    _locators(ax, layout, job.units, size, scale)
    for pair in layout.pairs:
        pair_mark(ax, pair, job.units, scale)
    ordinates(ax, list(xs), job.units, scale, along_x=True)
    ordinates(ax, list(ys), job.units, scale, along_x=False)
    _texts(ax, layout, points, job.units, scale)
    _axes_arrows(ax, scale)
    table.draw(ax, _RIGHT[job.flip], height - above)
    return ax


def drawing_size(job: Job, method: Method) -> tuple[float, float]:
    """Width and height that the drawings of a method want, inches; the same for both setups."""
    widths, heights = [], []
    for layout in layouts(job, method):
        length, depth = layout.placing.size
        scale = max(_LONGEST / max(length, depth), _SHORTEST / min(length, depth))
        scale = min(scale, _LONGEST_OF_ALL / max(length, depth))
        rows = rows_of(layout, job.units)
        table = Table(rows, _notes(method, layout), job.units)
        points = points_of(rows)
        left, below = (reach([*(at[axis] for at in points), layout.placing.size[axis]], job.units) for axis in (1, 0))
        widths.append(left + scale * length + _RIGHT[job.flip] + table.width + _AROUND)
        heights.append(max(scale * depth + below, table.height) + _ABOVE + _AROUND)
    return max(widths) / POINTS_PER_INCH, max(heights) / POINTS_PER_INCH


def _below(job: Job, layout: Layout) -> list[str]:
    size = " x ".join(coordinate(side, job.units) for side in (*layout.placing.size, job.blank.thickness))
    head = f'{job.title or "Part without a title"}, by "{layout.method}". Blank {size} {job.units} as it lies.'
    turn = f"to be {TURNED[job.flip]}" if layout.face == "A" else f"has been {TURNED[job.flip]}"
    return [head, f"Seen from above, front of the machine at the bottom; {turn} about the flip line."]


def _notes(method: Method, layout: Layout) -> list[str]:
    """What the plan cannot show."""
    roles = {one.role for one in layout.locators}
    rings = any(pair.kind == "hole" and pair.diameter is None for pair in layout.pairs)
    kinds = {pair.kind for pair in layout.pairs}
    where = "the bed" if layout.zero_z == "bed" else "top of the blank"
    through = ", bored through the blank into the bed" if getattr(method, "bed_holes", "") == "same stroke" else ""
    notes = [
        (True, f"X and Y count from the front-left corner of the blank as it lies. Z zero on {where}."),
        (True, "Black triangle: the corner of the blank that is front-left with face A up."),
        (layout.outline, "Dashed: the outline, which is cut last in this setup."),
        (layout.is_cut_out, "Dashed: the blank before its outline was cut in setup A."),
        ("pin hole" in roles, f"P: cut in this setup{through}."),
        (layout.push, f"Push the blank towards the {' and the '.join(layout.push)} before clamping."),
        (layout.nest, "W: walls of the nest, cut into the bed; hatched, and not to scale across."),
        (layout.kind == "bores", f"B: {_bores(method, layout)}"),
        ("touch" in roles, "T: touched off; work zero where the touches find the edges."),
        (rings, "A dashed ring stands for a hole of a size that the job does not give."),
        ("slot" in kinds, "A slot is drawn at its angle, not at its length."),
        ("web" in kinds, "A dashed square marks where a web is looked at."),
    ]
    return [text for holds, text in notes if holds]


def _bores(method: Method, layout: Layout) -> str:
    cut = layout.face == "A" and getattr(method, "holes", "") == "with face A"
    return "bored in this setup." if cut else "touched off on four sides each."


def _flip_line(ax: Axes, layout: Layout, units: str, scale: float) -> None:
    """The flip line a little beyond the blank, and an arrow across its far end that tells which way to turn."""
    from matplotlib.patches import FancyArrowPatch

    (x1, y1), (x2, y2) = ((in_units(x, units), in_units(y, units)) for x, y in layout.flip_line)
    length = math.hypot(x2 - x1, y2 - y1)
    ux, uy = (x2 - x1) / length, (y2 - y1) / length
    out = (16.0 + (BAR if layout.nest else 0.0)) / scale
    ax.plot(
        [x1 - 0.5 * ux * out, x2 + ux * out],
        [y1 - 0.5 * uy * out, y2 + uy * out],
        color=MUTED,
        linewidth=1.0,
        linestyle=(0, (10, 2, 2, 2)),
        clip_on=False,
        zorder=3,
        gid="flip line",
    )
    nx, ny = (uy, -ux) if layout.flip != "front-back" else (-uy, ux)
    tip = (x2 + ux * 0.6 * out, y2 + uy * 0.6 * out)
    half = 17.0 / scale
    start, end = (tip[0] - nx * half, tip[1] - ny * half), (tip[0] + nx * half, tip[1] + ny * half)
    bow = -0.55 if layout.flip != "front-back" else 0.55
    ax.add_patch(
        FancyArrowPatch(
            start, end, connectionstyle=f"arc3,rad={bow}", arrowstyle="-|>", mutation_scale=9.0, color=MUTED,
            linewidth=1.3, clip_on=False, zorder=3, gid="turn",
        )
    )  # fmt: skip
    at = end if layout.flip == "left-right" else (x2 + ux * out, y2 + uy * out)
    offset = {"left-right": (4.0, 0.0), "front-back": (14.0, -4.0)}.get(layout.flip, (5.0, 3.0))
    say(
        ax,
        at,
        "flip line",
        size=SMALL,
        color=MUTED,
        offset=offset,
        va="bottom" if layout.flip != "left-right" else "center",
    )


def _locators(ax: Axes, layout: Layout, units: str, size: Point, scale: float) -> None:
    sides = {one.side: one.role for one in layout.locators if one.role in ("fence", "rail")}
    for side, role in sides.items():
        if side is not None:
            fence_bar(ax, side, size, 0.0 if role == "rail" else 0.6 * BAR, scale)
    if layout.nest:
        nest_mark(ax, layout.nest, units, scale)
    for locator in layout.locators:
        locator_mark(ax, locator, units, scale)
    for side in layout.push:
        push_arrow(ax, side, size, scale)


def _texts(ax: Axes, layout: Layout, points: dict[Point, str], units: str, scale: float) -> None:
    """Tags, the names of the edges and of the marked corner, each in a free spot."""
    one = in_units(1.0, units)
    size = (one * layout.placing.size[0], one * layout.placing.size[1])
    spots = Spots(ax, scale, size)
    spots.keep_clear_of(layout, one)
    part = corners_in(layout.part, units)
    datum = marked_at(layout, part)
    spots.keep_clear(datum, 8.0)
    (x1, y1), (x2, y2) = part
    ends = {
        "front": ((x1, y1), (x2, y1)),
        "back": ((x1, y2), (x2, y2)),
        "left": ((x1, y1), (x1, y2)),
        "right": ((x2, y1), (x2, y2)),
    }
    inwards = {locator.machine: NORMALS[locator.side] for locator in layout.locators if locator.side is not None}
    for (x, y), tag in points.items():
        nx, ny = inwards.get((x, y), (-1.0, -1.0))
        spots.write(tag, (one * x, one * y), first=(-nx, -ny), color=INK if tag[0].isdigit() else LIMIT)
    spots.write_if_free("front-left of A", datum)
    if min(x2 - x1, y2 - y1) * scale > 70.0:
        for side, edge in layout.edges.items():
            nx, ny = NORMALS[side]
            spots.along(f"{edge} edge", ends[side], (-nx, -ny), MUTED)


def _axes_arrows(ax: Axes, scale: float) -> None:
    """X and Y beside the origin, out of the way of the dimensions."""
    at = -38.0 / scale
    long = 20.0 / scale
    for letter, tip in (("X", (at + long, at)), ("Y", (at, at + long))):
        ax.annotate(
            letter,
            (at, at),
            xytext=tip,
            ha="left" if letter == "X" else "center",
            va="center" if letter == "X" else "bottom",
            fontsize=SMALL,
            color=INK,
            annotation_clip=False,
            arrowprops={"arrowstyle": "<|-", "color": INK, "linewidth": 1.0, "shrinkA": 1, "shrinkB": 0},
        )
