"""How the blank finds its place again: one record for each kind of method. Lengths in mm."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from flipcheck.job.fields import Flag, Length, Minutes, Name, Point, PositiveLength, Record
from flipcheck.job.spread_table import LengthSpread, Size, WearSpread  # noqa: TC001, pydantic needs them

#: Touched places of an edge closer than this (mm) are one place, with one deviation from straight.
SAME_SPOT = 1.0

Side = Literal["front", "back", "left", "right"]
ZeroZ = Literal["bed", "top", "top then bed"]
Corner = Literal["front-left", "front-right", "back-left", "back-right"]
NestPush = Literal["none", "front", "back", "left", "right", "front-left", "front-right", "back-left", "back-right"]


class _MethodBase(Record):
    name: Name
    minutes: Minutes | None = None
    zero_z: ZeroZ = "bed"

    @property
    def datum_with_face_a(self) -> bool:
        """Whether the holes or the outline that locate the blank for face B are cut with face A, in one clamping."""
        return False


class PinsMethod(_MethodBase):
    """Two to four pins in the bed and as many holes in the blank; `pins` are the hole centres in the blank frame."""

    kind: Literal["pins"] = "pins"
    pins: Annotated[tuple[Point, ...], Field(min_length=2, max_length=4)]
    pin: Size
    hole: Size
    holes: Literal["with face A", "beforehand"] = "with face A"
    hole_position: LengthSpread | None = None
    holes_by_bit: Flag = False
    second_hole: Literal["round", "slot"] = "round"
    bed_holes: Literal["separately", "same stroke"] = "separately"
    pin_play: LengthSpread | None = None
    wear: WearSpread | None = None
    wear_of: Literal["bed", "blank"] = "bed"
    push: Literal["none", "front", "back", "left", "right"] = "none"

    @property
    def datum_with_face_a(self) -> bool:
        """Whether the holes are cut with face A, not there beforehand."""
        return self.holes == "with face A"


class FenceMethod(_MethodBase):
    """A fence that keeps its machine side, and a stop; `contacts` and `stop_at`: machine places along them, in mm."""

    kind: Literal["fence"] = "fence"
    fence: Side
    contacts: tuple[Length, Length]
    stop: Side
    stop_at: Length
    after_flip: Literal["same edge", "same side"] = "same edge"
    set_by: Literal["machine", "hand"] = "machine"
    rail: Flag = False


class ProbeMethod(_MethodBase):
    """A corner touched off in each setup; `touch_in` is counted from the corner along machine X and Y (mm)."""

    kind: Literal["probe"] = "probe"
    corner: Corner
    after_flip: Literal["same corner", "same side"] = "same corner"
    touch_in: Point
    middle: tuple[Literal["x", "y"], ...] = ()
    angle: Literal["fence", "two touches", "by eye"]
    fence: Side | None = None
    contacts: tuple[Length, Length] | None = None
    set_by: Literal["machine", "hand"] = "machine"
    rail: Flag = False
    spacing: PositiveLength | None = None
    stylus: Literal["bit", "probe"] = "bit"
    same_phase: Flag = False


class NestMethod(_MethodBase):
    """The blank, or an outline cut with face A, dropped into a pocket of the bed.

    `clearance`: how much longer and wider the pocket is (mm). `rectangle`: two opposite corners of an outline that is
    cut with face A, in the blank frame; the whole blank unless given.
    """

    kind: Literal["nest"] = "nest"
    clearance: PositiveLength
    pocket_size: LengthSpread | None = None
    outline: Literal["beforehand", "with face A"] = "beforehand"
    rectangle: tuple[Point, Point] | None = None
    after_flip: Literal["same pocket", "second pocket"] = "same pocket"
    push: NestPush = "none"

    @property
    def datum_with_face_a(self) -> bool:
        """Whether the outline is cut with face A, not there beforehand."""
        return self.outline == "with face A"


class BoresMethod(_MethodBase):
    """Two bored holes of the blank, each found by four touches; `bores` are their centres in the blank frame."""

    kind: Literal["bores"] = "bores"
    bores: tuple[Point, Point]
    diameter: PositiveLength
    holes: Literal["with face A", "beforehand"] = "with face A"
    hole_position: LengthSpread | None = None
    zero_at: Literal["middle", "first"] = "middle"
    stylus: Literal["bit", "probe"] = "bit"
    same_phase: Flag = False

    @property
    def datum_with_face_a(self) -> bool:
        """Whether the holes are cut with face A, not there beforehand."""
        return self.holes == "with face A"


Method = Annotated[PinsMethod | FenceMethod | ProbeMethod | NestMethod | BoresMethod, Field(discriminator="kind")]
