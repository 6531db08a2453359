"""What kind of thing may stand where in a job, read off the types of its records."""

from __future__ import annotations

import types
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel, PlainValidator

from flipcheck.job.between import Change
from flipcheck.job.fields import Unit
from flipcheck.job.spread_table import SizeSpread, SpreadTable
from flipcheck.stack.spreads import Exactly, Spread


def _one(kind: Any) -> Any:
    """A type without the None that may stand in its place."""
    if get_origin(kind) in (Union, types.UnionType):
        others = [part for part in get_args(kind) if part is not type(None)]
        return others[0] if len(others) == 1 else kind
    return kind


def field_kind(record: type[BaseModel], key: str) -> Any:
    """The type of a field, with what reads it."""
    field = record.model_fields[key]
    return _one(Annotated[(field.annotation, *field.metadata)] if field.metadata else field.annotation)


def entry_kind(kind: Any, number: int) -> Any:
    """The type of an entry of a list."""
    bare = get_args(kind)[0] if get_origin(kind) is Annotated else kind
    parts = get_args(bare)
    return _one(parts[0] if parts[-1] is Ellipsis else parts[number])


def unit_of(kind: Any) -> str:
    """The unit of a bare number; empty where it has none."""
    return next((part.name for part in get_args(kind)[1:] if isinstance(part, Unit)), "")


def is_number(kind: Any) -> bool:
    """Whether it is a single number."""
    return get_origin(kind) is Annotated and get_args(kind)[0] is float


def is_spread(kind: Any) -> bool:
    """Whether it is a spread, or a diameter or a change with one."""
    return get_origin(kind) is Annotated and get_args(kind)[0] in (Spread, SizeSpread, Change)


def takes_a_number(kind: Any, value: Any) -> bool:
    """Whether a spread is, or where there is none may be, a number that is known."""
    if isinstance(value, Change):
        return value.before is None and isinstance(value.spread, Exactly)
    return is_spread(kind) and (isinstance(value, Exactly) or (value is None and float in _written(kind)))


def size_kind(kind: Any, key: str) -> Any:
    """The type of a size of a kind of spread, or of what stands beside it."""
    return field_kind(next(form for form in _written(kind) if issubclass(form, SpreadTable)), key)


def _written(kind: Any) -> tuple[Any, ...]:
    """The forms in which a spread may be written."""
    form = next(part for part in get_args(kind) if isinstance(part, PlainValidator)).json_schema_input_type
    return get_args(form) or (form,)


def leads_on(kind: Any, value: Any) -> bool:
    """Whether a number stands at a place or further on."""
    if is_number(kind) or is_spread(kind):
        return True
    if isinstance(value, tuple):
        return any(leads_on(entry_kind(kind, number), item) for number, item in enumerate(value))
    return isinstance(value, BaseModel)
