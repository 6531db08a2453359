"""Sweeps made by hand for tests of how they are shown."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from flipcheck.decide.sweep.results import Impossible, MethodPoint, PairPoint, Sweep, SweepPoint, Varied
from flipcheck.stack.intervals import wilson

TRIALS = 16_384
SQUARENESS = Varied(
    "errors.machine_squareness.std",
    ("errors", "machine_squareness", "std"),
    "mm/m",
    False,
    (0.0, 0.1, 0.2, 0.3, 0.4),
    0.2,
)
PIN = Varied(
    "methods[dowels on the flip line].pins[0][1]",
    ("methods", 0, "pins", 0, 1),
    "mm",
    True,
    (-2.0, 8.0, 18.0),
    8.0,
)
DOWELS, FENCE = "dowels on the flip line", "fence and stop, same edge"
OFF = f'methods "{DOWELS}": pins, item 1: needed a point on the blank, from (0, 0) to (180, 110) mm; came (90, -2) mm'


def method(name: str, chance: float, p95: float, **changes: Any) -> MethodPoint:
    """A method whose deciding pair has the chance of the whole."""
    pairs = (
        PairPoint("bearing seat", "hole", 0.075, wilson(round(TRIALS * chance), TRIALS), p95),
        PairPoint("bolt", "hole", 0.3, wilson(TRIALS, TRIALS), 1.2 * p95),
        PairPoint("floor", "web", None, wilson(TRIALS - 50, TRIALS), 2.11),
    )
    made = MethodPoint(name, 1.0, wilson(round(TRIALS * chance), TRIALS), pairs)
    return replace(made, **changes)


def squareness(**changes: Any) -> Sweep:
    """Two methods over one quantity; one of them crosses the goal."""
    chances = zip((0.999, 0.998, 0.985, 0.951, 0.903), (0.92, 0.915, 0.90, 0.87, 0.82), strict=True)
    points = [
        SweepPoint((x,), (method(DOWELS, one, 0.05 + 0.1 * x * x), method(FENCE, other, 0.078 + 0.05 * x)), ())
        for x, (one, other) in zip(SQUARENESS.values, chances, strict=True)
    ]
    made = Sweep(
        title="Bearing carrier",
        units="mm",
        goal=0.95,
        flip="left-right",
        trials=TRIALS,
        seed=1,
        left_out=("machine_scale_x", "eye_angle"),
        varied=(SQUARENESS,),
        methods=(DOWELS, FENCE),
        points=tuple(points),
    )
    return replace(made, **changes)


def plane(**changes: Any) -> Sweep:
    """One method over two quantities, with a column of holes."""
    points = [
        SweepPoint((x, y), (), (Impossible(DOWELS, OFF),))
        if y < 0.0
        else SweepPoint((x, y), (method(DOWELS, 0.999 - 0.4 * x * x - 0.001 * y, 0.05 + 0.1 * x),), ())
        for x in SQUARENESS.values
        for y in PIN.values
    ]
    return squareness(**{"varied": (SQUARENESS, PIN), "methods": (DOWELS,), "points": tuple(points)} | changes)


def nobody_goes_on() -> Sweep:
    """A pin too thick for its hole at every point."""
    pairs = (PairPoint("bearing seat", "hole", 0.075, wilson(0, 0), math.nan),)
    points = [
        SweepPoint((x,), (method(DOWELS, 0.0, math.nan, goes_on=0.0, pairs=pairs),), ()) for x in SQUARENESS.values
    ]
    return squareness(methods=(DOWELS,), points=tuple(points))


def all_impossible() -> Sweep:
    """No point has a result."""
    points = [SweepPoint((x,), (), (Impossible(DOWELS, OFF), Impossible(FENCE, OFF))) for x in SQUARENESS.values]
    return squareness(points=tuple(points))


def interrupted() -> Sweep:
    """Two points of five are done."""
    whole = squareness()
    return replace(whole, points=(*whole.points[:2], None, None, None))


def many_methods(count: int = 8) -> Sweep:
    """So many methods, close together."""
    names = tuple(f"way number {i} of finding the place again, by hand" for i in range(count))
    points = [
        SweepPoint((x,), tuple(method(name, 0.97 - 0.001 * i, 0.06 + 0.001 * i) for i, name in enumerate(names)), ())
        for x in SQUARENESS.values
    ]
    return squareness(methods=names, points=tuple(points))


def inches() -> Sweep:
    """The same in inches."""
    return squareness(units="in")
