"""How a person writes a distribution: ``{ std = 0.01 }``, ``{ limit = "1 mm/m" }``, ``"+-0.05 mm"``."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Generic, Literal, TypeVar

from pydantic import PlainValidator, ValidationInfo, model_validator

from flipcheck.job.fields import Length, Number, PositiveLength, Ratio, Record, Slope, units_of
from flipcheck.job.quantities import RefusedError, length, shown
from flipcheck.job.standard_sizes import named_size
from flipcheck.stack.spreads import Arcsine, Exactly, Normal, Spread, Trapezoid, Triangular, Uniform

if TYPE_CHECKING:
    from collections.abc import Callable

PLUS_MINUS = re.compile(r"\s*(?:±|\+/?-)\s*(?P<limit>[^\s+±-].*)", re.DOTALL)
_FORMS = '{ std = ... }, { limit = ... } or { total = ... }, or "+-0.05 mm"'
_BOUNDED: dict[str, type[Uniform | Triangular | Arcsine | Trapezoid]] = {
    "uniform": Uniform,
    "triangular": Triangular,
    "arcsine": Arcsine,
    "trapezoid": Trapezoid,
}

Q = TypeVar("Q", bound=float)


class SpreadTable(Record, Generic[Q]):
    """A spread as written; `Q` is the kind of quantity its sizes and its bias are: a length, a slope or a ratio."""

    std: Q | None = None
    limit: Q | None = None
    total: Q | None = None
    shape: Literal["normal", "uniform", "triangular", "arcsine", "trapezoid"] | None = None
    sigmas: Number | None = None
    top: Number | None = None
    bias: Q | None = None

    #: Keys of other meaning that may stand without a size.
    beside: ClassVar[frozenset[str]] = frozenset()

    @property
    def sizes(self) -> dict[str, float]:
        """The one size that was given (more than one is refused), by its key."""
        return {key: size for key in ("std", "limit", "total") if (size := getattr(self, key)) is not None}

    @model_validator(mode="after")
    def _consistent(self) -> SpreadTable[Q]:
        sizes = self.sizes
        for key, size in sizes.items():
            if size < 0.0:
                hint = "bias for a known one-sided error"
                raise RefusedError("negative", "a spread of 0 or more", None, hint, (key,))
        if len(sizes) > 1:
            raise RefusedError("spread-form", "exactly one of std, limit and total", " and ".join(sizes))
        if not sizes and self.model_fields_set - self.beside:
            raise RefusedError("spread-form", "exactly one of std, limit and total", "none of them")
        self._check_sigmas()
        if self.top is not None:
            if self.shape != "trapezoid":
                raise RefusedError("spread-option", 'shape = "trapezoid" beside top', self._shape_given(), at=("top",))
            if not 0.0 <= self.top <= 1.0:
                raise RefusedError("out-of-range", "a ratio of top to base from 0 to 1", at=("top",))
        return self

    def _check_sigmas(self) -> None:
        by_limit = self.std is None
        if self.sigmas is None:
            if self.shape == "normal" and by_limit:
                needed = "sigmas, since a normal has no end: limit = sigmas x std"
                raise RefusedError("spread-option", needed, "", "sigmas = 2, or the number the limit was made with")
            return
        if self.shape != "normal" or not by_limit:
            needed = 'sigmas only beside shape = "normal" with limit or total'
            raise RefusedError(
                "spread-option", needed, self._shape_given(), 'shape = "normal", or leave sigmas out', ("sigmas",)
            )
        if not 0.0 < self.sigmas <= 100.0:
            raise RefusedError("out-of-range", "a number of sigmas above 0, at most 100", at=("sigmas",))

    def _shape_given(self) -> str:
        return f'shape = "{self.shape}"' if self.shape else "no shape"

    def spread(self) -> Spread:
        """The distribution, in mm, rad or as a ratio; one without any size is exact."""
        mean = self.bias or 0.0
        if self.std is not None and self.shape in (None, "normal"):
            return Normal(self.std, mean)
        half = self.limit if self.limit is not None else (self.total or 0.0) / 2.0
        if self.sigmas is not None:
            return Normal(half / self.sigmas, mean, half)
        if not self.sizes:
            return Normal(0.0, mean)
        top = {"top": self.top} if self.top is not None else {}
        unit = _BOUNDED[self.shape or "uniform"](1.0, 0.0, **top)
        return type(unit)(half if self.std is None else self.std / unit.std, mean, **top)


class LengthTable(SpreadTable[Length]):
    """A spread of lengths."""


class SlopeTable(SpreadTable[Slope]):
    """A spread of slopes or small angles."""


class RatioTable(SpreadTable[Ratio]):
    """A spread of relative errors."""


class SizeTable(SpreadTable[Length]):
    """A pin or a hole as written: its diameter, and a spread about it."""

    diameter: PositiveLength
    beside: ClassVar[frozenset[str]] = frozenset({"diameter"})


def _reader(table: type[SpreadTable[Any]]) -> Callable[[Any, ValidationInfo], Spread]:
    def read(value: Any, info: ValidationInfo) -> Spread:
        if isinstance(value, (Normal, Uniform, Triangular, Arcsine, Trapezoid)):
            return value
        if isinstance(value, str) and (match := PLUS_MINUS.fullmatch(value)):
            value = {"limit": match["limit"]}
        if isinstance(value, dict):
            if not value:
                raise RefusedError("spread-form", "exactly one of std, limit and total", "an empty table")
            return table.model_validate(value, context=info.context).spread()
        if isinstance(value, (int, float, str)) and not isinstance(value, bool):
            plain = shown(value)
            question = f"a spread that says what it is: is {plain} a standard deviation or a limit?"
            raise RefusedError("bare-spread", question, plain, f"{{ std = {plain} }} or {{ limit = {plain} }}")
        raise RefusedError("wrong-kind", f"a spread: {_FORMS}", shown(value))

    return read


read_length = _reader(LengthTable)
LengthSpread = Annotated[Spread, PlainValidator(read_length, json_schema_input_type=LengthTable | str)]
SlopeSpread = Annotated[Spread, PlainValidator(_reader(SlopeTable), json_schema_input_type=SlopeTable | str)]
RatioSpread = Annotated[Spread, PlainValidator(_reader(RatioTable), json_schema_input_type=RatioTable | str)]


def _read_wear(value: Any, info: ValidationInfo) -> Spread:
    """A length, known or as a spread, that never is below 0."""
    plain = isinstance(value, (int, float)) or (isinstance(value, str) and not PLUS_MINUS.fullmatch(value))
    given = Exactly(length(value, units_of(info))) if plain and not isinstance(value, bool) else value
    spread = given if isinstance(given, Exactly) else read_length(given, info)
    if spread.mean < spread.bound:
        needed = "a growth that is nowhere below 0: a length, or a spread with a bias of at least its bound"
        raise RefusedError("negative", needed, shown(value), "0.01 or { limit = 0.005, bias = 0.01 }")
    return spread


WearSpread = Annotated[Spread, PlainValidator(_read_wear, json_schema_input_type=LengthTable | float | str)]


class SizeSpread(Record):
    """A pin or a hole: its nominal diameter (mm), and the spread of the real diameter about it."""

    diameter: PositiveLength
    spread: LengthSpread = Normal(0.0)


def _read_size(value: Any, info: ValidationInfo) -> SizeSpread:
    if isinstance(value, SizeSpread):
        return value
    hole = info.field_name == "hole"
    named = named_size(value, hole, units_of(info)) if isinstance(value, str) else None
    if named is not None:
        return SizeSpread(diameter=named, spread=Uniform(named.half))
    if not isinstance(value, dict):
        plain = shown(value)
        hint = f"{{ diameter = {plain} }}" if isinstance(value, (int, float, str)) else ""
        example = "6 H7" if hole else "6 m6"
        needed = f'a table with a diameter, such as {{ diameter = 6.0, limit = 0.005 }}, or "{example}"'
        raise RefusedError("wrong-kind", needed, plain, hint)
    table = SizeTable.model_validate(value, context=info.context)
    return SizeSpread(diameter=table.diameter, spread=table.spread())


Size = Annotated[SizeSpread, PlainValidator(_read_size, json_schema_input_type=SizeTable | str)]
