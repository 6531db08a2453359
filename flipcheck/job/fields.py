"""The kinds of value a job is made of, as pydantic types: lengths, slopes, ratios, numbers, names.

While a file is read, the validation context names the job's units and bare numbers are taken in them. Records built in
Python have no context: their bare numbers are mm and rad.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    StrictBool,
    ValidationInfo,
)

from flipcheck.job import quantities
from flipcheck.job.quantities import RefusedError
from flipcheck.job.standard_sizes import named_runout
from flipcheck.job.stated import Stated

LONGEST_NAME = 80
#: The unit of a bare length: that of the job.
OF_THE_JOB = "of the job"


@dataclass(frozen=True)
class Unit:
    """The unit of a bare number of some kind, `OF_THE_JOB` of a length; a number or a ratio has none."""

    name: str


class Record(BaseModel):
    """Frozen, and closed to keys it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


def units_of(info: ValidationInfo) -> str:
    """The units that bare numbers are in, "mm" where no file is being read."""
    return str((info.context or {}).get("units", "mm"))


def _length(value: Any, info: ValidationInfo) -> float:
    return value if isinstance(value, Stated) else quantities.length(value, units_of(info))


def _runout(value: Any, info: ValidationInfo) -> Any:
    return named_runout(value, units_of(info))


def _angle(value: Any, info: ValidationInfo) -> float:
    return quantities.angle(value, radians=info.context is None)


def _not_negative(value: float) -> float:
    if value < 0.0:
        raise RefusedError("negative", "a value of 0 or more")
    return value


def _positive(value: float) -> float:
    if value <= 0.0:
        raise RefusedError("out-of-range", "a value above 0")
    return value


def _share(value: float) -> float:
    if not 0.0 < value < 1.0:
        hint = f"{value / 100.0:g}" if 1.0 < value < 100.0 else ""
        raise RefusedError("out-of-range", "a share between 0 and 1, both excluded", hint=hint)
    return value


def _name(value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise RefusedError("bad-name", "a name in quotes")
    if len(value) > LONGEST_NAME or not value.isprintable():
        raise RefusedError("bad-name", f"a name of at most {LONGEST_NAME} printable characters on one line")
    return value.strip()


def _title(value: Any) -> str:
    return _name(value) if value != "" else ""


Length = Annotated[float, PlainValidator(_length, json_schema_input_type=float | str), Unit(OF_THE_JOB)]
Slope = Annotated[float, PlainValidator(quantities.slope, json_schema_input_type=float | str), Unit("rad")]
Ratio = Annotated[float, PlainValidator(quantities.ratio, json_schema_input_type=float | str)]
Percentage = Annotated[float, PlainValidator(quantities.percentage, json_schema_input_type=float | str), Unit("%")]
Kelvin = Annotated[float, PlainValidator(quantities.kelvin, json_schema_input_type=float | str), Unit("K")]
Angle = Annotated[float, PlainValidator(_angle, json_schema_input_type=float | str), Unit("degrees")]
Number = Annotated[float, PlainValidator(quantities.number, json_schema_input_type=float)]

NotNegativeLength = Annotated[Length, AfterValidator(_not_negative)]
PositiveLength = Annotated[Length, AfterValidator(_positive)]
Runout = Annotated[NotNegativeLength, BeforeValidator(_runout)]
Minutes = Annotated[Number, AfterValidator(_not_negative)]
Share = Annotated[Number, AfterValidator(_share)]
Name = Annotated[str, PlainValidator(_name, json_schema_input_type=str)]
Title = Annotated[str, PlainValidator(_title, json_schema_input_type=str)]
Point = tuple[Length, Length]
Points = Annotated[tuple[Point, ...], Field(max_length=1000)]
Flag = StrictBool
