"""A sweep as pictures: the chance and the p95 of each method over one quantity, or the chance over two."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from flipcheck.decide.wording import goal_text
from flipcheck.show.figures.contours import filled_contours, label_places
from flipcheck.show.ink import (
    DEEP,
    FAINT,
    INK,
    LIMIT,
    MIDDLE,
    MISS,
    MUTED,
    PAPER,
    POINTS_PER_INCH,
    SMALL,
    name_axes,
    nothing,
    plain_axes,
    room,
    say,
    title,
    wrapped,
)
from flipcheck.show.lengths import in_units
from flipcheck.show.sweep.words import p95_title
from flipcheck.show.words import part

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    from flipcheck.decide.sweep.results import Sweep, Varied

    Array = NDArray[np.float64]

#: Curves differ in lightness, in their dashes and in their marks; each is named at its end.
_INKS = (DEEP, MIDDLE, MISS, INK)
_DASHES: tuple[Any, ...] = ("-", (0, (5, 1.5)), (0, (1.2, 1.2)))
_MARKS = "os^DvPX"
#: Width of the names, from one of their lines to the next, and the gap between names: points.
_NAMES, _PITCH, _GAP = 130.0, SMALL * 1.25, 4.0
#: Marks stand at the points of a sweep of no more than so many.
_MARKED = 40
#: What heading and numbers take of the height of a figure, points.
_AROUND = 120.0
#: A chance that varies by less than this is told as one number.
_EVEN = 1e-9


def sweep_chance_figure(sweep: Sweep, ax: Axes) -> Axes:
    """The chance of each method over the quantity that is varied, in per cent, against the goal."""
    if sweep.empty:
        return nothing(ax, "No point of this sweep has a result.")
    curves = [[math.nan if m is None else 100.0 * m.chance.estimate for m in sweep.row(n)] for n in sweep.methods]
    goal = 100.0 * sweep.goal
    seen = [value for curve in curves for value in curve if math.isfinite(value)]
    low = min([*seen, goal])
    margin = max(0.06 * (100.0 - low), 0.05)
    ax.set_ylim(max(low - margin, -3.0), 100.0 + 0.6 * margin)
    ends = _curves(sweep, curves, ax)
    ax.axhline(goal, color=LIMIT, linewidth=1.2, zorder=1)
    _name_ends([*ends, (max(sweep.varied[0].values), goal, f"goal {goal_text(sweep.goal)}", LIMIT)], ax)
    name_axes(ax, _axis(sweep.varied[0], ax), "will line up, parts in 100")
    _heading(sweep, "How many parts line up", ax)
    return ax


def sweep_p95_figure(sweep: Sweep, ax: Axes) -> Axes:
    """The p95 of each method at the pair that misses most, over the quantity that is varied, against the limit."""
    if sweep.empty:
        return nothing(ax, "No point of this sweep has a result.")
    pair, units = sweep.pair, sweep.units
    rows = [sweep.row(name) for name in sweep.methods]
    curves = [[math.nan if m is None else in_units(m.pair(pair).p95, units) for m in row] for row in rows]
    pairs = [[m.pair(pair) for m in column if m is not None] for column in zip(*rows, strict=True)]
    limit = [in_units(at[0].allowed, units) if at and at[0].allowed is not None else math.nan for at in pairs]
    seen = [value for curve in [*curves, limit] for value in curve if math.isfinite(value)]
    if not seen:
        return nothing(ax, "No blank goes onto the pins: there is no distance to draw.")
    low = 0.0 if pairs and not any(one.kind == "web" for at in pairs for one in at) else min(seen)
    ax.set_ylim(low, low + 1.06 * (max(seen) - low or 1.0))
    ends = _curves(sweep, curves, ax)
    ax.plot(sweep.varied[0].values, limit, color=LIMIT, linewidth=1.2, zorder=1)
    if any(map(math.isfinite, limit)):
        ends.append(_end(sweep.varied[0].values, limit, f'limit of "{pair}"', LIMIT))
    _name_ends(ends, ax)
    web = low > 0.0
    name_axes(ax, _axis(sweep.varied[0], ax), f"95 in 100 {'below' if web else 'within'}, {units}")
    _heading(sweep, "How far off parts are", ax, p95_title(sweep))
    return ax


def _curves(sweep: Sweep, curves: Sequence[Sequence[float]], ax: Axes) -> list[tuple[float, float, str, str]]:
    """Draw a curve a method; returns the end of each, with its name and its ink."""
    plain_axes(ax, "bottom", "left")
    varied, ends = sweep.varied[0], []
    values = varied.values
    ax.set_xlim(min(values), max(values))
    for number, (name, curve) in enumerate(zip(sweep.methods, curves, strict=True)):
        ink = _INKS[number % len(_INKS)]
        ax.plot(
            values,
            curve,
            color=ink,
            linewidth=1.6,
            linestyle=_DASHES[number // len(_INKS) % len(_DASHES)],
            marker=_MARKS[number % len(_MARKS)] if len(values) <= _MARKED else "",
            markersize=4.5,
            markeredgecolor="white",
            markeredgewidth=0.5,
            clip_on=False,
            zorder=3,
        )
        if any(map(math.isfinite, curve)):
            ends.append(_end(values, curve, name, ink))
    _now(varied, ax)
    return ends


def _end(values: Sequence[float], curve: Sequence[float], name: str, ink: str) -> tuple[float, float, str, str]:
    """Where a curve ends at the right, with its name and its ink."""
    x, y = max((x, y) for x, y in zip(values, curve, strict=True) if math.isfinite(y))
    return x, y, name, ink


def _now(varied: Varied, ax: Axes) -> None:
    """What the job gives, where it lies in the range."""
    low, high = sorted((varied.values[0], varied.values[-1]))
    if varied.now is not None and low <= varied.now <= high:
        ax.axvline(varied.now, color=FAINT, linewidth=1.0, zorder=0)
        left = abs(varied.now - ax.get_xlim()[0]) < 0.5 * (high - low)
        where, ha = ("data", "axes fraction"), "left" if left else "right"
        say(ax, (varied.now, 1), "in the job", where=where, offset=(0, 3), ha=ha, size=SMALL, color=MUTED)


def _name_ends(ends: Sequence[tuple[float, float, str, str]], ax: Axes) -> None:
    """Name the curves at the right, one below the other, with a thin line from each to its name."""
    low, high = ax.get_ylim()
    height = room(ax)[1] - _AROUND
    down = sorted(ends, key=lambda end: -end[1])
    texts = [wrapped(name, _NAMES, SMALL) for _, _, name, _ in down]
    sizes = [_PITCH * (text.count("\n") + 1) + _GAP for text in texts]
    wanted = [height * (end[1] - low) / (high - low) for end in down]
    for (x, y, _, ink), text, middle in zip(down, texts, _spread(wanted, sizes, height), strict=True):
        at = middle / height
        how: dict[str, Any] = {"arrowstyle": "-", "color": ink, "linewidth": 0.6, "shrinkA": 0, "shrinkB": 0}
        ax.annotate("", (x, y), xytext=(1.035, at), textcoords="axes fraction", arrowprops=how, annotation_clip=False)
        color = ink if ink in (LIMIT, DEEP) else INK
        say(ax, (1.035, at), text, where="axes fraction", offset=(4, 0), va="center", size=SMALL, color=color)


def _spread(wanted: Sequence[float], sizes: Sequence[float], height: float) -> list[float]:
    """Middles of texts one below the other, each as near as it may be to where it is wanted."""
    middles: list[float] = []
    ceiling = height + 0.5 * sizes[0]
    for want, size in zip(wanted, sizes, strict=True):
        middles.append(min(want, ceiling - 0.5 * size))
        ceiling = middles[-1] - 0.5 * size
    floor = -0.5 * sizes[-1]
    for number in reversed(range(len(sizes))):
        middles[number] = max(middles[number], floor + 0.5 * sizes[number])
        floor = middles[number] + 0.5 * sizes[number]
    return middles


def sweep_size(sweep: Sweep) -> tuple[float, float]:
    """Width and height that a figure of a sweep wants for the names of its curves, inches."""
    lines = sum(wrapped(name, _NAMES, SMALL).count("\n") + 1 for name in [*sweep.methods, sweep.pair or ""]) + 1
    named = _PITCH * lines + _GAP * (len(sweep.methods) + 2)
    return 7.6, max(4.4, (named + _AROUND + 30.0) / POINTS_PER_INCH)


def sweep_map_figure(sweep: Sweep, method: str, ax: Axes) -> Axes:
    """The chance of one method over two quantities, in per cent, with the line along which it is the goal."""
    first, second = sweep.varied
    rows = [sweep.row(method, number) for number in range(len(second.values))]
    chance = np.array([[math.nan if m is None else 100.0 * m.chance.estimate for m in row] for row in rows])
    if np.isnan(chance).all():
        return nothing(ax, f'No point of this sweep has a result for "{method}".')
    x, y = np.array(first.values), np.array(second.values)
    chance = chance[:: -1 if y[0] > y[-1] else 1, :: -1 if x[0] > x[-1] else 1]
    x, y = np.sort(x), np.sort(y)
    plain_axes(ax, "left", "bottom", "right", "top")
    ax.set(xlim=(x[0], x[-1]), ylim=(y[0], y[-1]), facecolor=PAPER)
    told = _lines(sweep, x, y, chance, ax)
    here = np.isfinite(chance)
    at = [axis[here] for axis in np.meshgrid(x, y)]
    ax.plot(*at, ".", color=MUTED, markersize=1.8, clip_on=False, zorder=2)
    blank = "; nothing is drawn beside points without a result" if np.isnan(chance).any() else ""
    name_axes(ax, _axis(first, ax), _axis(second, ax, up=True))
    _heading(sweep, f'How many parts line up by "{method}"', ax, f"parts in 100{told}{blank}")
    return ax


def _lines(sweep: Sweep, x: Array, y: Array, chance: Array, ax: Axes) -> str:
    """Draw lines of equal chance, and that of the goal; returns what is to be said of them."""
    from matplotlib.ticker import MaxNLocator

    least, most, goal = float(np.nanmin(chance)), float(np.nanmax(chance)), 100.0 * sweep.goal
    text = goal_text(sweep.goal)
    if most - least <= _EVEN:
        return f": {least:.4g} at every point; the goal is {text}"
    levels = MaxNLocator(nbins=8, steps=[1, 2, 2.5, 5, 10]).tick_values(least, min(most, 100.0))
    shape, masked = (1.0, 0.7), np.ma.masked_invalid(chance)
    marks = []
    if least < goal <= most:
        drawn = ax.contour(x, y, masked, levels=[goal], colors=LIMIT, linewidths=2.0, zorder=3)
        marks = label_places(drawn.get_paths(), (x, y), shape)[:1]
        for label in ax.clabel(drawn, fontsize=SMALL, fmt={goal: f"goal {text}"}, inline=True, manual=marks):
            label.set_parse_math(False)
    filled_contours(ax, x, y, masked, levels, shape, marks)
    if least < goal <= most:
        return f"; the thick line is the goal, {text}"
    return f"; the goal, {text}, is {'met' if least >= goal else 'missed'} at every point"


def _axis(varied: Varied, ax: Axes, up: bool = False) -> str:
    """What runs along an axis."""
    text = f"{varied.key}, {varied.unit}" if varied.unit else varied.key
    width, height = room(ax)
    return wrapped(text, 0.6 * (height if up else width))


def _heading(sweep: Sweep, head: str, ax: Axes, more: str = "") -> None:
    tried = f"{part(sweep)}; {sweep.trials:,} parts tried at each point"
    title(ax, head, [tried, *([more] if more else [])], left=30.0, up=18.0)
