"""One number of a job, told by its path: what it is, and the job with another in its place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pydantic import TypeAdapter, ValidationError

from flipcheck.errors import JobError
from flipcheck.job.fields import Record
from flipcheck.job.findings import Finding, findings_of, names_of
from flipcheck.job.key_paths.kinds import entry_kind, field_kind, is_spread, size_kind
from flipcheck.job.key_paths.spread_numbers import number_of, spread_in, with_size
from flipcheck.job.quantities import RefusedError, shown
from flipcheck.job.records import HolePair, Job, SizeSpread
from flipcheck.stack.spreads import Exactly

if TYPE_CHECKING:
    from flipcheck.job.findings import Path


def with_number(job: Job, path: Path, written: float | str) -> Job:
    """The job with another number at a path, written as in a job file: bare in the units of the job, or with its own.

    A `hole_b` of the same size goes along with `hole_a`.

    Raises
    ------
    JobError: if the number cannot stand there.
    """
    try:
        changed = _put(job, Job, path, written, job.units)
    except ValidationError as error:
        raise _error(job, findings_of(error, (), path)[0]) from None
    except RefusedError as error:
        raise _error(job, Finding(error.code, path, error.needed, shown(written), error.hint)) from None
    assert isinstance(changed, Job)
    return changed


def number_at(job: Job, path: Path) -> float | None:
    """The number at a path, in mm, rad or as it is; None where the job gives none."""
    value: Any = job
    for part in path:
        if value is None:
            return None
        if isinstance(part, int):
            value = value[part]
        elif isinstance(value, Record) and not isinstance(value, SizeSpread):
            value = getattr(value, part)
        else:
            value = number_of(value, part)
    return None if value is None else _bare(value)


def read_number(job: Job, path: Path, written: float | str) -> float:
    """What a number, written as in a job file, is at a path: in mm, rad or as it is.

    Raises
    ------
    JobError: if it is none that may stand there.
    """
    kind: Any = Job
    value: Any = job
    for part in path:
        if is_spread(kind):
            kind = size_kind(kind, str(part))
        elif isinstance(part, int):
            kind, value = entry_kind(kind, part), value[part]
        else:
            kind, value = field_kind(type(value), part), getattr(value, part)
    try:
        return _bare(_read(kind, written, job.units))
    except ValidationError as error:
        raise _error(job, findings_of(error, (), path)[0]) from None


def _put(value: Any, kind: Any, path: Path, written: float | str, units: str) -> Any:
    """What stands at the start of a path, with another number at its end."""
    if not path:
        return _read(kind, written, units)
    key, rest = path[0], path[1:]
    if isinstance(key, int):
        return (*value[:key], _put(value[key], entry_kind(kind, key), rest, written, units), *value[key + 1 :])
    if is_spread(kind):
        number = _read(size_kind(kind, key), written, units)
        return _read(kind, with_size(value, key, number), units)
    new = _put(getattr(value, key), field_kind(type(value), key), rest, written, units)
    along = {"hole_b"} if isinstance(value, HolePair) and key == "hole_a" and value.hole_b == value.hole_a else set()
    return value.model_copy(update=dict.fromkeys({key} | along, new))


def _bare(value: Any) -> float:
    """A number, or one that stands in the place of a spread."""
    number = spread_in(value)
    return number.mean if isinstance(number, Exactly) else value


def _read(kind: Any, written: Any, units: str) -> Any:
    """A number as written, read as such numbers are."""
    return TypeAdapter(kind).validate_python(written, context={"units": units})


def _error(job: Job, finding: Finding) -> JobError:
    return JobError([finding.problem(names_of(job), {})])
