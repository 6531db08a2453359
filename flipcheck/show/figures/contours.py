"""Lines of equal value, numbered where there is room, on a ground that darkens with them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flipcheck.show.ink import INK, MIDDLE, SMALL

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from matplotlib.axes import Axes
    from matplotlib.path import Path
    from numpy.typing import NDArray

    from flipcheck.flip.frames import Point

    Array = NDArray[np.float64]


def filled_contours(
    ax: Axes, x: Array, y: Array, values: Array, levels: Sequence[float], shape: Point, marks: Iterable[Point] = ()
) -> list[Point]:
    """Draw them, and return where their numbers stand.

    Parameters
    ----------
    ax: Where to draw.
    x, y: Places of the columns and the rows, rising.
    values: What is drawn, shape (rows, columns); NaN where there is nothing.
    levels: Values of the lines, evenly spaced.
    shape: Width and height of the drawing, in any unit.
    marks: Places that numbers keep away from.
    """
    from matplotlib.colors import LinearSegmentedColormap

    inks = LinearSegmentedColormap.from_list("ink", ["#fbfaf6", "#cfdde6", MIDDLE])
    ax.contourf(x, y, values, levels=levels, cmap=inks, zorder=0)
    drawn = ax.contour(x, y, values, levels=levels, colors=INK, linewidths=0.8, zorder=1)
    step = float(levels[1] - levels[0])
    decimals = next((n for n in range(12) if abs(round(step, n) - step) < 1e-6 * step), 12)
    places = label_places(drawn.get_paths(), (x, y), shape, marks)
    for text in ax.clabel(drawn, fontsize=SMALL, fmt=f"%.{decimals}f", inline=True, inline_spacing=3, manual=places):
        text.set_parse_math(False)
    return places


def label_places(
    paths: Sequence[Path], over: tuple[Array, Array], shape: Point, marks: Iterable[Point] = ()
) -> list[Point]:
    """A place for the number of each line, away from edges, marks and each other; none where it has none.

    `over` are places of the columns and the rows, `shape` the width and height of the drawing, in any unit.
    """
    low = np.array([over[0][0], over[1][0]])
    scale = np.array(shape) / (np.array([over[0][-1], over[1][-1]]) - low)
    wide = 0.05 * max(shape)
    crowd = [*(scale * (np.array(mark) - low) for mark in marks), np.array([-1e9, -1e9])]
    places: list[Point] = []
    for path in paths:
        for line in map(np.asarray, path.to_polygons(closed_only=False)):
            drawn = scale * (line - low)
            edges = np.minimum(drawn, np.array(shape) - drawn).min(axis=1)
            near = np.hypot(*(drawn[:, None] - np.array(crowd)).transpose(2, 0, 1)).min(axis=1)
            clear = np.minimum(edges / wide, 0.5 * near / wide)
            best = int(np.argmax(np.minimum(clear, 2.0)))
            if clear[best] > 0.8 and len(line) > 2:
                places.append((float(line[best][0]), float(line[best][1])))
                crowd.append(drawn[best])
    return places
