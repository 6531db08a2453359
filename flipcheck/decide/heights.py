"""Where to touch off Z: each web by each of the three ways, whatever the methods of the job do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, get_args

import numpy as np

from flipcheck.flip.zeroing import webs_model
from flipcheck.job.records import WebPair, ZeroZ
from flipcheck.stack.exact.characteristic import chances
from flipcheck.stack.quasi_monte_carlo.simulate import simulate

if TYPE_CHECKING:
    from flipcheck.job.records import Job
    from flipcheck.stack.linear import LinearModel

#: Trials for a web whose chance has no exact value, and chances closer than this count as one.
TRIALS, SAME = 65_536, 1e-4


@dataclass(frozen=True)
class ByZero:
    """A web with Z touched off in one way, of all blanks, whether they go on or not.

    Attributes
    ----------
    zero_z: Where Z is touched off, as in the job file.
    chance: Share within the limits.
    through: Share that is cut through: nothing is left of the web.
    mean, std: Thickness, mm.
    """

    zero_z: ZeroZ
    chance: float
    through: float
    mean: float
    std: float


@dataclass(frozen=True)
class WebHeights:
    """One web by each way of touching off Z.

    Attributes
    ----------
    name: As in the job.
    min_web, max_web: Its limits, mm; infinite where there is none.
    ways: One a way, in the order "bed", "top", "top then bed".
    """

    name: str
    min_web: float
    max_web: float
    ways: tuple[ByZero, ...]

    @property
    def best(self) -> tuple[ZeroZ, ...]:
        """The ways with the highest chance: more than one where they are the same to 1 in 10,000."""
        most = max(way.chance for way in self.ways)
        return tuple(way.zero_z for way in self.ways if way.chance > most - SAME)


def heights(job: Job, seed: int = 1) -> tuple[WebHeights, ...]:
    """Every web of a job by every way of touching off Z; empty where the job has no webs.

    Without trials where the chance has an exact value, else from evenly spread points.
    """
    webs = tuple(pair for pair in job.pairs if isinstance(pair, WebPair))
    if not webs:
        return ()
    ways = [_by_zero(webs_model(job, webs, zero_z), zero_z, seed) for zero_z in get_args(ZeroZ)]
    return tuple(
        WebHeights(pair.name, *pair.limits, each) for pair, each in zip(webs, zip(*ways, strict=True), strict=True)
    )


def _by_zero(model: LinearModel, zero_z: ZeroZ, seed: int) -> list[ByZero]:
    shares = _shares(model, seed)
    stds = np.sqrt(np.square(model.coefficients * model.stds).sum(axis=1))
    return [
        ByZero(zero_z, within, through, float(mean), float(std))
        for within, through, mean, std in zip(shares[::2], shares[1::2], model.expected, stds, strict=True)
    ]


def _shares(model: LinearModel, seed: int) -> list[float]:
    """The share of blanks that pass each measure."""
    known = chances(model)
    if None not in known:
        return [share for share in known if share is not None]
    estimate = simulate([model], TRIALS, seed).estimates[0]
    return [estimate.passed(q).estimate if share is None else share for q, share in enumerate(known)]
