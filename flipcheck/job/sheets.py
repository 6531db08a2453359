"""The thickness of sheet goods as bought, by the name of a standard: ``stock_thickness = "EN 315 plywood 12"``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import PlainValidator, ValidationInfo

from flipcheck.job.findings import Finding, nearest
from flipcheck.job.quantities import MM_PER_UNIT, RefusedError, length
from flipcheck.job.spread_table import PLUS_MINUS, LengthTable, read_length
from flipcheck.stack.spreads import Spread, Uniform
from flipcheck.tables.sheet import SHEETS, Sheet

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flipcheck.job.checks.part import Part


@dataclass(frozen=True)
class SheetThickness(Uniform):
    """Anywhere within the limits of a sheet; remembers what the job called it, and where the limits stand."""

    name: str = ""
    source: str = ""


#: Thicknesses that differ by more than this are not the same (mm).
_SAME = 0.05


def named_sheet(text: str) -> tuple[Sheet, float]:
    """The sheet that a text names, and its nominal thickness in mm.

    Raises
    ------
    RefusedError: unknown-sheet for another text; out-of-range for a thickness that the standard does not have; those of
        `quantities.length` for one that cannot be read.
    """
    plain = " ".join(text.split())
    known = {name: sheet for name, sheet in SHEETS.items() if plain.lower().startswith(f"{name.lower()} ")}
    if not known:
        near = nearest(plain.rstrip("0123456789./ \"'").lower(), [name.lower() for name in SHEETS])
        hint = next((f'"{name} 12"' for name in SHEETS if name.lower() == near), "")
        needed = f"a spread, or a sheet and its thickness, such as {_listed()}"
        raise RefusedError("unknown-sheet", needed, hint=hint)
    ((name, sheet),) = known.items()
    rest = plain[len(name) :].strip()
    nominal = length(rest if rest[-1].isalpha() or rest[-1] in "\"'" else f"{rest} {sheet.unit}")
    if not sheet.thinnest <= nominal <= sheet.thickest:
        one = MM_PER_UNIT[sheet.unit]
        needed = f"a thickness of {name} from {sheet.thinnest / one:.3g} to {sheet.thickest / one:.3g} {sheet.unit}"
        raise RefusedError("out-of-range", needed)
    return sheet, nominal


def _listed() -> str:
    return ", ".join(f'"{name} {0.75 if sheet.unit == "in" else 12:g}"' for name, sheet in SHEETS.items())


def _thickness(value: Any, info: ValidationInfo) -> Spread:
    if not isinstance(value, str) or PLUS_MINUS.fullmatch(value) or not any(c.isalpha() for c in value.split(" ")[0]):
        return read_length(value, info)
    sheet, nominal = named_sheet(value)
    least, most = sheet.limits(nominal)
    return SheetThickness(0.5 * (most - least), 0.5 * (most + least) - nominal, " ".join(value.split()), sheet.source)


ThicknessSpread = Annotated[Spread, PlainValidator(_thickness, json_schema_input_type=LengthTable | str)]


def of_sheet(errors: object, part: Part) -> Iterator[Finding]:
    """A sheet named among the errors, as they stand in the file, that is not as thick as the blank."""
    text = errors.get("stock_thickness") if isinstance(errors, dict) else None
    if not isinstance(text, str) or part.blank is None:
        return
    try:
        _, nominal = named_sheet(text)
    except RefusedError:
        return  # a spread, or told already
    if abs(nominal - part.blank.thickness) > _SAME:
        needed = f"a sheet as thick as the blank, {part.text(part.blank.thickness)}"
        yield Finding("thickness-differs", ("errors", "stock_thickness"), needed, part.text(nominal))
