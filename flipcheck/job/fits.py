"""Fits and tolerance classes as people write them: ``"25 H7/g6"``, ``"1 in H7"``."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, TypeVar

from flipcheck.errors import JobError, Problem, TableError
from flipcheck.job.quantities import LONGEST_TEXT, RefusedError, Units, length, shown
from flipcheck.tables.iso286 import Fit, Zone, zone

if TYPE_CHECKING:
    from collections.abc import Callable

T = TypeVar("T")

_CLASS = r"[A-Za-z]{1,2}[0-9]{1,2}"
_FIT = re.compile(rf"\s*[Øø⌀]?\s*(?P<size>.*?)\s*(?<![A-Za-z])(?P<one>{_CLASS})(?:\s*/\s*(?P<other>{_CLASS}))?\s*")
_INCHES = re.compile(r"""[0-9./ -]+(?:in|inch|inches|")""")
_PLAIN = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")


def parse_fit(text: str) -> Fit | Zone:
    """A fit such as "25 H7/g6", or the zone of a single hole or shaft, such as "25 H7".

    A bare size is in mm, as in ISO 286-1. The hole stands first, in capitals.

    Raises
    ------
    JobError: what must be mended in the text.
    """
    try:
        return read_fit(text)
    except RefusedError as refused:
        problem = Problem(refused.code, "the fit", refused.needed, refused.came or shown(text), refused.hint)
        raise JobError([problem], "the command line") from None


def read_fit(text: str, units: str = "mm") -> Fit | Zone:
    """The same for a text in a job of these units.

    Raises
    ------
    RefusedError: unreadable-fit, not-in-table, hole-or-shaft, or those of `nominal_size`.
    """
    needed = 'a size and one or two tolerance classes, such as "25 H7/g6", "25 H7" or "1 in H7/g6"'
    match = _FIT.fullmatch(text) if len(text) <= LONGEST_TEXT else None
    if match is None or not match["size"]:
        raise RefusedError("unreadable-fit", needed, shown(text))
    try:
        nominal = nominal_size(match["size"], units)
    except RefusedError as refused:
        if refused.code != "unreadable-quantity":
            raise
        raise RefusedError("unreadable-fit", needed, shown(text), refused.hint) from None
    one = _zone(nominal, match["one"])
    if match["other"] is None:
        return one
    other = _zone(nominal, match["other"])
    if one.hole == other.hole:
        came = f"two {'holes' if one.hole else 'shafts'}, {one.name} and {other.name}"
        raise RefusedError("hole-or-shaft", "a hole in capitals and a shaft in small letters, such as H7/g6", came)
    if not one.hole:
        hint = f'"{match["size"]} {other.name}/{one.name}"'
        raise RefusedError("hole-or-shaft", "the hole first, then the shaft", f"{one.name}/{other.name}", hint)
    return Fit(one, other)


def like_a_fit(text: str) -> bool:
    """Whether a text ends like a fit, whatever its parts are."""
    match = _FIT.fullmatch(text) if len(text) <= LONGEST_TEXT else None
    return match is not None and bool(match["size"])


def said_in(text: str) -> Units:
    """The units to answer a fit in: inches where its size is given in them."""
    match = _FIT.fullmatch(text)
    return "in" if match and _INCHES.fullmatch(match["size"]) else "mm"


def nominal_size(text: str, units: str = "mm") -> float:
    """A nominal size in mm: a bare number, or a length with its own unit.

    Raises
    ------
    RefusedError: no-unit for a bare number below 1 in a job in inches, where it hardly means mm; those of
        `quantities.length`.
    """
    if not _PLAIN.fullmatch(text):
        return length(text)
    if units == "in" and float(text) < 1.0:
        needed = f"a unit after the size, since standards count a bare {text} in mm"
        raise RefusedError("no-unit", needed, text, f"{text} in, or {text} mm")
    return float(text)


def from_table(look_up: Callable[..., T], *asked: object, at: tuple[str, ...] = ()) -> T:
    """What a table has; `at` is the key to blame where it does not.

    Raises
    ------
    RefusedError: not-in-table.
    """
    try:
        return look_up(*asked)
    except TableError as error:
        raise RefusedError("not-in-table", error.needed, error.came, error.hint, at) from None


def _zone(nominal: float, name: str) -> Zone:
    letter = name.rstrip("0123456789")
    grade = int(name[len(letter) :])
    return from_table(zone, nominal, letter.upper() if letter[0].isupper() else letter.lower(), grade)
