"""A source of error: a name, a spread, and a life that says how often it is drawn anew."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from flipcheck.stack.spreads import Circle, Spread

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class Life(StrEnum):
    """How long one draw of an error lasts."""

    MACHINE = "machine"  # until someone re-adjusts it
    BLANK = "blank"  # as long as this piece of stock
    SETUP = "setup"  # one clamping
    CUT = "cut"  # one feature in one clamping


@dataclass(frozen=True)
class Source:
    """One independent draw, or one per axis, of a named error.

    Attributes
    ----------
    name: What the user calls the error; several sources may share it.
    part: Which of them this is, such as ``bed pin at (90, 8)``; name and part together key the random stream.
    spread: Its distribution; a `Circle` fills two rows with one draw.
    life: How long a draw lasts.
    rows: How many values it gives per trial (1, or 2 for x and y).
    """

    name: str
    part: str
    spread: Spread | Circle
    life: Life
    rows: int = 1

    @property
    def key(self) -> str:
        """What the random stream of this source is keyed by."""
        return f"{self.name}/{self.part}"

    def fill(self, rng: np.random.Generator, out: NDArray[np.float64]) -> None:
        """Fill `out`, shape (rows, N), with draws."""
        if isinstance(self.spread, Circle):
            self.spread.fill_xy(rng, out)
        else:
            self.spread.fill(rng, out)
