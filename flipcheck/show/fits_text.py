"""A fit, or a single tolerance class, as text and as plain data: limits of size, deviations, clearance."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from rich.console import Group
from rich.text import Text

from flipcheck.decide.wording import share_text
from flipcheck.show.lengths import in_units
from flipcheck.show.look import add_row, gap, laid_out, table_of, title
from flipcheck.show.plain import json_text
from flipcheck.show.words import WIDTH
from flipcheck.tables.iso286 import SOURCE, Fit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import RenderableType
    from rich.table import Table

    from flipcheck.tables.iso286 import Zone

_MM = 1e-3
_LEGEND = f"{SOURCE}. Deviations from the nominal size and tolerances in micrometres; sizes hold at 20 degC."


def fit_to_text(fit: Fit | Zone, units: str = "mm", *, width: int = WIDTH, colour: bool = False) -> str:
    """A fit as text; sizes in `units`, deviations in micrometres; `width` and `colour` as for `look.laid_out`."""
    zones = (fit.hole, fit.shaft) if isinstance(fit, Fit) else (fit,)
    nominal = f"{in_units(zones[0].nominal, units):.6g}{' in' if units == 'in' else ''}"
    name = f"{nominal} {'/'.join(zone.name for zone in zones)}"
    parts: list[RenderableType] = [title(f"{name}: {_verdict(fit, units)}"), *gap(_table(zones, units))]
    if isinstance(fit, Fit):
        parts += gap(Text(_going_in(fit, units)))
    return laid_out(Group(*parts, *gap(Text(_LEGEND))), width=width, colour=colour)


def fit_to_json(fit: Fit | Zone, units: str = "mm") -> str:
    """A fit as JSON text."""
    return json_text(fit_to_plain(fit, units))


def fit_to_plain(fit: Fit | Zone, units: str = "mm") -> dict[str, Any]:
    """A fit as plain data: sizes in `units`, deviations in micrometres; what a single class does not have is None."""
    zones = (fit.hole, fit.shaft) if isinstance(fit, Fit) else (fit,)
    by_member = {"hole" if zone.hole else "shaft": _zone(zone, units) for zone in zones}
    plain = {
        "units": units,
        "nominal": _plain(zones[0].nominal, units),
        "hole": by_member.get("hole"),
        "shaft": by_member.get("shaft"),
        "kind": None,
        "clearance": None,
        "chance_of_clearance": None,
        "source": SOURCE,
    }
    if isinstance(fit, Fit):
        least, most = (_plain(end * _MM, units) for end in fit.clearance)
        plain |= {"kind": fit.kind, "clearance": {"least": least, "most": most}}
        plain["chance_of_clearance"] = fit.chance_of_clearance
    return plain


def _zone(zone: Zone, units: str) -> dict[str, Any]:
    return {
        "class": zone.name,
        "least": _plain(zone.least, units),
        "most": _plain(zone.most, units),
        "lower_um": zone.lower,
        "upper_um": zone.upper,
    }


def _plain(mm: float, units: str) -> float:
    """A size without the last bits, in which an addition or a division shows."""
    return round(in_units(mm, units), 9)


def _verdict(fit: Fit | Zone, units: str) -> str:
    if not isinstance(fit, Fit):
        return f"{_size(fit.least, units)} to {_size(fit.most, units)} {units}."
    least, most = (end * _MM for end in fit.clearance)
    if fit.kind == "clearance":
        return f"a clearance fit, {_size(least, units)} to {_size(most, units)} {units}."
    if fit.kind == "interference":
        return f"an interference fit, {_size(-most, units)} to {_size(-least, units)} {units}."
    tight, loose = (f"{_size(end, units)} {units}" for end in (-least, most))
    return f"a transition fit, from {tight} of interference to {loose} of clearance."


def _table(zones: Sequence[Zone], units: str) -> Table:
    heads = (f"least, {units}", f"most, {units}", "lower, um", "upper, um", "tolerance, um")
    table = table_of("", "class", *heads, left={1: None})
    for zone in zones:
        limits = (_size(zone.least, units), _size(zone.most, units))
        deviations = (f"{end:+g}" if end else "0" for end in (zone.lower, zone.upper))
        add_row(
            table, "hole" if zone.hole else "shaft", zone.name, *limits, *deviations, f"{zone.upper - zone.lower:g}"
        )
    return table


def _going_in(fit: Fit, units: str) -> str:
    least, most = fit.clearance
    least_said, most_said, middle = (_signed(end * _MM, units) for end in (least, most, 0.5 * (least + most)))
    return (
        f"Hole less shaft, on the diameter: {least_said} to {most_said} {units}, {middle} in the middle. The shaft is"
        f" the thinner one in {share_text(fit.chance_of_clearance)} of the pairs, if both sizes are spread evenly over"
        " their limits."
    )


def _signed(mm: float, units: str) -> str:
    return ("+" if mm > 0.0 else "") + _size(mm, units)


def _size(mm: float, units: str) -> str:
    """A size to a micrometre, or to the half of one where it has it, as in a zone JS; or to a hundred-thousandth in."""
    return f"{mm:.4f}".removesuffix("0") if units == "mm" else f"{in_units(mm, units):.5f}"
