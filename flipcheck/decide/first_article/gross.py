"""Gross errors by name: a mismatch that equals a thickness, a bit, a difference of sides, a unit or a sign."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from flipcheck.decide.first_article.fit import pattern_of
from flipcheck.decide.first_article.results import Suspect
from flipcheck.job.quantities import MM_PER_UNIT
from flipcheck.job.records import PinsMethod

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flipcheck.decide.first_article.expected import Expected
    from flipcheck.decide.first_article.fit import Fitted
    from flipcheck.decide.first_article.pattern import TermName
    from flipcheck.job.readings.records import Offset, Readings
    from flipcheck.job.records import Job, Method

#: How near a shift must come to a size: within its own interval, but at least this, mm, and at most this share of it.
_NEAR, _NEAR_SHARE = 0.03, 0.1
#: A scale is that of another unit or of a program that was not mirrored within this.
_SCALE = 0.03
#: Readings in other words explain what they do not in these if they are at least so likely.
_LIKELY = 0.05


def suspects(
    job: Job,
    method: Method,
    readings: Readings,
    fitted: Fitted,
    expected: Expected,
    *,
    bit: float | None,
    plate: float | None,
) -> tuple[Suspect, ...]:
    """Gross errors that would look like the pattern; asked only where the job does not explain it."""
    return (*_sizes(job, method, fitted, bit, plate), *_scales(fitted), *_misread(job, readings, expected))


def _sizes(job: Job, method: Method, fitted: Fitted, bit: float | None, plate: float | None) -> Iterator[Suspect]:
    """A shift in x or in y that equals a size of the job or of the tools."""
    sizes = {
        "the thickness of the blank": job.blank.thickness,
        "the length of the blank less its width": abs(job.blank.length - job.blank.width),
    }
    for name, spread in (("stock_size", job.errors.stock_size), ("probe_radius", job.errors.probe_radius)):
        if spread and spread.mean:
            sizes[f"the bias of {name}"] = abs(spread.mean)
    if isinstance(method, PinsMethod):
        sizes |= {"the diameter of the pins": method.pin.diameter, "the radius of the pins": 0.5 * method.pin.diameter}
    if bit:
        sizes |= {"the diameter of the bit": bit, "the radius of the bit": 0.5 * bit}
    if plate:
        sizes |= {"the thickness of the touch plate": plate, "twice the thickness of the touch plate": 2.0 * plate}
    names: tuple[tuple[TermName, str], ...] = (("shift_x", "x"), ("shift_y", "y"))
    for name, axis in names:
        term = fitted.pattern.term(name)
        if term is None or not term.real:
            continue
        half = 0.5 * (term.high - term.low)
        for what, size in sizes.items():
            if abs(abs(term.value) - size) <= min(max(half, _NEAR), _NEAR_SHARE * size):
                yield Suspect("size", f"the shift in {axis} equals {what}", abs(term.value), size)


def _scales(fitted: Fitted) -> Iterator[Suspect]:
    """A mismatch that grows with the place as one of another unit, or of a program that was not mirrored."""
    names: tuple[tuple[TermName, str], ...] = (("scale_x", "x"), ("scale_y", "y"))
    inch = MM_PER_UNIT["in"]
    like = {
        "face B was cut 25.4 times too large: millimetres taken for inches": inch - 1.0,
        "face B was cut 25.4 times too small: inches taken for millimetres": 1.0 / inch - 1.0,
        "face B was cut as if not turned over: its program is not mirrored": -2.0,
    }
    for name, axis in names:
        term = fitted.pattern.term(name)
        for what, scale in like.items() if term else ():
            if term and abs(term.value - scale) <= _SCALE * abs(scale):
                yield Suspect("scale", f"along {axis}, {what}", term.value, scale)


def _misread(job: Job, readings: Readings, expected: Expected) -> Iterator[Suspect]:
    """Readings that the job would explain in another unit or with another sign."""
    inch = MM_PER_UNIT["in"]
    other = {"mm": "inches", "in": "millimetres"}[job.units]
    changes: dict[str, tuple[float, float]] = {
        f"the readings if they were in {other}": (inch, inch) if job.units == "mm" else (1.0 / inch, 1.0 / inch),
        "readings of dx with the other sign (seen with the other face up?)": (-1.0, 1.0),
        "readings of dy with the other sign (seen with the other face up?)": (1.0, -1.0),
        "readings with the other sign (A minus B?)": (-1.0, -1.0),
    }
    for what, (x, y) in changes.items():
        turned = replace(readings, offsets=tuple(_times(offset, x, y) for offset in readings.offsets))
        likely = pattern_of(job, turned, expected).pattern.unexplained
        if likely >= _LIKELY:
            yield Suspect("readings", f"the job would explain {what}")


def _times(offset: Offset, x: float, y: float) -> Offset:
    return replace(
        offset,
        dx=None if offset.dx is None else x * offset.dx,
        dy=None if offset.dy is None else y * offset.dy,
        u=None if offset.u is None else abs(x) * offset.u,
    )
