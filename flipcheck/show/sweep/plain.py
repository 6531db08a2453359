"""A sweep as JSON and as a table of CSV: values as they were asked for, lengths in the units of the job."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Any

from flipcheck.show.plain import chance_to_plain, head_to_plain, json_text, length_to_plain

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flipcheck.decide.sweep.results import Crossing, MethodPoint, Sweep, SweepPoint, Varied


def sweep_to_json(sweep: Sweep) -> str:
    """A sweep as JSON text."""
    return json_text(sweep_to_plain(sweep))


def sweep_to_plain(sweep: Sweep) -> dict[str, Any]:
    """A sweep as dicts, lists, text and numbers; None where there is no number."""
    return head_to_plain(sweep) | {
        "complete": len(sweep.done) == len(sweep.points),
        "vary": [_varied(varied) for varied in sweep.varied],
        "methods": list(sweep.methods),
        "pair": sweep.pair,
        "crossings": [_crossing(crossing) for crossing in sweep.crossings],
        "points": [_point(point, sweep) for point in sweep.done],
    }


def _varied(varied: Varied) -> dict[str, Any]:
    return {"key": varied.key, "unit": varied.unit, "now": varied.now, "values": list(varied.values)}


def _crossing(crossing: Crossing) -> dict[str, Any]:
    return {
        "method": crossing.method,
        "value": crossing.value,
        "between": list(crossing.between),
        "rises": crossing.rises,
        "beside": crossing.beside,
    }


def _point(point: SweepPoint, sweep: Sweep) -> dict[str, Any]:
    return {
        "values": list(point.values),
        "methods": [_method(method, sweep) for method in point.methods],
        "impossible": [{"method": one.method, "reason": one.reason} for one in point.impossible],
    }


def _method(method: MethodPoint, sweep: Sweep) -> dict[str, Any]:
    return {
        "name": method.name,
        "goes_on": method.goes_on,
        "chance": chance_to_plain(method.chance),
        "meets_goal": method.chance.estimate >= sweep.goal,
        "pairs": [
            {
                "name": pair.name,
                "kind": pair.kind,
                "allowed": length_to_plain(pair.allowed, sweep.units),
                "chance": chance_to_plain(pair.chance),
                "p95": length_to_plain(pair.p95, sweep.units),
            }
            for pair in method.pairs
        ],
    }


#: What begins so, a spreadsheet would take for a formula and work out.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def sweep_to_csv(sweep: Sweep) -> str:
    """A sweep as CSV: a line of names, then a line for each point and method; empty where there is no number.

    A method whose name looks like a formula gets an apostrophe before it.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    pairs = next((method.pairs for point in sweep.done for method in point.methods), ())
    quantities = [f"{varied.key} [{varied.unit}]" if varied.unit else varied.key for varied in sweep.varied]
    chances = ["chance", "low", "high", "meets_goal", "goes_on"]
    p95 = [f"p95 {pair.name} [{sweep.units}]" for pair in pairs]
    writer.writerow([*quantities, "method", *chances, *p95, "impossible"])
    for point in sweep.done:
        writer.writerows(_lines(point, sweep, len(chances) + len(p95)))
    return out.getvalue()


def _lines(point: SweepPoint, sweep: Sweep, width: int) -> Iterator[list[Any]]:
    reasons = {one.method: one.reason for one in point.impossible}
    for name in sweep.methods:
        method, called = point.method(name), f"'{name}" if name.startswith(_FORMULA) else name
        if method is None:
            yield [*point.values, called, *([None] * width), reasons[name]]
            continue
        chance = method.chance
        met = "yes" if chance.estimate >= sweep.goal else "no"
        p95 = [length_to_plain(pair.p95, sweep.units) for pair in method.pairs]
        yield [*point.values, called, chance.estimate, chance.low, chance.high, met, method.goes_on, *p95, None]
