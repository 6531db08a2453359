"""Lengths as text, in the units of the job."""

from __future__ import annotations

import math

from flipcheck.decide.wording import NOTHING
from flipcheck.job.quantities import MM_PER_UNIT
from flipcheck.job.stated import Stated

_DECIMALS = {"mm": 3, "in": 4}


def in_units(mm: float, units: str) -> float:
    """A length in the units of the job."""
    return mm / MM_PER_UNIT[units]


def length(mm: float | None, units: str) -> str:
    """A size or a shift: to the micrometre, or to a ten-thousandth of an inch."""
    if mm is None or not math.isfinite(mm):
        return NOTHING
    text = f"{in_units(mm, units):.{_DECIMALS[units]}f}"
    return text.removeprefix("-") if float(text) == 0.0 else text


def coordinate(mm: float, units: str) -> str:
    """A place to go to, or a nominal size: as exact as `length`, without idle zeros."""
    text = length(mm, units)
    return text.rstrip("0").rstrip(".") if "." in text else text


def place(mm: float, units: str) -> str:
    """A distance on the part that matters only roughly: to a tenth of a millimetre, or a hundredth of an inch."""
    text = f"{in_units(mm, units):.{1 if units == 'mm' else 2}f}"
    return text.rstrip("0").rstrip(".") if float(text) else "0"


def web_limits(least: float | None, most: float | None, units: str, between: str = ", ") -> str:
    """The limits of a web, mm: "min 1.800, max 2.200", or "overlap min 0.100" where it must be below 0.

    None or infinite where there is none. `between` parts them, in lines if it has a line's end.
    """
    overlap = most is not None and most < 0.0
    limits = (("min", most), ("max", least)) if overlap else (("min", least), ("max", most))
    sign = -1.0 if overlap else 1.0
    told = [f"{word} {length(sign * mm, units)}" for word, mm in limits if mm is not None and math.isfinite(mm)]
    return f"overlap{between.lstrip(',')}{between.join(told)}" if overlap else between.join(told)


def diameter_text(mm: float, units: str) -> str:
    """A diameter as the job called it, such as "6 H7", or as a number."""
    return mm.name if isinstance(mm, Stated) and mm.half else f"dia.\u00a0{coordinate(mm, units)}"


def limits_of(size: Stated, units: str) -> str:
    """What a name of a standard stands for: "6 to 6.012"; a single number where it has no limits."""
    ends = (size - size.half, size + size.half) if size.half else (float(size),)
    return " to ".join(coordinate(end, units) for end in ends)
