"""A TOML file becomes a `Job`, or every problem in it is told at once."""

from __future__ import annotations

import re
import tomllib
from importlib import resources
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import ValidationError

from flipcheck.errors import JobError, Problem
from flipcheck.job.checks.geometry import impossible
from flipcheck.job.checks.part import Part
from flipcheck.job.findings import Finding, Path, findings_of, keys_at, nearest, not_a_choice, unknown_key
from flipcheck.job.guards import MOST_COMPLAINTS, long_key, not_a_file, too_many
from flipcheck.job.lines import key_lines
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
    import os
    from collections.abc import Iterable, Mapping

    from pydantic import BaseModel

#: Far beyond any job; keeps a wrong file from filling the memory.
LARGEST_FILE = 1_000_000

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
_SYNTAX_HINTS = {
    "Cannot declare": "double brackets, such as [[pairs]], where a block may stand several times",
    "Cannot overwrite": "each key only once in its block, and double brackets for all [[pairs]] and [[methods]]",
    "Invalid value": "text in quotes, decimals with a point, true and false in small letters",
    "Unescaped '\\'": "/ in place of \\, or single quotes",
    "Expected '='": "key = value, one to a line",
    "Expected newline": "one value to a key: a decimal with a point, a value with its unit in quotes",
    "Illegal character '\\n'": "a quote at both ends of the text, on one line",
    "Unclosed inline table": "} at its end, on the same line",
    "Unclosed array": "] at its end",
    "Invalid statement": "key = value, or a block such as [blank]",
    "Found invalid character '\\r'": "save the file with the line ends of this system",
}

M = TypeVar("M", bound="BaseModel")


def read_job(path: str | os.PathLike[str]) -> Job:
    """The job in a file.

    Raises
    ------
    JobError: the file cannot be read, or something in it must be mended.
    """
    return parse_job(text_of(path), str(path))


def text_of(path: str | os.PathLike[str], what: str = "job file", ending: str = ".toml") -> str:
    """The text of a job file, or of another file that a person writes.

    Raises
    ------
    JobError: the file cannot be read, or is not text.
    """
    name, where = str(path), f"the {what}"
    try:
        if other := not_a_file(path):
            hint = "save what comes out of it as a file first"
            raise _refused("file-unreadable", name, f"a {what} that may be read", other, hint, where=where)
        with FilePath(path).open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        came = "no file of this name"
        raise _refused("file-missing", name, f"a {what}", came, _beside(name, ending), where=where) from None
    except (OSError, ValueError) as error:
        came = getattr(error, "strerror", None) or str(error)
        raise _refused("file-unreadable", name, f"a {what} that may be read", came.lower(), where=where) from None
    if len(data) > LARGEST_FILE:
        raise _too_large(name, what)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        hint = "save the file as UTF-8 in the editor"
        raise _refused("not-utf8", name, "text in UTF-8", "bytes that are not", hint, line, where) from None
    return text


def _beside(name: str, ending: str) -> str:
    """A file of this kind in the same folder whose name is nearly the same."""
    path = FilePath(name)
    try:
        close = nearest(path.name, [found.name for found in path.parent.glob(f"*{ending}")])
    except (OSError, ValueError):
        close = ""
    return str(path.with_name(close)) if close else ""


def parse_job(text: str, file: str | None = None) -> Job:
    """The job in a TOML text; `file` is the name to give in messages.

    Raises
    ------
    JobError: with everything that must be mended, in the order of the text.
    """
    if len(text) > LARGEST_FILE:
        raise _too_large(file)
    text = text.removeprefix("\ufeff")
    document = _document(text, file)
    reading = _Reading(document)
    job = reading.job()
    if job is not None:
        return job
    raise JobError(reading.problems(key_lines(text)), file)


def built_in(name: str = "carrier") -> Job:
    """A job that ships with flipcheck: "carrier" (metal, mm) or "panel" (wood, inches).

    Raises
    ------
    JobError: no-such-example.
    """
    return parse_job(built_in_text(name), f"{name}.toml")


def built_in_text(name: str = "carrier") -> str:
    """The text of a job that ships with flipcheck; errors as for `built_in`."""
    shipped = {item.name.removesuffix(".toml"): item for item in _examples().iterdir() if item.name.endswith(".toml")}
    if name not in shipped:
        needed = " or ".join(f'"{known}"' for known in sorted(shipped))
        raise _refused("no-such-example", None, needed, shown(name), nearest(name, shipped))
    return shipped[name].read_text(encoding="utf-8")


def _examples() -> Any:
    return resources.files("flipcheck") / "examples"


def _refused(
    code: str,
    file: str | None,
    needed: str,
    came: str = "",
    hint: str = "",
    line: int | None = None,
    where: str = "the job file",
) -> JobError:
    return JobError([Problem(code, where, needed, came, hint, line)], file)


def _too_large(file: str | None, what: str = "job file") -> JobError:
    needed = f"a {what} below {LARGEST_FILE} bytes"
    return _refused("file-too-large", file, needed, "a larger one", where=f"the {what}")


def _document(text: str, file: str | None) -> dict[str, Any]:
    if line := long_key(text):
        raise _refused("too-deep", file, "keys of one or two words with a point between them", "very many", line=line)
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise _refused("too-deep", file, "lists and tables only a few levels deep", "a deeper nesting") from None
    except ValueError as error:  # TOMLDecodeError, or a whole number too long for Python
        message = str(error)
        found = re.search(r" \(at line (\d+), column \d+\)| \(at end of document\)", message)
        line = int(found[1]) if found and found[1] else text.count("\n") + 1 if found else None
        came = message[: found.start()] if found else message
        hint = next((hint for start, hint in _SYNTAX_HINTS.items() if came.startswith(start)), "")
        raise _refused(
            "toml-syntax", file, "a TOML file", f"something else ({came[:1].lower()}{came[1:200]})", hint, line
        ) from None


class _Reading:
    """One pass over a document, gathering what is wrong instead of stopping at it."""

    def __init__(self, document: dict[str, Any]) -> None:
        self.document = document
        # A misspelt unit is told once; the lengths are read with the one that was probably meant.
        self.context = {"units": nearest(document.get("units", "mm"), MM_PER_UNIT) or "mm"}
        self.findings: list[Finding] = []
        self.names: dict[Path, str] = {}
        #: Where in the file a misspelt key stands, by the path that was meant.
        self.written: dict[Path, Path] = {}
        self.taken: set[tuple[str, str]] = set()

    def job(self) -> Job | None:
        """The job, or None where there are findings."""
        document = self.with_blocks_put_right()
        head = self.record(Head, {key: document[key] for key in document if key not in _BLOCKS}, (), Job.model_fields)
        blank = self.record(Blank, document["blank"], ("blank",)) if "blank" in document else None
        if "blank" not in document:
            self.find("missing-key", ("blank",), "[blank] with size = [180, 110, 12]")
        errors = self.record(Errors, document.get("errors", {}), ("errors",))
        between = self.record(Between, document["between"], ("between",)) if "between" in document else None
        pairs = self.items("pairs", document.get("pairs", []), _PAIR_KINDS)
        methods = self.items("methods", document.get("methods", []), _METHOD_KINDS)
        part = Part(blank, head.flip if head else None, self.context["units"])
        self.findings += impossible(part, pairs, methods, between)
        self.findings += of_sheet(document.get("errors"), part)
        if self.findings or head is None or blank is None or errors is None:
            return None
        return Job(
            title=head.title,
            units=head.units,
            goal=head.goal,
            flip=head.flip,
            blank=blank,
            errors=errors,
            between=between,
            pairs=tuple(pairs.values()),
            methods=tuple(methods.values()),
        )

    def with_blocks_put_right(self) -> dict[str, Any]:
        """The document; a block under a misspelt name is told, and read under the name that was meant."""
        document = dict(self.document)
        for key in self.document:
            meant = "" if key in Job.model_fields else nearest(key, Job.model_fields)
            if meant in _BLOCKS and meant not in document:
                self.findings.append(unknown_key((key,), Job.model_fields))
                self.written[(meant,)] = (key,)
                document[meant] = document.pop(key)
        return document

    def problems(self, lines: Mapping[Path, int]) -> list[Problem]:
        """What was found, by line."""
        lines = dict(lines)
        for meant, key in self.written.items():
            lines |= {meant + path[len(key) :]: line for path, line in lines.items() if path[: len(key)] == key}
        problems = [finding.problem(self.names, lines) for finding in self.findings]
        return sorted(problems, key=lambda problem: problem.line or 0)

    def find(self, code: str, path: Path, needed: str, came: str = "", hint: str = "") -> None:
        self.findings.append(Finding(code, path, needed, came, hint))

    def items(self, block: str, tables: object, kinds: Mapping[str, type[M]]) -> dict[int, M]:
        """The items of an array of tables that could be read, by their place in it."""
        if not isinstance(tables, list):
            hint = f"[[{block}]] with double brackets" if isinstance(tables, dict) else ""
            self.find("wrong-kind", (block,), f"[[{block}]], once for each", shown(tables), hint)
            return {}
        if not tables:
            self.find("missing-key", (block,), f"at least one [[{block}]]")
        if many := too_many(block, tables):
            self.find("too-many", (block,), *many, "a job of those that matter most")
            return {}
        found: dict[int, M] = {}
        for number, table in enumerate(tables):
            if not isinstance(table, dict):
                self.find("wrong-kind", (block, number), f"[[{block}]] with its keys", shown(table))
                continue
            self.take_name(block, number, table.get("name"))
            item = self.item(block, number, table, kinds)
            if item is not None:
                found[number] = item
        return found

    def item(self, block: str, number: int, table: dict[str, Any], kinds: Mapping[str, type[M]]) -> M | None:
        kind, path = table.get("kind"), (block, number, "kind")
        if kind is None:
            self.find("missing-key", path, "kind = " + " or ".join(f'"{known}"' for known in kinds))
            return None
        if not isinstance(kind, str) or kind not in kinds:
            self.findings.append(not_a_choice(path, kind, kinds))
            return None
        return self.record(kinds[kind], table, (block, number))

    def take_name(self, block: str, number: int, name: object) -> None:
        if not isinstance(name, str) or not name.strip():
            return  # the record of the item says so
        name = name.strip()
        if (block, name) in self.taken:
            needed = f"a name of its own for each of the {block}"
            self.find("duplicate-name", (block, number, "name"), needed, f"{shown(name)} twice")
        self.taken.add((block, name))
        self.names[block, number] = printable(name)

    def record(self, model: type[M], data: object, at: Path, known: Iterable[str] | None = None) -> M | None:
        """The record, or None; where only unknown keys stand in the way it is read without them and checked further."""
        if not isinstance(data, dict):
            self.find("wrong-kind", at, f"[{at[0]}] with its keys", shown(data))
            return None
        known = model.model_fields if known is None else known
        try:
            return model.model_validate(data, context=self.context)
        except ValidationError as error:
            found = findings_of(error, known, at)
            # A value that was filled in from another, as hole_b is from hole_a, is not complained of again.
            self.findings += [
                one for one in found if one.code == "missing-key" or set(one.path[len(at) : len(at) + 1]) <= set(data)
            ]
            if error.error_count() > MOST_COMPLAINTS:
                return None
            mended = self.mended(data, error, known, at)
        try:
            return model.model_validate(mended, context=self.context)
        except ValidationError:
            return None

    def mended(self, data: dict[str, Any], error: ValidationError, known: Iterable[str], at: Path) -> dict[str, Any]:
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
                    self.written[(*at, *parents, meant)] = (*at, *parents, key)
        return mended
