"""How far a new collet may run out: ISO 15488 (collets with a taper of 8 degrees)."""

from __future__ import annotations

import bisect

from flipcheck.errors import TableError

SOURCE = "ISO 15488"

#: Upper ends of the ranges of nominal bore, mm; the first begins with 1 mm. ISO 15488, Table 4, as reprinted on a tool
#: maker's page.
ENDS = (1.6, 3.0, 6.0, 10.0, 18.0, 26.0)
SMALLEST = 1.0
#: Distance from the nose at which a test mandrel is read, mm (same table).
MEASURED_AT = (6.0, 10.0, 16.0, 25.0, 40.0, 50.0)
#: Largest total indicator reading, mm, by class; class 2 is what one gets unless one asks (same table).
READINGS: dict[int, tuple[float, ...]] = {
    1: (0.010, 0.010, 0.010, 0.010, 0.015, 0.015),
    2: (0.015, 0.015, 0.015, 0.015, 0.020, 0.020),
}


def collet_runout(bore: float, of_class: int = 2) -> tuple[float, float]:
    """Largest total indicator reading of a collet, and at what distance from its nose, mm.

    Raises
    ------
    TableError: for a bore or a class that the table does not have.
    """
    if of_class not in READINGS:
        raise TableError(f"class 1 or 2 of {SOURCE}", f"class {of_class}")
    if not SMALLEST <= bore <= ENDS[-1]:
        raise TableError(f"a collet from {SMALLEST:g} to {ENDS[-1]:g} mm", f"{bore:g} mm")
    place = bisect.bisect_left(ENDS, bore)
    return READINGS[of_class][place], MEASURED_AT[place]
