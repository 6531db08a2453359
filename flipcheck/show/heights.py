"""Where to touch off Z, in words and in tables: one row a web, one column a way."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from rich.text import Text as Line

from flipcheck.decide.wording import RARE, percent, rare
from flipcheck.show.document.content import Table
from flipcheck.show.tables import add_row, gap, table_of, title
from flipcheck.show.words import length
from flipcheck.stack.intervals import Chance

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import RenderableType

    from flipcheck.decide.heights import ByZero, WebHeights

CAPTION = "Where to touch off Z: chance of each web by each way"
LEGEND = (
    "Of all blanks. Through: share in which the cuts meet and nothing is left. Bed: heights above the bed in both"
    " setups. Top: depths from the blank in both. Top then bed: from the blank for face A, above the bed for face B."
)
_HEADS = ("bed", "top", "top then bed", "best")


def heights_text(webs: Sequence[WebHeights], units: str) -> list[RenderableType]:
    """The table below those of `compare`; nothing for a job without webs."""
    if not webs:
        return []
    table = table_of("web", *_HEADS, left={4: 12})
    for web in webs:
        limits = _limits(web, units, "\n  ")
        add_row(table, f"{web.name}\n  {limits}", *(_cell(way, "\n") for way in web.ways), _best(web))
    return gap(title(CAPTION), table, Line(LEGEND))


def heights_table(webs: Sequence[WebHeights], units: str) -> Table:
    """The same for the report."""
    return Table(
        caption=CAPTION,
        heads=("web", "limits", *_HEADS),
        rows=tuple(
            (web.name, _limits(web, units, ", "), *(_cell(way, ", ") for way in web.ways), _best(web)) for web in webs
        ),
        numbers=(1, 2, 3, 4),
    )


def _cell(way: ByZero, between: str) -> str:
    through = f"{between}through {_share(way.through)}" if way.through >= RARE else ""
    return f"{_share(way.chance)}{through}"


def _share(share: float) -> str:
    return rare(Chance(share, share, share)) or f"{percent(share, 2)} %"


def _best(web: WebHeights) -> str:
    return "all the same" if len(web.best) == len(web.ways) else " or ".join(web.best)


def _limits(web: WebHeights, units: str, between: str) -> str:
    limits = (("min", web.min_web), ("max", web.max_web))
    return between.join(f"{word} {length(limit, units)}" for word, limit in limits if math.isfinite(limit))
