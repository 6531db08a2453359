"""What must line up: one record for each kind of pair. Lengths in mm, angles in rad."""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from flipcheck.job.fields import Angle, Length, Name, Point, Points, PositiveLength, Record
from flipcheck.job.standard_sizes import with_bolt


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

    def diameter(self, face: Literal["A", "B"]) -> float | None:
        """Diameter cut from a face, mm; None where the job does not say."""
        return self.hole_a if face == "A" else self.hole_b


class SlotPair(_PairBase):
    """A slot cut from both faces; only the distance across it counts. `angle`: of its long axis from X, in rad."""

    kind: Literal["slot"] = "slot"
    at: Point
    angle: Angle
    allowed: PositiveLength | None = None
    use: Literal["tongue"] | None = None
    slot_width: PositiveLength | None = None
    tongue: PositiveLength | None = None

    @property
    def across(self) -> tuple[float, float]:
        """The unit vector across it."""
        return -math.sin(self.angle), math.cos(self.angle)


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

    def depth(self, face: Literal["A", "B"]) -> float:
        """Depth of the cut of a face, mm; 0 for one that is left as it is."""
        return self.depth_a if face == "A" else self.depth_b

    @property
    def limits(self) -> tuple[float, float]:
        """Least and largest thickness within its limits, mm; infinite where there is none."""
        low = -math.inf if self.min_web is None else self.min_web
        high = math.inf if self.max_web is None else self.max_web
        return low, high if self.min_overlap is None else min(high, -self.min_overlap)


Pair = Annotated[HolePair | SlotPair | OutlinePair | WebPair, Field(discriminator="kind")]
