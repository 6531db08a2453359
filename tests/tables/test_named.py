"""Dowel pins, clearance holes and collets beside numbers that others published."""

from __future__ import annotations

import pytest

from flipcheck.errors import TableError
from flipcheck.tables.clearance_holes import FITS, HOLES, clearance_hole, thread_diameter
from flipcheck.tables.collets import collet_runout
from flipcheck.tables.dowels import asme_dowel, iso_dowel


@pytest.mark.parametrize(
    ("inches", "series", "least", "most"),
    [
        # Two makers' tables that cite ASME B18.8.2-2000
        (1 / 4, "standard", 0.2501, 0.2503),
        (1 / 4, "oversize", 0.2509, 0.2511),
        (1 / 8, "standard", 0.1251, 0.1253),
        (3 / 8, "standard", 0.3751, 0.3753),
        (1 / 2, "standard", 0.5001, 0.5003),
        # A third, with the small sizes
        (1 / 16, "standard", 0.0626, 0.0628),
        (5 / 64, "standard", 0.0782, 0.0784),
        (3 / 32, "standard", 0.0939, 0.0941),
        (5 / 32, "standard", 0.1563, 0.1565),
        (3 / 16, "standard", 0.1876, 0.1878),
        (5 / 16, "standard", 0.3126, 0.3128),
        (7 / 16, "standard", 0.4376, 0.4378),
        (5 / 8, "standard", 0.6251, 0.6253),
        (3 / 4, "oversize", 0.7509, 0.7511),
        (7 / 8, "standard", 0.8751, 0.8753),
        (1, "standard", 1.0001, 1.0003),
        (5 / 32, "oversize", 0.1571, 0.1573),
        (0.0938, "oversize", 0.0947, 0.0949),  # the size as the table rounds it
    ],
)
def test_dowels_in_inches(inches: float, series: str, least: float, most: float):
    """Limits of the diameter in inches, as printed."""
    dowel = asme_dowel(inches, series)
    assert (25.4 * least, 25.4 * most) == pytest.approx((dowel.least, dowel.most), abs=1e-9)


@pytest.mark.parametrize(
    ("standard", "diameter", "name", "lower", "upper"),
    [
        # Public pages on DIN 6325 and DIN 7, µm
        ("ISO 8734", 3, "", 2, 8),
        ("ISO 8734", 6, "", 4, 12),
        ("ISO 8734", 10, "m6", 6, 15),
        ("ISO 2338", 16, "m6", 7, 18),
        ("ISO 2338", 6, "h8", -18, 0),
        ("ISO 2338", 25, "h8", -33, 0),
    ],
)
def test_dowels_in_mm(standard: str, diameter: float, name: str, lower: float, upper: float):
    """Limits of the diameter, as printed."""
    dowel = iso_dowel(standard, diameter, name)
    assert (lower, upper) == pytest.approx((1e3 * (dowel.least - diameter), 1e3 * (dowel.most - diameter)), abs=1e-6)


@pytest.mark.parametrize(
    ("standard", "diameter", "name", "message", "hint"),
    [
        ("ISO 8734", 7, "", r"a diameter of ISO 8734: 1, 1\.5, .*; came 7 mm", '"ISO 8734 6"'),
        ("ISO 8734", 25, "", "came 25 mm", '"ISO 8734 20"'),
        ("ISO 8734", 6, "h8", 'class of ISO 8734: m6; came "h8"', '"ISO 8734 6 m6"'),
        ("ISO 2338", 6, "", "class of ISO 2338: m6 or h8; came no class", '"ISO 2338 6 m6"'),
        ("ISO 2338", 6, "h6", 'came "h6"', '"ISO 2338 6 m6"'),
    ],
)
def test_dowels_that_there_are_not(standard: str, diameter: float, name: str, message: str, hint: str):
    """A diameter or a class that a standard does not have is refused, with the nearest that it has."""
    with pytest.raises(TableError, match=message) as refused:
        iso_dowel(standard, diameter, name)
    assert hint == refused.value.hint


def test_dowels_in_inches_that_there_are_not():
    """A size that is none of the table's, or a series that there is not."""
    with pytest.raises(TableError, match=r"1/16, 5/64, .*, 7/8, 1 in; came 0\.3 in.*B18\.8\.2 5/16"):
        asme_dowel(0.3)
    with pytest.raises(TableError, match='"standard" or "oversize"; came "undersize"'):
        asme_dowel(0.25, "undersize")


@pytest.mark.parametrize(
    ("thread", "sizes"),
    [
        # Two public reprints of ISO 273 (M16 in one of them)
        ("M1.6", (1.7, 1.8, 2.0)),
        ("M2", (2.2, 2.4, 2.6)),
        ("M2.5", (2.7, 2.9, 3.1)),
        ("M3", (3.2, 3.4, 3.6)),
        ("M3.5", (3.7, 3.9, 4.2)),
        ("M4", (4.3, 4.5, 4.8)),
        ("M5", (5.3, 5.5, 5.8)),
        ("M6", (6.4, 6.6, 7.0)),
        ("M7", (7.4, 7.6, 8.0)),
        ("M8", (8.4, 9.0, 10.0)),
        ("M10", (10.5, 11.0, 12.0)),
        ("M12", (13.0, 13.5, 14.5)),
        ("M14", (15.0, 15.5, 16.5)),
        ("M16", (17.0, 17.5, 18.5)),
        # A third reprint
        ("M20", (21.0, 22.0, 24.0)),
        ("M30", (31.0, 33.0, 35.0)),
        ("M36", (37.0, 39.0, 42.0)),
    ],
)
def test_clearance_holes(thread: str, sizes: tuple[float, float, float]):
    """Fine, medium and coarse, as printed."""
    assert sizes == tuple(clearance_hole(thread, fit) for fit in FITS)


def test_an_error_of_a_public_copy_of_the_holes_is_not_repeated():
    """A public page has 14 and 15 mm for M12, medium and coarse."""
    assert (14.0, 15.0) != (clearance_hole("M12", "medium"), clearance_hole("M12", "coarse"))


def test_bolts_pass_their_holes():
    """A coarser hole is larger, all are larger than the bolt, and a thicker bolt has no smaller one."""
    for thread, sizes in HOLES.items():
        assert thread_diameter(thread) < sizes[0] < sizes[1] < sizes[2]
    for column in zip(*HOLES.values(), strict=True):
        assert sorted(column) == list(column)


def test_threads_and_fits_that_there_are_not():
    """A thread or a hole that the table does not have."""
    with pytest.raises(TableError, match=r'a thread of ISO 273: M1\.6, .*; came "M9"'):
        thread_diameter("M9")
    with pytest.raises(TableError, match='"fine", "medium" or "coarse"; came "close"'):
        clearance_hole("M6", "close")


@pytest.mark.parametrize(
    ("bore", "distance", "class_1", "class_2"),
    [
        # ISO 15488, Table 4, as a tool maker's page prints it; 6 mm is in the range that it ends
        (1.0, 6, 0.010, 0.015),
        (1.6, 6, 0.010, 0.015),
        (3.0, 10, 0.010, 0.015),
        (6.0, 16, 0.010, 0.015),
        (6.35, 25, 0.010, 0.015),
        (12.0, 40, 0.015, 0.020),
        (26.0, 50, 0.015, 0.020),
    ],
)
def test_collets(bore: float, distance: float, class_1: float, class_2: float):
    """Largest readings and where they are taken, as printed; class 2 unless asked."""
    assert ((class_1, distance), (class_2, distance)) == (collet_runout(bore, 1), collet_runout(bore))


def test_collets_that_there_are_not():
    """A bore or a class that the table does not have."""
    with pytest.raises(TableError, match=r"a collet from 1 to 26 mm; came 0\.5 mm"):
        collet_runout(0.5)
    with pytest.raises(TableError, match="class 1 or 2 of ISO 15488; came class 3"):
        collet_runout(6.0, 3)
