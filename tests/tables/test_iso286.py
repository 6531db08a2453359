"""Limits and fits of ISO 286-1 beside numbers that others published, and the laws that the system keeps."""

from __future__ import annotations

import math

import numpy as np
import pytest

from flipcheck.errors import TableError
from flipcheck.tables.iso286 import DEVIATIONS, ENDS, GRADES, LETTERS, TOLERANCES, Fit, tolerance, zone

#: One size in the middle of every range.
SIZES = [0.5 * (start + end) for start, end in zip((0, *ENDS), ENDS, strict=False)]
ABOVE_3 = SIZES[1:]


def deviations(text: str) -> tuple[float, float]:
    """Lower and upper deviation of a class such as "25 H7"."""
    size, name = text.split()
    letter = name.rstrip("0123456789")
    found = zone(float(size), letter, int(name.removeprefix(letter)))
    return found.lower, found.upper


def fit(text: str) -> Fit:
    """A fit such as "25 H7/g6"."""
    size, names = text.split()
    hole, shaft = ((n.rstrip("0123456789"), int("".join(filter(str.isdigit, n)))) for n in names.split("/"))
    return Fit(zone(float(size), *hole), zone(float(size), *shaft))


@pytest.mark.parametrize(
    ("asked", "lower", "upper"),
    [
        # Narayana, Kannaiah, Venkata Reddy, Machine Drawing, p. 225
        ("25 H7", 0, 21),
        ("10 H10", 0, 58),
        ("25 h9", -52, 0),
        ("10 h9", -36, 0),
        ("40 h11", -160, 0),
        # The same, footnote of Table 15.3: P7 from 18 to 30 mm has the upper deviation -14
        ("20 P7", -35, -14),
        # ISO 286-2:1988, Technical Corrigendum 1: f9 above 250 up to 315 is -186, not -185
        ("280 f9", -186, -56),
        # Public pages on DIN 6325 and DIN 7 pins
        ("3 m6", 2, 8),
        ("6 m6", 4, 12),
        ("10 m6", 6, 15),
        ("18 m6", 7, 18),
        ("30 m6", 8, 21),
        ("3 h8", -14, 0),
        ("6 h8", -18, 0),
        ("10 h8", -22, 0),
        ("18 h8", -27, 0),
        ("30 h8", -33, 0),
        ("6 h6", -8, 0),
        ("10 h6", -9, 0),
        # Shoulder screws, ISO 7379: shoulders h8, printed 5.982, 7.978, 11.973, 19.967 in one catalogue; f9, printed
        # 5.960/5.990, 7.951/7.987, 11.941/11.984, 19.928/19.980 in another
        ("8 h8", -22, 0),
        ("20 h8", -33, 0),
        ("6 f9", -40, -10),
        ("8 f9", -49, -13),
        ("12 f9", -59, -16),
        ("20 f9", -72, -20),
        # A table "ISO tolerances for holes (ISO 286-2)", row F6
        ("5 F6", 10, 18),
        ("100 F6", 36, 58),
        ("300 F6", 56, 88),
        ("390 F6", 62, 98),
        # From memory: the special case of the standard
        ("300 M6", -41, -9),
        ("240 M6", -37, -8),
        ("350 M6", -46, -10),
    ],
)
def test_published_deviations(asked: str, lower: float, upper: float):
    """Deviations as they are printed elsewhere, exactly."""
    assert (lower, upper) == deviations(asked)


#: "Tables for determining metric tolerances", Table 6, of a maker's technical reference: upper and lower deviations.
HOLES = {
    25: "K6 +2 -11 K7 +6 -15 K8 +10 -23 M6 -4 -17 M7 0 -21 M8 +4 -29 N6 -11 -24 N7 -7 -28 N8 -3 -36",
    40: "K6 +3 -13 K7 +7 -18 K8 +12 -27 M6 -4 -20 M7 0 -25 M8 +5 -34 N6 -12 -28 N7 -8 -33 N8 -3 -42",
    65: "K6 +4 -15 K7 +9 -21 K8 +14 -32 M6 -5 -24 M7 0 -30 M8 +5 -41 N6 -14 -33 N7 -9 -39 N8 -4 -50",
    100: "K6 +4 -18 K7 +10 -25 K8 +16 -38 M6 -6 -28 M7 0 -35 M8 +6 -48 N6 -16 -38 N7 -10 -45 N8 -4 -58",
    150: "K6 +4 -21 K7 +12 -28 K8 +20 -43 M6 -8 -33 M7 0 -40 M8 +8 -55 N6 -20 -45 N7 -12 -52 N8 -4 -67",
    220: "K6 +5 -24 K7 +13 -33 K8 +22 -50 M6 -8 -37 M7 0 -46 M8 +9 -63 N6 -22 -51 N7 -14 -60 N8 -5 -77",
}


@pytest.mark.parametrize("size", HOLES)
def test_holes_that_take_the_difference_of_two_grades(size: int):
    """K, M and N as a maker's table prints them."""
    words = HOLES[size].split()
    for name, upper, lower in zip(words[::3], words[1::3], words[2::3], strict=True):
        assert (int(lower), int(upper)) == deviations(f"{size} {name}"), name


@pytest.mark.parametrize(
    ("grade", "row"),
    [
        # Columns of a public reprint of Table 1 (IT01 to IT16 up to 500 mm)
        (4, "3 4 4 5 6 7 8 10 12 14 16 18 20"),
        (5, "4 5 6 8 9 11 13 15 18 20 23 25 27"),
        (6, "6 8 9 11 13 16 19 22 25 29 32 36 40"),
        (7, "10 12 15 18 21 25 30 35 40 46 52 57 63"),
        (8, "14 18 22 27 33 39 46 54 63 72 81 89 97"),
        (9, "25 30 36 43 52 62 74 87 100 115 130 140 155"),
        (10, "40 48 58 70 84 100 120 140 160 185 210 230 250"),
        (11, "60 75 90 110 130 160 190 220 250 290 320 360 400"),
        (12, "100 120 150 180 210 250 300 350 400 460 520 570 630"),
        (13, "140 180 220 270 330 390 460 540 630 720 810 890 970"),
        (14, "250 300 360 430 520 620 740 870 1000 1150 1300 1400 1550"),
    ],
)
def test_published_tolerances(grade: int, row: str):
    """Table 1 as a reprint has it, typed anew from there."""
    assert [int(number) for number in row.split()] == list(TOLERANCES[grade])


@pytest.mark.parametrize(
    ("asked", "least", "most", "kind"),
    [
        ("25 H7/g6", 7, 41, "clearance"),  # two public pages on ISO fits
        ("25 H7/h6", 0, 34, "clearance"),  # two public pages
        ("50 H8/f7", 25, 89, "clearance"),  # Wikipedia, "Engineering fit"
        ("29 H7/h8", 0, 54, "clearance"),  # README of a public module of tables
        ("50 H7/g6", 9, 50, "clearance"),  # this and the next three from memory
        ("30 H7/p6", -35, -1, "interference"),
        ("50 H7/k6", -18, 23, "transition"),
        ("50 H7/p6", -42, -1, "interference"),
        ("6 H7/m6", -12, 8, "transition"),  # worked out by hand from the two rows of the tables, as the rest
        ("6 F7/m6", -2, 18, "transition"),
        ("6 G7/h6", 4, 24, "clearance"),
        ("6 H6/p5", -17, -4, "interference"),
    ],
)
def test_published_fits(asked: str, least: float, most: float, kind: str):
    """Clearances as they are printed elsewhere, exactly, and the kind of fit."""
    assert ((least, most), kind) == (fit(asked).clearance, fit(asked).kind)


@pytest.mark.parametrize(
    ("asked", "wrong", "right"),
    [
        ("30 H7", (0, 25), (0, 21)),  # a public page takes the next range
        ("30 g6", (-25, -9), (-20, -7)),
        ("5 G7", (2, 14), (4, 16)),  # a public set of data has G = 2 there
        ("5 H9", (0, 20), (0, 30)),  # a public table has IT9 = 20 there
        ("25 h6", (-30, 0), (-13, 0)),  # a page on DIN 6325
        ("10 H7", (0, 14), (0, 15)),  # a page that works out the formula without rounding
    ],
)
def test_errors_of_public_copies_are_not_repeated(asked: str, wrong: tuple, right: tuple):
    """Numbers that stand on public pages and are wrong."""
    assert wrong != deviations(asked)
    assert right == deviations(asked)


def test_formula_of_the_tolerance():
    """Above 3 mm, Table 1 lies within 9 % or 1.2 µm of n x i, i = 0.45 D^(1/3) + 0.001 D (ISO 286-1:1988, A.3)."""
    steps = (7, 10, 16, 25, 40, 64, 100, 160, 250, 400)
    for grade, step in zip(range(5, 15), steps, strict=True):
        for place in range(1, 13):
            middle = math.sqrt(ENDS[place - 1] * ENDS[place])
            by_formula = step * (0.45 * middle ** (1 / 3) + 0.001 * middle)
            table = TOLERANCES[grade][place]
            assert abs(by_formula - table) <= max(1.2, 0.09 * table), (grade, ENDS[place])


def test_formulas_of_the_deviations():
    """Above 3 mm, deviations lie within 1 µm of the formulas in Machine Drawing, Table 15.4; m and p by their rules."""
    formulas = {"f": (5.5, 0.41), "g": (2.5, 0.34), "n": (5.0, 0.34), "k": (0.6, 1 / 3)}
    for place in range(1, 13):
        middle = math.sqrt(ENDS[place - 1] * ENDS[place])
        for letter, (factor, power) in formulas.items():
            assert factor * middle**power == pytest.approx(DEVIATIONS[letter][place], abs=1.0), (letter, ENDS[place])
        assert TOLERANCES[7][place] - TOLERANCES[6][place] == DEVIATIONS["m"][place]
        assert 0 <= DEVIATIONS["p"][place] - TOLERANCES[7][place] <= 5


def test_a_size_belongs_to_the_range_that_it_ends():
    """30 mm lies in 18 to 30, and what is a little larger in 30 to 50."""
    assert (21, 25) == (tolerance(30.0, 7), tolerance(30.001, 7))
    assert [TOLERANCES[7][place] for place in range(13)] == [tolerance(float(end), 7) for end in ENDS]


@pytest.mark.parametrize("grade", GRADES)
def test_places_of_zones(grade: int):
    """H begins at the nominal size, h ends there, JS and js lie about it; F, G, H mirror f, g, h; all have their IT."""
    for size in SIZES:
        assert 0 == zone(size, "H", grade).lower == zone(size, "h", grade).upper
        assert zone(size, "JS", grade).upper == -zone(size, "JS", grade).lower
        for letter in ("f", "g", "h", "js"):
            hole, shaft = zone(size, letter.upper(), grade), zone(size, letter, grade)
            assert (hole.lower, hole.upper) == (-shaft.upper, -shaft.lower)
        for letter in LETTERS:
            for name in (letter, letter.upper()):
                if name == "K" and grade > 8 and size > 3.0:
                    continue
                found = zone(size, name, grade)
                assert (
                    tolerance(size, grade)
                    == found.upper - found.lower
                    == pytest.approx(1e3 * (found.most - found.least))
                )


@pytest.mark.parametrize("letter", LETTERS)
def test_coarser_grades_are_wider(letter: str):
    """A zone of a coarser grade is wider, and so it is for a larger size."""
    for size in SIZES:
        widths = [tolerance(size, grade) for grade in GRADES]
        assert sorted(set(widths)) == widths
    for grade in GRADES:
        assert sorted(TOLERANCES[grade]) == list(TOLERANCES[grade])
    if letter != "js":
        assert sorted(DEVIATIONS[letter]) == list(DEVIATIONS[letter])


@pytest.mark.parametrize("size", SIZES)
def test_shafts_lie_in_the_order_of_their_letters(size: float):
    """From f to p each zone of a grade lies no lower than the one before; so the fits with H go from loose to tight."""
    for grade in (5, 6, 7):
        lower = [zone(size, letter, grade).lower for letter in LETTERS]
        assert sorted(lower) == lower


@pytest.mark.parametrize(("letter", "grades"), [("k", (6, 7, 8)), ("m", (6, 7, 8)), ("n", (6, 7, 8)), ("p", (6, 7))])
def test_either_basis_gives_the_same_fit(letter: str, grades: tuple[int, ...]):
    """What the difference of two grades is for: K7/h6 has the clearances of H7/k6, above 3 mm, but for M6 of 300 mm."""
    for size in ABOVE_3:
        for grade in grades:
            of_hole = Fit(zone(size, "H", grade), zone(size, letter, grade - 1)).clearance
            of_shaft = Fit(zone(size, letter.upper(), grade), zone(size, "h", grade - 1)).clearance
            off = 2 if letter == "m" and grade == 6 and 250 < size <= 315 else 0
            assert of_hole == (of_shaft[0] - off, of_shaft[1] - off), (size, grade)


def test_clearances_are_those_of_the_limits():
    """The clearances of a fit are what the limits of size of its two parts leave, whatever the fit."""
    for size in SIZES:
        for hole in LETTERS:
            for shaft in LETTERS:
                one = Fit(zone(size, hole.upper(), 7), zone(size, shaft, 6))
                least, most = one.clearance
                assert 1e3 * (one.hole.least - one.shaft.most) == pytest.approx(least, abs=1e-6)
                assert 1e3 * (one.hole.most - one.shaft.least) == pytest.approx(most, abs=1e-6)
                kinds = {(True, True): "clearance", (False, True): "transition", (False, False): "interference"}
                assert kinds[least >= 0, most > 0] == one.kind


def test_chance_of_clearance():
    """Of 6 H7/m6 one pair in three has play, worked out by hand: (8 x 8 / 2) / (12 x 8)."""
    assert 1 / 3 == pytest.approx(fit("6 H7/m6").chance_of_clearance, abs=1e-12)
    assert (1.0, 0.0, 0.5) == tuple(fit(t).chance_of_clearance for t in ("25 H7/g6", "50 H7/p6", "25 JS7/js6"))


@pytest.mark.parametrize("asked", ["6 F7/m6", "6 G7/m6", "50 H7/k6", "30 H6/n8", "5 JS9/m5"])
def test_chance_of_clearance_by_drawing(asked: str):
    """The chance is the share of pairs drawn at random, to 4 standard errors."""
    one, rng, n = fit(asked), np.random.default_rng(7), 200_000
    hole = rng.uniform(one.hole.least, one.hole.most, n)
    shaft = rng.uniform(one.shaft.least, one.shaft.most, n)
    share = float(np.mean(hole > shaft))
    assert share == pytest.approx(one.chance_of_clearance, abs=4.0 * math.sqrt(share * (1.0 - share) / n))


@pytest.mark.parametrize(
    ("size", "letter", "grade", "message"),
    [
        (0.0, "H", 7, "a nominal size above 0, at most 500 mm; came 0 mm"),
        (500.1, "H", 7, "came 500.1 mm"),
        (math.nan, "H", 7, "came nan mm"),
        (25.0, "H", 4, "a grade from 5 to 14; came 4"),
        (25.0, "H", 15, "came 15"),
        (25.0, "E", 8, 'F G H JS K M N P for a hole, f g h js k m n p for a shaft; came "E"'),
        (25.0, "Js", 8, 'came "Js"'),
        (6.0, "K", 9, 'a grade up to 8 for a hole K above 3 mm; came "K9" for 6 mm'),
        (1.0, "N", 9, 'a grade up to 8 for a hole N up to 1 mm; came "N9" for 1 mm'),
        (1.0, "H", 14, "a grade below 14 for sizes up to 1 mm"),
    ],
)
def test_what_the_tables_do_not_have(size: float, letter: str, grade: int, message: str):
    """Sizes, letters and grades beyond the tables are refused in words."""
    with pytest.raises(TableError, match=message):
        zone(size, letter, grade)


def test_holes_n_and_k_beyond_grade_8():
    """N above grade 8 ends at the nominal size, up to 3 mm at -4; K above 8 there at 0; k above 7 begins at 0."""
    assert (-30, 0) == deviations("5 N9")
    assert (-29, -4) == deviations("2 N9")
    assert (-25, 0) == deviations("2 K9")
    assert (0, 18) == deviations("5 k8")
    assert (1, 13) == deviations("5 k7")
