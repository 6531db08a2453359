"""Any number of a job by its key path, such as ``methods[two dowels].pins[1][0]``.

Keys are joined by dots. An entry of a list stands in brackets: a pair or a method by its name, or any entry by its
number, counted from 0. A name goes before a number.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel

from flipcheck.errors import JobError, Problem
from flipcheck.job.fields import OF_THE_JOB
from flipcheck.job.findings import nearest
from flipcheck.job.key_paths.kinds import (
    entry_kind,
    field_kind,
    is_number,
    is_spread,
    leads_on,
    size_kind,
    takes_a_number,
    unit_of,
)
from flipcheck.job.key_paths.spread_numbers import SIZES, numbers_of, spread_in
from flipcheck.job.lines import key_lines
from flipcheck.job.quantities import printable, shown
from flipcheck.job.records import Job, SizeSpread
from flipcheck.stack.spreads import Exactly, Normal

if TYPE_CHECKING:
    from flipcheck.job.findings import Path

_STEP = re.compile(r"(?:^|\.)(?P<key>[^.\[\]]+)|\[(?P<entry>.+?)\](?=[.\[]|$)")
#: How many keys are proposed where many would do.
_FEW = 5


@dataclass(frozen=True)
class KeyPath:
    """Where a number stands in a job.

    Attributes
    ----------
    key: How it is written, with the size of a spread and the names of pairs and methods.
    path: The same for the machine: keys, and numbers of entries.
    unit: Unit of a bare number there; empty for a plain number or a ratio.
    """

    key: str
    path: Path
    unit: str


def key_path(job: Job, key: str, job_text: str | None = None) -> KeyPath:
    """Find a number by its key path.

    A spread by itself stands for its size: the one that `job_text`, the text of the job, gives, or the standard
    deviation of a normal spread.

    Raises
    ------
    JobError: sweep-key, if there is no such number.
    """
    walk = _Walk(job, key)
    for match in walk.steps():
        walk.enter(match)
    plain = takes_a_number(walk.kind, walk.value)
    if is_spread(walk.kind) and not plain:
        walk.enter_size(_given_size(walk, job_text))
    if not (plain or is_number(walk.kind)):
        raise walk.wrong(
            "a key path that ends at a number", f"{walk.told or 'nothing'}, where more than one stands", walk.below()
        )
    return KeyPath(walk.told, tuple(walk.path), walk.unit())


class _Walk:
    """A way into a job, step by step: what stands there, what kind of thing it is, and how to tell it."""

    def __init__(self, job: Job, key: str) -> None:
        self.job, self.key = job, key
        self.value: Any = job
        self.kind: Any = Job
        self.path: list[str | int] = []
        self.told, self._rest = "", ""

    def steps(self) -> list[re.Match[str]]:
        """The steps of the key path."""
        found, end = [], 0
        while end < len(self.key):
            match = _STEP.match(self.key, end)
            if match is None:
                needed = "keys joined by dots, and entries in brackets, such as pairs[bearing seat].at[0]"
                raise self.wrong(needed, shown(self.key[end:]))
            found.append(match)
            end = match.end()
        return found

    def enter(self, match: re.Match[str]) -> None:
        """Take one step."""
        key, entry = match["key"], match["entry"]
        self._rest = self.key[match.end() :]
        if key is not None:
            self._enter_key(key)
        elif isinstance(self.value, tuple):
            self._enter_entry(entry)
        else:
            raise self.wrong("brackets only after a list", f"[{printable(entry)}] after {self.told or 'nothing'}")

    def enter_size(self, size: str) -> None:
        """Go on to a size of a spread, or to the diameter of a pin or a hole."""
        self.path.append(size)
        self.told += f".{size}"
        self.kind = size_kind(self.kind, size)

    def _enter_key(self, key: str) -> None:
        known = self.known()
        if key not in known:
            close = nearest(key, known)
            hint = f"{self.told}{'.' if self.told and close else ''}{close}{self._rest}" if close else self.below()
            raise self.wrong("a key that leads to a number", shown(key), hint)
        if is_spread(self.kind):
            self.enter_size(key)
            return
        self.path.append(key)
        self.told += f".{key}" if self.told else key
        self.kind = field_kind(type(self.value), key)
        self.value = getattr(self.value, key)

    def _enter_entry(self, entry: str) -> None:
        names = [getattr(item, "name", "") for item in self.value]
        if entry in names:
            number = names.index(entry)
        elif re.fullmatch(r"[0-9]{1,6}", entry) and int(entry) < len(self.value):
            number = int(entry)
        else:
            close = nearest(entry, names)
            hint = f"{self.told}[{close}]{self._rest}" if close else ""
            needed = f"the number of an entry, 0 to {len(self.value) - 1}" + (", or its name" if any(names) else "")
            raise self.wrong(needed, f"[{printable(entry)}]", hint)
        self.path.append(number)
        self.told += f"[{names[number] or number}]"
        self.kind = entry_kind(self.kind, number)
        self.value = self.value[number]

    def known(self) -> list[str]:
        """The keys that lead on from here."""
        if is_spread(self.kind):
            return numbers_of(self.value)
        if not isinstance(self.value, BaseModel):
            return []
        own = type(self.value)
        known = [key for key in own.model_fields if leads_on(field_kind(own, key), getattr(self.value, key))]
        return [key for key in known if key != "goal"]  # the chance does not hang on it

    def below(self) -> str:
        """What might be meant where the path ends too early, or goes on too far."""
        if isinstance(self.value, tuple):
            return f"{self.told}[{getattr(self.value[0], 'name', 0)}]"
        keys = [f"{self.told}.{key}" if self.told else key for key in self.known()]
        few = keys[:_FEW] + (["another"] if len(keys) > _FEW else [])
        return " or ".join(few) or self.told

    def unit(self) -> str:
        """The unit of a bare number here."""
        unit = unit_of(size_kind(self.kind, "std") if is_spread(self.kind) else self.kind)
        return self.job.units if unit == OF_THE_JOB else unit

    def wrong(self, needed: str, came: str, hint: str = "") -> JobError:
        return JobError([Problem("sweep-key", f'vary "{printable(self.key)}"', needed, came, hint)])


def _given_size(walk: _Walk, job_text: str | None) -> str:
    """Which size of a spread the job gives: as its text says, or as the spread itself tells."""
    spread = spread_in(walk.value)
    if spread is None or isinstance(spread, Exactly) or isinstance(walk.value, SizeSpread):
        raise walk.wrong("which of its numbers", walk.told, walk.below())
    lines = key_lines(job_text or "")
    for size in SIZES:
        if (*walk.path, size) in lines:
            return size
    if isinstance(spread, Normal) and spread.limit is None:
        return "std"
    if tuple(walk.path) in lines:  # a text such as "+-0.05 mm"
        return "limit"
    raise walk.wrong("which of its sizes, since it is not known how it was written", walk.told, walk.below())
