"""Results made by hand, to be varied by keyword. Lengths in mm."""

from __future__ import annotations

import math
from typing import Any

from flipcheck.decide.results import Distribution, MethodResult, Moments, PairResult, Recommendation, Result, StackEntry
from flipcheck.flip.after_flip import AfterFlip
from flipcheck.stack.intervals import Chance
from flipcheck.stack.sources import Life

NOTHING = Moments(math.nan, math.nan)

SQUARENESS = StackEntry("machine_squareness", Life.MACHINE, AfterFlip.DOUBLES, 0.0, 0.0254, None, 0.75, 0.127, 0.75)
POSITIONING = StackEntry("positioning", Life.CUT, AfterFlip.INDEPENDENT, 0.0127, 0.0127, None, 0.248, 0.0762, 0.248)
PLAY = StackEntry("pin_clearance", Life.SETUP, AfterFlip.ONCE, 0.001, 0.001, None, 0.002, 0.01, 0.002)
THICKNESS = StackEntry("stock_thickness", Life.BLANK, AfterFlip.ONCE, 0.0, 0.0, 0.0508, 0.9, 0.1016, 0.9)
TOUCH = StackEntry("z_touch", Life.SETUP, AfterFlip.INDEPENDENT, 0.0, 0.0, 0.0169, 0.1, 0.0508, 0.1)


def hole(**changes: Any) -> PairResult:
    """A hole at which 93 in 100 pass."""
    fields: dict[str, Any] = {
        "name": "far corner",
        "kind": "hole",
        "allowed": 0.254,
        "min_web": None,
        "max_web": None,
        "chance": Chance(0.931, 0.9305, 0.9315),
        "at": (160.0, 90.0),
        "x": Moments(-0.0001, 0.0254),
        "y": Moments(0.0508, 0.0127),
        "distance": Distribution(0.1016, 0.0254, {"p50": 0.127, "p95": 0.2667, "p99": 0.3302}),
        "web": None,
        "worst_case": 0.635,
        "rss": 0.381,
        "stack": (SQUARENESS, POSITIONING, PLAY),
    }
    return PairResult(**fields | changes)


def slot(**changes: Any) -> PairResult:
    """A slot that nearly always passes."""
    fields = {"name": "latch slot", "kind": "slot", "chance": Chance(0.99999, 0.99995, 1.0)}
    return hole(**fields | changes)


def web(**changes: Any) -> PairResult:
    """A web that passes 98 times in 100."""
    fields = {
        "name": "floor between the oil pockets",
        "kind": "web",
        "allowed": None,
        "min_web": 1.905,
        "max_web": 2.159,
        "chance": Chance(0.98, 0.9797, 0.9803),
        "at": None,
        "x": None,
        "y": None,
        "distance": None,
        "web": Distribution(2.032, 0.0535, {"p01": 1.9075, "p05": 1.944, "p95": 2.12, "p99": 2.1565}),
        "worst_case": 0.1524,
        "rss": 0.1136,
        "stack": (THICKNESS, TOUCH),
    }
    return hole(**fields | changes)


def method(**changes: Any) -> MethodResult:
    """Dowels by which 92 in 100 parts line up and 98.5 in 100 blanks go on."""
    fields: dict[str, Any] = {
        "name": "two dowels on the flip line",
        "kind": "pins",
        "minutes": 6.0,
        "goes_on": 0.985,
        "chance": Chance(0.9177, 0.9172, 0.9182),
        "pairs": (hole(), slot(), web()),
    }
    return MethodResult(**fields | changes)


def probe(**changes: Any) -> MethodResult:
    """A probed corner by which 96 in 100 parts line up."""
    fields = {
        "name": "probe the same corner",
        "kind": "probe",
        "minutes": 3.0,
        "goes_on": 1.0,
        "chance": Chance(0.9612, 0.9608, 0.9616),
        "pairs": (hole(chance=Chance(0.9612, 0.9608, 0.9616)), slot(), web(chance=Chance(1.0, 0.99999, 1.0))),
    }
    return method(**fields | changes)


def result(*methods: MethodResult, **changes: Any) -> Result:
    """What `check` gives; of one method unless more are given."""
    fields: dict[str, Any] = {
        "title": "Bearing carrier",
        "units": "mm",
        "goal": 0.95,
        "flip": "left-right",
        "trials": 1_000_000,
        "seed": 1,
        "left_out": ("machine_scale_x", "eye_angle"),
        "methods": methods or (method(),),
        "recommendation": None,
    }
    return Result(**fields | changes)


def comparison(*methods: MethodResult, **changes: Any) -> Result:
    """What `compare` gives: a probed corner before dowels, a tie, unless other methods are given."""
    ranked = methods or (probe(), method(chance=Chance(0.9498, 0.9494, 0.9502)))
    advice = Recommendation(
        ranked[0].name, True, "the highest chance, 96.1 %, against a goal of 95.0 %.", (ranked[-1].name,)
    )
    return result(*ranked, **{"recommendation": advice} | changes)
