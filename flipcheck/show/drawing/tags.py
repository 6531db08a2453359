"""Short names for what stands on a drawing, and a free spot for each of them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.show.ink import INK, SMALL, say, text_width
from flipcheck.show.lengths import coordinate, diameter_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from matplotlib.axes import Axes

    from flipcheck.decide.fixture.layout import Layout, Locator, PlacedPair
    from flipcheck.flip.frames import Point

    #: Left, bottom, right, top, in points from the origin of the plan.
    Box = tuple[float, float, float, float]

#: An outline with more corners than this is drawn, but its corners are not listed.
LISTED = 12

_DIRECTIONS: tuple[Point, ...] = ((1, 1), (-1, 1), (1, -1), (-1, -1), (1, 0), (-1, 0), (0, 1), (0, -1))
_LETTERS = {"pin": "P", "pin hole": "P", "fence": "F", "rail": "R", "stop": "S", "touch": "T", "wall": "W", "bore": "B"}


@dataclass(frozen=True)
class Row:
    """One line of the table beside a plan: a tag, what it stands for, and where (machine frame, mm)."""

    tag: str
    name: str
    at: Point | None


def rows_of(layout: Layout, units: str) -> tuple[Row, ...]:
    """Locators first, then the pairs; an outline that is listed has a line for each corner."""
    return (*_locators(layout, units), *_pairs(layout, units))


def points_of(rows: Iterable[Row]) -> dict[Point, str]:
    """The tags to be written at each place; things at one place share a spot."""
    together: dict[Point, list[str]] = {}
    for row in rows:
        if row.at is not None:
            key = next((near for near in together if _near(near, row.at)), row.at)
            together.setdefault(key, []).append(row.tag)
    return {at: ", ".join(tags) for at, tags in together.items()}


def _near(one: Point, other: Point) -> bool:
    return abs(one[0] - other[0]) < 0.01 and abs(one[1] - other[1]) < 0.01


def _locators(layout: Layout, units: str) -> Iterator[Row]:
    count: dict[str, int] = {}
    for locator in layout.locators:
        letter = _LETTERS[locator.role]
        count[letter] = count.get(letter, 0) + 1
        yield Row(f"{letter}{count[letter]}", _spoken(layout, locator, units), locator.machine)


def _spoken(layout: Layout, locator: Locator, units: str) -> str:
    if locator.diameter is not None:
        return f"{locator.name}, {diameter_text(locator.diameter, units)}"
    what = {"fence": "fence", "rail": "rail bears", "stop": "stop"}.get(locator.role, locator.name)
    stands = locator.role not in ("touch", "wall")
    moved = ", moved here" if layout.face == "B" and stands and not locator.stays else ""
    return f"{what}, {locator.edge} edge{moved}"


def _pairs(layout: Layout, units: str) -> Iterator[Row]:
    for number, pair in enumerate(layout.pairs, start=1):
        if pair.kind != "outline":
            yield Row(f"{number}", _described(pair, units), pair.machine[0])
        elif len(pair.machine) > LISTED:
            yield Row(f"{number}", f"{pair.name}, {len(pair.machine)} corners", None)
        else:
            yield Row(f"{number}", f"{pair.name}, corners:", None)
            for letter, at in zip("abcdefghijkl", pair.machine, strict=False):
                yield Row(f"{number}{letter}", "", at)


def _described(pair: PlacedPair, units: str) -> str:
    if pair.diameter is not None:
        return f"{pair.name}, {diameter_text(pair.diameter, units)}"
    if pair.depth == 0.0:
        return f"{pair.name}, not cut"
    if pair.depth is not None:
        return f"{pair.name}, {coordinate(pair.depth, units)}\u00a0deep"
    return pair.name


class Spots:
    """Finds a free spot for each text of a plan; all measures in points from the origin of the plan."""

    def __init__(self, ax: Axes, scale: float, size: Point) -> None:
        self._ax, self._scale, self._size = ax, scale, size
        self._taken: list[Box] = []

    def keep_clear(self, at: Point, half: float) -> None:
        """No text within `half` points of a place (in the units of the axes)."""
        x, y = at[0] * self._scale, at[1] * self._scale
        self._taken.append((x - half, y - half, x + half, y + half))

    def keep_clear_of(self, layout: Layout, one: float) -> None:
        """No text on the pairs, the locators and the flip line of a setup; `one` mm is so long on the axes."""
        for locator in layout.locators:
            self.keep_clear((one * locator.machine[0], one * locator.machine[1]), 7.0)
        lines = [layout.flip_line]
        for pair in layout.pairs:
            if pair.kind == "outline":
                lines += zip(pair.machine, (*pair.machine[1:], pair.machine[0]), strict=True)
                continue
            x, y = one * pair.machine[0][0], one * pair.machine[0][1]
            self.keep_clear((x, y), 0.5 * one * self._scale * (pair.diameter or 0.0) + 7.0)
            if pair.angle is not None:
                away = (math.cos(pair.angle) * 10.0 / self._scale, math.sin(pair.angle) * 10.0 / self._scale)
                self.keep_clear((x + away[0], y + away[1]), 6.0)
                self.keep_clear((x - away[0], y - away[1]), 6.0)
        for (x1, y1), (x2, y2) in lines:
            steps = min(200, max(1, round(one * self._scale * math.hypot(x2 - x1, y2 - y1) / 4.0)))
            for step in range(steps + 1):
                share = step / steps
                self.keep_clear((one * (x1 + share * (x2 - x1)), one * (y1 + share * (y2 - y1))), 1.2)

    def write(self, text: str, at: Point, *, first: Point = (1.0, 1.0), gap: float = 8.0, color: str = INK) -> None:
        """Write a text beside a place, towards `first` where that is free, and inside the blank where that can be."""
        width, height = text_width(text, SMALL, bold=True) + 2.0, SMALL + 2.0
        self._put(text, min(self._around(at, first, width, height, gap), key=self._cost), bold=True, color=color)

    def write_if_free(self, text: str, corner: Point) -> None:
        """Write a text on the blank beside one of its corners, if there is a spot that nothing else takes."""
        width, height = text_width(text, SMALL) + 2.0, SMALL + 2.0
        boxes = []
        for out in ((11.0, 8.0), (17.0, 3.0), (4.0, 16.0), (26.0, 3.0), (4.0, 26.0)):
            x, y = (
                at * self._scale + (move + 0.5 * extent) * (1.0 if at < 0.5 * side else -1.0)
                for at, move, extent, side in zip(corner, out, (width, height), self._size, strict=True)
            )
            boxes.append((x - 0.5 * width, y - 0.5 * height, x + 0.5 * width, y + 0.5 * height))
        best = min(boxes, key=self._cost)
        if self._cost(best) < 1.0:
            self._put(text, best, bold=False, color=INK)

    def along(self, text: str, ends: tuple[Point, Point], inward: Point, color: str) -> None:
        """Write a text inside along a side of the blank, where there is most room."""
        upright = ends[0][0] == ends[1][0]
        width, height = (SMALL + 2.0, text_width(text, SMALL)) if upright else (text_width(text, SMALL), SMALL + 2.0)
        boxes = []
        for inset, share in product((3.0, 11.0, 19.0), (0.5, 0.35, 0.65, 0.25, 0.75, 0.15, 0.85)):
            x, y = ((a + share * (b - a)) * self._scale for a, b in zip(*ends, strict=True))
            x, y = x + inward[0] * (0.5 * width + inset), y + inward[1] * (0.5 * height + inset)
            boxes.append((x - 0.5 * width, y - 0.5 * height, x + 0.5 * width, y + 0.5 * height))
        self._put(text, min(boxes, key=self._cost), bold=False, color=color, rotation=90.0 if upright else 0.0)

    def _around(self, at: Point, first: Point, width: float, height: float, gap: float) -> Iterator[Box]:
        x, y = at[0] * self._scale, at[1] * self._scale
        for far in (gap, 1.7 * gap, 2.8 * gap):
            for side, up in (first, *_DIRECTIONS):
                reach = far * (0.7 if side and up else 1.0)
                middle_x, middle_y = x + side * (reach + 0.5 * width), y + up * (reach + 0.5 * height)
                yield middle_x - 0.5 * width, middle_y - 0.5 * height, middle_x + 0.5 * width, middle_y + 0.5 * height

    def _cost(self, box: Box) -> float:
        """How much of a box is taken, or lies off the blank."""
        left, low, right, high = box
        width, height = self._size[0] * self._scale, self._size[1] * self._scale
        boxes = np.array(self._taken or [(0.0, 0.0, 0.0, 0.0)])
        wide = np.minimum(right, boxes[:, 2]) - np.maximum(left, boxes[:, 0])
        tall = np.minimum(high, boxes[:, 3]) - np.maximum(low, boxes[:, 1])
        taken = float((wide.clip(0.0) * tall.clip(0.0)).sum())
        inside = max(0.0, min(right, width - 1.0) - max(left, 1.0)) * max(0.0, min(high, height - 1.0) - max(low, 1.0))
        return taken + 0.7 * ((right - left) * (high - low) - inside)

    def _put(self, text: str, box: Box, *, bold: bool, color: str, rotation: float = 0.0) -> None:
        self._taken.append(box)
        middle = (0.5 * (box[0] + box[2]) / self._scale, 0.5 * (box[1] + box[3]) / self._scale)
        say(
            self._ax,
            middle,
            text,
            size=SMALL,
            color=color,
            ha="center",
            va="center",
            rotation=rotation,
            fontweight="bold" if bold else "normal",
            zorder=8,
            bbox={"facecolor": "white", "alpha": 0.6, "pad": 0.6, "linewidth": 0},
        )
