"""Limits and fits of ISO 286-1 for sizes up to 500 mm, grades IT5 to IT14, holes F to P and shafts f to p.

Every number stands in the tables of ISO 286-1. The standard itself was not at hand: with which reprints of it each
table was compared is told in docs/reference/tables.md. Deviations and tolerances are in micrometres, as in the
standard; sizes are in mm.
"""

from __future__ import annotations

import bisect
from dataclasses import dataclass

from flipcheck.errors import TableError

SOURCE = "ISO 286-1"

#: Upper ends of the ranges of nominal size, mm (Table 1). A size belongs to the range whose upper end it equals.
ENDS = (3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500)

#: Standard tolerances by grade, µm, one for each range (Table 1). IT4 serves only the rule for K to P.
TOLERANCES: dict[int, tuple[int, ...]] = {
    4: (3, 4, 4, 5, 6, 7, 8, 10, 12, 14, 16, 18, 20),
    5: (4, 5, 6, 8, 9, 11, 13, 15, 18, 20, 23, 25, 27),
    6: (6, 8, 9, 11, 13, 16, 19, 22, 25, 29, 32, 36, 40),
    7: (10, 12, 15, 18, 21, 25, 30, 35, 40, 46, 52, 57, 63),
    8: (14, 18, 22, 27, 33, 39, 46, 54, 63, 72, 81, 89, 97),
    9: (25, 30, 36, 43, 52, 62, 74, 87, 100, 115, 130, 140, 155),
    10: (40, 48, 58, 70, 84, 100, 120, 140, 160, 185, 210, 230, 250),
    11: (60, 75, 90, 110, 130, 160, 190, 220, 250, 290, 320, 360, 400),
    12: (100, 120, 150, 180, 210, 250, 300, 350, 400, 460, 520, 570, 630),
    13: (140, 180, 220, 270, 330, 390, 460, 540, 630, 720, 810, 890, 970),
    14: (250, 300, 360, 430, 520, 620, 740, 870, 1000, 1150, 1300, 1400, 1550),
}
GRADES = range(5, 15)

#: How far a shaft's zone lies from the nominal size, µm (Tables 4 and 5): below it for f, g and h (upper deviation),
#: above it for k (IT4 to IT7 only), m, n and p (lower deviation).
DEVIATIONS: dict[str, tuple[int, ...]] = {
    "f": (6, 10, 13, 16, 20, 25, 30, 36, 43, 50, 56, 62, 68),
    "g": (2, 4, 5, 6, 7, 9, 10, 12, 14, 15, 17, 18, 20),
    "h": (0,) * 13,
    "k": (0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 4, 5),
    "m": (2, 4, 6, 7, 8, 9, 11, 13, 15, 17, 20, 21, 23),
    "n": (4, 8, 10, 12, 15, 17, 20, 23, 27, 31, 34, 37, 40),
    "p": (6, 12, 15, 18, 22, 26, 32, 37, 43, 50, 56, 62, 68),
}
LETTERS = ("f", "g", "h", "js", "k", "m", "n", "p")

#: The coarsest grade of a hole whose upper deviation takes the difference of two grades (Tables 2 and 3).
_COARSEST_WITH_DELTA = {"K": 8, "M": 8, "N": 8, "P": 7}


@dataclass(frozen=True)
class Zone:
    """Where the real size of a hole or a shaft may lie.

    Attributes
    ----------
    nominal: Nominal size, mm.
    letter, grade: Its class, such as "H" and 7; capitals are holes.
    lower, upper: Lower and upper deviation from the nominal size, µm.
    """

    nominal: float
    letter: str
    grade: int
    lower: float
    upper: float

    @property
    def name(self) -> str:
        """Its class as one writes it, such as "H7"."""
        return f"{self.letter}{self.grade}"

    @property
    def hole(self) -> bool:
        """Whether it is that of a hole."""
        return self.letter.isupper()

    @property
    def least(self) -> float:
        """Lower limit of size, mm."""
        return self.nominal + self.lower / 1000.0

    @property
    def most(self) -> float:
        """Upper limit of size, mm."""
        return self.nominal + self.upper / 1000.0


@dataclass(frozen=True)
class Fit:
    """A hole and the shaft that goes into it, of one nominal size."""

    hole: Zone
    shaft: Zone

    @property
    def clearance(self) -> tuple[float, float]:
        """Least and largest clearance (hole less shaft), µm; negative: an interference."""
        return self.hole.lower - self.shaft.upper, self.hole.upper - self.shaft.lower

    @property
    def kind(self) -> str:
        """Clearance, transition or interference (ISO 286-1, 3.3); a clearance that ends at 0 is still one."""
        least, most = self.clearance
        return "clearance" if least >= 0.0 else "interference" if most <= 0.0 else "transition"

    @property
    def chance_of_clearance(self) -> float:
        """Share of pairs in which the shaft is thinner than the hole, both sizes uniform over their zones."""
        least, most = self.clearance
        hole, shaft = self.hole.upper - self.hole.lower, self.shaft.upper - self.shaft.lower
        return (_half(most) - _half(most - hole) - _half(most - shaft) + _half(least)) / (hole * shaft)


def _half(side: float) -> float:
    """Area of the triangle that a clearance cuts off the square of both sizes."""
    return 0.5 * max(0.0, side) ** 2


def tolerance(nominal: float, grade: int) -> int:
    """Width of a zone, µm, of a nominal size in mm.

    Raises
    ------
    TableError: for a size or a grade outside the table.
    """
    place = _range(nominal)
    if grade not in GRADES:
        raise TableError(f"a grade from {GRADES[0]} to {GRADES[-1]}", str(grade))
    if grade == 14 and nominal <= 1.0:
        raise TableError("a grade below 14 for sizes up to 1 mm", f"{nominal:g} mm in grade 14")
    return TOLERANCES[grade][place]


def zone(nominal: float, letter: str, grade: int) -> Zone:
    """The zone of a size in mm, such as 25, "H", 7.

    Raises
    ------
    TableError: for a size, a letter or a grade that is not in the tables.
    """
    if letter.lower() not in LETTERS or letter not in (letter.lower(), letter.upper()):
        known = f"{' '.join(LETTERS).upper()} for a hole, {' '.join(LETTERS)} for a shaft"
        raise TableError(f"a letter of the table: {known}", f'"{letter}"')
    width = tolerance(nominal, grade)
    if letter.lower() == "js":
        return Zone(nominal, letter, grade, -width / 2.0, width / 2.0)
    if letter.isupper():
        if letter in _COARSEST_WITH_DELTA:
            upper = _upper_deviation(nominal, letter, grade)
            return Zone(nominal, letter, grade, upper - width, upper)
        lower = DEVIATIONS[letter.lower()][_range(nominal)]
        return Zone(nominal, letter, grade, lower, lower + width)
    size = DEVIATIONS[letter][_range(nominal)]
    if letter in "fgh":
        return Zone(nominal, letter, grade, -size - width, -size)
    if letter == "k" and grade > 7:
        size = 0
    return Zone(nominal, letter, grade, size, size + width)


def _range(nominal: float) -> int:
    if not 0.0 < nominal <= ENDS[-1]:
        raise TableError(f"a nominal size above 0, at most {ENDS[-1]} mm", f"{nominal:g} mm")
    return bisect.bisect_left(ENDS, nominal)


def _upper_deviation(nominal: float, letter: str, grade: int) -> int:
    """Upper deviation of a hole K, M, N or P, µm (Tables 2 and 3, with their footnotes)."""
    place = _range(nominal)
    below = -DEVIATIONS[letter.lower()][place]
    if grade <= _COARSEST_WITH_DELTA[letter]:
        if letter == "M" and grade == 6 and ENDS[place] == 315:
            return -9  # the special case of the standard: the rule would give -11
        return below + (TOLERANCES[grade][place] - TOLERANCES[grade - 1][place] if place else 0)
    if letter == "K" and place:
        raise TableError("a grade up to 8 for a hole K above 3 mm", f'"K{grade}" for {nominal:g} mm')
    if letter == "N":
        if nominal <= 1.0:
            raise TableError("a grade up to 8 for a hole N up to 1 mm", f'"N{grade}" for {nominal:g} mm')
        return 0 if place else below
    return below
