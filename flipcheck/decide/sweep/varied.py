"""What a sweep is asked for, ``KEY=FROM:TO:N``, becomes a quantity with its values."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from flipcheck.decide.sweep.results import Varied
from flipcheck.errors import JobError, Problem
from flipcheck.job.key_paths.numbers import number_at, read_number
from flipcheck.job.key_paths.paths import key_path
from flipcheck.job.key_paths.spread_numbers import SIZES
from flipcheck.job.quantities import RefusedError, number_and_unit, printable, shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from flipcheck.job.records import Job

#: More points than this are a slip of the pen.
MOST_POINTS = 100_000

_FORM = 'KEY=FROM:TO:N, such as "errors.positioning=0:0.05:11"'
_WHOLE = re.compile(r"[0-9]{1,12}")


def varied(job: Job, vary: Sequence[str], job_text: str | None = None) -> tuple[Varied, ...]:
    """One quantity or two, each asked for by a text ``KEY=FROM:TO:N``; other parameters as of `key_path`.

    A unit after FROM or TO holds for both; bare numbers are in the units of the job, as in a job file.

    Raises
    ------
    JobError: sweep-key, sweep-range, sweep-twice, or what is wrong with a unit.
    """
    if not 1 <= len(vary) <= 2:
        raise _refused("sweep-range", ", ".join(vary), "one quantity or two to vary", f"{len(vary)} of them")
    found = tuple(_varied(job, text, job_text) for text in vary)
    if len(found) > 1 and _same(found[0], found[1]):
        came = found[0].key if found[0].key == found[1].key else f"{found[0].key} and {found[1].key}"
        raise _refused("sweep-twice", vary[1], "two different quantities", f"{came}, which change the same")
    points = math.prod(len(one.values) for one in found)
    if points > MOST_POINTS:
        raise _refused("sweep-range", ", ".join(vary), f"at most {MOST_POINTS:,} points in all", f"{points:,}")
    return found


def _varied(job: Job, text: str, job_text: str | None) -> Varied:
    key, equals, span = text.rpartition("=")
    ends = span.split(":")
    if not equals or len(ends) != 3:
        raise _refused("sweep-range", text, _FORM, shown(text))
    where = key_path(job, key.strip(), job_text)
    try:
        (low, low_unit), (high, high_unit) = (number_and_unit(end) for end in ends[:2])
    except RefusedError as error:
        raise _refused("sweep-range", text, error.needed, error.came or "") from None
    if low_unit and high_unit and low_unit != high_unit:
        raise _refused("sweep-range", text, "one unit for both ends", f"{low_unit} and {high_unit}")
    bare, unit = not (low_unit or high_unit), low_unit or high_unit or where.unit
    values = _steps(text, low, high, ends[2].strip())
    probe = Varied(where.key, where.path, unit, bare, values, None)
    # a thousandth of a unit is small enough for every kind of number
    one = 1000.0 * read_number(job, where.path, probe.written(0.001))
    now = number_at(job, where.path)
    return Varied(where.key, where.path, unit, bare, values, None if now is None else _rounded(now / one))


def _steps(text: str, low: float, high: float, count: str) -> tuple[float, ...]:
    if not _WHOLE.fullmatch(count) or not 2 <= int(count) <= MOST_POINTS:
        raise _refused("sweep-range", text, f"a whole number of values, 2 to {MOST_POINTS:,}", count or "nothing")
    steps = int(count) - 1
    values = tuple(_rounded((low * (steps - i) + high * i) / steps) for i in range(steps + 1))
    if len(set(values)) < len(values):
        raise _refused(
            "sweep-range", text, "two ends that differ, with room for the steps between", f"{low:g} and {high:g}"
        )
    return values


def _rounded(value: float) -> float:
    """A value without the dust of its computation."""
    return float(f"{value:.12g}")


def _same(one: Varied, other: Varied) -> bool:
    """Whether two quantities are one, or two ways to give the size of one spread."""
    both_sizes = one.path[:-1] == other.path[:-1] and one.path[-1] in SIZES and other.path[-1] in SIZES
    return one.path == other.path or both_sizes


def _refused(code: str, text: str, needed: str, came: str) -> JobError:
    return JobError([Problem(code, f'vary "{printable(text)}"', needed, came)])
