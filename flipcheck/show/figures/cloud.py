"""Where face B falls off face A at a pair: the cloud of trial parts, with the limit to scale."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from flipcheck.show.figures.distance import distance_figure, keeps, no_blank
from flipcheck.show.ink import (
    DEEP,
    FAINT,
    INK,
    LIMIT,
    MIDDLE,
    MUTED,
    SMALL,
    fit,
    name_axes,
    plain_axes,
    room,
    say,
    title,
    wrapped,
)
from flipcheck.show.lengths import coordinate, in_units, length

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    from flipcheck.decide.results import PairResult
    from flipcheck.decide.survey import Cloud
    from flipcheck.flip.frames import Point

    Array = NDArray[np.float64]

    #: A text, the point that it names, and its ink.
    Label = tuple[str, Point, str]

#: Around the picture, points: numbers at its left and below it, and the labels beside it.
_LEFT, _BELOW, _BESIDE = 50.0, 36.0, 178.0
#: Width and height that the picture wants, inches.
CLOUD_SIZE = (6.8, 4.4)
#: A limit farther out than this, in times the cloud, is told but not drawn: the cloud would shrink to a dot.
_FAR = 6.0


def cloud_figure(cloud: Cloud, pair: PairResult, units: str, ax: Axes) -> Axes:
    """Where face B falls off face A, seen on face A, with the limit to scale and circles that hold 50 and 95 in 100.

    A slot is judged across it, an outline along the two normals of its most exposed corner: their limits are drawn as
    the lines that they are. A web has a thickness instead, see `distance_figure`.
    """
    if cloud.x is None or cloud.y is None:
        return distance_figure(cloud, pair, units, ax)
    if not cloud.value.size:
        return no_blank(pair, ax)
    x, y = in_units(1.0, units) * cloud.x, in_units(1.0, units) * cloud.y
    half = _half(np.maximum(np.abs(x), np.abs(y)), None if pair.allowed is None else in_units(pair.allowed, units))
    _density(ax, x, y, half)
    labels = [*_limits(ax, cloud, pair, units, half), *_shares(ax, cloud, pair, units, half)]
    mean = (float(x.mean()), float(y.mean()))
    ax.plot(*mean, marker="+", markersize=9, markeredgewidth=1.4, color=INK, zorder=6)
    labels.append(("+ mean of all parts", mean, INK))
    _beside(ax, labels, half)
    above = title(ax, f"{pair.name}: where face B falls", _told(pair, units), left=_LEFT)
    width, height = room(ax)
    side = max(60.0, min(width - _LEFT - _BESIDE, height - _BELOW - above))
    fit(ax, (side, side), _LEFT, above)
    ax.locator_params(nbins=5)
    darker = "darker: more parts fall there"
    say(ax, (1, 0), darker, where="axes fraction", offset=(16, 2), size=SMALL, color=MUTED)
    ax.set(xlim=(-half, half), ylim=(-half, half))
    name_axes(ax, f"dx, {units} (plus: face B lies to the right)", f"dy, {units} (plus: to the back)")
    return ax


def _half(off: Array, limit: float | None) -> float:
    """Half the side of the picture: the whole cloud, and the limit unless it is far out."""
    cloud = float(off.max())
    reach = max(cloud, limit) if limit is not None and (limit <= _FAR * cloud or cloud == 0.0) else cloud
    return 1.12 * reach or 1.0


def _density(ax: Axes, x: Array, y: Array, half: float) -> None:
    from matplotlib.colors import LinearSegmentedColormap, LogNorm

    plain_axes(ax, "left", "bottom", "right", "top")
    ax.axhline(0.0, color=FAINT, linewidth=0.6, zorder=0)
    ax.axvline(0.0, color=FAINT, linewidth=0.6, zorder=0)
    # cells as wide as a fifth of the spread, so that a cloud that is a line stays a line
    cell = max(float(np.hypot(x.std(), y.std())) / 5.0, half / 60.0)
    inks = LinearSegmentedColormap.from_list("ink", ["#dfe9ef", MIDDLE, DEEP])
    extent = (-half, half, -half, half)
    cells = max(8, min(60, round(2.0 * half / cell)))
    ax.hexbin(
        x,
        y,
        gridsize=cells,
        extent=extent,
        mincnt=1,
        cmap=inks,
        norm=LogNorm(),
        linewidths=0.2,
        zorder=1,
        clip_on=False,
    )


def _limits(ax: Axes, cloud: Cloud, pair: PairResult, units: str, half: float) -> list[Label]:
    """The limit as a circle, or as lines across the normals; with a label, and the point it belongs to."""
    from matplotlib.patches import Circle

    if pair.allowed is None:
        return []
    limit, text = in_units(pair.allowed, units), f"limit {length(pair.allowed, units)}"
    if limit > half:
        return [(f"{text}, outside this picture", (math.nan, math.nan), LIMIT)]
    if pair.kind == "hole":
        ax.add_patch(Circle((0.0, 0.0), limit, fill=False, edgecolor=LIMIT, linewidth=1.8, zorder=5))
        return [(text, _on_circle(limit, 58.0), LIMIT)]
    for normal in cloud.normals:
        _across(ax, normal, limit, color=LIMIT, linewidth=1.6, zorder=5)
    if not cloud.normals:
        return [(text, (math.nan, math.nan), LIMIT)]
    text += " across the slot" if pair.kind == "slot" else " of the step"
    return [(text, _upper_right(cloud.normals[0], limit, 0.7 * half), LIMIT)]


def _upper_right(normal: Point, out: float, reach: float) -> Point:
    """Where to point at a line `out` along a normal: far to the upper right, but within `reach` where it can be."""
    nx, ny = normal
    steps = np.linspace(-2.0, 2.0, 201) * reach
    points = [(s * out * nx - t * ny, s * out * ny + t * nx) for s in (-1.0, 1.0) for t in steps]
    inside = [point for point in points if max(map(abs, point)) <= max(reach, 1.001 * out)]
    return max(inside, key=sum)


def _shares(ax: Axes, cloud: Cloud, pair: PairResult, units: str, half: float) -> list[Label]:
    """What holds 95 and 50 in 100 parts: circles, or lines along a slot; of an outline with its many corners, in words.

    All are counted from no misalignment, as the limit is.
    """
    from matplotlib.patches import Circle

    labels: list[Label] = []
    for name, share, dashes, angle, up in (("p95", "95 in 100", "--", 38.0, 0.5), ("p50", "50 in 100", ":", 16.0, 0.2)):
        mm = pair.distance.quantiles.get(name, math.nan) if pair.distance else math.nan
        radius = in_units(mm, units)
        point = (math.nan, math.nan)
        if not 0.0 < radius <= half * math.sqrt(2.0):
            continue
        if pair.kind == "hole":
            how: dict[str, Any] = {"edgecolor": INK, "linewidth": 1.3, "linestyle": dashes, "zorder": 5}
            ax.add_patch(Circle((0.0, 0.0), radius, fill=False, **how))
            point = _on_circle(radius, angle)
        elif pair.kind == "slot" and cloud.normals:
            _across(ax, cloud.normals[0], radius, color=INK, linewidth=1.3, linestyle=dashes, zorder=5)
            point = _upper_right(cloud.normals[0], radius, up * half)
        around = ", all around" if pair.kind == "outline" else ""
        labels.append((f"{share} parts within {length(mm, units)}{around}", point, INK))
    return labels


def _across(ax: Axes, normal: Point, out: float, **how: Any) -> None:
    """Two lines square to a normal, `out` to either side of no misalignment."""
    nx, ny = normal
    for sign in (-out, out):
        ax.axline((sign * nx, sign * ny), (sign * nx - ny, sign * ny + nx), **how)


def _on_circle(radius: float, degrees: float) -> Point:
    return radius * math.cos(math.radians(degrees)), radius * math.sin(math.radians(degrees))


def _beside(ax: Axes, labels: list[Label], half: float) -> None:
    """Labels in a column beside the picture, each with a line to what it names; from top to bottom as these lie."""
    for number, (text, point, ink) in enumerate(labels):
        level = 0.93 - 0.13 * number
        say(
            ax, (1, level), wrapped(text, _BESIDE - 20.0), where="axes fraction", offset=(16, 0), color=ink, va="center"
        )
        if math.isfinite(point[0]) and max(abs(point[0]), abs(point[1])) <= half:
            ax.annotate(
                "",
                point,
                xytext=(1, level),
                xycoords="data",
                textcoords="axes fraction",
                annotation_clip=False,
                arrowprops={"arrowstyle": "-", "color": ink, "linewidth": 0.7, "shrinkA": 0, "shrinkB": 0},
                zorder=7,
            )
            ax.annotate(
                "",
                (1, level),
                xytext=(14, 0),
                xycoords="axes fraction",
                textcoords="offset points",
                annotation_clip=False,
                arrowprops={"arrowstyle": "-", "color": ink, "linewidth": 0.7, "shrinkA": 0, "shrinkB": 0},
            )


def _told(pair: PairResult, units: str) -> list[str]:
    told = [keeps(pair)]
    if pair.kind == "outline" and pair.at is not None:
        x, y = (coordinate(mm, units) for mm in pair.at)
        told.append(f"dx and dy are those of its most exposed corner, ({x}, {y}) {units} on face A")
    return told
