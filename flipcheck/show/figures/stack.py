"""Where the scatter of a pair comes from: a bar for each source, and what the turn does to it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from flipcheck.decide.wording import share_text
from flipcheck.flip.after_flip import AfterFlip
from flipcheck.show.ink import (
    DEEP,
    INK,
    LIMIT,
    MIDDLE,
    MUTED,
    PALE,
    SMALL,
    name_axes,
    nothing,
    plain_axes,
    say,
    text_width,
    title,
)
from flipcheck.show.lengths import in_units, length
from flipcheck.show.words import MEASURED, THE_TURN

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from flipcheck.decide.results import PairResult, StackEntry

#: What the turn does, as a hatch of the pale bar; a word beside it says the same. (Dots would make a heavy SVG.)
HATCHES = {AfterFlip.CANCELS: "---", AfterFlip.ONCE: "", AfterFlip.DOUBLES: "///", AfterFlip.INDEPENDENT: "xxx"}

#: Height of the bars, where the distance from one source to the next is 1.
_OUTER, _INNER = 0.72, 0.24


def stack_size(pair: PairResult) -> tuple[float, float]:
    """Width and height that the bars of a pair want, inches."""
    return 7.2, 1.9 + 0.34 * max(3, len(pair.stack))


def stack_figure(pair: PairResult, units: str, ax: Axes) -> Axes:
    """Bars by source: the worst that each alone can do, its standard deviation, its share, and what the turn does.

    The pale bar is the worst alone, the narrow ones in it the standard deviation in x and y (of a web, of its
    thickness). The hatch of the pale bar and the word beside it say what the turn does.
    """
    if not pair.stack:
        return nothing(ax, f'Nothing varies at "{pair.name}": no error of the job acts on it.')
    plain_axes(ax, "bottom", "left")
    rows = range(len(pair.stack))
    for row, entry in zip(rows, pair.stack, strict=True):
        _bars(ax, row, entry, units)
    ax.set_ylim(len(pair.stack) - 0.4 + _for_key(len(pair.stack)), -0.6)
    ax.set_yticks([])
    _scale(pair, units, ax)
    names = _names(ax, pair.stack)
    _key(ax, pair.stack)
    title(ax, f'Where the scatter of "{pair.name}" comes from', _summary(pair, units), left=names, up=20.0)
    return ax


def _bars(ax: Axes, row: int, entry: StackEntry, units: str) -> None:
    hatch = HATCHES[entry.after_flip]
    ax.barh(row, _finite(entry.worst, units), _OUTER, color=PALE, edgecolor=MUTED, linewidth=0.5, hatch=hatch, zorder=2)
    if entry.std_z is not None:
        ax.barh(row, _finite(entry.std_z, units), 1.4 * _INNER, color=DEEP, zorder=3)
        return
    for std, up, ink in ((entry.std_x, -0.5, DEEP), (entry.std_y, 0.5, MIDDLE)):
        width = _finite(std, units)
        ax.barh(row + up * _INNER, width, _INNER, color=ink, edgecolor="white", linewidth=0.4, zorder=3)


def _scale(pair: PairResult, units: str, ax: Axes) -> None:
    """Room for the longest bar; the limit is drawn where it does not squeeze the bars."""
    longest = max(_finite(size, units) for entry in pair.stack for size in _sizes(entry))
    reach = longest or 1.0
    allowed = None if pair.allowed is None else in_units(pair.allowed, units)
    if allowed is not None and longest / 3.0 < allowed <= 1.6 * longest:
        ax.axvline(allowed, color=LIMIT, linewidth=1.2, zorder=1)
        say(ax, (allowed, 1), "limit", where=("data", "axes fraction"), offset=(0, 3), color=LIMIT, ha="center")
        reach = max(reach, 1.08 * allowed)
    ax.set_xlim(0.0, 1.04 * reach)
    name_axes(ax, f"{'thickness' if pair.web else 'misalignment'} from one source alone, {units}")


def _names(ax: Axes, stack: Sequence[StackEntry]) -> float:
    """Names at the left; share and turn at the right. Returns how far the names reach out."""
    for row, entry in enumerate(stack):
        how: dict[str, Any] = {"where": ("axes fraction", "data"), "va": "center"}
        say(ax, (0, row), entry.source, offset=(-6, 0), ha="right", **how)
        say(ax, (1, row), share_text(entry.share), offset=(34, 0), ha="right", **how)
        say(ax, (1, row), THE_TURN[entry.after_flip], offset=(42, 0), ha="left", size=SMALL, **how)
    head: dict[str, Any] = {"where": ("axes fraction", "axes fraction"), "size": SMALL, "color": MUTED, "va": "bottom"}
    say(ax, (1, 1), "share", offset=(34, 2), ha="right", **head)
    say(ax, (1, 1), "after the turn", offset=(42, 2), ha="left", **head)
    return max(text_width(entry.source) for entry in stack) + 6.0


def _key(ax: Axes, stack: Sequence[StackEntry]) -> None:
    from matplotlib.patches import Patch

    handles = [Patch(facecolor=PALE, edgecolor=MUTED, linewidth=0.5, label="worst alone")]
    if any(entry.std_z is not None for entry in stack):
        handles.append(Patch(facecolor=DEEP, label="standard deviation"))
    else:
        handles += [
            Patch(facecolor=DEEP, label="standard deviation in x"),
            Patch(facecolor=MIDDLE, label="in y"),
        ]
    ax.legend(
        handles=handles,
        loc="lower right",
        fontsize=SMALL,
        labelcolor=INK,
        frameon=True,
        edgecolor="white",
        framealpha=1.0,
        handlelength=1.4,
        ncols=3,
        borderaxespad=0.6,
        borderpad=0.1,
        columnspacing=1.2,
    )


def _summary(pair: PairResult, units: str) -> list[str]:
    text = f"{MEASURED[pair.kind]}: worst case {length(pair.worst_case, units)}, RSS {length(pair.rss, units)}"
    if pair.allowed is not None:
        return [f"{text}, limit {length(pair.allowed, units)} {units}"]
    return [f"{text} {units} off the nominal"]


def _for_key(sources: int) -> float:
    """Room for the key below the last bar, where the distance from one source to the next is 1."""
    return max(0.9, 0.075 * sources)


def _sizes(entry: StackEntry) -> tuple[float, ...]:
    return (entry.worst, entry.std_x, entry.std_y) if entry.std_z is None else (entry.worst, entry.std_z)


def _finite(mm: float, units: str) -> float:
    """The length of a bar; none for what no blank that goes on has shown."""
    return in_units(mm, units) if math.isfinite(mm) else 0.0
