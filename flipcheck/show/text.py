"""A result as text: the verdict in words first, then the tables behind it. Nothing is printed here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from flipcheck.decide.wording import NOTHING, chance_text, share_text
from flipcheck.show import words
from flipcheck.show.cautions import CAUTION
from flipcheck.show.heights import depths_text, heights_text
from flipcheck.show.lengths import length, web_limits
from flipcheck.show.look import add_row, gap, headline, laid_out, table_of, title
from flipcheck.show.turning import turnings
from flipcheck.show.words import WIDTH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import RenderableType
    from rich.table import Table

    from flipcheck.decide.results import PairResult, Recommendation, Result, StackEntry
    from flipcheck.stack.intervals import Chance


def to_text(result: Result, *, width: int = WIDTH, colour: bool = False) -> str:
    """A result as text: that of `compare_text` if it recommends a method, else that of `check_text`.

    Parameters
    ----------
    result: What `check` or `compare` returned.
    width: Columns to fill; a table whose numbers need more gets more.
    colour: Whether to add colour, for a terminal; it says nothing that the words do not.
    """
    parts = compare_text(result) if result.recommendation else check_text(result)
    return laid_out(parts, width=width, colour=colour)


def check_text(result: Result) -> Group:
    """One method: the verdict, its pairs, where the scatter of the deciding pair comes from."""
    method, units = result.methods[0], result.units
    pair = method.deciding_pair
    return Group(
        headline(words.verdict(method, result.goal), method.chance, result.goal),
        Text(words.against_goal(method, result.goal)),
        *([] if method.exact is None else [Text(words.without_trials(method.exact))]),
        *gap(Text(words.setting(result, method))),
        *(part for table in _pair_tables(method.pairs, units) for part in table),
        *gap(Text(words.legend(method.pairs))),
        *(Text(words.far_from_normal(odd)) for odd in method.pairs if odd.far_from_normal),
        *depths_text(method.pairs, units),
        *gap(title(f'Where the scatter of "{pair.name}" comes from')),
        Text(words.where_it_lies(pair, units)),
        *_stack(pair, units),
        *gap(*_foot(result)),
    )


def compare_text(result: Result) -> Group:
    """Several methods: the recommendation and why, then all of them in their order."""
    advice = result.recommendation
    if advice is None:
        raise ValueError("this result recommends nothing: it is of one method, made by check")
    best = next(method for method in result.methods if method.name == advice.method)
    verdict = words.verdict(best, result.goal)
    return Group(
        headline(words.choice(result, advice), best.chance, result.goal),
        Text(f"Why: {advice.reason}"),
        Text(f"With it {verdict[0].lower()}{verdict[1:]}"),
        *gap(Text(f"{words.part(result)}. Each method met the same {words.whole(result.trials)} trial parts.")),
        *gap(_method_table(result, advice)),
        Text(words.marks(result, advice)),
        *heights_text(result),
        *gap(*_foot(result)),
    )


def _foot(result: Result) -> list[Text]:
    return [
        Text(words.left_out(result.left_out, result.between)),
        Text(words.trials(result)),
        Text(CAUTION),
    ]


def _pair_tables(pairs: Sequence[PairResult], units: str) -> list[list[RenderableType]]:
    tables = []
    aligned = [pair for pair in pairs if pair.web is None]
    webs = [pair for pair in pairs if pair.web is not None]
    if aligned:
        tables.append(gap(title(f"Misalignment of face B to face A, {units}"), _aligned_table(aligned, units)))
    if webs:
        tables.append(gap(title(f"Thickness left between the faces, {units}"), _web_table(webs, units)))
    return tables


def _aligned_table(pairs: Sequence[PairResult], units: str) -> Table:
    table = table_of(
        "pair",
        "limit",
        "chance\n95 % interval",
        "50 in\n100\nwithin",
        "95 in\n100\nwithin",
        "99 in\n100\nwithin",
        "worst\ncase",
        "RSS",
    )
    for pair in pairs:
        quantiles = pair.distance.quantiles if pair.distance else {}
        numbers = [quantiles.get(name) for name in ("p50", "p95", "p99")] + [pair.worst_case, pair.rss]
        add_row(
            table,
            f"{pair.name}\n  {words.MEASURED.get(pair.kind, pair.kind)}",
            length(pair.allowed, units),
            _chance_cell(pair.chance, pair.exact),
            *(length(number, units) for number in numbers),
        )
    return table


def _web_table(pairs: Sequence[PairResult], units: str) -> Table:
    table = table_of(
        "pair",
        "limits",
        "chance\n95 % interval",
        "1 in\n100\nbelow",
        "5 in\n100\nbelow",
        "95 in\n100\nbelow",
        "99 in\n100\nbelow",
        "worst\ncase +-\nRSS +-",
    )
    for pair in pairs:
        quantiles = pair.web.quantiles if pair.web else {}
        numbers = [quantiles.get(name) for name in ("p01", "p05", "p95", "p99")]
        add_row(
            table,
            f"{pair.name}\n  {pair.kind}",
            web_limits(pair.min_web, pair.max_web, units, "\n"),
            _chance_cell(pair.chance, pair.exact),
            *(length(number, units) for number in numbers),
            f"{length(pair.worst_case, units)}\n{length(pair.rss, units)}",
        )
    return table


def _chance_cell(chance: Chance, exact: float | None = None) -> str:
    lines = chance_text(chance), words.interval_text(chance, "-"), words.exact_text(chance, exact)
    return "\n".join(filter(None, lines))


def _stack(pair: PairResult, units: str) -> list[RenderableType]:
    if not pair.stack:
        return [Text("No error acts on it.")]
    stds = ("sd",) if pair.web is not None else ("sd x", "sd y")
    table = table_of("source", "what the\nturn does", "life", *stds, "share", "worst\nalone", left={1: None, 2: None})
    for entry in pair.stack:
        add_row(
            table,
            entry.source,
            words.THE_TURN.get(entry.after_flip, entry.after_flip),
            entry.life,
            *_stds(entry, units),
            share_text(entry.share),
            length(entry.worst, units),
        )
    return [table, Text(words.stack_legend(pair)), *(Text(turn) for turn in turnings(pair.stack, units))]


def _stds(entry: StackEntry, units: str) -> list[str]:
    if entry.std_z is not None:
        return [length(entry.std_z, units)]
    return [length(entry.std_x, units), length(entry.std_y, units)]


def _method_table(result: Result, advice: Recommendation) -> Table:
    timed = any(method.minutes is not None for method in result.methods)
    heads = ["rank", "method", "will line up\n95 % interval", "goal\nmet", "decided by,\nwhat hurts most there"]
    table = table_of(*heads, *(["extra\nmin."] if timed else []), name=1, left={4: 24})
    for rank, method in enumerate(result.methods, 1):
        mark = "*" if method.name == advice.method else "=" if method.name in advice.ties else " "
        cells = [
            f"{rank} {mark}",
            f"{method.name}\n  {words.kind(method)}",
            _chance_cell(method.chance, method.exact),
            words.met(method.chance, result.goal),
            words.decided_by(method),
        ]
        if timed:
            cells.append(NOTHING if method.minutes is None else f"{method.minutes:g}")
        add_row(table, *cells)
    return table
