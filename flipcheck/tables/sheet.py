"""How thick sheet goods may be as bought: limits of the real thickness by standard, mm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from flipcheck.tables import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Callable


@dataclass(frozen=True)
class Sheet:
    """A kind of sheet.

    Attributes
    ----------
    unit: The unit in which its nominal thickness is named.
    thinnest, thickest: The nominal thicknesses it is known for, mm.
    limits: From a nominal thickness (mm) to the least and largest real thickness (mm).
    source: Where the limits come from.
    """

    unit: str
    thinnest: float
    thickest: float
    limits: Callable[[float], tuple[float, float]]
    source: str


def _plywood(nominal: float) -> tuple[float, float]:
    return nominal - (0.4 + 0.03 * nominal), nominal + (0.2 + 0.03 * nominal)


def _mdf(nominal: float) -> tuple[float, float]:
    half = 0.2 if nominal <= 19.0 else 0.3
    return nominal - half, nominal + half


def _particleboard(nominal: float) -> tuple[float, float]:
    return nominal - 0.3, nominal + 0.3


def _ps1_sanded(nominal: float) -> tuple[float, float]:
    half = MM_PER_INCH / 64.0 if nominal <= 0.75 * MM_PER_INCH + 1e-6 else 0.03 * nominal
    return nominal - half, nominal + half


def _ps1_unsanded(nominal: float) -> tuple[float, float]:
    half = MM_PER_INCH / 32.0 if nominal <= 13.0 / 16.0 * MM_PER_INCH + 1e-6 else 0.05 * nominal
    return nominal - half, nominal + half


def _cast_acrylic(nominal: float) -> tuple[float, float]:
    return nominal - (0.4 + 0.1 * nominal), nominal + (0.4 + 0.1 * nominal)


#: By the name a job gives it.
SHEETS: dict[str, Sheet] = {
    "EN 315 plywood": Sheet(
        "mm",
        thinnest=3.0,
        thickest=50.0,
        limits=_plywood,
        source="EN 315, sanded, from memory; the same formula is printed in GB/T 9846; two mills agree to 0.1 mm",
    ),
    "EN 622-1 MDF": Sheet(
        "mm",
        thinnest=1.8,
        thickest=45.0,
        limits=_mdf,
        source="EN 622-1, measured after EN 324-1, from memory; makers' data sheets of 2 to 30 mm print 0.2 mm",
    ),
    "EN 312 particleboard": Sheet("mm", 3.0, 50.0, _particleboard, "EN 312, sanded, as a maker's data sheet prints it"),
    "PS 1 sanded plywood": Sheet("in", 6.0, 40.0, _ps1_sanded, "PS 1-19, as quoted by APA"),
    "PS 1 unsanded plywood": Sheet("in", 6.0, 40.0, _ps1_unsanded, "PS 1-19, as quoted by APA"),
    "ISO 7823-1 cast acrylic": Sheet("mm", 1.5, 25.0, _cast_acrylic, "ISO 7823-1, from memory"),
}
