"""What holds or finds the blank: three straight-line equations in a setup fix where it lies, or where the program goes.

An equation says  nu . (shift + turn (k x m)) = value  for a contact or a touch at machine point m on a side with
outward normal nu.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.frames import ALONG, NORMALS, at, per_radian
from flipcheck.flip.ledger import SAME_LOCATOR, Ledger
from flipcheck.stack.sources import Life

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from flipcheck.flip.blank import Edges
    from flipcheck.flip.frames import Face, Placing, Point
    from flipcheck.flip.machine import Machine
    from flipcheck.flip.movement import Movement
    from flipcheck.job.records import BoresMethod, Errors, PinsMethod, Side

    Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Equation:
    """One equation for (shift x, shift y, turn): row (3,) times them equals value (X,)."""

    row: Array
    value: Array


def along_normal(side: Side, m: Point, value: Array) -> Equation:
    """The equation of a contact or touch on a machine side."""
    normal = np.asarray(NORMALS[side])
    return Equation(np.array([*normal, normal @ per_radian(m)]), value)


def solve(equations: Sequence[Equation]) -> tuple[Array, Array]:
    """Shift (2, X) and turn (X,) from three equations."""
    rows = np.array([equation.row for equation in equations])
    values = np.array([equation.value for equation in equations])
    solution = np.linalg.inv(rows) @ values
    return solution[:2], solution[2]


class Bench:
    """What both setups share: the machine, the blank, and the locators that stand on the bed."""

    def __init__(self, ledger: Ledger, errors: Errors, machine: Machine, edges: Edges, movement: Movement) -> None:
        self.ledger, self.errors, self.machine, self.edges, self.movement = ledger, errors, machine, edges, movement
        self._pivots: dict[str, Point] = {}
        self._bearing: dict[Side, tuple[Point, Point]] = {}

    def setup_error(self, name: str, part: str, face: Face, rows: int = 1) -> Array:
        """An error of the job drawn anew in each setup, shape (rows, X)."""
        label = f"{part}, setup {face}" if part else f"setup {face}"
        return self.ledger.take(name, label, getattr(self.errors, name), Life.SETUP, face, rows)

    def machine_error(self, name: str, part: str, face: Face) -> Array:
        """An error of the job that lasts with the machine, shape (X,)."""
        return self.ledger.take(name, part, getattr(self.errors, name), Life.MACHINE, face)[0]

    def hole(self, method: PinsMethod | BoresMethod, place: Point, part: str, stroke: str, face: Face) -> Array:
        """How far a hole of the blank lies from its place, blank axes, shape (2, X).

        One made beforehand has an error of its own, drawn under the name `part`; one cut with face A has those of its
        `stroke`.
        """
        if method.datum_with_face_a:
            return at(self.machine.geometry("A"), place) + self.machine.cut(stroke, "A")
        return self.ledger.take("hole_position", part, method.hole_position, Life.BLANK, face, rows=2)

    def contact(self, placing: Placing, side: Side, m: Point, locator: Array, what: str) -> Equation:
        """The blank's edge at m bears on a locator that is `locator` (X,) mm too far out: nu . (pose at m) = d - w."""
        seating = self.setup_error("seating", what, placing.face)[0]
        edge = self.edges.deviation(placing.edge_at(side), placing.to_blank(m), placing.face)
        return along_normal(side, m, locator + seating - edge)

    def fence(
        self, placing: Placing, side: Side, contacts: tuple[float, float], *, by_hand: bool, rail: bool
    ) -> list[Equation]:
        """Two equations from a fence: two contacts, or the two high spots of an edge that bear on a rail."""
        ends = [placing.on_side(side, along) for along in contacts]
        places = self._high_spots(placing, side, ends) if rail else ends
        if by_hand:
            locators = [self._hand_set(placing, side, m) for m in places]
        else:
            made = [self._machine_set(placing.face, side, f"{side} fence", m) for m in ends]
            shares = [(m[ALONG[side]] - contacts[0]) / (contacts[1] - contacts[0]) for m in places]
            locators = [made[0] + share * (made[1] - made[0]) for share in shares]
        return [
            self.contact(placing, side, m, locator, f"fence contact {number}")
            for number, (m, locator) in enumerate(zip(places, locators, strict=True), start=1)
        ]

    def stop(self, placing: Placing, side: Side, along: float, *, by_hand: bool) -> Equation:
        """The equation of an end stop. A stop that stands at another place of the bed is another stop."""
        m = placing.on_side(side, along)
        if by_hand:
            place = self.ledger.place(f"{side} stop", m, SAME_LOCATOR)
            locator = self.machine_error("stop_position", place, placing.face)
        else:
            locator = self._machine_set(placing.face, side, f"{side} stop", m)
        return self.contact(placing, side, m, locator, "stop")

    def _machine_set(self, face: Face, side: Side, what: str, m: Point) -> Array:
        place = self.ledger.place(what, m, SAME_LOCATOR)
        return np.asarray(NORMALS[side]) @ self.machine.locator_stroke(place, m, face)

    def _hand_set(self, placing: Placing, side: Side, m: Point) -> Array:
        """A fence set by hand is out along its normal and turned about the middle of its side."""
        middle = placing.middle_of(side)
        place = f"{side} fence at {middle[1 - ALONG[side]]:.6g}"
        pivot = self._pivots.setdefault(place, middle)
        position = self.machine_error("fence_position", place, placing.face)
        angle = self.machine_error("fence_angle", place, placing.face)
        arm = float(np.asarray(NORMALS[side]) @ per_radian(np.subtract(m, pivot)))
        return position + angle * arm

    def _high_spots(self, placing: Placing, side: Side, ends: list[Point]) -> list[Point]:
        """Where an edge bears on a rail: at spots found when it first meets the rail, the same ever after."""
        edge = placing.edge_at(side)
        first, second = (placing.to_blank(m) for m in ends)
        return [placing.to_machine(b) for b in self._bearing.setdefault(edge, (first, second))]
