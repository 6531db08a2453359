"""Registering on two bored holes: each is touched off on four sides; the line of their middles gives the angle."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.frames import at, per_radian
from flipcheck.flip.probe import stopped_bit
from flipcheck.flip.registration import Registration, free_of_errors

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.flip.frames import Placing
    from flipcheck.flip.locators import Bench
    from flipcheck.job.records import BoresMethod

    Array = NDArray[np.float64]


class Bores:
    """Two bores of the blank; the program goes where they are found."""

    def __init__(self, bench: Bench, method: BoresMethod) -> None:
        self._bench, self._method = bench, method

    def register(self, placing: Placing) -> Registration:
        """Find both bores; for face A only where they are there already. Where the blank lies drops out."""
        exact = free_of_errors(self._bench.ledger)
        if placing.face == "A" and self._method.datum_with_face_a:
            return exact
        points = [np.array(placing.to_machine(bore)) for bore in self._method.bores]
        offset = stopped_bit(self._bench, self._method, placing.face)
        first, second = (self._found(placing, i, m) + offset for i, m in enumerate(points))
        between = points[1] - points[0]
        turn = (per_radian(between) @ (second - first)) / float(between @ between)
        share = 0.0 if self._method.zero_at == "first" else 0.5
        zeroed = (1.0 - share) * points[0] + share * points[1]
        zero = (1.0 - share) * first + share * second - np.outer(per_radian(zeroed), turn)
        return replace(exact, zero=zero, program_turn=turn)

    def _found(self, placing: Placing, i: int, m: Array) -> Array:
        """Where the middle of bore i is found, against where the program expects it: F e(h) - E(m) + touches.

        Half the difference of two opposite touches: the radius of the stylus and the size of the bore drop out.
        """
        bench, face = self._bench, placing.face

        def touch(side: str) -> Array:
            return bench.setup_error("probe_repeatability", f"bore {i + 1} to the {side}", face)[0]

        touches = np.array([0.5 * (touch("right") - touch("left")), 0.5 * (touch("back") - touch("front"))])
        bore, name = self._method.bores[i], f"bore {i + 1}"
        where = bench.movement.moved(bore, face) + bench.hole(self._method, bore, name, name, face)
        return placing.matrix @ where - at(bench.machine.geometry(face), m) + touches
