"""Limits made by hand, to be varied by keyword. Lengths in mm, slopes in rad."""

from __future__ import annotations

import math
from typing import Any

from flipcheck.decide.limits.changes import Changes
from flipcheck.decide.limits.fixture import HoleReach, PinLimits
from flipcheck.decide.limits.limits import Limits, MethodLimits, SourceLimit
from flipcheck.stack.intervals import Chance

SQUARENESS = SourceLimit("machine_squareness", "std", 0.0002, 1.276)
SCALE = SourceLimit("machine_scale_x", "limit", 0.0004, 12.34)
SIZE = SourceLimit("stock_size", "limit", 0.254, 2.0)
RUNOUT = SourceLimit("bit_runout", "reading", 0.0508, math.inf)
SEATING = SourceLimit("seating", "std", 0.0127, 0.669)
POSITIONING = SourceLimit("positioning", "std", 0.0254, 0.0756)
REHOMING = SourceLimit("rehoming", "std", 0.0254, None)
CLAMPING = SourceLimit("clamping_shift", "std", 0.0254, None)
PINS = PinLimits(0.0508, 0.0127, 0.1016, 0.0107, 94.0, 34.57)
HOLES = (
    HoleReach("bearing seat", 30.0, 63.5),
    HoleReach("bolt", 68.0, math.inf),
    HoleReach("peg", 12.7, None),
)


def dowels(**changes: Any) -> MethodLimits:
    """Dowels that meet the goal with room to spare."""
    fields: dict[str, Any] = {
        "name": "dowels on the flip line",
        "kind": "pins",
        "chance": Chance(0.9921, 0.9914, 0.9928),
        "sources": (SQUARENESS, SIZE, SCALE, RUNOUT),
        "pins": PINS,
        "holes": HOLES,
        "changes": None,
    }
    return MethodLimits(**fields | changes)


def fence(**changes: Any) -> MethodLimits:
    """A fence that misses the goal, which either of two errors could bring it to."""
    fields = {
        "name": "fence and stop",
        "kind": "fence",
        "chance": Chance(0.9055, 0.9032, 0.9077),
        "sources": (POSITIONING, SEATING, REHOMING, CLAMPING),
        "pins": None,
        "holes": (),
        "changes": Changes(("seating",), 0.669),
    }
    return dowels(**fields | changes)


def stuck(**changes: Any) -> MethodLimits:
    """Dowels that miss the goal and need several changes at once."""
    fields = {
        "name": "dowels in holes drilled beforehand",
        "chance": Chance(0.674, 0.6704, 0.6776),
        "sources": (REHOMING, CLAMPING),
        "pins": PinLimits(0.15, None, None, 0.1542, 152.0, None),
        "changes": Changes(("hole_position", "hole"), 0.2699, 0.0606),
    }
    return dowels(**fields | changes)


def answer(*methods: MethodLimits, **changes: Any) -> Limits:
    """What `limits` gives: of dowels that meet their goal, a fence and dowels that do not, unless others are given."""
    fields: dict[str, Any] = {
        "title": "Bearing carrier",
        "units": "mm",
        "goal": 0.95,
        "flip": "left-right",
        "trials": 65_536,
        "seed": 1,
        "left_out": ("machine_scale_y", "eye_angle"),
        "methods": methods or (dowels(), fence(), stuck()),
    }
    return Limits(**fields | changes)
