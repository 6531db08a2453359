"""What every way of registering gives: a pose of the blank and a zero of the program, in one setup."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from flipcheck.flip.frames import rigid

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from flipcheck.flip.frames import Placing
    from flipcheck.flip.ledger import Ledger
    from flipcheck.flip.locators import Bench

    Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Registration:
    """The outcome of registering the blank in one setup.

    Attributes
    ----------
    shift, turn: How far the blank lies from its nominal place, mm (2, X) and rad (X,).
    zero, program_turn: How far the program's zero is off, and how far the program is turned, mm (2, X) and rad (X,).
    """

    shift: Array
    turn: Array
    zero: Array
    program_turn: Array

    def field(self, geometry: Array) -> Array:
        """Cutter relative to blank, z + phi (k x m) + E(m) - tau - theta (k x m), machine axes, shape (2, 3, X)."""
        return rigid(self.zero, self.program_turn) + geometry - rigid(self.shift, self.turn)


class Registrar(Protocol):
    """One way of registering. The model asks for setup A first, then for setup B, and never which way it has."""

    def register(self, placing: Placing) -> Registration:
        """Register the blank for the face that `placing` cuts."""


def free_of_errors(ledger: Ledger) -> Registration:
    """Blank and program where they should be: what is cut in one clamping does not know where the blank lay."""
    return Registration(ledger.zeros(2), ledger.zeros(), ledger.zeros(2), ledger.zeros())


def seated(bench: Bench, placing: Placing, shift: Array, turn: Array) -> Registration:
    """A blank seated on locators of the bed: clamping then shifts it, and homing again shifts the zero of setup B."""
    clamped = shift + bench.setup_error("clamping_shift", "", placing.face, rows=2)
    nothing = bench.ledger.zeros()
    zero = bench.ledger.zeros(2)
    if placing.face == "B":
        zero = bench.setup_error("rehoming", "", "B", rows=2)
    return Registration(clamped, turn, zero, nothing)
