"""The methods against each other: how many parts in a hundred miss by each, and what the goal allows."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from flipcheck.decide.wording import RARE, chance_text, goal_text
from flipcheck.show.ink import (
    BODY,
    DEEP,
    FAINT,
    LIMIT,
    MUTED,
    PALE,
    POINTS_PER_INCH,
    SMALL,
    name_axes,
    plain_axes,
    say,
    text_width,
    title,
    wrapped,
)
from flipcheck.show.words import kind, part

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from flipcheck.decide.results import MethodResult, Result

#: Width of the names, points.
_NAMES = 150.0


def methods_figure(result: Result, ax: Axes) -> Axes:
    """Misses per 100 parts by method, with the 95 % interval, against the goal; the best on top, on a scale of decades.

    Full marks reach the goal, open ones do not. What misses less often than once in 10,000 stands at the left edge.
    """
    plain_axes(ax, "bottom")
    least = _decades(result, ax)
    for row, method in enumerate(result.methods):
        ax.axhline(row, color=FAINT, linewidth=0.5, zorder=0)
        _mark(ax, row, method, result.goal, least)
        _texts(ax, row, method, result)
    ax.set_ylim(len(result.methods) - 0.4, -0.6)
    ax.set_yticks([])
    name_axes(ax, "parts in 100 that miss (each step is ten times as many)")
    _goal(ax, result.goal)
    column = max(text_width(chance_text(method.chance), bold=True) for method in result.methods)
    say(ax, (1, 1), "will line up", where="axes fraction", offset=(10 + column, 3), size=SMALL, color=MUTED, ha="right")
    title(ax, "Which method lines up", [f"{part(result)}; {result.trials:,} parts tried"], left=_left(result), up=20.0)
    return ax


def _decades(result: Result, ax: Axes) -> float:
    """Whole decades that hold every mark and the goal; returns the left end, misses per 100."""
    allowed = 100.0 * (1.0 - result.goal)
    misses = [_misses(method) for method in result.methods]
    seen = [max(low, 100.0 * RARE) for _, low, _ in misses] + [allowed]
    most = max(max(high for _, _, high in misses), 2.0 * allowed)
    least = 10.0 ** math.floor(math.log10(min(seen)))
    least *= 0.1 if allowed < 1.5 * least else 1.0
    # an interval of one trial in a hundred looks its size beside a decade of empty paper
    right = 100.0 if most > 30.0 else 10.0 ** math.ceil(math.log10(most))
    ax.set_xscale("log")
    ax.set_xlim(least, 1.06 * right)
    ticks = [10.0**power for power in range(round(math.log10(least)), round(math.log10(right)) + 1)]
    ax.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
    ax.tick_params(which="minor", length=1.5, color=FAINT, labelbottom=False)
    return least


def _misses(method: MethodResult) -> tuple[float, float, float]:
    """Misses per 100 parts: estimate, low, high."""
    chance = method.chance
    return 100.0 * (1.0 - chance.estimate), 100.0 * (1.0 - chance.high), 100.0 * (1.0 - chance.low)


def _mark(ax: Axes, row: int, method: MethodResult, goal: float, least: float) -> None:
    estimate, low, high = _misses(method)
    if math.isnan(estimate):
        return
    ax.plot([max(low, least), max(high, least)], [row, row], color=DEEP, linewidth=2.2, solid_capstyle="butt", zorder=3)
    met = method.chance.estimate >= goal
    off = estimate < 0.999999 * least
    ax.plot(
        [max(estimate, least)],
        [row],
        marker="<" if off else "o",
        markersize=7.0,
        markerfacecolor=DEEP if met else "white",
        markeredgecolor=DEEP,
        markeredgewidth=1.3,
        clip_on=False,
        zorder=4,
    )


def _texts(ax: Axes, row: int, method: MethodResult, result: Result) -> None:
    how: dict[str, Any] = {"where": ("axes fraction", "data"), "va": "center"}
    column = max(text_width(chance_text(other.chance), bold=True) for other in result.methods)
    chosen = result.recommendation is not None and result.recommendation.method == method.name
    weight = "bold" if chosen else "normal"
    name = wrapped(method.name, _NAMES, bold=chosen)
    say(ax, (0, row), name, offset=(-10, 0), ha="right", linespacing=1.1, fontweight=weight, **how)
    say(ax, (1, row), chance_text(method.chance), offset=(10 + column, 0), ha="right", fontweight=weight, **how)
    remarks = [kind(method)]
    if method.minutes is not None:
        remarks.append(f"{method.minutes:g} min extra")
    if chosen and result.recommendation is not None:
        remarks.append("recommended" if result.recommendation.meets_goal else "nearest to the goal")
    text = "\n".join(remarks)
    say(ax, (1, row), text, offset=(20 + column, 0), ha="left", size=SMALL, color=MUTED, linespacing=1.05, **how)


def _goal(ax: Axes, goal: float) -> None:
    allowed = 100.0 * (1.0 - goal)
    ax.axvspan(ax.get_xlim()[0], allowed, color=PALE, alpha=0.45, zorder=-1, linewidth=0)
    ax.axvline(allowed, color=LIMIT, linewidth=1.2, zorder=1)
    text = f"goal {goal_text(goal)}: {allowed:.4g} in 100 may miss"
    right = math.log10(allowed / ax.get_xlim()[0]) > 0.5 * math.log10(ax.get_xlim()[1] / ax.get_xlim()[0])
    where = ("data", "axes fraction")
    ha, side = ("right", 4) if right else ("left", -4)
    say(ax, (allowed, 1), text, where=where, offset=(side, 3), ha=ha, size=SMALL, color=LIMIT)


def _left(result: Result) -> float:
    return 10.0 + max(text_width(wrapped(method.name, _NAMES, bold=True), bold=True) for method in result.methods)


def methods_size(result: Result) -> tuple[float, float]:
    """Width and height that a figure of the methods wants for its lines, inches."""
    lines = sum(max(3.2, wrapped(method.name, _NAMES, bold=True).count("\n") + 2.2) for method in result.methods)
    return 7.6, 1.5 + lines * BODY * 1.2 / POINTS_PER_INCH
