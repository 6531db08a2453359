"""Registering on dowel pins: two, or a pattern of three or four."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.frames import NORMALS, Placing, Point, at, per_radian
from flipcheck.flip.ledger import SAME_LOCATOR
from flipcheck.flip.pin_pattern import pose_on_pattern
from flipcheck.flip.registration import Registration, free_of_errors, seated
from flipcheck.flip.wear import worn
from flipcheck.stack.contact.two_pins import Hang, TwoPins, follow_share
from flipcheck.stack.sources import Life

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.flip.frames import Face
    from flipcheck.flip.locators import Bench
    from flipcheck.job.records import PinsMethod

    Array = NDArray[np.float64]


class Pins:
    """Holes in the blank on as many pins in the bed."""

    def __init__(self, bench: Bench, method: PinsMethod) -> None:
        self._bench, self._method = bench, method

    def register(self, placing: Placing) -> Registration:
        """Hang the blank on its pins; for face A only where its holes are there already."""
        if placing.face == "A" and self._method.datum_with_face_a:
            return free_of_errors(self._bench.ledger)
        points = [placing.to_machine(hole) for hole in self._method.pins]
        strays = [self._stray(placing, i, m) for i, m in enumerate(points)]
        return seated(self._bench, placing, *self._pose(placing.face, points, strays))

    def _pose(self, face: Face, points: list[Point], strays: list[Array]) -> tuple[Array, Array]:
        """Shift (2, X) and turn (X,) from where the holes sit on the pins."""
        radial = 0.5 * (self._method.hole.diameter - self._method.pin.diameter)
        clearance = np.array([self._clearance(face, i) for i in range(len(points))])
        if len(points) > 2:
            return pose_on_pattern(self._bench.ledger, face, points, np.array(strays), clearance, radial)
        return self._pose_on_two(face, points, strays, clearance, radial)

    def _pose_on_two(
        self, face: Face, points: list[Point], strays: list[Array], clearance: Array, radial: float
    ) -> tuple[Array, Array]:
        """The same for two pins: u runs along the pin line, n across it, as in `stack.contact.two_pins`."""
        (m1, m2), (x1, x2) = points, strays
        between = np.subtract(m2, m1)
        spacing = float(np.hypot(*between))
        u = between / spacing
        n = per_radian(u)
        pitch = u @ (x2 - x1)
        hang, push, nominal = self._hang(), self._push(n), np.array([0.0, radial, radial])
        d1u, d1n, d2n = self._bench.ledger.rest(
            "pin_clearance",
            face,
            np.vstack([pitch, clearance]),
            lambda key, forms: TwoPins(key, hang, push, forms, nominal),
        )
        d1u = d1u - follow_share(hang, nominal[1:]) * pitch
        turn = ((d2n - n @ x2) - (d1n - n @ x1)) / spacing
        shift = np.outer(u, d1u) + np.outer(n, d1n) - x1 - np.outer(per_radian(m1), turn)
        return shift, turn

    def _hang(self) -> Hang:
        if self._method.second_hole == "slot":
            return Hang.SLOT
        return Hang.LOOSE if self._method.push == "none" else Hang.PUSHED

    def _push(self, n: Array) -> float:
        """+1 or -1 where the blank is pushed towards +n or -n, else 0."""
        if self._method.push == "none":
            return 0.0
        return float(np.sign(n @ NORMALS[self._method.push]))

    def _stray(self, placing: Placing, i: int, m: Point) -> Array:
        """How far hole i lies from its pin before the blank is moved: F e(h) - p, machine axes, shape (2, X)."""
        grown = self._bench.movement.moved(self._method.pins[i], placing.face)
        hole = self._bench.hole(self._method, self._method.pins[i], f"hole {i + 1}", f"pin hole {i + 1}", placing.face)
        return placing.matrix @ (hole + grown) - self._pin(placing.face, i, m)

    def _pin(self, face: Face, i: int, m: Point) -> Array:
        """The error of pin i in the bed, machine axes. Its scatter belongs to the place in the bed."""
        machine = self._bench.machine
        if self._method.bed_holes == "same stroke":
            return at(machine.geometry(face), m) + machine.cut(f"pin hole {i + 1}", face, setup="A")
        return machine.locator_stroke(self._bench.ledger.place("bed pin", m, SAME_LOCATOR), m, face)

    def _clearance(self, face: Face, i: int) -> Array:
        """Error of the radial clearance of pin i, shape (X,). Sizes and play stay with hole and pin in both setups."""
        method, take = self._method, self._bench.ledger.take
        hole = take("hole_size", f"hole {i + 1}", method.hole.spread, Life.BLANK, face)[0]
        pin = take("pin_size", f"pin {i + 1}", method.pin.spread, Life.MACHINE, face)[0]
        play = take("pin_play", f"pin {i + 1}", method.pin_play, Life.MACHINE, face)[0]
        if method.holes_by_bit:
            hole = hole + self._bench.machine.bit_growth(face)
        return 0.5 * (hole - pin + play + worn(self._bench.ledger, method, i, face))
