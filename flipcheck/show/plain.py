"""A result as plain data and as JSON: lengths in the units of the job, the same bytes for the same result."""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, Any

from flipcheck.show.lengths import in_units
from flipcheck.show.zero_words import where_to_zero

if TYPE_CHECKING:
    from flipcheck.decide.heights import ByZero, WebHeights
    from flipcheck.decide.limits.limits import Limits
    from flipcheck.decide.results import Distribution, MethodResult, Moments, PairResult, Result, StackEntry
    from flipcheck.decide.sweep.results import Sweep
    from flipcheck.decide.zero_z import ZeroAdvice
    from flipcheck.stack.intervals import Chance


def to_json(result: Result) -> str:
    """A result as JSON text."""
    return json_text(to_plain(result))


def json_text(plain: dict[str, Any]) -> str:
    """Plain data as JSON text, in ASCII so that no terminal can spoil it."""
    return json.dumps(plain, indent=2, allow_nan=False) + "\n"


def to_plain(result: Result) -> dict[str, Any]:
    """A result as dicts, lists, text and numbers; None where there is no number."""
    plain = head_to_plain(result) | {"methods": [_method(method, result.units) for method in result.methods]}
    if result.recommendation:
        advice = result.recommendation
        plain["recommendation"] = {
            "method": advice.method,
            "meets_goal": advice.meets_goal,
            "reason": advice.reason,
        }
    if result.heights:
        plain["heights"] = [_heights(web, result.units) for web in result.heights]
    if result.zero_z:
        plain["zero_z"] = _zero_z(result.zero_z, result.units)
    return plain


def head_to_plain(answer: Result | Limits | Sweep) -> dict[str, Any]:
    """What stands at the head of an answer: of which part, from how many trials, and what was left out."""
    return {
        "title": answer.title,
        "units": answer.units,
        "goal": answer.goal,
        "flip": answer.flip,
        "trials": answer.trials,
        "seed": answer.seed,
        "left_out": list(answer.left_out),
    }


def _heights(web: WebHeights, units: str) -> dict[str, Any]:
    return {"name": web.name, "best": list(web.best), "ways": [_by_zero(way, units) for way in web.ways]}


def _by_zero(way: ByZero, units: str) -> dict[str, Any]:
    return {
        "zero_z": way.zero_z,
        "chance": way.chance.estimate,
        "through": way.through.estimate,
        "mean": length_to_plain(way.mean, units),
        "std": length_to_plain(way.std, units),
        **_depths(way, units),
    }


def _depths(way: ByZero, units: str) -> dict[str, Any]:
    depths = {"depth_a": way.depth_a, "depth_b": way.depth_b}
    return {name: depth and _distribution(depth, units) for name, depth in depths.items()}


def _zero_z(advice: ZeroAdvice, units: str) -> dict[str, Any]:
    return {
        "best": list(advice.best),
        "meets_goal": advice.meets_goal,
        "reason": " ".join(where_to_zero(advice, units)),
        "ways": [{"zero_z": way, "chance": chance_to_plain(chance)} for way, chance in advice.chances.items()],
    }


def _method(method: MethodResult, units: str) -> dict[str, Any]:
    return {
        "name": method.name,
        "kind": method.kind,
        "minutes": method.minutes,
        "goes_on": method.goes_on,
        "chance": chance_to_plain(method.chance),
        "exact": method.exact,
        "pairs": [_pair(pair, units) for pair in method.pairs],
    }


def _pair(pair: PairResult, units: str) -> dict[str, Any]:
    plain: dict[str, Any] = {"name": pair.name, "kind": pair.kind, "allowed": length_to_plain(pair.allowed, units)}
    if pair.web is not None:
        plain |= {"min_web": length_to_plain(pair.min_web, units), "max_web": length_to_plain(pair.max_web, units)}
    plain |= {"chance": chance_to_plain(pair.chance), "x": _moments(pair.x, units), "y": _moments(pair.y, units)}
    if pair.web is not None:
        plain["web"] = _distribution(pair.web, units)
        if pair.heights:
            plain |= {"zero_z": pair.heights.zero_z, "through": pair.heights.through.estimate}
            plain |= _depths(pair.heights, units)
    elif pair.distance is not None:
        plain["distance"] = _distribution(pair.distance, units)
    plain |= {"worst_case": length_to_plain(pair.worst_case, units), "rss": length_to_plain(pair.rss, units)}
    plain |= {"normal_chance": pair.normal_chance, "exact": pair.exact}
    plain["stack"] = [_entry(entry, units) for entry in pair.stack]
    return plain


def _entry(entry: StackEntry, units: str) -> dict[str, Any]:
    plain: dict[str, Any] = {
        "source": entry.source,
        "life": entry.life.value,
        "after_flip": entry.after_flip.value,
        "std_x": length_to_plain(entry.std_x, units),
        "std_y": length_to_plain(entry.std_y, units),
    }
    if entry.std_z is not None:
        plain["std_z"] = length_to_plain(entry.std_z, units)
    return plain | {"share": _number(entry.share), "worst": length_to_plain(entry.worst, units)}


def chance_to_plain(chance: Chance) -> dict[str, float | None]:
    """A chance with its interval."""
    return {"estimate": _number(chance.estimate), "low": chance.low, "high": chance.high}


def _moments(moments: Moments | None, units: str) -> dict[str, float | None] | None:
    return (
        None
        if moments is None
        else {"mean": length_to_plain(moments.mean, units), "std": length_to_plain(moments.std, units)}
    )


def _distribution(spread: Distribution, units: str) -> dict[str, float | None]:
    quantiles = {name: length_to_plain(value, units) for name, value in spread.quantiles.items()}
    return {"mean": length_to_plain(spread.mean, units), "std": length_to_plain(spread.std, units), **quantiles}


def length_to_plain(mm: float | None, units: str) -> float | None:
    """A length in the units of the job; None where there is none."""
    return None if mm is None else _number(in_units(mm, units))


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None
