"""Heights: what is left standing between a pocket of face A and a pocket of face B."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flipcheck.stack.sources import Life

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from flipcheck.flip.frames import Face
    from flipcheck.flip.ledger import Ledger
    from flipcheck.job.records import Blank, Errors, Method, WebPair

    Array = NDArray[np.float64]


def nominal_web(pair: WebPair, blank: Blank) -> float:
    """Thickness of the web without errors, mm."""
    return blank.thickness - pair.depth_a - pair.depth_b


def web(ledger: Ledger, errors: Errors, method: Method, pair: WebPair) -> Array:
    """Deviation of the web from its nominal thickness, mm, shape (X,).

    Zeroed on the bed, a cut stands at a height above the bed, and the bed's unevenness under it comes off; zeroed on
    top, it goes to a depth below the real surface. So a thick blank thins the web when both faces are zeroed on the bed
    and thickens it when both are zeroed on top; with the top for A and the bed for B the thickness drops out.
    """
    on_bed: dict[Face, bool] = {"A": method.zero_z == "bed", "B": method.zero_z != "top"}
    deviation = ledger.zeros()
    for face, bed in on_bed.items():
        touch = ledger.take("z_touch", f"setup {face}", errors.z_touch, Life.SETUP, face)[0]
        deviation = deviation + touch
        if bed:
            under = f"{pair.name}, setup {face}"
            deviation = deviation - ledger.take("bed_flatness", under, errors.bed_flatness, Life.SETUP, face)[0]
    thick = ledger.take("stock_thickness", "", errors.stock_thickness, Life.BLANK, "A")[0]
    return deviation + thick * {"bed": -1.0, "top": 1.0, "top then bed": 0.0}[method.zero_z]
