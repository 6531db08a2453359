"""What the person says, as frozen records: lengths in mm, slopes and angles in rad, relative errors as plain ratios.

The pairs stand in `pairs`, the methods in `methods`; the other rooms take all of them from here.
"""

from __future__ import annotations

from collections import Counter
from typing import Annotated, Literal

from pydantic import Field, model_validator

from flipcheck.job.between import Between
from flipcheck.job.fields import PositiveLength, Record, Runout, Share, Title
from flipcheck.job.methods import BoresMethod, FenceMethod, Method, NestMethod, PinsMethod, ProbeMethod, Side, ZeroZ
from flipcheck.job.pairs import HolePair, OutlinePair, Pair, SlotPair, WebPair
from flipcheck.job.quantities import RefusedError
from flipcheck.job.sheets import ThicknessSpread  # noqa: TC001, pydantic needs it
from flipcheck.job.spread_table import LengthSpread, RatioSpread, SizeSpread, SlopeSpread

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
    "ZeroZ",
]

Flip = Literal["left-right", "front-back", "diagonal"]


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
