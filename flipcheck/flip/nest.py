"""Registering in a nest: the blank, or an outline that was cut with face A, is dropped into a pocket of the bed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.frames import NORMALS, at, per_radian
from flipcheck.flip.registration import Registration, free_of_errors, seated
from flipcheck.stack.contact.walls import WALLS, Walls
from flipcheck.stack.sources import Life

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.flip.frames import Placing, Point
    from flipcheck.flip.locators import Bench
    from flipcheck.job.records import Blank, NestMethod, Side

    Array = NDArray[np.float64]


class Nest:
    """A rectangle between the four walls of a pocket, in one setup or in both."""

    def __init__(self, bench: Bench, method: NestMethod, blank: Blank) -> None:
        self._bench, self._method, self._blank = bench, method, blank

    def register(self, placing: Placing) -> Registration:
        """Drop it in; for face A only where the blank as it comes is nested."""
        if placing.face == "A" and self._method.datum_with_face_a:
            return free_of_errors(self._bench.ledger)
        corners = [placing.to_machine(corner) for corner in nested(self._method, self._blank)]
        low, high = np.min(corners, axis=0), np.max(corners, axis=0)
        middle, half = 0.5 * (low + high), 0.5 * (high - low)
        gaps = np.array([self._gap(placing, side, m) for side, m in _wall_ends(middle, half)])
        return seated(self._bench, placing, *self._pose(placing, gaps, middle, (float(half[0]), float(half[1]))))

    def _pose(self, placing: Placing, gaps: Array, middle: Array, half: tuple[float, float]) -> tuple[Array, Array]:
        """Shift (2, X) and turn (X,) from the errors of the eight gaps (8, X)."""
        offsets = np.full(8, 0.5 * self._method.clearance)
        walls = Walls("", np.zeros((8, 0)), offsets, half, pushed(self._method.push))
        linear = np.einsum("jk,kx->jx", walls.follows(), gaps)
        left = gaps - np.einsum("kj,jx->kx", walls.closes(), linear)
        play = self._bench.ledger.rest(
            "nest_clearance", placing.face, left, lambda key, forms: Walls(key, forms, offsets, half, walls.push)
        )
        pose = linear + play
        turn = pose[2] / walls.lever
        return pose[:2] - np.outer(per_radian(middle), turn), turn

    def _gap(self, placing: Placing, side: Side, m: Point) -> Array:
        """How much wider than nominal the gap is at one end of a wall, shape (X,)."""
        bench, normal, face = self._bench, np.asarray(NORMALS[side]), placing.face
        edge = placing.edge_at(side)
        gap = self._wall(placing, side, m)
        if not self._method.datum_with_face_a:
            gap = gap - bench.edges.deviation(edge, placing.to_blank(m), face)
        else:
            cut = at(bench.machine.geometry("A"), placing.to_blank(m)) + bench.machine.cut("nest outline", "A")
            cut = cut + bench.movement.moved(placing.to_blank(m), face)
            gap = gap - normal @ (placing.matrix @ cut) + 0.5 * bench.machine.bit_growth(face)
        if side in self._method.push.split("-"):
            gap = gap + bench.setup_error("seating", f"{side} wall at {m[0]:.6g}, {m[1]:.6g}", face)[0]
        return gap

    def _wall(self, placing: Placing, side: Side, m: Point) -> Array:
        """How far outward of its place a wall of the pocket stands at m: geometry, scatter and size of its cut."""
        bench, face = self._bench, placing.face
        place = "second nest" if self._method.after_flip == "second pocket" and face == "B" else "nest"
        axis = "x" if side in ("left", "right") else "y"
        size = bench.ledger.take("pocket_size", f"{place} {axis}", self._method.pocket_size, Life.MACHINE, face)[0]
        stroke = bench.machine.locator_stroke(place, m, face)
        return np.asarray(NORMALS[side]) @ stroke + 0.5 * (size + bench.machine.bit_growth(face))


def nested(method: NestMethod, blank: Blank) -> tuple[Point, Point]:
    """Two opposite corners of what lies in the nest, blank frame: of the whole blank unless a rectangle is given."""
    return method.rectangle or ((0.0, 0.0), (blank.length, blank.width))


def pushed(push: str) -> tuple[int, int]:
    """The way of a push along machine x and y: +1, -1 or 0; two of them into a corner."""
    x, y = np.sum([NORMALS[side] for side in NORMALS if side in push.split("-")] or [(0.0, 0.0)], axis=0)
    return int(x), int(y)


def _wall_ends(middle: Array, half: Array) -> list[tuple[Side, Point]]:
    """Both ends of every wall, in the order of `Walls`: the end towards plus first."""
    ends: list[tuple[Side, Point]] = []
    for side in WALLS:
        normal = np.asarray(NORMALS[side])
        along = np.abs(normal[::-1])
        for end in (1.0, -1.0):
            x, y = middle + half * (normal + end * along)
            ends.append((side, (float(x), float(y))))
    return ends
