"""The parts of a report: what was asked, how the methods compare, each pair, and how sure the numbers are."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from flipcheck.decide.wording import NOTHING, chance_text, percent, seat, share_text
from flipcheck.show import words
from flipcheck.show.document.content import Items, Section, Table, Text
from flipcheck.show.lengths import length, web_limits
from flipcheck.show.turning import turnings

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from flipcheck.decide.results import MethodResult, PairResult, Recommendation, Result, StackEntry
    from flipcheck.show.document.content import Block, Picture

_LEFT_OUT = (
    "A blank that warps or moves unevenly between the faces, a bed that grows with heat, wear (but for that of pin"
    " holes, in a batch), stock that springs when it is unclamped, the bending of the cutter, a spindle out of tram,"
    " lost steps, and everything that is not an error of a kind named in the job."
)
_ASSUMED = (
    "All errors are small: places are taken to first order in them. The length of a misalignment, the contact of pins"
    " in their play and the phase of a runout are not simplified.",
    "Errors of different names know nothing of each other. One draw serves both faces, or does not, as its life says:"
    " with the machine and the blank it is shared, with a setup and a cut it is new.",
    "The blank is rigid, lies flat in both setups, and goes where its locators put it.",
    "Nothing else goes wrong: the right side up, the right zero, no chip that is not in the seating error.",
)


def methods_table(result: Result, advice: Recommendation) -> Table:
    """All methods in their order, with the recommended one marked."""
    names = [method.name for method in result.methods]
    return Table(
        caption=f"Methods in order of their chance, met by the same {words.whole(result.trials)} trial parts",
        heads=("method", "kind", "will line up", "95 % interval", "goal met", "decided by", "hurts most there", "min."),
        rows=tuple(_method(method, result, advice) for method in result.methods),
        numbers=(2, 3, 7),
        marked=(names.index(advice.method),),
    )


def _method(method: MethodResult, result: Result, advice: Recommendation) -> tuple[str, ...]:
    mark = " *" if method.name == advice.method else " =" if method.name in advice.ties else ""
    pair, source = method.deciding_pair, method.deciding_pair.hurts_most
    by, most = (pair.name, f"{source.source}, {share_text(source.measured_share)}" if source else NOTHING)
    if words.fit_decides(method):
        by, most = f"going {seat(method.kind)}", NOTHING
    minutes = NOTHING if method.minutes is None else f"{method.minutes:g}"
    interval = words.interval_text(method.chance) or NOTHING
    met = words.met(method.chance, result.goal)
    return (f"{method.name}{mark}", words.kind(method), chance_text(method.chance), interval, met, by, most, minutes)


def pairs_table(pairs: Sequence[PairResult], units: str) -> Iterator[Table]:
    """How each pair fares, distances first, then thicknesses."""
    aligned, webs = [pair for pair in pairs if pair.web is None], [pair for pair in pairs if pair.web is not None]
    heads = ("pair", "measured", "limit", "chance", "95 % interval")
    if aligned:
        yield Table(
            caption=f"Misalignment of face B to face A, {units}: what 50, 95 and 99 in 100 parts stay within",
            heads=(*heads, "50", "95", "99", "worst case", "RSS"),
            rows=tuple(_pair(pair, length(pair.allowed, units), ("p50", "p95", "p99"), units) for pair in aligned),
            numbers=tuple(range(2, 10)),
        )
    if webs:
        wanted = ("p01", "p05", "p95", "p99")
        yield Table(
            caption=f"Thickness left between the faces, {units}: what 1, 5, 95 and 99 in 100 parts are below",
            heads=(*heads, "1", "5", "95", "99", "worst case ±", "RSS ±"),
            rows=tuple(_pair(pair, web_limits(pair.min_web, pair.max_web, units), wanted, units) for pair in webs),
            numbers=tuple(range(2, 11)),
        )


def _pair(pair: PairResult, limit: str, wanted: tuple[str, ...], units: str) -> tuple[str, ...]:
    spread = pair.distance or pair.web
    quantiles = spread.quantiles if spread else {}
    interval = words.interval_text(pair.chance) or NOTHING
    numbers = [quantiles.get(name) for name in wanted] + [pair.worst_case, pair.rss]
    measured = words.MEASURED.get(pair.kind, pair.kind)
    return (pair.name, measured, limit, chance_text(pair.chance), interval, *(length(x, units) for x in numbers))


def pair_section(number: int, pair: PairResult, pictures: Sequence[Picture], units: str) -> Section:
    """One pair: where its scatter comes from, and where it falls."""
    blocks: list[Block] = [Text(words.where_it_lies(pair, units))]
    if pair.stack:
        blocks += [_stack(pair, units), Text(words.stack_legend(pair)), Items(tuple(turnings(pair.stack, units)))]
    else:
        blocks.append(Text("No error of the job acts on it."))
    return Section(f"pair-{number}", pair.name, (*blocks, *pictures))


def _stack(pair: PairResult, units: str) -> Table:
    stds = ("sd",) if pair.web is not None else ("sd x", "sd y")
    return Table(
        caption=f'Tolerance stack of "{pair.name}", {units}',
        heads=("source", "what the turn does", "lasts with", *stds, "share", "worst alone"),
        rows=tuple(_entry(entry, units) for entry in pair.stack),
        numbers=tuple(range(3, 5 + len(stds))),
    )


def _entry(entry: StackEntry, units: str) -> tuple[str, ...]:
    stds = (entry.std_x, entry.std_y) if entry.std_z is None else (entry.std_z,)
    numbers = (*(length(std, units) for std in stds), share_text(entry.share), length(entry.worst, units))
    return (entry.source, words.THE_TURN.get(entry.after_flip, entry.after_flip), entry.life.value, *numbers)


def uncertainty(result: Result, method: MethodResult) -> Section:
    """What a statement of uncertainty has to say, after JCGM 100:2008, clause 7, and JCGM 101:2008, 5.5."""
    items = (
        "Measured: where a feature cut from face B lies, less where its match cut from face A lies, in the axes of the"
        " blank with face A up; of a web its thickness. Temperature and moisture enter"
        " only as changes between the faces; sizes are those while face B is cut.",
        "Model: as in docs/explanation/model.md; inputs and their distributions as in the tables of the job.",
        f"Propagated by simulation (JCGM 101): {words.trials(result)}",
        "Coverage: 95 in 100 parts (99, 50) stay within the distances given: one-sided quantiles of the simulated parts"
        " that go on, not multiples of a standard uncertainty. Of a web the 5 and 95 in 100 quantiles hold 90 in 100"
        " parts, the same share beyond either.",
        "The interval beside a chance is that of the simulation alone, at 95 %: Student's t over 16 independent"
        " repeats, or Wilson's where hardly any part misses; it does not cover what is wrong in the inputs. A chance"
        " called exact needs no trials: it follows from the characteristic functions of the errors.",
        "Inputs: the job gives spreads and not readings. Each is taken as known (type B, infinite degrees of freedom),"
        " even where its spread came from readings (type A). A standard deviation from 5 readings is itself known only"
        " to about a third (JCGM 100:2008, E.4.3, from memory).",
        "Correlations: none between errors of different names; one draw is shared between the faces as its life says.",
        "Sensitivities: the standard deviations and shares in the tolerance stack of each pair.",
    )
    return Section("uncertainty", "How sure these numbers are", (_estimates(method.pairs, result.units), Items(items)))


def _estimates(pairs: Sequence[PairResult], units: str) -> Table:
    return Table(
        caption=f"Estimates with their standard uncertainties, {units}, and the chance if all were normal",
        heads=("pair", "mean x", "u(x)", "mean y", "u(y)", "thickness", "u", "chance", "exact", "if normal"),
        rows=tuple(_estimate(pair, units) for pair in pairs),
        numbers=tuple(range(1, 10)),
    )


def _estimate(pair: PairResult, units: str) -> tuple[str, ...]:
    numbers: list[float | None] = []
    for moments in (pair.x, pair.y, pair.web):
        numbers += [moments.mean, moments.std] if moments else [None, None]
    known = (pair.exact, 3), (pair.normal_chance, 2)
    shares = [
        NOTHING if share is None or math.isnan(share) else f"{percent(share, places)} %" for share, places in known
    ]
    return (pair.name, *(length(number, units) for number in numbers), chance_text(pair.chance), *shares)


def left_out(result: Result) -> Section:
    """What was assumed, and what was not looked at."""
    texts = (
        Items(_ASSUMED),
        Text(words.left_out(result.left_out, result.between)),
        Text(f"Not modelled: {_LEFT_OUT}"),
    )
    return Section("assumed", "What was assumed and left out", texts)
