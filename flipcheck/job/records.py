"""What the person says, as frozen records: lengths in mm, slopes and angles in rad, relative errors as plain ratios."""

from __future__ import annotations

import math
from collections import Counter
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from flipcheck.job.between import Between
from flipcheck.job.fields import (
    Angle,
    Flag,
    Length,
    Minutes,
    Name,
    Point,
    Points,
    PositiveLength,
    Record,
    Runout,
    Share,
    Title,
)
from flipcheck.job.quantities import RefusedError
from flipcheck.job.sheets import ThicknessSpread  # noqa: TC001, pydantic needs it
from flipcheck.job.spread_table import Growth, LengthSpread, RatioSpread, Size, SizeSpread, SlopeSpread
from flipcheck.job.standard_sizes import with_bolt

__all__ = [
    "Between",
    "Blank",
    "BoresMethod",
    "Errors",
    "FenceMethod",
    "Flip",
    "Head",
    "HolePair",
    "Job",
    "Method",
    "NestMethod",
    "OutlinePair",
    "Pair",
    "PinsMethod",
    "ProbeMethod",
    "Side",
    "SizeSpread",
    "SlotPair",
    "WebPair",
]

Flip = Literal["left-right", "front-back", "diagonal"]
Side = Literal["front", "back", "left", "right"]
ZeroZ = Literal["bed", "top", "top then bed"]
Corner = Literal["front-left", "front-right", "back-left", "back-right"]
NestPush = Literal["none", "front", "back", "left", "right", "front-left", "front-right", "back-left", "back-right"]


class Blank(Record):
    """The blank as it lies with face A up; the origin is its front-left corner (lengths in mm).

    `skim_a` is what is skimmed off all of face A in setup A, so that the blank lies on the new face when face B is cut;
    depths still count from the face as it came.
    """

    size: tuple[PositiveLength, PositiveLength, PositiveLength]
    skim_a: PositiveLength | None = None

    @property
    def length(self) -> float:
        """Along X, in mm."""
        return self.size[0]

    @property
    def width(self) -> float:
        """Along Y, in mm."""
        return self.size[1]

    @property
    def thickness(self) -> float:
        """Along Z, in mm."""
        return self.size[2]

    @property
    def skimmed(self) -> float:
        """What is off all of face A when face B is cut, in mm."""
        return self.skim_a or 0.0


class Errors(Record):
    """What is not perfect; an error left out is None and counts as zero."""

    machine_squareness: SlopeSpread | None = None
    machine_scale_x: RatioSpread | None = None
    machine_scale_y: RatioSpread | None = None
    positioning: LengthSpread | None = None
    lost_motion: LengthSpread | None = None
    rehoming: LengthSpread | None = None
    clamping_shift: LengthSpread | None = None
    seating: LengthSpread | None = None
    stock_squareness: SlopeSpread | None = None
    stock_parallelism: SlopeSpread | None = None
    stock_size: LengthSpread | None = None
    stock_straightness: LengthSpread | None = None
    stock_thickness: ThicknessSpread | None = None
    fence_angle: SlopeSpread | None = None
    fence_position: LengthSpread | None = None
    stop_position: LengthSpread | None = None
    probe_repeatability: LengthSpread | None = None
    probe_radius: LengthSpread | None = None
    bit_diameter: LengthSpread | None = None
    bit_runout: Runout | None = None
    eye_angle: SlopeSpread | None = None
    z_touch: LengthSpread | None = None
    bed_flatness: LengthSpread | None = None


class _PairBase(Record):
    name: Name


class HolePair(_PairBase):
    """A hole or seat cut from both faces at one place; judged by the radial distance, or by the bolt that must pass."""

    kind: Literal["hole"] = "hole"
    at: Point
    allowed: PositiveLength | None = None
    use: Literal["bolt", "countersink", "ring"] | None = None
    pad: PositiveLength | None = None
    breakout: Angle | None = None
    bolt: PositiveLength | None = None
    hole_a: PositiveLength | None = None
    hole_b: PositiveLength | None = None

    @model_validator(mode="before")
    @classmethod
    def _same_hole(cls, data: Any) -> Any:
        if not isinstance(data, dict):
            return data
        data = with_bolt(data)
        if data.get("hole_b") is None and data.get("hole_a") is not None:
            return {**data, "hole_b": data["hole_a"]}
        return data


class SlotPair(_PairBase):
    """A slot cut from both faces; only the distance across it counts. `angle`: of its long axis from X, in rad."""

    kind: Literal["slot"] = "slot"
    at: Point
    angle: Angle
    allowed: PositiveLength | None = None
    use: Literal["tongue"] | None = None
    slot_width: PositiveLength | None = None
    tongue: PositiveLength | None = None


class OutlinePair(_PairBase):
    """A closed outline cut partly from each face; judged by the largest step along its normal."""

    kind: Literal["outline"] = "outline"
    points: Points
    allowed: PositiveLength | None = None
    use: Literal["seam as milled", "seam sanded"] | None = None


class WebPair(_PairBase):
    """What is left between the cuts of the two faces; a depth of 0 leaves that face as it is.

    A negative web is an overlap: the cuts meet and go through. `min_overlap` is a `max_web` with the other sign.
    """

    kind: Literal["web"] = "web"
    at: Point
    depth_a: Length
    depth_b: Length
    min_web: Length | None = None
    max_web: Length | None = None
    min_overlap: Length | None = None

    @property
    def limits(self) -> tuple[float, float]:
        """Least and largest thickness within its limits, mm; infinite where there is none."""
        low = -math.inf if self.min_web is None else self.min_web
        high = math.inf if self.max_web is None else self.max_web
        return low, high if self.min_overlap is None else min(high, -self.min_overlap)


class _MethodBase(Record):
    name: Name
    minutes: Minutes | None = None
    zero_z: ZeroZ = "bed"


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
    wear: Growth | None = None
    wear_of: Literal["bed", "blank"] = "bed"
    push: Literal["none", "front", "back", "left", "right"] = "none"


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


Pair = Annotated[HolePair | SlotPair | OutlinePair | WebPair, Field(discriminator="kind")]
Method = Annotated[PinsMethod | FenceMethod | ProbeMethod | NestMethod | BoresMethod, Field(discriminator="kind")]


class Head(Record):
    """The single keys at the top of a job."""

    title: Title = ""
    units: Literal["mm", "in"] = "mm"
    goal: Share = 0.95
    flip: Flip


class Job(Head):
    """One part, its errors, its pairs and the methods to choose from.

    `units` are those of the file and of the results; the numbers in the record are mm and rad whatever they are.
    """

    blank: Blank
    errors: Errors = Errors()
    between: Between | None = None
    pairs: Annotated[tuple[Pair, ...], Field(min_length=1)]
    methods: Annotated[tuple[Method, ...], Field(min_length=1)]

    @property
    def left_out(self) -> tuple[str, ...]:
        """The errors that were not given and count as zero, in the order of the table of errors."""
        return tuple(key for key in Errors.model_fields if getattr(self.errors, key) is None)

    @property
    def changes(self) -> tuple[str, ...]:
        """The changes between the faces that are given: moisture, temperature."""
        return self.between.given if self.between else ()

    @model_validator(mode="after")
    def _names_unique(self) -> Job:
        for items in (self.pairs, self.methods):
            repeated = [name for name, count in Counter(item.name for item in items).items() if count > 1]
            if repeated:
                raise RefusedError(
                    "duplicate-name", "a name of its own for every pair and every method", f'"{repeated[0]}" twice'
                )
        return self
