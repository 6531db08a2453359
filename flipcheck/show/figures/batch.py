"""How many parts of a batch miss: what the batches show, beside what independent parts would."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flipcheck.decide.wording import chance_text, percent
from flipcheck.show.batch.text import groups, headline
from flipcheck.show.ink import DEEP, INK, MUTED, PALE, SMALL, name_axes, plain_axes, say, title

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from flipcheck.decide.batch.batch import Batch, Rejects


#: How far the numbers and the name of the upright axis reach out, points.
_LEFT = 30.0
#: Width of a bar, where the distance from one number to the next is 1.
_WIDE = 0.42


def batch_figure(batch: Batch, ax: Axes) -> Axes:
    """Bars: batches in 100 by their number of rejects; beside them, pale, the same if parts were independent.

    Numbers of rejects beyond five stand in groups, as in the text.
    """
    told = batch.told
    rows = groups(batch.parts, [told.rejects, told.naive_rejects])
    plain_axes(ax, "bottom", "left")
    seen, apart = ([_share(rejects, *row) for row in rows] for rejects in (told.rejects, told.naive_rejects))
    left, right = ([place + side * _WIDE for place in range(len(rows))] for side in (-0.5, 0.5))
    ax.bar(left, seen, _WIDE, color=DEEP, zorder=2, label="batches, which share the machine")
    label = "if parts were independent"
    ax.bar(right, apart, _WIDE, color=PALE, edgecolor=MUTED, linewidth=0.5, hatch="///", zorder=2, label=label)
    for place, share in zip(left, seen, strict=True):
        say(ax, (place, share), percent(share / 100.0, 1), offset=(0, 3), size=SMALL, ha="center")
    ax.set_xticks(range(len(rows)), [str(a) if a == b else f"{a}-{b}" for a, b in rows])
    ax.set_ylim(0.0, 1.12 * max(*seen, *apart))
    name_axes(ax, f"parts of {batch.parts} that miss", "batches in 100")
    how: dict[str, Any] = {"fontsize": SMALL, "labelcolor": INK, "frameon": False, "ncols": 2}
    ax.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), borderaxespad=0.1, **how)
    one = f"one part: {chance_text(told.part)}; 95 batches in 100 have at most {told.rejects.p95} that miss"
    below = [f"{one}; {batch.batches:,} batches tried"]
    title(ax, headline(batch).removesuffix("."), below, left=_LEFT, up=24.0)
    return ax


def _share(rejects: Rejects, first: int, last: int) -> float:
    """Batches in 100 with so many rejects."""
    return min(100.0 * sum(rejects.chance[first : last + 1]), 100.0)
