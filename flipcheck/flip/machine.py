"""The machine: how its axes stray from square and from scale, and the scatter of one stroke of the cutter."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.entries import OF_A_LOCATOR
from flipcheck.flip.frames import at
from flipcheck.stack.sources import Life
from flipcheck.stack.spreads import Exactly

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.flip.frames import Face, Point
    from flipcheck.flip.ledger import Ledger
    from flipcheck.job.records import Errors

    Array = NDArray[np.float64]


class Machine:
    """The errors of the machine, asked of a ledger."""

    def __init__(self, ledger: Ledger, errors: Errors) -> None:
        self._ledger, self._errors = ledger, errors

    def geometry(self, face: Face) -> Array:
        """The field E of machine geometry, (sx m_x - g m_y, sy m_y), shape (2, 3, X).

        The same draws in both setups; `face` says in which of them they act here.
        """
        errors, take = self._errors, self._ledger.take
        square = take("machine_squareness", "", errors.machine_squareness, Life.MACHINE, face)[0]
        along_x = take("machine_scale_x", "", errors.machine_scale_x, Life.MACHINE, face)[0]
        along_y = take("machine_scale_y", "", errors.machine_scale_y, Life.MACHINE, face)[0]
        nothing = np.zeros_like(square)
        return np.array([[nothing, along_x, -square], [nothing, nothing, along_y]])

    def cut(self, what: str, face: Face, *, setup: Face | None = None) -> Array:
        """The scatter of one cut: positioning and lost motion, machine axes, shape (2, X).

        `setup` is where the cut is made, when that is not the setup in which its error acts.
        """
        part = f"{what}, setup {setup or face}"
        return self._scatter("", part, Life.CUT, face)

    def locator_stroke(self, place: str, m: Point, face: Face) -> Array:
        """Where the machine really made a locator of the bed: geometry and scatter of its stroke, shape (2, X).

        The scatter lasts as long as the locator stands at that place.
        """
        return at(self.geometry(face), m) + self._scatter(OF_A_LOCATOR, place, Life.MACHINE, face)

    def bit_growth(self, face: Face) -> Array:
        """How much wider than nominal a hole becomes that the bit makes: its own error and its runout, shape (X,).

        A turning bit cuts wider by the whole indicator reading, and stays where it is.
        """
        errors, take = self._errors, self._ledger.take
        wider = Exactly(errors.bit_runout) if errors.bit_runout else None
        runout = take("bit_runout", "growth", wider, Life.MACHINE, face)[0]
        return runout + take("bit_diameter", "", errors.bit_diameter, Life.MACHINE, face)[0]

    def _scatter(self, prefix: str, part: str, life: Life, face: Face) -> Array:
        errors, take = self._errors, self._ledger.take
        positioning = take(f"{prefix}positioning", part, errors.positioning, life, face, rows=2)
        return positioning + take(f"{prefix}lost_motion", part, errors.lost_motion, life, face, rows=2)
