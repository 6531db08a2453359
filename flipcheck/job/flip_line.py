"""The line about which a blank is turned over: where it runs, and how far from it a place lies."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flipcheck.job.records import Blank, Flip

    Place = tuple[float, float]

#: What lies nearer to it than this (mm) lies on it.
ON_THE_LINE = 0.01

_ROOT_HALF = math.sqrt(0.5)


@dataclass(frozen=True)
class FlipLine:
    """A flip line: on the blank with face A up, and at the same place of the machine in both setups.

    Attributes
    ----------
    start, end: Its ends on the blank, mm.
    across, along: Unit vectors square to it and along it.
    """

    start: Place
    end: Place
    across: Place
    along: Place

    def off(self, place: Place) -> float:
        """How far a place lies from it, mm: positive towards `across`."""
        return (place[0] - self.start[0]) * self.across[0] + (place[1] - self.start[1]) * self.across[1]


def flip_line(flip: Flip, blank: Blank) -> FlipLine:
    """The flip line of a turn: through the middle of the blank, or x = y for a diagonal one."""
    length, width = blank.length, blank.width
    if flip == "left-right":
        return FlipLine((0.5 * length, 0.0), (0.5 * length, width), (1.0, 0.0), (0.0, 1.0))
    if flip == "front-back":
        return FlipLine((0.0, 0.5 * width), (length, 0.5 * width), (0.0, 1.0), (1.0, 0.0))
    shorter = min(length, width)
    return FlipLine((0.0, 0.0), (shorter, shorter), (_ROOT_HALF, -_ROOT_HALF), (_ROOT_HALF, _ROOT_HALF))
