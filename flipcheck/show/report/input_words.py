"""The job as understood, in tables: each input, how it spreads, how long it lasts and where it stands in the file."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from pydantic import BaseModel

from flipcheck.decide.inputs import Origin, inputs
from flipcheck.decide.wording import NOTHING, goal_text
from flipcheck.job.records import HolePair, OutlinePair, SlotPair
from flipcheck.job.stated import Stated
from flipcheck.job.uses import limit_of, stands_for
from flipcheck.show.document.content import Table
from flipcheck.show.error_sizes import in_unit, unit_of
from flipcheck.show.lengths import coordinate, length, limits_of
from flipcheck.show.words import TURNED

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flipcheck.decide.inputs import UncertainInput
    from flipcheck.job.records import Job, Method, Pair

#: Keys that stand in columns of their own, or are spreads with a table of their own.
_TOLD = {"name", "kind", "pin_play", "hole_position", "wear", "pocket_size"}


def input_tables(job: Job, text: str | None) -> Iterator[Table]:
    """Everything that the job says, as it was understood; `text` is the file it was read from."""
    given = inputs(job, text)
    yield Table("Part", ("what", "value", "line", "the file says"), tuple(_head(job, given.head)))
    yield Table(
        caption="Errors: what is not exact, with its mean, its standard deviation and the bound that counts as worst;"
        " one draw of it lasts with what is said",
        heads=("input", "distribution", "mean", "sd", "bound ±", "unit", "lasts with", "line", "the file says"),
        rows=tuple(_error(one, job.units) for one in given.uncertain),
        numbers=(2, 3, 4),
    )
    yield Table(
        caption=f"Pairs: what must line up, {job.units}, on the blank with face A up",
        heads=("pair", "kind", "as given", "line", "the file says"),
        rows=tuple(_item(pair, origin, job.units) for pair, origin in zip(job.pairs, given.pairs, strict=True)),
    )
    yield Table(
        caption=f"Methods: how the blank may find its place again, {job.units}",
        heads=("method", "kind", "as given", "line", "the file says"),
        rows=tuple(_item(one, origin, job.units) for one, origin in zip(job.methods, given.methods, strict=True)),
    )


def _head(job: Job, origins: tuple[Origin, ...]) -> Iterator[tuple[str, ...]]:
    size = " x ".join(coordinate(side, job.units) for side in job.blank.size)
    values = [job.title or NOTHING, job.units, goal_text(job.goal), TURNED[job.flip], f"{size} {job.units}"]
    if job.blank.skim_a:
        values.append(f"{coordinate(job.blank.skim_a, job.units)} {job.units}")
    for origin, value in zip(origins, values, strict=True):
        yield (origin.key, value, _line(origin), origin.note or NOTHING)


def _line(origin: Origin) -> str:
    return NOTHING if origin.line is None else str(origin.line)


def _error(one: UncertainInput, units: str) -> tuple[str, ...]:
    unit = unit_of(one.source, units)
    sizes = [_short(in_unit(size, unit)) for size in (one.mean, one.std, one.bound)]
    lives = ", ".join(one.lives) or "nothing here"
    shape = f"{one.shape} ({one.named})" if one.named else one.shape
    return (one.origin.key, shape, *sizes, unit, lives, _line(one.origin), one.origin.note or NOTHING)


def _short(size: float) -> str:
    """A size to four digits, without a minus before nothing."""
    return "0" if size == 0.0 else f"{size:.4g}"


def _item(item: Pair | Method, origin: Origin, units: str) -> tuple[str, ...]:
    """A pair or a method with every key that it was given, or that has a value unless given."""
    told = {key: getattr(item, key) for key in type(item).model_fields if key not in _TOLD}
    said = "; ".join(
        f"{key} {_value(key, value, units)}" for key, value in told.items() if value is not None and value != ()
    )
    if isinstance(item, HolePair | SlotPair | OutlinePair) and item.use is not None:
        said += f"; so allowed {length(limit_of(item), units)}: {stands_for(item)}"
    return (item.name, item.kind, said, _line(origin), origin.note or NOTHING)


def _value(key: str, value: object, units: str) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Stated):
        return f"{value.name} ({limits_of(value, units)}: {value.source})"
    if isinstance(value, float):
        if key == "minutes":
            return f"{value:g}"
        return f"{math.degrees(value):.4g}°" if key in ("angle", "breakout") else coordinate(value, units)
    if isinstance(value, tuple):
        inner = ", ".join(_value(key, part, units) for part in value)
        return f"({inner})" if value and isinstance(value[0], float) else inner
    if isinstance(value, BaseModel):
        return _value(key, value.diameter, units) if hasattr(value, "diameter") else ""
    return str(value)
