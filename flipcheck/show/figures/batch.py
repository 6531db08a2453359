"""How many parts of a batch miss: what the batches show, beside what independent parts would."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flipcheck.decide.wording import chance_text, percent
from flipcheck.show.batch_text import groups, headline
from flipcheck.show.ink import DEEP, INK, LIMIT, SMALL, name_axes, plain_axes, say, title

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from flipcheck.decide.batch import Batch, Rejects


#: How far the numbers and the name of the upright axis reach out, points.
_LEFT = 30.0


def batch_figure(batch: Batch, ax: Axes) -> Axes:
    """Bars: batches in 100 by their number of rejects. Open marks: the same if parts were independent.

    Numbers of rejects beyond five stand in groups, as in the text.
    """
    told = batch.told
    rows = groups(batch.parts, [told.rejects, told.naive_rejects])
    places = range(len(rows))
    plain_axes(ax, "bottom", "left")
    seen, apart = ([_share(rejects, *row) for row in rows] for rejects in (told.rejects, told.naive_rejects))
    ax.bar(places, seen, 0.62, color=DEEP, zorder=2, label="batches, which share the machine")
    style: dict[str, Any] = {
        "linestyle": "none",
        "marker": "D",
        "markersize": 5.5,
        "markerfacecolor": "white",
        "zorder": 3,
        "clip_on": False,
    }
    ax.plot(places, apart, markeredgecolor=LIMIT, markeredgewidth=1.2, label="if parts were independent", **style)
    for place, share, other in zip(places, seen, apart, strict=True):
        say(ax, (place, max(share, other)), percent(share / 100.0, 1), offset=(0, 6), size=SMALL, ha="center")
    ax.set_xticks(places, [str(a) if a == b else f"{a}-{b}" for a, b in rows])
    ax.set_ylim(0.0, 1.15 * max(*seen, *apart))
    name_axes(ax, f"parts of {batch.parts} that miss", "batches in 100")
    handles, labels = ax.get_legend_handles_labels()
    ax.legend(handles[::-1], labels[::-1], loc="upper right", fontsize=SMALL, labelcolor=INK, frameon=False)
    one = f"one part: {chance_text(told.part)}; 95 batches in 100 have at most {told.rejects.p95} that miss"
    title(ax, headline(batch).removesuffix("."), [f"{one}; {batch.batches:,} batches tried"], left=_LEFT)
    return ax


def _share(rejects: Rejects, first: int, last: int) -> float:
    """Batches in 100 with so many rejects."""
    return min(100.0 * sum(rejects.chance[first : last + 1]), 100.0)
