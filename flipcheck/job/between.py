"""What happens to the part while it waits between the faces: it takes up or loses moisture, it warms or cools."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Generic, Literal, TypeVar

from pydantic import AfterValidator, BeforeValidator, PlainValidator, ValidationInfo, model_validator

from flipcheck.job.fields import Angle, Kelvin, Percentage, Ratio, Record
from flipcheck.job.findings import Finding, nearest
from flipcheck.job.quantities import RefusedError, kelvin, percentage, shown
from flipcheck.job.spread_table import PLUS_MINUS, SpreadTable
from flipcheck.stack.spreads import Exactly, Spread
from flipcheck.tables.expansion import EXPANSIONS, WOOD
from flipcheck.tables.wood import HIGHEST, LOWEST, PANELS, SATURATED, SPECIES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

#: Growth along the grain, across it in the plane, and through the thickness, for each unit of a change.
Directions = tuple[float, float, float]

Q = TypeVar("Q", bound=float)


class ChangeTable(SpreadTable[Q], Generic[Q]):
    """A change as written: a spread whose mean may be given as what was before and what comes after."""

    before: Q | None = None
    after: Q | None = None
    beside: ClassVar[frozenset[str]] = frozenset({"before", "after", "bias"})

    @model_validator(mode="after")
    def _one_mean(self) -> ChangeTable[Q]:
        if (self.before is None) != (self.after is None):
            came = "after alone" if self.before is None else "before alone"
            raise RefusedError("change-form", "before and after together", came)
        if self.before is not None and self.bias is not None:
            raise RefusedError("change-form", "before and after, or bias, which is their difference", "all of them")
        return self

    def change(self) -> Change:
        """The change, with what it was made of."""
        mean = self.bias or 0.0
        if self.before is not None and self.after is not None:
            mean = self.after - self.before
        spread = self.model_copy(update={"bias": mean}).spread() if self.sizes else Exactly(mean)
        return Change(spread, self.before, self.after)


def _below_saturation(content: float) -> float:
    if not 0.0 <= content <= 0.01 * SATURATED:
        needed = f"a moisture content from 0 to {SATURATED:g} %, where wood stops swelling"
        raise RefusedError("moisture-range", needed, f"{100.0 * content:g} %")
    return content


Content = Annotated[Percentage, AfterValidator(_below_saturation)]


class MoistureTable(ChangeTable[Percentage]):
    """A change of moisture, per cent."""

    before: Content | None = None
    after: Content | None = None


class HeatTable(ChangeTable[Kelvin]):
    """A change of temperature, K or degC."""


@dataclass(frozen=True)
class Change:
    """A change between the faces: its spread, and what was before and after where that was told (ratio, or K)."""

    spread: Spread
    before: float | None = None
    after: float | None = None


def _reader(table: type[ChangeTable[Any]], plain: Callable[[object], float]) -> Callable[[Any, ValidationInfo], Change]:
    def read(value: Any, info: ValidationInfo) -> Change:
        if isinstance(value, Change):
            return value
        if isinstance(value, str) and (match := PLUS_MINUS.fullmatch(value)):
            value = {"limit": match["limit"]}
        if isinstance(value, dict):
            if not value:
                raise RefusedError(
                    "change-form", "a change, such as 1.5 or { before = 8, after = 9.5 }", "an empty table"
                )
            return table.model_validate(value, context=info.context).change()
        return Change(spread=Exactly(plain(value)))

    return read


def _material(value: Any) -> str:
    if not isinstance(value, str):
        raise RefusedError("wrong-kind", 'a material, such as "red oak" or "aluminium"', shown(value))
    name = " ".join(value.lower().split())
    known = {*SPECIES, *PANELS, *EXPANSIONS}
    if name not in known:
        near = nearest(name, known)
        raise RefusedError(
            "unknown-material",
            "a material that the tables know, or none, with per_percent or per_kelvin of its own",
            hint=f'"{near}"' if near else "",
        )
    return name


def _three(value: Any) -> Any:
    """One ratio stands for all three directions."""
    return value if isinstance(value, (list, tuple)) else (value, value, value)


Three = Annotated[
    tuple[Ratio, Ratio, Ratio],
    BeforeValidator(_three, json_schema_input_type=Ratio | tuple[Ratio, Ratio, Ratio]),
]
MoistureChange = Annotated[
    Change,
    PlainValidator(_reader(MoistureTable, percentage), json_schema_input_type=MoistureTable | float | str),
]
HeatChange = Annotated[
    Change, PlainValidator(_reader(HeatTable, kelvin), json_schema_input_type=HeatTable | float | str)
]


class Between(Record):
    """What changes between the faces, and how the material answers; ratios are of the size.

    `grain` is the direction of the grain on the blank, from X, in rad. `per_percent` and `per_kelvin` are along the
    grain, across it and through the thickness, and go before the tables.
    """

    material: Annotated[str, PlainValidator(_material, json_schema_input_type=str)] | None = None
    grain: Angle | None = None
    cut: Literal["flat-sawn", "quarter-sawn"] | None = None
    per_percent: Three | None = None
    per_kelvin: Three | None = None
    moisture: MoistureChange | None = None
    temperature: HeatChange | None = None

    @property
    def given(self) -> tuple[str, ...]:
        """The changes that are given, by their names as sources."""
        return tuple(name for name in ("moisture", "temperature") if getattr(self, name) is not None)

    def growth(self, name: str) -> Directions | None:
        """Growth along the grain, across it and through the thickness, for each unit of a change (ratio, or K).

        None where the job does not say and the tables do not know.
        """
        if name == "moisture":
            found = self.per_percent or self._swelling()
            return (100.0 * found[0], 100.0 * found[1], 100.0 * found[2]) if found else None
        if self.per_kelvin or self.material is None:
            return self.per_kelvin
        known = WOOD if self.material in SPECIES else EXPANSIONS.get(self.material)
        return (known.along, known.across, known.thickness) if known else None

    def _swelling(self) -> Directions | None:
        if self.material in SPECIES:
            wood = SPECIES[self.material]
            flat = self.cut != "quarter-sawn"
            across, through = (wood.tangential, wood.radial) if flat else (wood.radial, wood.tangential)
            return wood.along, across, through
        if self.material in PANELS:
            panel = PANELS[self.material]
            return panel.along, panel.tangential, panel.radial
        return None


def of_between(between: Between) -> Iterator[Finding]:
    """What does not go together; paths are counted from the block."""
    if not between.given:
        yield Finding("missing-key", (), "moisture or temperature, such as moisture = { limit = 0.5 }", "neither")
    directed = False
    for name in between.given:
        growth = between.growth(name)
        own = {"moisture": "per_percent", "temperature": "per_kelvin"}[name]
        if growth is None:
            came = f"no {own} and no material" if between.material is None else f'material = "{between.material}"'
            needed = f"a material whose growth by {name} is known, or {own}"
            yield Finding("no-coefficient", (name,), needed, came, f'{own} = "0.01 %"')
        elif growth[0] != growth[1]:
            directed = True
    if directed and between.grain is None:
        needed = "grain, the direction of the grain in degrees from X, such as grain = 0"
        yield Finding("missing-key", ("grain",), needed, "no grain")
    if between.cut is not None and between.material not in SPECIES:
        yield Finding("option-unused", ("cut",), "a species of wood beside cut", f'cut = "{between.cut}"')


def beyond_table(between: Between | None) -> tuple[str, ...]:
    """A note where moistures lie outside those that the coefficients of the species were made for."""
    change = between.moisture if between else None
    if between is None or change is None or change.before is None or change.after is None:
        return ()
    ends = [round(100.0 * content, 9) for content in (change.before, change.after)]
    if between.material not in SPECIES or between.per_percent or LOWEST <= min(ends) <= max(ends) <= HIGHEST:
        return ()
    return (
        f"between: moisture from {ends[0]:g} to {ends[1]:g} %: the coefficients of wood hold from {LOWEST:g} to"
        f" {HIGHEST:g} %; beyond it moves somewhat less or more than told",
    )
