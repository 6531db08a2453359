"""Heights: what each face's cut takes off, and what is left standing between the two.

Z is touched off on the bed, and a cut stands at a height above it; or on top of the blank, and a cut goes to a depth
below the real surface. So a thick blank thins the web when both faces are zeroed on the bed and thickens it when both
are zeroed on top; with the top for A and the bed for B the thickness drops out.

A blank whose face A is skimmed lies on the new face when it is turned over. What is left of it is as thick as the skim
has made it, and above that face the floors from A stand as programmed: the touch-off was the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from flipcheck.flip.movement import Movement
from flipcheck.stack.sources import Life

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from flipcheck.flip.frames import Face
    from flipcheck.flip.ledger import Ledger
    from flipcheck.job.records import Blank, Job, WebPair, ZeroZ

    Array = NDArray[np.float64]


def nominal_web(pair: WebPair, blank: Blank) -> float:
    """Thickness of the web without errors, mm."""
    return blank.thickness - pair.depth_a - pair.depth_b


def web(ledger: Ledger, job: Job, zero_z: ZeroZ, pair: WebPair, movement: Movement) -> Array:
    """Deviation of the web from its nominal thickness when face B is cut, mm, shape (X,).

    The blank as it then is, grown through its thickness, less the two depths.
    """
    left = job.blank.thickness * movement.through("B") + _thick(ledger, job)
    for face in ("A", "B"):
        left = left - depth(ledger, job, zero_z, pair, face, movement)
    return left


def depth(ledger: Ledger, job: Job, zero_z: ZeroZ, pair: WebPair, face: Face, movement: Movement) -> Array:
    """How much deeper than nominal the cut of a face is, from the surface it was cut into, mm, shape (X,).

    As it is when face B is cut: a depth cut from face A has grown with the blank until then, and a height above the
    bed cuts deeper into a blank that has. A face that is not cut at all has no error.
    """
    nominal = pair.depth(face)
    if not nominal:
        return ledger.zeros()
    errors, strain = job.errors, movement.through("B")
    deeper = nominal * strain if face == "A" else ledger.zeros()
    deeper = deeper - ledger.take("z_touch", f"setup {face}", errors.z_touch, Life.SETUP, face)[0]
    if not on_bed(zero_z, face):
        return deeper
    under = f"{pair.name}, setup {face}"
    deeper = deeper + ledger.take("bed_flatness", under, errors.bed_flatness, Life.SETUP, face)[0]
    deeper = deeper + _thick(ledger, job)
    if face == "A":
        return deeper
    deeper = deeper + (job.blank.thickness - job.blank.skimmed) * strain
    return deeper - _skim(ledger, job, zero_z, pair) if job.blank.skimmed else deeper


def _skim(ledger: Ledger, job: Job, zero_z: ZeroZ, pair: WebPair) -> Array:
    """How much deeper than nominal face A was skimmed over a web, mm, shape (X,): as deep as any cut of that setup."""
    return depth(ledger, job, zero_z, pair, "A", Movement(ledger, None))


def on_bed(zero_z: ZeroZ, face: Face) -> bool:
    """Whether a face is cut at a height above the bed."""
    return zero_z == "bed" or (zero_z == "top then bed" and face == "B")


def _thick(ledger: Ledger, job: Job) -> Array:
    """How much thicker than nominal the blank is, shape (X,): one draw, whichever face it acts by."""
    return ledger.take("stock_thickness", "", job.errors.stock_thickness, Life.BLANK, "A")[0]
