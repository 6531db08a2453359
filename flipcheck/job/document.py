"""The tables of a job file become a `Job`, or findings: everything that must be mended in them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import ValidationError

from flipcheck.job.checks.geometry import impossible
from flipcheck.job.checks.part import Part
from flipcheck.job.findings import Finding, findings_of, keys_at, nearest, not_a_choice, unknown_key
from flipcheck.job.guards import MOST_COMPLAINTS, too_many
from flipcheck.job.quantities import MM_PER_UNIT, printable, shown
from flipcheck.job.records import (
    Between,
    Blank,
    BoresMethod,
    Errors,
    FenceMethod,
    Head,
    HolePair,
    Job,
    NestMethod,
    OutlinePair,
    PinsMethod,
    ProbeMethod,
    SlotPair,
    WebPair,
)
from flipcheck.job.sheets import of_sheet

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from pydantic import BaseModel

    from flipcheck.errors import Problem
    from flipcheck.job.findings import Path

M = TypeVar("M", bound="BaseModel")

_PAIR_KINDS: dict[str, type[HolePair | SlotPair | OutlinePair | WebPair]] = {
    "hole": HolePair,
    "slot": SlotPair,
    "outline": OutlinePair,
    "web": WebPair,
}
_METHOD_KINDS: dict[str, type[PinsMethod | FenceMethod | ProbeMethod | NestMethod | BoresMethod]] = {
    "pins": PinsMethod,
    "fence": FenceMethod,
    "probe": ProbeMethod,
    "nest": NestMethod,
    "bores": BoresMethod,
}
_BLOCKS = ("blank", "errors", "between", "pairs", "methods")


class Document:
    """The tables of a job file; what is wrong in them is gathered instead of stopping at it."""

    def __init__(self, tables: dict[str, Any]) -> None:
        self._tables = tables
        # A misspelt unit is told once; the lengths are read with the one that was probably meant.
        self._context = {"units": nearest(tables.get("units", "mm"), MM_PER_UNIT) or "mm"}
        self._findings: list[Finding] = []
        self._names: dict[Path, str] = {}
        #: Where in the file a misspelt key stands, by the path that was meant.
        self._written: dict[Path, Path] = {}
        self._taken: set[tuple[str, str]] = set()

    def job(self) -> Job | None:
        """The job, or None where there are findings."""
        tables = self._with_blocks_put_right()
        head = self._record(Head, {key: tables[key] for key in tables if key not in _BLOCKS}, (), Job.model_fields)
        blank = self._record(Blank, tables["blank"], ("blank",)) if "blank" in tables else None
        if "blank" not in tables:
            self._find("missing-key", ("blank",), "[blank] with size = [180, 110, 12]")
        errors = self._record(Errors, tables.get("errors", {}), ("errors",))
        between = self._record(Between, tables["between"], ("between",)) if "between" in tables else None
        pairs = self._items("pairs", tables.get("pairs", []), _PAIR_KINDS)
        methods = self._items("methods", tables.get("methods", []), _METHOD_KINDS)
        part = Part(blank, head.flip if head else None, self._context["units"])
        self._findings += impossible(part, pairs, methods, between)
        self._findings += of_sheet(tables.get("errors"), part)
        if self._findings or head is None or blank is None or errors is None:
            return None
        return Job(
            **dict(head),
            blank=blank,
            errors=errors,
            between=between,
            pairs=tuple(pairs.values()),
            methods=tuple(methods.values()),
        )

    def _with_blocks_put_right(self) -> dict[str, Any]:
        """The tables; a block under a misspelt name is told, and read under the name that was meant."""
        tables = dict(self._tables)
        for key in self._tables:
            meant = "" if key in Job.model_fields else nearest(key, Job.model_fields)
            if meant in _BLOCKS and meant not in tables:
                self._findings.append(unknown_key((key,), Job.model_fields))
                self._written[(meant,)] = (key,)
                tables[meant] = tables.pop(key)
        return tables

    def problems(self, lines: Mapping[Path, int]) -> list[Problem]:
        """What was found, by line."""
        lines = dict(lines)
        for meant, key in self._written.items():
            lines |= {meant + path[len(key) :]: line for path, line in lines.items() if path[: len(key)] == key}
        problems = [finding.problem(self._names, lines) for finding in self._findings]
        return sorted(problems, key=lambda problem: problem.line or 0)

    def _find(self, code: str, path: Path, needed: str, came: str = "", hint: str = "") -> None:
        self._findings.append(Finding(code, path, needed, came, hint))

    def _items(self, block: str, tables: object, kinds: Mapping[str, type[M]]) -> dict[int, M]:
        """The items of an array of tables that could be read, by their place in it."""
        if not isinstance(tables, list):
            hint = f"[[{block}]] with double brackets" if isinstance(tables, dict) else ""
            self._find("wrong-kind", (block,), f"[[{block}]], once for each", shown(tables), hint)
            return {}
        if not tables:
            self._find("missing-key", (block,), f"at least one [[{block}]]")
        if many := too_many(block, tables):
            self._find("too-many", (block,), *many, "a job of those that matter most")
            return {}
        found: dict[int, M] = {}
        for number, table in enumerate(tables):
            if not isinstance(table, dict):
                self._find("wrong-kind", (block, number), f"[[{block}]] with its keys", shown(table))
                continue
            self._take_name(block, number, table.get("name"))
            item = self._item(block, number, table, kinds)
            if item is not None:
                found[number] = item
        return found

    def _item(self, block: str, number: int, table: dict[str, Any], kinds: Mapping[str, type[M]]) -> M | None:
        kind, path = table.get("kind"), (block, number, "kind")
        if kind is None:
            self._find("missing-key", path, "kind = " + " or ".join(f'"{known}"' for known in kinds))
            return None
        if not isinstance(kind, str) or kind not in kinds:
            self._findings.append(not_a_choice(path, kind, kinds))
            return None
        return self._record(kinds[kind], table, (block, number))

    def _take_name(self, block: str, number: int, name: object) -> None:
        if not isinstance(name, str) or not name.strip():
            return  # the record of the item says so
        name = name.strip()
        if (block, name) in self._taken:
            needed = f"a name of its own for each of the {block}"
            self._find("duplicate-name", (block, number, "name"), needed, f"{shown(name)} twice")
        self._taken.add((block, name))
        self._names[block, number] = printable(name)

    def _record(self, model: type[M], data: object, at: Path, known: Iterable[str] | None = None) -> M | None:
        """The record, or None; where only unknown keys stand in the way it is read without them and checked further."""
        if not isinstance(data, dict):
            self._find("wrong-kind", at, f"[{at[0]}] with its keys", shown(data))
            return None
        known = model.model_fields if known is None else known
        try:
            return model.model_validate(data, context=self._context)
        except ValidationError as error:
            found = findings_of(error, known, at)
            # A value that was filled in from another, as hole_b is from hole_a, is not complained of again.
            self._findings += [
                one for one in found if one.code == "missing-key" or set(one.path[len(at) : len(at) + 1]) <= set(data)
            ]
            if error.error_count() > MOST_COMPLAINTS:
                return None
            mended = self._mended(data, error, known, at)
        try:
            return model.model_validate(mended, context=self._context)
        except ValidationError:
            return None

    def _mended(self, data: dict[str, Any], error: ValidationError, known: Iterable[str], at: Path) -> dict[str, Any]:
        """The table with misspelt keys put right and unknown keys taken out."""
        mended = dict(data)
        for detail in error.errors(include_url=False, include_input=False):
            if detail["type"] == "extra_forbidden":
                *parents, key = (str(part) for part in detail["loc"])
                table = mended
                for parent in parents:
                    table[parent] = dict(table[parent])
                    table = table[parent]
                value = table.pop(key)
                meant = nearest(key, keys_at(known, tuple(parents)))
                if meant and meant not in table:
                    table[meant] = value
                    self._written[(*at, *parents, meant)] = (*at, *parents, key)
        return mended
