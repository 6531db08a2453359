"""Wood and heat against handbooks."""

from __future__ import annotations

import pytest

import flipcheck
from flipcheck.job.records import Job
from flipcheck.tables.expansion import EXPANSIONS, WOOD
from flipcheck.tables.sheet import SHEETS
from flipcheck.tables.wood import LONGITUDINAL, PANELS, SPECIES, from_shrinkage
from tests.make import PROBE, make_job

INCH = 25.4


def wide(material: str, width: float, change: object) -> Job:
    """A flat-sawn board with its grain along X, its front-left corner touched again, and a feature at its far edge."""
    return make_job(
        {**PROBE, "touch_in": [10.0, 10.0], "spacing": 50.0},
        blank={"size": [300.0, width, 20.0]},
        pairs=[{"name": "far", "kind": "hole", "at": [150.0, width], "allowed": 1.0}],
        between={"material": material, "grain": 0.0, "moisture": change},
    )


def grown(material: str, width: float, change: object) -> float:
    """How much wider a flat-sawn board has become, mm: how far its far edge has moved from the touched one."""
    (pair,) = flipcheck.check(wide(material, width, change), trials=1).methods[0].pairs
    return -pair.y.mean


def test_flat_sawn_board_of_white_fir():
    """A flat-sawn board 232 mm (9.15 in) wide that goes from 8 to 11 %: 1.7 mm (0.067 in) wider.

    Wood Handbook FPL-GTR-190, chapter 13, the example after Table 13-5; that it is white fir from 8 % is from memory.
    """
    assert pytest.approx(1.7, abs=0.05) == grown("white fir", 232.0, {"before": 8, "after": 11})
    assert pytest.approx(9.217, abs=0.0005) == 9.15 + grown("white fir", 9.15 * INCH, 3.0) / INCH


def test_flat_sawn_board_of_red_alder():
    """8 in of red alder and 6 %: 0.12288 in by Table 13-5 (a magazine's chart with the rounded .0026 has 0.1248 in)."""
    assert pytest.approx(0.12288, abs=1e-9) == grown("red alder", 8 * INCH, 6.0) / INCH
    assert abs(grown("red alder", 8 * INCH, 6.0) / INCH - 0.1248) > 0.001


@pytest.mark.parametrize(
    ("species", "radial", "tangential"),
    [
        ("red alder", 4.4, 7.3),
        ("white ash", 4.9, 7.8),
        ("quaking aspen", 3.5, 6.7),
        ("american basswood", 6.6, 9.3),
        ("american beech", 5.5, 11.9),
        ("yellow birch", 7.3, 9.5),
        ("paper birch", 6.3, 8.6),
        ("black cherry", 3.7, 7.1),
        ("american elm", 4.2, 9.5),
        ("persimmon", 7.9, 11.2),
        ("sweetgum", 5.3, 10.2),
        ("black walnut", 5.5, 7.8),
    ],
)
def test_table_of_coefficients_follows_from_shrinkage(species: str, radial: float, tangential: float):
    """Table 13-5 from Table 4-3 (total shrinkage, %) by equation 13-3 at 10 %, to the printed digit, Wood Handbook.

    The printed beech, .00431 from 11.9 %, is reached only to one unit of the last digit.
    """
    printed = SPECIES[species]

    assert printed.radial == pytest.approx(from_shrinkage(radial), abs=1.01e-5)
    assert printed.tangential == pytest.approx(from_shrinkage(tangential), abs=1.01e-5)


def test_white_fir_as_in_the_example():
    """0.00112 is the thickness coefficient of the handbook's example, 0.00245 its C_T (from memory)."""
    assert (0.00112, 0.00245) == (SPECIES["white fir"].radial, SPECIES["white fir"].tangential)


def test_douglas_fir_as_in_lists_of_flooring():
    """0.00267 (a flooring list after Wood Handbook, 1987)."""
    assert 0.00267 == SPECIES["douglas-fir"].tangential


def test_lumber_shrinkage_is_another_formula():
    """A lecture page has 13.25 in of lumber shrink from 19 to 10 % to 13.02 in; its own formula gives 12.99 in.

    Green, FPL-RP-489: S_w = 6.031 - 0.215 M (%, of the green width). The table's coefficients, made for 6 to 14 %, are
    not asked for 19 %, and would say less still.
    """
    shrunk = 13.25 * (1 - (6.031 - 0.215 * 10) / 100) / (1 - (6.031 - 0.215 * 19) / 100)

    assert pytest.approx(12.99, abs=0.005) == shrunk
    assert abs(shrunk - 13.02) > 0.02
    assert abs(13.25 + grown("douglas-fir", 13.25 * INCH, -9.0) / INCH - 13.02) > 0.02


@pytest.mark.parametrize(
    ("species", "flat", "quarter"),
    [
        ("sugar maple", 1.41, 0.66),
        ("yellow birch", 1.35, 1.02),
        ("black cherry", 0.99, 0.50),
        ("black walnut", 1.10, 0.76),
        ("red oak", 1.48, 0.63),
    ],
)
def test_two_per_cent_on_200_mm(species: str, flat: float, quarter: float):
    """By hand: 200 mm, 2 %, the coefficients of Table 13-5."""
    assert pytest.approx(flat, abs=0.005) == grown(species, 200.0, 2.0)
    assert pytest.approx(quarter, abs=0.005) == 200.0 * 2.0 * SPECIES[species].radial


@pytest.mark.parametrize(
    ("material", "micrometres"),
    [
        ("aluminium", 70.8),
        ("steel", 35.1),
        ("stainless steel", 51.6),
        ("acrylic", 210.0),
        ("acetal", 240.0),
        ("hdpe", 360.0),
        ("plywood", 18.3),
    ],
)
def test_ten_kelvin_on_300_mm(material: str, micrometres: float):
    """300 mm x 10 K x coefficient, by hand."""
    assert micrometres == pytest.approx(1000.0 * 300.0 * 10.0 * EXPANSIONS[material].along, abs=0.05)


def test_wood_moves_with_moisture_more_than_with_heat():
    """One per cent of moisture is worth a hundred kelvin across the grain, or nearly (common practice, no source)."""
    assert all(swelling.tangential > 50.0 * WOOD.across for swelling in SPECIES.values())
    assert all(swelling.tangential > swelling.radial > 10.0 * LONGITUDINAL for swelling in SPECIES.values())
    assert all(panel.tangential < 0.0004 < panel.radial for panel in PANELS.values())


@pytest.mark.parametrize(
    ("nominal", "above", "below"),
    [(12.0, 0.5, 0.7), (15.0, 0.6, 0.8), (18.0, 0.7, 0.9), (24.0, 0.9, 1.1), (30.0, 1.1, 1.3)],
)
def test_plywood_as_two_mills_have_it(nominal: float, above: float, below: float):
    """Sanded plywood: two mills' tables are within 0.1 mm of the formula of EN 315 (from memory)."""
    least, most = SHEETS["EN 315 plywood"].limits(nominal)

    assert above == pytest.approx(most - nominal, abs=0.1)
    assert below == pytest.approx(nominal - least, abs=0.1)


def test_nine_millimetres_are_quoted_otherwise():
    """The mills' -0.5 mm for 9 mm is not the formula's -0.67 mm."""
    least, _ = SHEETS["EN 315 plywood"].limits(9.0)

    assert pytest.approx(-0.67) == least - 9.0
    assert abs(least - 9.0 + 0.5) > 0.1


def test_sheets_have_limits_about_their_thickness():
    """Every sheet may come thinner and thicker than it is named, and says where that stands."""
    for sheet in SHEETS.values():
        for nominal in (sheet.thinnest, 0.5 * (sheet.thinnest + sheet.thickest), sheet.thickest):
            least, most = sheet.limits(nominal)
            assert 0.0 < least < nominal < most
        assert sheet.source
