"""What was measured on the first parts: the mismatch of face B against face A, reading by reading.

Lengths are in mm. A mismatch is B minus A in the axes of the blank as seen with face A up: positive x where what face B
cut lies too far to the right, positive y where it lies too far to the back.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterator

Point: TypeAlias = tuple[float, float]


@dataclass(frozen=True)
class Offset:
    """The mismatch at one place of one part.

    Attributes
    ----------
    part: Which part; readings of one part share its setups.
    at: Where on the blank, mm.
    dx, dy: The mismatch, mm; None where that direction was not measured.
    u: Standard uncertainty of each of the two, mm; None where it is not known.
    feature: What was measured; readings of one feature of one part share its two cuts. Its place unless named.
    """

    part: str
    at: Point
    dx: float | None
    dy: float | None = None
    u: float | None = None
    feature: str = ""

    @property
    def cut(self) -> tuple[str, str]:
        """What it shares with other readings of the same two cuts."""
        return self.part, self.feature or f"{self.at[0]:.6g}, {self.at[1]:.6g}"


@dataclass(frozen=True)
class Growth:
    """By how much more face B cut than face A on each side of a coupon, mm: a matter of the bit, not of the turn."""

    part: str
    along_x: float | None
    along_y: float | None


@dataclass(frozen=True)
class Distance:
    """How far apart the two halves of a hole are, mm, without the direction: hole less the largest pin that passes."""

    part: str
    at: Point
    size: float
    u: float | None = None
    feature: str = ""


@dataclass(frozen=True)
class Diagonals:
    """The two diagonals of a rectangle that was cut in one setup, seen from above as it lay on the machine, mm.

    Attributes
    ----------
    part: Which part.
    along_x, along_y: The sides of the rectangle.
    rising: The diagonal from its front-left to its back-right corner.
    falling: The one from its back-left to its front-right corner.
    u: Standard uncertainty of each diagonal; None where it is not known.
    """

    part: str
    along_x: float
    along_y: float
    rising: float
    falling: float
    u: float | None = None

    @property
    def squareness(self) -> float:
        """By how much Y leans towards -X, rad: the machine's out-of-square, as in the job.

        A point of the rectangle lands at (x - g y, y), so falling² - rising² = 4 g x y exactly. Equal errors of scale
        in both diagonals drop out (docs/explanation/first-article.md).
        """
        difference = (self.falling - self.rising) * (self.falling + self.rising)
        return difference / (4.0 * self.along_x * self.along_y)

    def squareness_u(self, own: float = 0.0) -> float:
        """Standard uncertainty of `squareness`, rad; `own` is that of a diagonal by the scatter of its cuts, mm."""
        each = (self.u or 0.0) ** 2 + own**2
        slope = (self.rising**2 + self.falling**2) ** 0.5 / (2.0 * self.along_x * self.along_y)
        return slope * each**0.5


@dataclass(frozen=True)
class Readings:
    """Everything measured, in the order of the file."""

    offsets: tuple[Offset, ...] = ()
    distances: tuple[Distance, ...] = ()
    diagonals: tuple[Diagonals, ...] = ()
    growths: tuple[Growth, ...] = ()

    def __iter__(self) -> Iterator[Offset | Distance | Diagonals]:
        yield from self.offsets
        yield from self.distances
        yield from self.diagonals

    @property
    def parts(self) -> tuple[str, ...]:
        """The parts of which there is a mismatch with its direction, each once."""
        return tuple(dict.fromkeys(offset.part for offset in self.offsets))
