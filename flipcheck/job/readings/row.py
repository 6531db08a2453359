"""One row of a file of readings, in one of its four forms."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from flipcheck.errors import Problem
from flipcheck.job import quantities
from flipcheck.job.checks.part import Part
from flipcheck.job.fields import LONGEST_NAME
from flipcheck.job.findings import nearest
from flipcheck.job.quantities import RefusedError, printable, shown
from flipcheck.job.readings.records import Diagonals, Distance, Growth, Offset
from flipcheck.job.records import HolePair, OutlinePair, WebPair

if TYPE_CHECKING:
    from collections.abc import Mapping

    from flipcheck.job.readings.records import Point
    from flipcheck.job.records import Job, Pair

#: What a row may hold, one form a row: a mismatch, the steps of a coupon, a pin that passes, two diagonals.
FORMS = {
    "mismatch": ("dx", "dy"),
    "steps": ("left", "right", "front", "back"),
    "pin": ("pin", "hole"),
    "diagonals": ("along_x", "along_y", "rising", "falling"),
}
_WHERE = ("part", "pair", "x", "y", "u", "seen", "note")
COLUMNS = (*_WHERE, *(column for form in FORMS.values() for column in form))
#: Rows that differ more than this from Pythagoras are a slip of the pen, no rectangle.
_RECTANGLE = 0.02


class Row:
    """One line of readings."""

    def __init__(self, job: Job, line: int, cells: Mapping[str, str]) -> None:
        self.job, self.line, self.cells = job, line, cells
        self.blank = Part(job.blank, job.flip, job.units)
        self.problems: dict[tuple[str, str], Problem] = {}

    @property
    def bad(self) -> bool:
        """Whether anything must be mended."""
        return bool(self.problems)

    def find(self, code: str, column: str, needed: str, came: str = "", hint: str = "") -> None:
        """Note a problem of a cell, or of the row where `column` is empty; each once."""
        where = f"column {column}" if column else "the row"
        self.problems.setdefault((code, column), Problem(code, where, needed, came, hint, self.line))

    def form(self) -> str:
        """What kind of reading stands here; empty where that cannot be said."""
        forms = [name for name, columns in FORMS.items() if any(column in self.cells for column in columns)]
        if len(forms) == 1:
            return forms[0]
        filled = [column for form in FORMS.values() for column in form if column in self.cells]
        needed = "one kind of reading in each row: " + "; or ".join(", ".join(form) for form in FORMS.values())
        self.find("reading-form", "", needed, ", ".join(filled) or "none")
        return ""

    def mismatch(self) -> list[Offset]:
        """A mismatch, in one direction or in both."""
        dx, dy = self.length("dx"), self.length("dy")
        at, common = self.place(), self.common()
        return [self.offset(at, dx, dy, common)] if at and not self.bad else []

    def steps(self, offsets: list[Offset], growths: list[Growth]) -> None:
        """Steps of a coupon: half the difference of opposite ones is a mismatch, half their sum a growth."""
        (dx, over_x), (dy, over_y) = self.opposite("left", "right"), self.opposite("front", "back")
        at, (part, u) = self.place(), self.common()
        if at is None or self.bad:
            return
        offsets.append(self.offset(at, dx, dy, (part, None if u is None else u / math.sqrt(2.0))))
        if self.seen() == "B" and self.job.flip == "diagonal":
            over_x, over_y = over_y, over_x
        growths.append(Growth(part, over_x, over_y))

    def opposite(self, low: str, high: str) -> tuple[float | None, float | None]:
        """Half the difference and half the sum of two opposite steps; nothing where there are none."""
        self.together(low, high)
        self.together(high, low)
        first, second = self.length(low), self.length(high)
        if first is None or second is None:
            return None, None
        return 0.5 * (second - first), 0.5 * (second + first)

    def pin(self) -> list[Distance]:
        """The largest plain pin that passes: (hole A + hole B) / 2 less the pin is how far the halves are apart."""
        pair = self.pair()
        hole = None
        if "hole" not in self.cells and isinstance(pair, HolePair) and pair.hole_a and pair.hole_b:
            hole = 0.5 * (pair.hole_a + pair.hole_b)
        else:
            self.together("pin", "hole", "or a pair that says hole_a in the job")
            hole = self.length("hole", positive=True)
        if "pin" not in self.cells:
            self.together("hole", "pin")
        pin = self.length("pin", positive=True)
        at, (part, u) = self.place(), self.common()
        if hole is not None and pin is not None and pin > hole:
            self.find("pin-too-big", "pin", f"a pin of at most the hole, {self.blank.text(hole)}", self.blank.text(pin))
        if not at or self.bad or hole is None or pin is None:
            return []
        return [Distance(part, at, hole - pin, u, self.cells.get("pair", ""))]

    def diagonals(self) -> list[Diagonals]:
        """The diagonals of a rectangle, with its sides."""
        for column in FORMS["diagonals"]:
            if column not in self.cells:
                self.find("reading-incomplete", column, "both sides and both diagonals of the rectangle")
        sizes = [self.length(column, positive=True) for column in FORMS["diagonals"]]
        part, u = self.common()
        if self.bad or any(size is None for size in sizes):
            return []
        x, y, rising, falling = (float(size or 0.0) for size in sizes)
        longest = math.hypot(x, y)
        if max(abs(rising - longest), abs(falling - longest)) > _RECTANGLE * longest:
            needed = f"diagonals within 2 % of {self.blank.text(longest)}, those of a rectangle with these sides"
            came = f"{self.blank.text(rising)} and {self.blank.text(falling)}"
            self.find("no-rectangle", "rising and falling", needed, came)
            return []
        return [Diagonals(part, x, y, rising, falling, u)]

    def offset(self, at: Point, dx: float | None, dy: float | None, common: tuple[str, float | None]) -> Offset:
        """A mismatch in the axes of the blank, whichever face was up when it was read."""
        if self.seen() == "B":
            turned = {"left-right": (_minus(dx), dy), "front-back": (dx, _minus(dy)), "diagonal": (dy, dx)}
            dx, dy = turned[self.job.flip]
        part, u = common
        return Offset(part, at, dx, dy, u, self.cells.get("pair", ""))

    def common(self) -> tuple[str, float | None]:
        """The part and the uncertainty."""
        part = self.cells.get("part", "")
        if not part or len(part) > LONGEST_NAME or not part.isprintable():
            needed = f"a name or number for the part, at most {LONGEST_NAME} printable characters"
            self.find("bad-part", "part", needed, shown(part) if part else "none")
        self.seen()
        return part, self.length("u", positive=True)

    def seen(self) -> str:
        """The face that was up when it was read."""
        face = self.cells.get("seen", "A").upper()
        if face not in ("A", "B"):
            self.find("seen-face", "seen", "A or B, the face that was up", shown(self.cells["seen"]))
        return face

    def pair(self) -> Pair | None:
        """The pair that is named, if one is."""
        name = self.cells.get("pair")
        if name is None:
            return None
        pairs = {pair.name: pair for pair in self.job.pairs}
        pair = pairs.get(name)
        if pair is None:
            known = ", ".join(f'"{printable(known)}"' for known in pairs)
            close = nearest(name, pairs)
            self.find("unknown-pair", "pair", f"the name of a pair of the job ({known})", shown(name), close)
        return pair

    def place(self) -> Point | None:
        """Where the reading was taken, on the blank with face A up."""
        pair = self.pair()
        if "x" in self.cells or "y" in self.cells:
            self.together("x", "y")
            self.together("y", "x")
            x, y = self.length("x"), self.length("y")
            if x is None or y is None:
                return None
            if not self.blank.on_blank((x, y)):
                length, width = self.blank.text(self.job.blank.length), self.blank.text(self.job.blank.width)
                needed = f"a point on the blank, up to x = {length}, y = {width}"
                self.find("reading-off-blank", "x and y", needed, f"x = {self.blank.text(x)}, y = {self.blank.text(y)}")
                return None
            return x, y
        if isinstance(pair, OutlinePair | WebPair):
            needed = f"x and y beside the pair, as {'an outline' if isinstance(pair, OutlinePair) else 'a web'} is"
            self.find("reading-place", "x and y", f"{needed} not one place", "none")
        elif pair is not None:
            return pair.at
        elif "pair" not in self.cells:
            self.find("reading-place", "pair", "the name of a pair, or x and y on the blank", "none")
        return None

    def together(self, first: str, second: str, besides: str = "") -> None:
        """What stands only with its fellow."""
        if first in self.cells and second not in self.cells:
            needed = f"{second}, which belongs to {first}"
            self.find("reading-incomplete", second, f"{needed}{', ' if besides else ''}{besides}", "none")

    def length(self, column: str, *, positive: bool = False) -> float | None:
        """The length in a column, mm; None where the cell is empty or wrong."""
        text = self.cells.get(column)
        if text is None:
            return None
        try:
            return size_of(text, self.job.units, positive=positive)
        except RefusedError as error:
            self.find(error.code, column, error.needed, error.came or shown(text), error.hint)
            return None


def size_of(text: str, units: str, *, positive: bool) -> float:
    """A length as a person writes it, mm."""
    text = text.replace("\u2212", "-")  # the minus sign of spreadsheets and word processors
    try:
        value: float | str = float(text)
    except ValueError:
        value = text
    size = quantities.length(value, units)
    if positive and size <= 0.0:
        raise RefusedError("out-of-range", "a value above 0", shown(text))
    return size


def _minus(value: float | None) -> float | None:
    return None if value is None else -value
