"""What the checks of geometry know about the part: how far the blank reaches, by itself and on the machine."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from flipcheck.job.findings import Finding
from flipcheck.job.quantities import MM_PER_UNIT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from flipcheck.job.findings import Path
    from flipcheck.job.records import Blank, Flip

Place = tuple[float, float]

#: Rounding of a fraction of an inch must not put a point outside the blank (mm).
NEARLY = 1e-6


@dataclass(frozen=True)
class Part:
    """The blank and its turn, each None where it could not be read, and the units to speak in."""

    blank: Blank | None
    flip: Flip | None
    units: str = "mm"

    def text(self, *lengths: float) -> str:
        """Lengths (mm) as they are quoted back, in the units of the job."""
        numbers = ", ".join(f"{length / MM_PER_UNIT[self.units]:.6g}" for length in lengths)
        return f"({numbers}) {self.units}" if len(lengths) > 1 else f"{numbers} {self.units}"

    def on_blank(self, place: Place, margin: float = 0.0) -> bool:
        """Whether a place of the blank frame is `margin` or more from every edge (mm); true where no blank is known."""
        if self.blank is None:
            return True
        margin -= NEARLY
        return all(margin <= at <= extent - margin for at, extent in zip(place, self.blank.size[:2], strict=True))

    def off_blank(self, path: Path, place: Place) -> Iterator[Finding]:
        """A point that is not on the blank."""
        if self.blank is not None and not self.on_blank(place):
            needed = f"a point on the blank, from (0, 0) to {self.text(self.blank.length, self.blank.width)}"
            yield Finding("outside-blank", path, needed, self.text(*place))

    def extents(self, along_x: bool) -> list[tuple[str, float]]:
        """How far the blank reaches along a machine axis (mm), by setup, for the setups that are known.

        A left-right or front-back turn leaves the blank where it was; after a diagonal turn it measures W along
        machine X and L along machine Y.
        """
        if self.blank is None:
            return []
        here, there = (self.blank.length, self.blank.width) if along_x else (self.blank.width, self.blank.length)
        return [("A", here), *([("B", there if self.flip == "diagonal" else here)] if self.flip else [])]

    def off_edge(self, path: Path, place: float, side: str) -> Iterator[Finding]:
        """A place along a machine side that the blank does not reach in one of the setups."""
        for setup, extent in self.extents(along_x=side in ("front", "back")):
            if not -NEARLY <= place <= extent + NEARLY:
                needed = f"a place on the blank, from 0 to {self.text(extent)} along the {side} side in setup {setup}"
                yield Finding("beyond-edge", path, needed, self.text(place))
                return
