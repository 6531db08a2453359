"""The job as understood: every input with its spread and its life, and the line of the file that it comes from."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from flipcheck.flip.entries import entry_of
from flipcheck.flip.model import flip_model
from flipcheck.job.lines import key_lines
from flipcheck.job.records import BoresMethod, Errors, NestMethod, PinsMethod
from flipcheck.job.sheets import SheetThickness
from flipcheck.job.stated import Stated
from flipcheck.stack.spreads import Exactly, Trapezoid

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from flipcheck.job.lines import Path
    from flipcheck.job.records import Job, Method
    from flipcheck.stack.sources import Life
    from flipcheck.stack.spreads import Spread

_HEAD: tuple[Path, ...] = (("title",), ("units",), ("goal",), ("flip",), ("blank", "size"))
#: A comment at the end of a line, after whole strings and whatever else is no "#".
_COMMENT = re.compile(r"""(?:"(?:[^"\\]|\\.)*"|'[^']*'|[^"'#])*#[ \t]*(?P<note>.*?)[ \t\r]*""")


@dataclass(frozen=True)
class Origin:
    """Where an input comes from: its key in the file, the line, and the comment on that line.

    `line` is None where the job did not come from a text, or the text does not give the key.
    """

    key: str
    line: int | None
    note: str


@dataclass(frozen=True)
class UncertainInput:
    """One input that is not exact.

    Attributes
    ----------
    origin: Where it comes from.
    source: Its key among the errors, or that of a pin or a hole.
    shape: Name of its distribution.
    mean: Its mean; of a diameter the deviation from the nominal. mm, rad, K or a ratio, as `std` and `bound`.
    std, bound: Standard deviation, and the half-width that counts as the worst case.
    lives: How long its draws last, in all methods of the job; empty where it acts on nothing.
    named: What the job gave in place of numbers, and where they stand, such as "6 H7: ISO 286-1"; or empty.
    """

    origin: Origin
    source: str
    shape: str
    mean: float
    std: float
    bound: float
    lives: tuple[Life, ...]
    named: str = ""


@dataclass(frozen=True)
class Inputs:
    """The inputs of a job: of the head and the blank, uncertain ones, and where each pair and each method stands."""

    head: tuple[Origin, ...]
    uncertain: tuple[UncertainInput, ...]
    pairs: tuple[Origin, ...]
    methods: tuple[Origin, ...]


def inputs(job: Job, text: str | None = None) -> Inputs:
    """The inputs of a job; with the text it was read from, their lines and the comments beside them."""
    origins = _Origins(text)
    return Inputs(
        head=tuple(origins.of(path) for path in (*_HEAD, *([("blank", "skim_a")] if job.blank.skim_a else []))),
        uncertain=tuple(_uncertain(job, origins)),
        pairs=tuple(origins.of(("pairs", i), f"pairs, {i + 1}") for i in range(len(job.pairs))),
        methods=tuple(origins.of(("methods", i), f"methods, {i + 1}") for i in range(len(job.methods))),
    )


class _Origins:
    """Finds keys in the text of a job; there may be none."""

    def __init__(self, text: str | None) -> None:
        text = (text or "").removeprefix("\ufeff")
        self._lines: Mapping[Path, int] = key_lines(text)
        self._text = text.split("\n")

    def of(self, path: Path, key: str | None = None) -> Origin:
        line = self._lines.get(path)
        note = ""
        if line is not None and (found := _COMMENT.fullmatch(self._text[line - 1])):
            note = found["note"]
        return Origin(key or ".".join(str(part) for part in path), line, note)


def _uncertain(job: Job, origins: _Origins) -> Iterator[UncertainInput]:
    lives = _lives(job)
    for key in Errors.model_fields:
        given = getattr(job.errors, key)
        if given is not None:
            spread = Exactly(given) if isinstance(given, float) else given
            yield _one(origins.of(("errors", key)), key, spread, lives.get(key, ()), given)
    for key in job.changes:
        yield _one(origins.of(("between", key)), key, getattr(job.between, key).spread, lives.get(key, ()))
    for i, method in enumerate(job.methods):
        sizes = {"pin": method.pin, "hole": method.hole} if isinstance(method, PinsMethod) else {}
        for key, spread in _of_method(method).items():
            if spread is not None:
                origin = origins.of(("methods", i, key), f"methods, {i + 1}: {key}")
                yield _one(origin, key, spread, lives.get(key, ()), sizes[key].diameter if key in sizes else None)


def _of_method(method: Method) -> dict[str, Spread | None]:
    """The spreads that a method gives itself."""
    if isinstance(method, PinsMethod):
        sizes: dict[str, Spread | None] = {"pin": method.pin.spread, "hole": method.hole.spread}
        return sizes | {"pin_play": method.pin_play, "hole_position": method.hole_position, "wear": method.wear}
    if isinstance(method, NestMethod):
        return {"pocket_size": method.pocket_size}
    return {"hole_position": method.hole_position} if isinstance(method, BoresMethod) else {}


def _one(origin: Origin, source: str, spread: Spread, lives: tuple[Life, ...], given: object = None) -> UncertainInput:
    shape = "exact" if not spread.std else type(spread).__name__.lower()
    if isinstance(spread, Trapezoid):
        shape = f"trapezoid, top {spread.top:g}"
    if isinstance(spread, SheetThickness):
        shape = "uniform"
    named = f"{given.name}: {given.source}" if isinstance(given, Stated | SheetThickness) else ""
    return UncertainInput(origin, source, shape, spread.mean, spread.std, spread.bound, lives, named)


def _lives(job: Job) -> dict[str, tuple[Life, ...]]:
    """How long the draws of each entry of the job last, found in the models of all methods."""
    found: dict[str, list[Life]] = {}
    for method in job.methods:
        for source in flip_model(job, method).linear.sources:
            known = found.setdefault(entry_of(source.name), [])
            if source.life not in known:
                known.append(source.life)
    return {name: tuple(sorted(known, key=list(type(known[0])).index)) for name, known in found.items()}
