"""Heights as text and as tables: where to touch off Z, one row a web, and how deep the cuts are, one row a face."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text as Line

from flipcheck.decide.wording import RARE
from flipcheck.show.document.content import Table, Text
from flipcheck.show.lengths import length, web_limits
from flipcheck.show.look import add_row, gap, table_of, title
from flipcheck.show.zero_words import WHERE, share, where_to_zero

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rich.console import RenderableType

    from flipcheck.decide.heights import ByZero, WebHeights
    from flipcheck.decide.results import PairResult, Result
    from flipcheck.show.document.content import Block

CAPTION = "Where to touch off Z: chance of each web by each way"
LEGEND = (
    "Of all blanks. Through: share in which the cuts meet and nothing is left. Bed: heights above the bed in both"
    " setups. Top: depths from the blank in both. Top then bed: from the blank for face A, above the bed for face B."
)
_HEADS = ("bed", "top", "top then bed", "best")
_DEPTHS = (
    "Each depth counts from the surface that was cut, as it is when face B is cut, of all blanks. Through: share in"
    " which the two cuts meet and nothing is left between them."
)
_MISSED = "Below 0 a cut misses its face, which then stays as it came: cut deeper."


def heights_text(result: Result) -> list[RenderableType]:
    """Which way to touch off Z, and the table below those of `compare`; nothing for a job without webs."""
    webs, units = result.heights, result.units
    if not webs:
        return []
    table = table_of("web", *_HEADS, left={4: 12})
    for web in webs:
        limits = web_limits(web.min_web, web.max_web, units, "\n  ")
        add_row(table, f"{web.name}\n  {limits}", *(_cell(way, "\n") for way in web.ways), _best(web, ",\n"))
    words = where_to_zero(result.zero_z, units) if result.zero_z else ()
    return [*gap(title(CAPTION), *(Line(text) for text in words)), *gap(table, Line(LEGEND))]


def heights_blocks(result: Result) -> Iterator[Block]:
    """The same for the report."""
    webs, units = result.heights, result.units
    if not webs:
        return
    if result.zero_z:
        yield Text(" ".join(where_to_zero(result.zero_z, units)))
    yield Table(
        caption=CAPTION,
        heads=("web", "limits", *_HEADS),
        rows=tuple(
            (
                web.name,
                web_limits(web.min_web, web.max_web, units),
                *(_cell(way, ", ") for way in web.ways),
                _best(web, ", "),
            )
            for web in webs
        ),
        numbers=(1, 2, 3, 4),
    )
    yield Text(LEGEND)


def depths_text(pairs: Sequence[PairResult], units: str) -> list[RenderableType]:
    """How deep the cuts of each web are, below the tables of `check`; nothing for a job without webs."""
    webs = [(pair.name, pair.heights) for pair in pairs if pair.heights]
    if not webs:
        return []
    below = (f"{count} in\n100\nbelow" for count in (1, 5, 95, 99))
    table = table_of("cut", "mean", *below, "through")
    for name, way in webs:
        depths = list(_depths(way, units))
        columns = ["\n".join(["", *cells]) for cells in zip(*(numbers for _, numbers in depths), strict=True)]
        faces = "".join(f"\n  face {face}" for face, _ in depths)
        add_row(table, f"{name}{faces}", *columns, share(way.through))
    return gap(title(_depths_caption(webs[0][1], units)), table, Line(_legend(webs)))


def depths_blocks(pairs: Sequence[PairResult], units: str) -> Iterator[Block]:
    """The same for the report."""
    webs = [(pair.name, pair.heights) for pair in pairs if pair.heights]
    if not webs:
        return
    yield Table(
        caption=f"{_depths_caption(webs[0][1], units)}: mean, and what 1, 5, 95 and 99 in 100 are below",
        heads=("web", "face", "mean", "1", "5", "95", "99", "through"),
        rows=tuple(
            (name, face, *numbers, share(way.through)) for name, way in webs for face, numbers in _depths(way, units)
        ),
        numbers=tuple(range(2, 8)),
    )
    yield Text(_legend(webs))


def _legend(webs: Sequence[tuple[str, ByZero]]) -> str:
    """What the numbers are; and where a cut may miss the blank that it is not so deep as the table has it."""
    depths = [depth for _, way in webs for depth in (way.depth_a, way.depth_b) if depth]
    missed = any(min(depth.quantiles.values()) < 0.0 for depth in depths)
    return f"{_DEPTHS} {_MISSED}" if missed else _DEPTHS


def _depths_caption(way: ByZero, units: str) -> str:
    return f"Depth of the cuts, {units}; Z touched off {WHERE[way.zero_z]}"


def _depths(way: ByZero, units: str) -> Iterator[tuple[str, list[str]]]:
    """The faces that are cut, each with its mean depth and what shares of the blanks are below."""
    for face, depth in (("A", way.depth_a), ("B", way.depth_b)):
        if depth:
            yield face, [length(x, units) for x in (depth.mean, *depth.quantiles.values())]


def _cell(way: ByZero, between: str) -> str:
    through = f"{between}through {share(way.through)}" if way.through.estimate >= RARE else ""
    return f"{share(way.chance)}{through}"


def _best(web: WebHeights, between: str) -> str:
    return "all the same" if len(web.best) == len(web.ways) else between.join(web.best)
