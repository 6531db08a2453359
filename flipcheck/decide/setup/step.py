"""One step of a setup sheet, as data: where it stands in the work, what is done, where, and what to beware of.

What is said of each step stands in show/setup_sheet. Places are in mm in the frame of the machine, whose origin is
the front-left corner of the blank as it lies.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flipcheck.flip.frames import Face, Point
    from flipcheck.job.records import Side

#: Depth of a scratch that proves the setup, mm, a round number in the units of the job (common practice, no source).
SCRATCH = {"mm": 0.2, "in": 0.2032}

#: The corner of the blank that carries the mark, named as with face A up.
MARKED: tuple[Side, Side] = ("left", "front")


class Stage(StrEnum):
    """The parts of the work, in their order."""

    PREPARE = "prepare"
    ZERO_A = "zero face A"
    CUT_A = "cut face A"
    TURN = "turn over"
    SEAT = "seat"
    ZERO_B = "zero face B"
    PROVE = "prove"
    CUT_B = "cut face B"


class Action(StrEnum):
    """What is done in a step."""

    MEASURE_THICKNESS = "measure thickness"
    MARK = "mark"
    CLEAN = "clean"
    BORE_BED = "bore bed"
    PUSH_PINS = "push pins in"
    SET_FENCE = "set fence"
    SET_STOP = "set stop"
    LAY = "lay"
    AGAINST = "push against"
    PUSH = "push"
    CLAMP = "clamp"
    CUT_NEST = "cut nest"
    ZERO_XY = "zero X and Y at corner"
    ZERO_AT_FENCE = "zero X and Y at fence and stop"
    KEEP_XY = "keep X and Y"
    TOUCH = "touch"
    MIDDLE = "middle"
    ANGLE = "angle"
    FIND_BORES = "find bores"
    ZERO_Z = "zero Z"
    SKIM = "skim"
    BORE_PIN_HOLES = "bore pin holes"
    BORE_BORES = "bore the bores"
    CUT_OUTLINE = "cut outline"
    CUT = "cut"
    NO_HOMING = "do not home"
    TURN_OVER = "turn over"
    DRY_RUN = "dry run"
    POINT_AT = "point at"
    SCRATCH = "scratch"
    MEASURE = "measure"


class Caution(StrEnum):
    """What to beware of, said at the step where it matters."""

    BODY = "eyes, ears, dust, guards"
    RULES = "manual and local rules"
    CLAMPS = "clamps clear of both programs"
    CLAMPS_MIRRORED = "clamps against the mirrored program"
    LOOSE = "nothing comes loose"
    PINS_OUT = "pins out"
    PLATE_OFF = "touch plate and clip off"
    SPINDLE_OFF = "spindle cannot start"
    LESS_MATERIAL = "less material holds"


@dataclass(frozen=True)
class Spot:
    """A named place, machine frame, mm."""

    name: str
    at: Point


@dataclass(frozen=True)
class Ruler:
    """How far a place lies from an edge, mm: `side` is where the edge lies on the machine, `edge` which edge it is."""

    side: Side
    edge: Side
    distance: float


@dataclass(frozen=True)
class Step:
    """One step; what is not needed is None or empty.

    Attributes
    ----------
    stage, action: Where it stands in the work, and what is done.
    face: The face that is up.
    side: A side of the machine.
    edge: The physical edge that lies there, named as with face A up.
    corner: Sides of the machine at which the marked corner lies: left or right, front or back.
    spots: Places on the machine.
    size: A diameter, depth, height or thickness, mm.
    limit: How far it may be out, mm.
    axis: "x" or "y", where one is zeroed.
    at: What that axis shall read at the edge, or in the middle, mm.
    sign: A bit of radius r that touches the edge stands at `at + sign * r`.
    detail: A word of the job that chooses between ways of doing it.
    rulers: How far the spot lies from the two edges next to it.
    cautions: What to beware of here.
    """

    stage: Stage
    action: Action
    face: Face = "A"
    side: Side | None = None
    edge: Side | None = None
    corner: tuple[Side, Side] | None = None
    spots: tuple[Spot, ...] = ()
    size: float | None = None
    limit: float | None = None
    axis: str | None = None
    at: float | None = None
    sign: int = 0
    detail: str = ""
    rulers: tuple[Ruler, ...] = ()
    cautions: tuple[Caution, ...] = ()
