"""Registering on two bored holes: each is touched off on four sides; the line of their middles gives the angle."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.frames import at, lever
from flipcheck.flip.probe import stopped_bit
from flipcheck.flip.registration import Registration
from flipcheck.stack.sources import Life

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.flip.frames import Placing, Point
    from flipcheck.flip.locators import Bench
    from flipcheck.job.records import BoresMethod

    Array = NDArray[np.float64]


class Bores:
    """Two bores of the blank; the program goes where they are found."""

    def __init__(self, bench: Bench, method: BoresMethod) -> None:
        self._bench, self._method = bench, method

    def register(self, placing: Placing) -> Registration:
        """Find both bores; for face A only where they are there already. Where the blank lies drops out."""
        ledger = self._bench.ledger
        nothing = Registration(ledger.zeros(2), ledger.zeros(), ledger.zeros(2), ledger.zeros())
        if placing.face == "A" and self._method.holes == "with face A":
            return nothing
        points = [placing.to_machine(bore) for bore in self._method.bores]
        offset = stopped_bit(self._bench, self._method, placing.face)
        first, second = (self._found(placing, i, m) + offset for i, m in enumerate(points))
        between = np.subtract(points[1], points[0])
        turn = (lever((float(between[0]), float(between[1]))) @ (second - first)) / float(between @ between)
        share = 0.0 if self._method.zero_at == "first" else 0.5
        x, y = (1.0 - share) * np.asarray(points[0]) + share * np.asarray(points[1])
        zero = (1.0 - share) * first + share * second - np.outer(lever((float(x), float(y))), turn)
        return Registration(nothing.shift, nothing.turn, zero, turn)

    def _found(self, placing: Placing, i: int, m: Point) -> Array:
        """Where the middle of bore i is found, against where the program expects it: F e(h) - E(m) + touches.

        Half the difference of two opposite touches: the radius of the stylus and the size of the bore drop out.
        """
        bench, face = self._bench, placing.face

        def touch(side: str) -> Array:
            return bench.setup_error("probe_repeatability", f"bore {i + 1} to the {side}", face)[0]

        touches = np.array([0.5 * (touch("right") - touch("left")), 0.5 * (touch("back") - touch("front"))])
        grown = bench.movement.moved(self._method.bores[i], face)
        return placing.matrix @ (self._bore(placing, i) + grown) - at(bench.machine.geometry(face), m) + touches

    def _bore(self, placing: Placing, i: int) -> Array:
        """The error of bore i in the blank, blank axes."""
        method, bench = self._method, self._bench
        if method.holes == "beforehand":
            return bench.ledger.take(
                "hole_position", f"bore {i + 1}", method.hole_position, Life.BLANK, placing.face, rows=2
            )
        return at(bench.machine.geometry("A"), method.bores[i]) + bench.machine.cut(f"bore {i + 1}", "A")
