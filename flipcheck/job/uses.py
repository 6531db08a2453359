"""What a pair is for, and the limit that follows: a formula of the part's own sizes, or a figure of the trade."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from flipcheck.job.findings import Finding

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from flipcheck.job.checks.part import Part
    from flipcheck.job.records import HolePair, OutlinePair, SlotPair

    #: A pair whose limit may follow from its use.
    Used = HolePair | SlotPair | OutlinePair


@dataclass(frozen=True)
class Use:
    """A use and what it stands for.

    Attributes
    ----------
    needs: Keys of the pair that the limit is worked out from.
    allowed: The limit, mm, of a pair that has them.
    meaning: How it is worked out, in words.
    source: Where it comes from.
    """

    needs: tuple[str, ...]
    allowed: Callable[..., float]
    meaning: str
    source: str


def _ring(pad: float, hole_a: float, breakout: float | None) -> float:
    """How far the middle of a hole may lie off that of its pad before it breaks out over more than an angle.

    The circle of the hole leaves that of the pad at two points, half the angle to either side of the line of middles.
    """
    half, hole, radius = 0.5 * (breakout or 0.0), 0.5 * hole_a, 0.5 * pad
    return math.sqrt(max(radius**2 - (hole * math.sin(half)) ** 2, 0.0)) - hole * math.cos(half)


#: Largest step of a seam, mm: seen and felt, but even; and what a sanding block takes off.
_AS_MILLED, _SANDED = 0.1, 0.3
_NO_SOURCE = "common practice, no source"
_GEOMETRY = "geometry"

USES: dict[str, Use] = {
    "bolt": Use(
        ("bolt", "hole_a"),
        lambda pair: 0.5 * (pair.hole_a + pair.hole_b) - pair.bolt,
        "half of both holes together, less the bolt; the holes grow with the bit",
        _GEOMETRY,
    ),
    "countersink": Use(
        ("bolt", "hole_a"),
        lambda pair: 0.5 * (pair.hole_a - pair.bolt),
        "half of hole less screw: the cone centres the head, the hole must clear the shank",
        _GEOMETRY,
    ),
    "ring": Use(
        ("pad", "hole_a"),
        lambda pair: _ring(pair.pad, pair.hole_a, pair.breakout),
        "the hole stays in its pad, or breaks out over no more than the angle",
        _GEOMETRY,
    ),
    "tongue": Use(
        ("slot_width", "tongue"),
        lambda pair: pair.slot_width - pair.tongue,
        "width of the slot less that of the tongue that passes both halves",
        _GEOMETRY,
    ),
    "seam as milled": Use((), lambda _: _AS_MILLED, "a step that is left as it comes from the machine", _NO_SOURCE),
    "seam sanded": Use((), lambda _: _SANDED, "a step that is sanded away by hand", _NO_SOURCE),
}


def limit_of(pair: Used) -> float:
    """The largest distance of a pair that was read, mm: as allowed, or as its use or its bolt says."""
    if pair.allowed is not None:
        return pair.allowed
    return USES[pair.use or "bolt"].allowed(pair)


def stands_for(pair: Used) -> str:
    """What the use of a pair stands for; empty where none is given."""
    use = USES.get(pair.use or "")
    return f"{use.meaning} ({use.source})" if use else ""


def of_use(pair: Used, part: Part) -> Iterator[Finding]:
    """What is impossible in the limit of a pair that has a use, or in a key that only a use reads."""
    use = USES.get(pair.use or "")
    if use is None:
        for key in ("pad", "breakout", "slot_width", "tongue"):
            if getattr(pair, key, None) is not None:
                reads = "tongue" if key in ("slot_width", "tongue") else "ring"
                yield Finding("option-unused", (key,), f'use = "{reads}" beside it', f"{key} without it")
        return
    breakout = getattr(pair, "breakout", None)
    if breakout is not None and (pair.use != "ring" or not 0.0 <= breakout <= math.pi):
        came = f'{math.degrees(breakout):g} with use = "{pair.use}"'
        yield Finding("out-of-range", ("breakout",), 'an angle from 0 to 180 degrees, with use = "ring"', came)
    if pair.use == "bolt":
        return  # a bolt is looked at as it is without a use
    if pair.allowed is not None:
        yield Finding("two-limits", ("allowed",), "one limit: allowed, or use", "both")
    missing = [key for key in use.needs if getattr(pair, key) is None]
    if missing:
        needed = f'{" and ".join(use.needs)} beside use = "{pair.use}"'
        yield Finding("use-needs", ("use",), needed, f"no {' and no '.join(missing)}")
    elif use.allowed(pair) <= 0.0:
        sizes = ", ".join(f"{key} = {part.text(getattr(pair, key))}" for key in use.needs)
        yield Finding("use-leaves-nothing", ("use",), f"sizes that leave something: {use.meaning}", sizes)
