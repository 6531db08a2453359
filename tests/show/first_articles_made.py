"""First articles made by hand, to be varied by keyword. Lengths in mm, angles in rad."""

from __future__ import annotations

from typing import Any

from flipcheck.decide.first_article.pattern import Pattern, Term
from flipcheck.decide.first_article.results import (
    Article,
    Cause,
    Correction,
    Coupons,
    Diagonal,
    Grown,
    Shared,
    Shim,
    SizeOnly,
    Squareness,
    Suspect,
)
from flipcheck.stack.intervals import Chance

TERMS = (
    Term("shift_x", -0.30917, -0.53051, -0.08782, 0.0891, 0.0557),
    Term("shift_y", 0.01333, -0.01792, 0.04459, 0.0126, 0.0439),
    Term("turn", 0.002367, 0.001674, 0.003060, 0.000279, 0.00034),
    Term("scale_x", 0.00001, -0.0002, 0.0003, 0.0001, 0.0002),
)
PATTERN = Pattern((120.0, 80.0), TERMS, {"shear": ("turn",), "scale_y": ()}, True, "repeats", 0.022, (), (), 0.0, 0.4)
CAUSES = (
    Cause("fence_angle", "front fence at 0", 0.89, 0.259, 0.0010889, 0.000098, 0.0008),
    Cause("stop_position", "", 0.11, 0.161, None, None, None, ("locator_places",)),
    Cause("locator_places", "", 0.0, 0.03, None, None, None, ("stop_position",)),
)
ABOUT = (240.0, 0.0)
SHIFT = Correction("shift", -0.306, 0.0, 0.0, 0.0, ABOUT, Chance(0.606, 0.602, 0.610))
TURN = Correction("shift and turn", -0.1254, 0.2713, 0.002262, 0.0, ABOUT, Chance(0.9944, 0.9938, 0.9950))
SHEAR = Correction("shift, turn and shear", -0.107, 0.261, 0.002178, -0.00031, ABOUT, Chance(0.9945, 0.9939, 0.9951))
NONE = Correction("none", 0.0, 0.0, 0.0, 0.0, ABOUT, Chance(0.0063, 0.0057, 0.0069))
SHARED = Shared(-0.0627, 0.0, 0.001131, ABOUT, 0.0, 0.0)
SHIM = Shim("front", 20.0, 0.2262, 200.0, -0.181, 0.0)
SQUARENESS = Squareness(-0.0008, 0.0001, Chance(0.9961, 0.9956, 0.9966))
SUSPECTS = (
    Suspect("size", "the shift in x equals the radius of the bit", 3.17, 3.175),
    Suspect("scale", "along x, face B was cut as if not turned over: its program is not mirrored", -2.01, -2),
    Suspect("readings", "the job would explain the readings if they were in inches"),
)
COUPONS = Coupons(3, {1: 1.4142, 3: 1.1547, 5: 1.0954, 10: 1.0488}, Chance(0.9982, 0.9979, 0.9985), None)
SIZES = (SizeOnly((30.0, 25.0), "screw", 2, 0.12, 0.115), SizeOnly((210.0, 25.0), "", 1, 0.3, None))


def article(**changes: Any) -> Article:
    """A turn by the fence, with everything that can be said of it."""
    fields: dict[str, Any] = {
        "title": "Lamp foot",
        "units": "mm",
        "goal": 0.95,
        "flip": "left-right",
        "method": "fence and stop by hand",
        "kind": "fence",
        "trials": 65_536,
        "seed": 1,
        "parts": 3,
        "readings": 14,
        "left_out": ("rehoming", "lost_motion"),
        "pattern": PATTERN,
        "causes": CAUSES,
        "suspects": (),
        "by_job": Chance(0.372, 0.368, 0.376),
        "as_read": NONE.chance,
        "corrections": (SHIFT, TURN, SHEAR),
        "advice": TURN,
        "shared": SHARED,
        "shim": SHIM,
        "squareness": SQUARENESS,
        "coupons": COUPONS,
        "diagonal": Diagonal(2, -0.0007, 0.0002),
        "sizes": SIZES,
        "grown": Grown(0.03, None),
    }
    return Article(**fields | changes)


def blind(**changes: Any) -> Article:
    """Pins that pass, and nothing that has a direction."""
    nothing = {"pattern": None, "causes": (), "as_read": None, "corrections": (), "advice": None, "shared": None}
    nothing |= {"shim": None, "squareness": None, "coupons": None, "diagonal": None, "grown": None, "parts": 0}
    return article(**nothing | {"sizes": (SizeOnly((30.0, 25.0), "screw", 2, 0.12, None),)} | changes)
