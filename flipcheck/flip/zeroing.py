"""The webs of a job by themselves, with Z touched off in one way: how the blank is registered does not enter."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.height import nominal_web, web
from flipcheck.flip.ledger import Ledger
from flipcheck.flip.movement import Movement
from flipcheck.stack.linear import LinearModel
from flipcheck.stack.measures import Band

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from flipcheck.job.records import Job, WebPair, ZeroZ

    Array = NDArray[np.float64]


def webs_model(job: Job, webs: tuple[WebPair, ...], zero_z: ZeroZ) -> LinearModel:
    """The thickness of each web, with two questions to each: within its limits, and is there nothing left of it.

    Measures stand in pairs, web by web: the limits first, then a thickness of at most 0, where the cuts meet.
    """
    first = Ledger()
    _deviations(job, webs, zero_z, first)
    ledger = first.second_reading()
    deviations = _deviations(job, webs, zero_z, ledger)
    measures = [(Band(row, *pair.limits), Band(row, -math.inf, 0.0)) for row, pair in enumerate(webs)]
    return LinearModel(
        name=zero_z,
        sources=tuple(ledger.sources.values()),
        contacts=(),
        shared=np.zeros((0, deviations.shape[1] // 2)),
        mix=np.zeros((len(webs), 0)),
        own=ledger.total(deviations),
        centre=np.array([nominal_web(pair, job.blank) for pair in webs]),
        measures=tuple(measure for both in measures for measure in both),
    )


def _deviations(job: Job, webs: tuple[WebPair, ...], zero_z: ZeroZ, ledger: Ledger) -> Array:
    movement = Movement(ledger, job.between)
    return np.array([web(ledger, job, zero_z, pair, movement) for pair in webs])
