"""Ordinate dimensions: how far each thing lies from the origin, along the front and the left side of the plan."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from flipcheck.show.ink import INK, MUTED, SMALL, text_width
from flipcheck.show.lengths import coordinate, in_units

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

#: Distance of two numbers, and of a number from the plan, points.
_PITCH, _OUT = 9.5, 34.0


def ordinates(ax: Axes, values: Sequence[float], units: str, scale: float, *, along_x: bool) -> None:
    """Number the places `values` (mm) along X or Y; only the ends where there are too many to stand side by side."""
    texts = {coordinate(value, units): in_units(value, units) for value in sorted(values)}
    places = [value * scale for value in texts.values()]
    if len(places) * _PITCH > places[-1] + 4.0 * _PITCH:
        texts = {text: texts[text] for text in (min(texts, key=texts.__getitem__), max(texts, key=texts.__getitem__))}
        places = [value * scale for value in texts.values()]
    for text, start, end in zip(texts, places, apart(places, _PITCH, first=0.0), strict=True):
        _ordinate(ax, text, start / scale, end / scale, scale, along_x=along_x)


def reach(values: Sequence[float], units: str) -> float:
    """How far the numbers reach out from the plan, points."""
    return _OUT + max(text_width(coordinate(value, units), SMALL) for value in values) + 2.0


def _ordinate(ax: Axes, text: str, start: float, end: float, scale: float, *, along_x: bool) -> None:
    """A thin line from the edge outwards, with a knee where the number had to move aside."""
    steps = [(start, -3.0 / scale), (start, -18.0 / scale), (end, -28.0 / scale), (end, -(_OUT - 2.0) / scale)]
    where, out = ([a for a, _ in steps], [b for _, b in steps])
    x, y = (where, out) if along_x else (out, where)
    ax.plot(x, y, color=MUTED, linewidth=0.5, clip_on=False, zorder=3)
    at = (end, -_OUT / scale) if along_x else (-_OUT / scale, end)
    ax.annotate(
        text,
        at,
        fontsize=SMALL,
        color=INK,
        rotation=90.0 if along_x else 0.0,
        ha="center" if along_x else "right",
        va="top" if along_x else "center",
        annotation_clip=False,
        gid="ordinate x" if along_x else "ordinate y",
    )


def apart(places: Sequence[float], least: float, first: float = -math.inf) -> list[float]:
    """The nearest places, in the same order, that are at least so far apart, none before `first`.

    Groups that touch share their middle.
    """
    groups: list[list[float]] = []  # sum of the wanted starts, and count
    for number, at in enumerate(places):
        groups.append([at - number * least, 1.0])
        while len(groups) > 1 and groups[-2][0] / groups[-2][1] > groups[-1][0] / groups[-1][1]:
            total, count = groups.pop()
            groups[-1][0] += total
            groups[-1][1] += count
    starts = [max(total / count, first) for total, count in groups for _ in range(round(count))]
    return [start + number * least for number, start in enumerate(starts)]
