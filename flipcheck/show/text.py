"""A result as text: the verdict in words first, then the tables behind it. Nothing is printed here."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from rich.box import Box
from rich.console import Console, Group
from rich.measure import Measurement
from rich.table import Table
from rich.text import Text

from flipcheck.decide.wording import NOTHING, chance_text, share_text
from flipcheck.show import words
from flipcheck.show.turning import turnings
from flipcheck.show.words import WIDTH, length

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from rich.console import RenderableType

    from flipcheck.decide.results import MethodResult, PairResult, Recommendation, Result, StackEntry
    from flipcheck.stack.intervals import Chance

#: A line under the heads, in ASCII, and nothing else.
_RULED = Box("    \n    \n -  \n    \n    \n    \n    \n    \n", ascii=True)


def to_text(result: Result, *, width: int = WIDTH, colour: bool = False) -> str:
    """A result as text: that of `compare_text` if it recommends a method, else that of `check_text`.

    Parameters
    ----------
    result: What `check` or `compare` returned.
    width: Columns to fill; a table whose numbers need more gets more.
    colour: Whether to add colour, for a terminal; it says nothing that the words do not.
    """
    parts = compare_text(result) if result.recommendation else check_text(result)
    console = Console(file=io.StringIO(), width=width, force_terminal=colour, color_system="auto" if colour else None)
    tables = [part for part in parts.renderables if isinstance(part, Table)]
    console.width = max([width, *(_least_width(console, table) for table in tables)])
    with console.capture() as capture:
        console.print(parts)
    return "\n".join(line.rstrip() for line in capture.get().splitlines()) + "\n"


def check_text(result: Result) -> Group:
    """One method: the verdict, its pairs, where the scatter of the deciding pair comes from."""
    method, units = result.methods[0], result.units
    pair = method.deciding_pair
    return Group(
        _headline(words.verdict(method, result.goal), method, result.goal),
        Text(words.against_goal(method, result.goal)),
        *_gap(Text(words.setting(result, method))),
        *(part for table in _pair_tables(method.pairs, units) for part in table),
        *_gap(Text(words.LEGEND)),
        *_gap(_title(f'Where the scatter of "{pair.name}" comes from')),
        Text(words.where_it_lies(pair, units)),
        *_stack(pair, units),
        *_gap(*_foot(result)),
    )


def compare_text(result: Result) -> Group:
    """Several methods: the recommendation and why, then all of them in their order."""
    advice = result.recommendation
    if advice is None:
        raise ValueError("this result recommends nothing: it is of one method, made by check")
    best = next(method for method in result.methods if method.name == advice.method)
    verdict = words.verdict(best, result.goal)
    count = len(result.methods)
    if advice.meets_goal:
        choice = f'Take "{best.name}".'
    elif count == 1:
        choice = f'"{best.name}" does not reach the goal.'
    else:
        choice = f'None of the {count} methods reaches the goal; "{best.name}" comes nearest.'
    return Group(
        _headline(choice, best, result.goal),
        Text(f"Why: {advice.reason}"),
        Text(f"With it {verdict[0].lower()}{verdict[1:]}"),
        *_gap(Text(f"{words.part(result)}. Each method met the same {words.whole(result.trials)} trial parts.")),
        *_gap(_method_table(result, advice)),
        Text(words.marks(result, advice)),
        *_gap(*_foot(result)),
    )


def _gap(*parts: RenderableType) -> list[RenderableType]:
    return [Text(""), *parts]


def _title(text: str) -> Text:
    return Text(text, style="bold")


def _headline(text: str, method: MethodResult, goal: float) -> Text:
    if words.too_near(method.chance, goal):
        return Text(text, style="bold yellow")
    return Text(text, style="bold green" if method.chance.estimate >= goal else "bold red")


def _foot(result: Result) -> list[Text]:
    left_out = ", ".join(result.left_out) or "nothing"
    return [
        Text(f"Left out, counted as zero: {left_out}."),
        Text(words.trials(result)),
        Text(words.CAUTION),
    ]


def _table(*heads: str, name: int = 0, left: Mapping[int, int | None] | None = None) -> Table:
    """An empty table. Its column number `name` holds names and wraps as it must; the others hold numbers and do not.

    `left` numbers further columns of words, with the width to wrap them at, or None for words that stay on one line.
    """
    table = Table(box=_RULED, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0), header_style="")
    for i, head in enumerate(heads):
        if i == name:
            table.add_column(Text(head), overflow="fold", min_width=10)
        elif left and i in left:
            table.add_column(Text(head), overflow="fold", width=left[i], no_wrap=left[i] is None)
        else:
            table.add_column(Text(head), justify="right", no_wrap=True)
    return table


def _least_width(console: Console, table: Table) -> int:
    """The columns a table needs when its names wrap as much as they may and its numbers are whole."""
    names = [column for column in table.columns if column.min_width]
    for column in names:
        column.max_width = column.min_width
    needed = Measurement.get(console, console.options.update(width=10_000), table).maximum
    for column in names:
        column.max_width = None
    return needed


def _row(table: Table, *cells: str) -> None:
    table.add_row(*(Text(cell) for cell in cells))


def _pair_tables(pairs: Sequence[PairResult], units: str) -> list[list[RenderableType]]:
    tables = []
    aligned = [pair for pair in pairs if pair.web is None]
    webs = [pair for pair in pairs if pair.web is not None]
    if aligned:
        tables.append(_gap(_title(f"Misalignment of face B to face A, {units}"), _aligned_table(aligned, units)))
    if webs:
        tables.append(_gap(_title(f"Thickness left between the faces, {units}"), _web_table(webs, units)))
    return tables


def _aligned_table(pairs: Sequence[PairResult], units: str) -> Table:
    table = _table(
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
        _row(
            table,
            f"{pair.name}\n  {words.MEASURED.get(pair.kind, pair.kind)}",
            length(pair.allowed, units),
            _chance_cell(pair.chance),
            *(length(number, units) for number in numbers),
        )
    return table


def _web_table(pairs: Sequence[PairResult], units: str) -> Table:
    table = _table(
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
        limits = [("min", pair.min_web), ("max", pair.max_web)]
        _row(
            table,
            f"{pair.name}\n  {pair.kind}",
            "\n".join(f"{word} {length(limit, units)}" for word, limit in limits if limit is not None),
            _chance_cell(pair.chance),
            *(length(number, units) for number in numbers),
            f"{length(pair.worst_case, units)}\n{length(pair.rss, units)}",
        )
    return table


def _chance_cell(chance: Chance) -> str:
    return "\n".join(filter(None, (chance_text(chance), words.interval_text(chance, "-"))))


def _stack(pair: PairResult, units: str) -> list[RenderableType]:
    if not pair.stack:
        return [Text("No error acts on it.")]
    stds = ("sd",) if pair.web is not None else ("sd x", "sd y")
    table = _table("source", "what the\nturn does", "life", *stds, "share", "worst\nalone", left={1: None, 2: None})
    for entry in pair.stack:
        _row(
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
    table = _table(*heads, *(["extra\nmin."] if timed else []), name=1, left={4: 24})
    for rank, method in enumerate(result.methods, 1):
        mark = "*" if method.name == advice.method else "=" if method.name in advice.ties else " "
        cells = [
            f"{rank} {mark}",
            f"{method.name}\n  {words.kind(method)}",
            _chance_cell(method.chance),
            words.met(method, result.goal),
            words.decided_by(method),
        ]
        if timed:
            cells.append(NOTHING if method.minutes is None else f"{method.minutes:g}")
        _row(table, *cells)
    return table
