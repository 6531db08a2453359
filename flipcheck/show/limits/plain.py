"""Limits as plain data and as JSON. A size comes with its unit; both together are what a job file takes."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from flipcheck.show.error_sizes import in_unit, unit_of
from flipcheck.show.plain import chance_to_plain, head_to_plain, json_text, length_to_plain

if TYPE_CHECKING:
    from flipcheck.decide.limits.changes import Changes
    from flipcheck.decide.limits.fixture import HoleReach, PinLimits
    from flipcheck.decide.limits.limits import Limits, MethodLimits, SourceLimit

#: What stands for a size that has no end.
ANY = "any"


def limits_to_json(limits: Limits) -> str:
    """Limits as JSON text."""
    return json_text(limits_to_plain(limits))


def limits_to_plain(limits: Limits) -> dict[str, Any]:
    """Limits as dicts, lists, text and numbers: "any" where there is no end, None where nothing will do."""
    return head_to_plain(limits) | {"methods": [_method(method, limits) for method in limits.methods]}


def _method(method: MethodLimits, limits: Limits) -> dict[str, Any]:
    units = limits.units
    return {
        "name": method.name,
        "kind": method.kind,
        "chance": chance_to_plain(method.chance),
        "meets_goal": method.chance.estimate >= limits.goal,
        "errors": [_source(source, units) for source in method.sources],
        "pins": None if method.kind == "nest" else method.pins and _pins(method.pins, units),
        **({"nest": method.pins and _clearance(method.pins, units)} if method.kind == "nest" else {}),
        "holes": [_hole(hole, units) for hole in method.holes],
        "changes": method.changes and _changes(method.changes, units),
    }


def _source(source: SourceLimit, units: str) -> dict[str, Any]:
    unit, largest = unit_of(source.source, units), source.largest
    return {
        "error": source.source,
        "given_as": source.given_as,
        "unit": unit,
        "now": in_unit(source.size, unit),
        "largest": _open(None if largest is None else in_unit(largest, unit)),
        "times": _open(source.factor),
    }


def _pins(pins: PinLimits, units: str) -> dict[str, Any]:
    return {
        **_clearance(pins, units),
        "spacing": {
            "now": length_to_plain(pins.spacing, units),
            "smallest": _end(pins.smallest_spacing, units),
        },
    }


def _clearance(pins: PinLimits, units: str) -> dict[str, Any]:
    return {
        "clearance": {
            "now": length_to_plain(pins.clearance, units),
            "smallest": _end(pins.smallest, units),
            "largest": _end(pins.largest, units),
            "goes_on_from": _end(pins.goes_on, units),
        }
    }


def _hole(hole: HoleReach, units: str) -> dict[str, Any]:
    return {
        "pair": hole.pair,
        "from_flip_line": length_to_plain(hole.distance, units),
        "largest": _end(hole.largest, units),
    }


def _changes(changes: Changes, units: str) -> dict[str, Any]:
    """What to change: `times` is None where even without any error the goal is missed."""
    return {
        "errors": list(changes.sources),
        "times": changes.factor,
        "clearance": length_to_plain(changes.clearance, units),
    }


def _end(mm: float | None, units: str) -> float | str | None:
    return ANY if mm == math.inf else length_to_plain(mm, units)


def _open(number: float | None) -> float | str | None:
    return ANY if number == math.inf else number
