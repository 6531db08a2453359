"""The numbers to type in: how the program of face B must move, alone or with face A, or how the fence must turn.

A cut of face B at machine point m that is moved by c(m), machine axes, changes the mismatch by F c in the axes of the
blank (F: the turn-over). The correction is the c that leaves least at the pairs; where the mismatch is a shift and a
turn, c is that mismatch with the opposite sign.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.decide.first_article.expected import seen_at
from flipcheck.decide.first_article.fit import term_fields
from flipcheck.decide.first_article.results import Shared, Shim
from flipcheck.flip.fence import stop_side
from flipcheck.flip.frames import NORMALS, per_radian, placing
from flipcheck.flip.model import flip_model
from flipcheck.flip.nest import nested
from flipcheck.flip.probe import touched_corner
from flipcheck.job.records import (
    BoresMethod,
    Errors,
    FenceMethod,
    NestMethod,
    OutlinePair,
    PinsMethod,
    ProbeMethod,
    SlotPair,
    WebPair,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from flipcheck.flip.frames import Placing, Point
    from flipcheck.job.records import Blank, Job, Method, Pair

    Array = NDArray[np.float64]

#: The corners of the blank count so much beside the pairs: they decide only what the pairs leave open.
_CORNERS = 1e-3
#: What each correction may move: shift in x and y, turn, shear.
OPTIONS = {"none": 0, "shift": 2, "shift and turn": 3, "shift, turn and shear": 4}


@dataclass(frozen=True, eq=False)
class Move:
    """A movement of the program of face B in machine axes, and the field that it adds to the mismatch, shape (6,)."""

    x: float
    y: float
    turn: float
    shear: float
    field: Array


class Corrector:
    """Finds corrections for one method of a job.

    Attributes
    ----------
    about: The point of the machine that they are told about: the middle of pins, bores or nest, the corner of fence and
        stop, or the corner that is touched with face B up.
    """

    def __init__(self, job: Job, method: Method) -> None:
        self._job, self._method = job, method
        self._b = placing(job.flip, job.blank, "B")
        self.about = _anchor(method, self._b, job.blank)
        self._basis = _fields_of_moves(self._b, self.about)
        self._looks = _looks(job)

    def move(self, field: Array, option: str) -> Move:
        """The movement that leaves least of a mismatch field, shape (6,), at the pairs."""
        amounts = self._amounts(field[:, None], option)[:, 0]
        x, y, turn, shear = (float(amount) for amount in amounts)
        return Move(x, y, turn, shear, self._basis @ amounts)

    def left(self, fields: Array, option: str) -> Array:
        """What is left of mismatch fields, shape (6, N), each corrected by itself."""
        return fields + self._basis @ self._amounts(fields, option)

    def _amounts(self, fields: Array, option: str) -> Array:
        """Shift x, shift y, turn and shear that leave least of each field, shape (4, N)."""
        free = OPTIONS[option]
        amounts = np.zeros((4, fields.shape[1]))
        if free:
            basis = self._looks @ self._basis[:, :free]
            amounts[:free] = -np.linalg.lstsq(basis, self._looks @ fields, rcond=None)[0]
        return amounts

    def shared(self, move: Move) -> Shared | None:
        """Shift and turn of the work zero of both programs.

        None where what locates the blank moves with face A, and for no move or one that shears.
        """
        if self._method.datum_with_face_a or move.shear or not (move.x or move.y or move.turn):
            return None
        half = 0.5 * move.turn
        pivot = self._b.to_blank(self.about)
        wanted = self._b.matrix @ (move.x, move.y)
        # face A turns about the same point of the machine, which is another point of the blank
        wanted = wanted + half * per_radian(np.subtract(pivot, self.about))
        mirrored = 0.5 * (np.eye(2) - self._b.matrix)
        shift = -0.5 * mirrored @ wanted
        rest = wanted - mirrored @ wanted
        return Shared(float(shift[0]), float(shift[1]), half, self.about, float(rest[0]), float(rest[1]))

    def shim(self, move: Move) -> Shim | None:
        """The shim that turns the fence by as much as the program would turn.

        None without a fence that stays, and for a move that does not turn, or shears.
        """
        method = self._method
        if not isinstance(method, FenceMethod | ProbeMethod) or not method.fence or not method.contacts:
            return None
        if not move.turn or move.shear:
            return None
        effects = _fence_contacts(self._job, method)
        if effects is None:
            return None
        needed = -move.turn  # of the mismatch: the turn-over makes a turn of the program its opposite on the blank
        turns = np.array([0.5 * (effect[4] - effect[2]) for effect in effects])
        which = int(np.argmax(turns * needed))
        if not turns[which]:
            return None
        thickness = float(needed / turns[which])
        pivot = self._b.to_blank(self.about)
        done = seen_at(pivot) @ effects[which] * thickness
        rest = self._b.matrix @ (self._b.matrix @ (move.x, move.y) - done)
        first, second = method.contacts
        over = abs(second - first)
        return Shim(method.fence, method.contacts[which], thickness, over, float(rest[0]), float(rest[1]))


def _fields_of_moves(placing_b: Placing, about: Point) -> Array:
    """What shift x, shift y, turn and shear of the program of face B add to the mismatch, shape (6, 4)."""
    shift_x, shift_y, turn, shear, *_ = term_fields(about).T
    moves = np.column_stack([shift_x, shift_y, turn, 0.5 * (shear - turn)])
    return placing_b.field_to_blank(moves.reshape(2, 3, 4)).reshape(6, 4)


def _looks(job: Job) -> Array:
    """What must line up, as forms of the field, shape (N, 6); the corners of the blank with hardly any weight."""
    rows = [row for pair in job.pairs for row in _looks_of(pair)]
    length, width = job.blank.length, job.blank.width
    corners = [seen_at((x, y)) for x in (0.0, length) for y in (0.0, width)]
    return np.vstack([*rows, *(_CORNERS * corner for corner in corners)])


def _looks_of(pair: Pair) -> list[Array]:
    if isinstance(pair, WebPair):
        return []
    if isinstance(pair, OutlinePair):
        share = len(pair.points) ** -0.5
        return [share * seen_at(point) for point in pair.points]
    if isinstance(pair, SlotPair):
        return [pair.across @ seen_at(pair.at)]
    return [seen_at(pair.at)]


def _middle(points: Sequence[Point]) -> Point:
    x, y = np.mean(points, axis=0)
    return float(x), float(y)


def _anchor(method: Method, placing_b: Placing, blank: Blank) -> Point:
    """The point of the machine where setup B takes its zero from."""
    if isinstance(method, PinsMethod):
        return _middle([placing_b.to_machine(pin) for pin in method.pins])
    if isinstance(method, BoresMethod):
        bores = [placing_b.to_machine(bore) for bore in method.bores]
        return bores[0] if method.zero_at == "first" else _middle(bores)
    if isinstance(method, NestMethod):
        return _middle([placing_b.to_machine(corner) for corner in nested(method, blank)])
    if isinstance(method, FenceMethod):
        sides = method.fence, stop_side(method, placing_b)
    else:
        sides = touched_corner(method, placing_b)
    x, y = placing_b.size
    return (x if "right" in sides else 0.0), (y if "back" in sides else 0.0)


def _fence_contacts(job: Job, method: FenceMethod | ProbeMethod) -> list[Array] | None:
    """What a shim of 1 mm at each contact of the fence does to the field, (6,) each; None where the fence is moved."""
    errors = Errors.model_validate({"fence_angle": {"std": 1e-3}, "fence_position": {"std": 1.0}})
    by_hand = method.model_copy(update={"set_by": "hand"})
    linear = flip_model(job.model_copy(update={"errors": errors}), by_hand).linear
    columns = {
        source.name: linear.shared[:, rows.start]
        for source, rows in zip(linear.sources, linear.source_rows, strict=True)
    }
    if len(linear.sources) > 2 or method.fence is None or method.contacts is None:
        return None
    nothing = np.zeros(6)
    a = placing(job.flip, job.blank, "A")
    middle = a.middle_of(method.fence)
    arms = [
        float(np.asarray(NORMALS[method.fence]) @ per_radian(np.subtract(a.on_side(method.fence, along), middle)))
        for along in method.contacts
    ]
    # a contact that stands d too far out: d = position + angle * arm; a shim stands in by its thickness
    position_and_angle = np.linalg.inv(np.column_stack([np.ones(2), arms]))
    position, angle = columns.get("fence_position", nothing), columns.get("fence_angle", nothing)
    return [-(position * column[0] + angle * column[1]) for column in position_and_angle.T]
