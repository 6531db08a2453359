"""The size of an error with the unit it is told in: lengths as in the job, slopes in mm/m, ratios in per cent."""

from __future__ import annotations

from flipcheck.flip.lever import SLOPES
from flipcheck.job.quantities import MM_PER_UNIT

_RATIOS = {"machine_scale_x", "machine_scale_y", "moisture"}
#: What one of each unit is in mm, in rad, in K or as a ratio.
_ONE = {"%": 0.01, "mm/m": 0.001, "K": 1.0, **MM_PER_UNIT}
_DECIMALS = {"mm": 4, "in": 5, "mm/m": 4, "%": 4, "K": 2}


def unit_of(source: str, units: str) -> str:
    """The unit in which the size of an error is told; the job file takes a number with it."""
    if source in _RATIOS:
        return "%"
    if source == "temperature":
        return "K"
    return "mm/m" if source in SLOPES else units


def in_unit(size: float, unit: str) -> float:
    """A size in mm, in rad, in K or as a ratio, told in a unit of `unit_of`."""
    return size / _ONE[unit]


def size_text(size: float, unit: str) -> str:
    """A size in its unit: to a tenth of a micrometre, or a hundred-thousandth of an inch."""
    return f"{in_unit(size, unit):.{_DECIMALS[unit]}f}"
