"""How far off the parts are at a pair, or how thick a web gets: a histogram with its limits and quantiles."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.decide.wording import chance_text
from flipcheck.show.ink import INK, LIMIT, MIDDLE, MISS, name_axes, nothing, plain_axes, say, title
from flipcheck.show.lengths import in_units, length
from flipcheck.show.words import MEASURED

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    from flipcheck.decide.results import PairResult
    from flipcheck.decide.survey import Cloud

    Array = NDArray[np.float64]

#: Width and height that the picture wants, inches.
DISTANCE_SIZE = (6.4, 3.6)
#: A line farther out than this, in times the parts, is told but not drawn: the histogram would shrink to a spike.
_FAR = 6.0

_WHAT = {
    "hole": "Distance of the two halves",
    "slot": "Distance across the slot",
    "outline": "Largest step of the outline",
    "web": "Thickness left",
}


def distance_figure(cloud: Cloud, pair: PairResult, units: str, ax: Axes) -> Axes:
    """How far off the parts are (how thick a web is), with the limits and the quantiles labelled."""
    if not cloud.value.size:
        return no_blank(pair, ax)
    plain_axes(ax, "bottom")
    values = in_units(1.0, units) * cloud.value
    limits = [in_units(limit, units) for limit in (pair.allowed, pair.min_web, pair.max_web) if limit is not None]
    spread = pair.web or pair.distance
    lines = _limit_lines(pair, units)
    lines += [(in_units(mm, units), f"{_share(name)} {length(mm, units)}", INK)
              for name, mm in (spread.quantiles if spread else {}).items() if math.isfinite(mm)]  # fmt: skip
    low, high = _span(values, lines, from_zero=pair.web is None)
    _histogram(ax, values, limits, (low, high), pair)
    _lines(ax, sorted(lines), (low, high))
    ax.set_xlim(low, high)
    ax.set_yticks([])
    name_axes(ax, f"{_WHAT[pair.kind]}, {units}")
    title(ax, f"{pair.name}: how {'thick it gets' if pair.web else 'far off'}", [keeps(pair)])
    return ax


def _limit_lines(pair: PairResult, units: str) -> list[tuple[float, str, str]]:
    keep = f"{chance_text(pair.chance)} keep it"
    if pair.min_web is not None and pair.max_web is not None:
        keep = f"{chance_text(pair.chance)} keep both"
    overlap = pair.max_web is not None and pair.max_web < 0.0
    least, most, sign = ("largest overlap", "least overlap", -1.0) if overlap else ("least", "most", 1.0)
    named = ((pair.allowed, "limit"), (pair.min_web, least), (pair.max_web, most))
    given = [(mm, what) for mm, what in named if mm is not None]
    return [(in_units(mm, units), f"{what} {length(sign * mm, units)}: {keep}", LIMIT) for mm, what in given]


def _share(quantile: str) -> str:
    """p95 in words."""
    return f"{int(quantile.removeprefix('p'))} in 100 below"


def _span(values: Array, lines: list[tuple[float, str, str]], *, from_zero: bool) -> tuple[float, float]:
    """From the first to the last thing worth seeing, and room at the right for the last label."""
    low, high = float(values.min()), float(values.max())
    width = max(high - low, 1e-9 + 1e-3 * abs(high))
    near = [at for at, _, _ in lines if low - _FAR * width <= at <= high + _FAR * width]
    low, high = min(low, *near), max(high, *near)
    width = max(high - low, 1e-9 + 1e-3 * abs(high))
    return (0.0 if from_zero else low - 0.06 * width), high + 0.08 * width


def _histogram(ax: Axes, values: Array, limits: list[float], span: tuple[float, float], pair: PairResult) -> None:
    """Bins that end at the limits; what misses is hatched."""
    edges = np.unique([*np.linspace(*span, 81), *(limit for limit in limits if span[0] < limit < span[1])])
    density, _ = np.histogram(values, edges, density=True)
    middles = 0.5 * (edges[:-1] + edges[1:])
    tallest = float(density.max()) or 1.0
    least = -math.inf if pair.min_web is None else limits[0]
    most = math.inf if pair.allowed is None and pair.max_web is None else limits[-1]
    missing = (middles < least) | (middles > most)
    for chosen, ink, hatch in ((~missing, MIDDLE, ""), (missing, MISS, "////")):
        heights = np.where(chosen, density, 0.0) / tallest
        ax.stairs(heights, edges, fill=True, facecolor=ink, edgecolor=INK if hatch else ink, hatch=hatch, linewidth=0.4)


def _lines(ax: Axes, lines: list[tuple[float, str, str]], span: tuple[float, float]) -> None:
    """A line for each, the left ones taller, so that a label runs over the shorter ones to its right."""
    step = 0.13
    for number, (at, text, ink) in enumerate(lines):
        if not span[0] <= at <= span[1]:
            continue
        top = 1.06 + step * (len(lines) - number)
        ax.plot([at, at], [0.0, top], color=ink, linewidth=1.6 if ink == LIMIT else 0.9, zorder=3)
        say(ax, (at, top), text, offset=(4, 0), color=ink, va="top")
    outside = [text for at, text, _ in lines if not span[0] <= at <= span[1]]
    if outside:
        text = f"{', '.join(outside)}: outside this picture"
        say(ax, (1, 1), text, where="axes fraction", color=LIMIT, ha="right", va="top")
    ax.set_ylim(0.0, 1.1 + step * (len(lines) + 0.3))


def keeps(pair: PairResult) -> str:
    """How many parts keep the limit of a pair, and how that is measured."""
    return f"{MEASURED[pair.kind]}: {chance_text(pair.chance)} keep the limit, of the blanks that can be set up"


def no_blank(pair: PairResult, ax: Axes) -> Axes:
    """An axes of a pair at which no part was seen."""
    return nothing(ax, f'No blank goes on: there is nothing to draw of "{pair.name}".')
