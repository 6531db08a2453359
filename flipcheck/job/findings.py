"""A problem before its place in a file is known, and how pydantic's complaints are put into the words of the trade."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from flipcheck.errors import Problem
from flipcheck.job.guards import MOST_COMPLAINTS
from flipcheck.job.quantities import RefusedError, printable, shown
from flipcheck.job.spread_table import SizeTable

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from pydantic import ValidationError
    from pydantic_core import ErrorDetails

    from flipcheck.job.records import Job

Path = tuple[str | int, ...]

#: How a key is written, shown where it is missing or holds the wrong kind of value.
_WRITTEN = {
    "flip": 'flip = "left-right"',
    "blank": "[blank] with size = [180, 110, 12]",
    "size": "size = [180, 110, 12], the blank's X, Y and thickness",
    "pairs": "at least one [[pairs]]",
    "methods": "at least one [[methods]]",
    "errors": "[errors] with a line for each error",
    "kind": 'kind = "hole" or another kind',
    "at": "at = [60, 55]",
    "points": "points = [[10, 10], [90, 10], [90, 60]]",
    "pins": "pins = [[90, 8], [90, 102]]",
    "pin": "pin = { diameter = 6.0, limit = 0.005 }",
    "hole": "hole = { diameter = 6.05, limit = 0.02 }",
    "contacts": "contacts = [20, 160]",
    "clearance": "clearance = 0.3",
    "rectangle": "rectangle = [[10, 10], [170, 100]]",
    "bores": "bores = [[15, 55], [165, 55]]",
    "touch_in": "touch_in = [15, 15]",
    "middle": 'middle = ["x"]',
    "pairs.angle": "angle = 90",
    "methods.angle": 'angle = "fence", "two touches" or "by eye"',
    "fence": 'fence = "front"',
    "stop": 'stop = "left"',
    "corner": 'corner = "front-left"',
}


@dataclass(frozen=True)
class Finding:
    """One thing to mend, at a key path such as ``("methods", 0, "pin", "limit")``."""

    code: str
    path: Path
    needed: str
    came: str = ""
    hint: str = ""

    def problem(self, names: Mapping[Path, str], lines: Mapping[Path, int]) -> Problem:
        """The same with the item's name and the line of the file."""
        return Problem(self.code, label(self.path, names), self.needed, self.came, self.hint, line_of(self.path, lines))


def names_of(job: Job) -> dict[Path, str]:
    """The names of the pairs and methods of a job, by their paths."""
    blocks = {"pairs": job.pairs, "methods": job.methods}
    return {(block, number): item.name for block, items in blocks.items() for number, item in enumerate(items)}


def label(path: Path, names: Mapping[Path, str]) -> str:
    """A key path as a person reads it: ``methods "two dowels": pin.limit``, ``blank.size, item 2``."""
    if path[0] in ("pairs", "methods") and len(path) > 1:
        item = f'{path[0]} "{names[path[:2]]}"' if path[:2] in names else _joined(path[:2])
        return f"{item}: {_joined(path[2:])}" if len(path) > 2 else item
    return _joined(path)


def _joined(path: Path) -> str:
    text = ""
    for key in path:
        if isinstance(key, int):
            text += f", item {key + 1}"
        else:
            text += ("." if text else "") + (printable(key) or '""')
    return text


def line_of(path: Path, lines: Mapping[Path, int]) -> int | None:
    """The line of the nearest enclosing key that stands in the file."""
    return next((lines[path[:end]] for end in range(len(path), 0, -1) if path[:end] in lines), None)


def nearest(word: object, known: Iterable[str], alike: float = 0.6) -> str:
    """The known word most like this one, or nothing; `alike`: how much it must be, from 0 to 1 (`difflib`)."""
    if not isinstance(word, str):
        return ""
    known = list(known)
    small = word[:60].lower()
    close = [one for one in known if one.lower() == small] or difflib.get_close_matches(word[:60], known, 1, alike)
    return close[0] if close else ""


def keys_at(known: Iterable[str], below: Path) -> Iterable[str]:
    """The keys that may stand at a place of an item: its own at the top, those of a spread anywhere below."""
    return {**SizeTable.model_fields, "before": None, "after": None} if below else known


def findings_of(error: ValidationError, known: Iterable[str], at: Path) -> list[Finding]:
    """Every complaint of pydantic about one item that stands at `at` in the file and knows the keys `known`.

    A key that is missing only because it was misspelt is not reported twice.
    """
    details = error.errors(include_url=False)[:MOST_COMPLAINTS]
    misspelt = {
        (*loc[:-1], nearest(loc[-1], keys_at(known, loc[:-1])))
        for loc in (detail["loc"] for detail in details if detail["type"] == "extra_forbidden")
    }
    found = [
        _finding(detail, known, at)
        for detail in details
        if not (detail["type"] == "missing" and detail["loc"] in misspelt)
    ]
    # Each missing item of a list is a complaint of its own.
    return list({(finding.code, finding.path): finding for finding in reversed(found)}.values())[::-1]


def _finding(detail: ErrorDetails, known: Iterable[str], at: Path) -> Finding:
    loc, came, kind = detail["loc"], shown(detail["input"]), detail["type"]
    context: dict[str, Any] = detail.get("ctx", {})
    refused = context.get("error")
    if isinstance(refused, RefusedError):
        if refused.came is not None:
            came = refused.came
        elif refused.at:
            came = shown(detail["input"][refused.at[0]])
        return Finding(refused.code, at + loc + refused.at, refused.needed, came, refused.hint)
    if kind == "extra_forbidden":
        return unknown_key(at + loc, keys_at(known, loc[:-1]))
    if kind == "literal_error":
        return not_a_choice(at + loc, detail["input"], re.findall(r"'([^']*)'", str(context["expected"])))
    key = next((part for part in reversed(loc) if isinstance(part, str)), "")
    example = _WRITTEN.get(f"{at[0]}.{key}" if at else key, _WRITTEN.get(key, ""))
    if kind == "missing" and isinstance(loc[-1], str):
        return Finding("missing-key", at + loc, f"{key}, such as {example}" if example else f"the key {key}")
    written = f"a value such as {example}" if example else f"{key} = ..."
    if kind == "missing":
        return Finding("wrong-count", at + loc[:-1], written, f"a list of {loc[-1]}")
    if kind in ("too_long", "too_short"):
        many = key in ("points", "pins") and context.get("max_length", 0) > 2
        return Finding("wrong-count", at + loc, f"at most {context['max_length']} {key}" if many else written, came)
    if kind == "bool_type":
        return Finding("wrong-kind", at + loc, f"{key} = true or {key} = false", came)
    return Finding("wrong-kind", at + loc, written, came)


def unknown_key(path: Path, known: Iterable[str]) -> Finding:
    """A key that nothing reads, with the one that was probably meant."""
    return Finding("unknown-key", path, "a key that is known here", shown(path[-1]), nearest(path[-1], known))


def not_a_choice(path: Path, value: object, choices: Iterable[str]) -> Finding:
    """A value that is none of the words allowed there, with the one that was probably meant."""
    *most, last = (f'"{choice}"' for choice in choices)
    close = nearest(value, choices)
    needed = f"{', '.join(most)} or {last}" if most else last
    return Finding("not-a-choice", path, needed, shown(value), f'"{close}"' if close else "")
