"""Clearance holes for bolts and screws: ISO 273."""

from __future__ import annotations

from flipcheck.errors import TableError

SOURCE = "ISO 273"
FITS = ("fine", "medium", "coarse")

#: Diameters of the holes, mm, fine, medium and coarse, by thread. Up to M14 read in two public reprints of ISO 273,
#: M16 in one; from M18 on from memory, and equal to a third reprint, whose medium and coarse holes of M12 to M16 are
#: wrong.
HOLES: dict[str, tuple[float, float, float]] = {
    "M1.6": (1.7, 1.8, 2.0),
    "M2": (2.2, 2.4, 2.6),
    "M2.5": (2.7, 2.9, 3.1),
    "M3": (3.2, 3.4, 3.6),
    "M3.5": (3.7, 3.9, 4.2),
    "M4": (4.3, 4.5, 4.8),
    "M5": (5.3, 5.5, 5.8),
    "M6": (6.4, 6.6, 7.0),
    "M7": (7.4, 7.6, 8.0),
    "M8": (8.4, 9.0, 10.0),
    "M10": (10.5, 11.0, 12.0),
    "M12": (13.0, 13.5, 14.5),
    "M14": (15.0, 15.5, 16.5),
    "M16": (17.0, 17.5, 18.5),
    "M18": (19.0, 20.0, 21.0),
    "M20": (21.0, 22.0, 24.0),
    "M22": (23.0, 24.0, 26.0),
    "M24": (25.0, 26.0, 28.0),
    "M27": (28.0, 30.0, 32.0),
    "M30": (31.0, 33.0, 35.0),
    "M33": (34.0, 36.0, 38.0),
    "M36": (37.0, 39.0, 42.0),
    "M39": (40.0, 42.0, 45.0),
}


def thread_diameter(thread: str) -> float:
    """Nominal diameter of a thread such as "M6", mm; no bolt of that thread is thicker (ISO 965-1: 6g lies below it).

    Raises
    ------
    TableError: for a thread that the table does not have.
    """
    if thread not in HOLES:
        raise TableError(f"a thread of {SOURCE}: {', '.join(HOLES)}", f'"{thread}"')
    return float(thread[1:])


def clearance_hole(thread: str, fit: str) -> float:
    """Diameter of the clearance hole of a thread, mm; `fit`: "fine", "medium" or "coarse".

    Raises
    ------
    TableError: for a thread or a fit that the table does not have.
    """
    thread_diameter(thread)
    if fit not in FITS:
        raise TableError('"fine", "medium" or "coarse"', f'"{fit}"')
    return HOLES[thread][FITS.index(fit)]
