"""The webs of a job by themselves, with Z touched off in one way: how the blank is registered does not enter."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.frames import FACES
from flipcheck.flip.height import depth, nominal_web, web
from flipcheck.flip.ledger import Ledger
from flipcheck.flip.movement import Movement
from flipcheck.stack.linear import LinearModel
from flipcheck.stack.measures import Band

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.job.records import Job, WebPair, ZeroZ

    Array = NDArray[np.float64]


def webs_model(job: Job, webs: tuple[WebPair, ...], zero_z: ZeroZ) -> LinearModel:
    """The thickness of each web and the depths of its two cuts, and whether each web is within its limits.

    Outputs stand web by web: thickness, depth A, depth B.
    """
    first = Ledger()
    _deviations(job, webs, zero_z, first)
    ledger = first.second_reading()
    deviations = _deviations(job, webs, zero_z, ledger)
    nominal = [(nominal_web(pair, job.blank), *(pair.depth(face) for face in FACES)) for pair in webs]
    return LinearModel(
        name=zero_z,
        sources=tuple(ledger.sources.values()),
        contacts=(),
        shared=np.zeros((0, deviations.shape[1] // 2)),
        mix=np.zeros((3 * len(webs), 0)),
        own=ledger.total(deviations),
        centre=np.array(nominal).ravel(),
        measures=tuple(Band(3 * number, *pair.limits) for number, pair in enumerate(webs)),
    )


def _deviations(job: Job, webs: tuple[WebPair, ...], zero_z: ZeroZ, ledger: Ledger) -> Array:
    movement = Movement(ledger, job.between)
    rows = []
    for pair in webs:
        rows.append(web(ledger, job, zero_z, pair, movement))
        rows += [depth(ledger, job, zero_z, pair, face, movement) for face in FACES]
    return np.array(rows)
