"""Wear: holes that grow a little each time a blank is hung on the pins.

A use is one hanging of a blank: one a part where the holes are cut with face A (it hangs in setup B only), two where
they were made beforehand. Holes in the bed go on growing from part to part; a blank brings new holes of its own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flipcheck.job.records import PinsMethod
from flipcheck.stack.sources import Life

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.flip.frames import Face
    from flipcheck.flip.ledger import Ledger
    from flipcheck.flip.model import FlipModel

    Array = NDArray[np.float64]


def worn(ledger: Ledger, method: PinsMethod, i: int, face: Face) -> Array:
    """How much wider hole i has become when the first part of a batch hangs in setup `face`, mm, shape (X,)."""
    life = Life.MACHINE if method.wear_of == "bed" else Life.BLANK
    before = uses(method) - 1 if face == "B" else 0
    return before * ledger.take("wear", _hole(method, i), method.wear, life, face)[0]


def uses(method: PinsMethod) -> int:
    """How often one part is hung on the pins."""
    return 1 if method.datum_with_face_a else 2


def growth(model: FlipModel) -> Array:
    """How much what the play of the contacts depends on grows from one part to the next, mm.

    Forms over the source rows, shape (F, R), in the order of those of the contacts; all zero where no hole of the bed
    wears, and where it does those of the radial clearances.
    """
    linear, method = model.linear, model.method
    grown = []
    for contact in linear.contacts:
        forms, clearances = np.zeros_like(contact.forms), np.flatnonzero(contact.widening)
        if isinstance(method, PinsMethod) and method.wear_of == "bed":
            for source, rows in zip(linear.sources, linear.source_rows, strict=True):
                for i in range(len(method.pins)):
                    if source.key == f"wear/{_hole(method, i)}":
                        forms[clearances[i], rows] = 0.5 * uses(method)
        grown.append(forms)
    return np.concatenate(grown) if grown else np.zeros((0, linear.source_means.size))


def _hole(method: PinsMethod, i: int) -> str:
    return f"{method.wear_of} hole {i + 1}"
