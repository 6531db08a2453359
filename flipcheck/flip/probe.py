"""Registering by touching off: the program's zero goes where the touched edges are found."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.frames import ALONG, NORMALS, OPPOSITE, at, rigid
from flipcheck.flip.locators import Bench, Equation, along_normal, solve
from flipcheck.flip.registration import Registration
from flipcheck.stack.sources import Life
from flipcheck.stack.spreads import Circle

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.flip.frames import Face, Placing
    from flipcheck.job.records import BoresMethod, ProbeMethod, Side

    Array = NDArray[np.float64]


class Probe:
    """Touches fix the zero; the angle comes from a fence, from a second touch, or from the eye."""

    def __init__(self, bench: Bench, method: ProbeMethod) -> None:
        self._bench, self._method = bench, method

    def register(self, placing: Placing) -> Registration:
        """Lay the blank down and touch off."""
        shift, turn = self._lie(placing)
        touch = _Toucher(self._bench, self._method, placing, rigid(shift, turn))
        x_side, y_side = touched_corner(self._method, placing)
        into_x, into_y = self._method.touch_in
        first_x, at_y = placing.inward(x_side, into_x), placing.inward(y_side, into_y)
        on_y = touch.once(y_side, first_x)
        equations = [touch.middle(on_y, y_side, first_x) if "y" in self._method.middle else on_y]
        on_x = touch.once(x_side, at_y)
        equations.append(touch.middle(on_x, x_side, at_y) if "x" in self._method.middle else on_x)
        equations.append(self._program_angle(touch, placing, on_y, (x_side, y_side)))
        zero, program_turn = solve(equations)
        return Registration(shift, turn, zero, program_turn)

    def _lie(self, placing: Placing) -> tuple[Array, Array]:
        """Where the blank lies before it is touched. A shift that the touches take out again is left at zero."""
        method, bench = self._method, self._bench
        nothing = bench.ledger.zeros(2)
        if method.angle == "by eye":
            return nothing, bench.setup_error("eye_angle", "", placing.face)[0]
        if method.angle == "two touches":
            return nothing, bench.ledger.zeros()
        assert method.fence is not None
        assert method.contacts is not None
        fence = bench.fence(
            placing, method.fence, method.contacts, by_hand=method.set_by == "hand", rail=bool(method.rail)
        )
        along = [abs(x) for x in NORMALS[method.fence]][::-1]
        return solve([*fence, Equation(np.array([*along, 0.0]), bench.ledger.zeros())])

    def _program_angle(self, touch: _Toucher, placing: Placing, on_y: Equation, corner: tuple[Side, Side]) -> Equation:
        """The equation that fixes the turn of the program: none, or a second touch farther from the corner."""
        if self._method.angle != "two touches":
            return Equation(np.array([0.0, 0.0, 1.0]), self._bench.ledger.zeros())
        assert self._method.spacing is not None
        x_side, y_side = corner
        second = touch.once(y_side, placing.inward(x_side, self._method.touch_in[0] + self._method.spacing))
        return Equation(second.row - on_y.row, second.value - on_y.value)


class _Toucher:
    """Touches in one setup; they share the stylus and the phase of the bit."""

    def __init__(self, bench: Bench, method: ProbeMethod, placing: Placing, pose: Array) -> None:
        self._bench, self._placing, self._pose = bench, placing, pose
        self._geometry = bench.machine.geometry(placing.face)
        self._radius = bench.machine_error("probe_radius", "", placing.face)
        self._offset = stopped_bit(bench, method, placing.face)

    def once(self, side: Side, along: float) -> Equation:
        """Touch a side: nu . (program at m) = w + nu . (pose at m) - nu . E(m) + rho + eps + nu . ecc."""
        m = self._placing.on_side(side, along)
        normal, face = np.asarray(NORMALS[side]), self._placing.face
        edge = self._bench.edges.deviation(self._placing.edge_at(side), self._placing.to_blank(m), face)
        repeat = self._bench.setup_error("probe_repeatability", f"touch {side} at {along:.6g}", face)[0]
        seen = normal @ (at(self._pose, m) - at(self._geometry, m) + self._offset)
        return along_normal(side, m, edge + seen + self._radius + repeat)

    def middle(self, one: Equation, side: Side, along: float) -> Equation:
        """Touch the opposite side too and take the middle: half the difference, as the normals oppose."""
        other = self.once(OPPOSITE[side], along)
        return Equation(0.5 * (one.row - other.row), 0.5 * (one.value - other.value))


def stopped_bit(bench: Bench, method: ProbeMethod | BoresMethod, face: Face) -> Array:
    """A stopped bit touches half the indicator reading off its axis, at a phase that nobody knows; shape (2, X)."""
    reading = bench.errors.bit_runout
    if method.stylus == "probe" or not reading:
        return bench.ledger.zeros(2)
    part, life = ("phase kept", Life.MACHINE) if method.same_phase else (f"setup {face}", Life.SETUP)
    return bench.ledger.take("bit_runout", part, Circle(0.5 * reading), life, face, rows=2)


def touched_corner(method: ProbeMethod, placing: Placing) -> tuple[Side, Side]:
    """The machine sides, left or right and front or back, of the corner that is touched in one setup."""
    sides: list[Side] = [side for side in NORMALS if side in method.corner.split("-")]
    if method.after_flip == "same corner":
        sides = [placing.edge_at(side) for side in sides]
    x_side, y_side = sorted(sides, key=lambda side: -ALONG[side])
    return x_side, y_side
