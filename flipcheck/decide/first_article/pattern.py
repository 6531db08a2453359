"""The straight-line pattern of a mismatch: shift, turn, shear and scale, lengths in mm and angles in rad.

About a point c, with r = b - c: d = shift + turn (-r_y, r_x) + shear (r_y, r_x) + (scale_x r_x, scale_y r_y).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    from flipcheck.flip.frames import Point

TermName: TypeAlias = Literal["shift_x", "shift_y", "turn", "shear", "scale_x", "scale_y"]
TERMS: tuple[TermName, ...] = ("shift_x", "shift_y", "turn", "shear", "scale_x", "scale_y")


@dataclass(frozen=True)
class Term:
    """One unknown of the pattern.

    Attributes
    ----------
    name: Which.
    value: Least squares, mm or rad.
    low, high: Its 95 % interval.
    scatter: Standard deviation from part to part that the readings show; None for fewer than two parts.
    expected_scatter: The one that the job expects of a single part, with what was said of the readings.
    """

    name: TermName
    value: float
    low: float
    high: float
    scatter: float | None
    expected_scatter: float

    @property
    def real(self) -> bool:
        """Whether the interval leaves zero out."""
        return self.low > 0.0 or self.high < 0.0


@dataclass(frozen=True)
class Pattern:
    """What least squares made of the readings.

    Attributes
    ----------
    about: The point that shift, turn, shear and scale are told about, on the blank, mm.
    terms: The unknowns that the readings can tell apart.
    confused: Those that they cannot, each with the terms that look the same at these places.
    by_part: Whether each part was fitted by itself; else all readings together.
    interval_from: Whether the intervals come from the repeats (Student's t) or from the scatter the job expects.
    misfit: Root mean square of what is left after the fit, mm; None where nothing can be left.
    scattered, calm: The terms that scatter significantly more, or less, from part to part than the job expects.
    noise: Standard deviation that the readings show beyond what the job and their u expect, by what is left after the
        fit, mm; 0 unless significant. It is taken for uncertainty of the readings.
    unexplained: How likely a pattern as far from what the job expects is, if the job is right (chi-square).
    """

    about: Point
    terms: tuple[Term, ...]
    confused: dict[TermName, tuple[TermName, ...]]
    by_part: bool
    interval_from: Literal["repeats", "job"]
    misfit: float | None
    scattered: tuple[TermName, ...]
    calm: tuple[TermName, ...]
    noise: float
    unexplained: float

    @property
    def real(self) -> bool:
        """Whether any term is."""
        return any(term.real for term in self.terms)

    def term(self, name: TermName) -> Term | None:
        """The term of that name, if it was fitted."""
        return next((term for term in self.terms if term.name == name), None)
