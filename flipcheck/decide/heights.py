"""Where to touch off Z: each web, and the depths of its two cuts, by each of the three ways."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, get_args

import numpy as np

from flipcheck.decide.results import Distribution
from flipcheck.flip.zeroing import webs_model
from flipcheck.job.records import WebPair, ZeroZ
from flipcheck.stack.exact.characteristic import chances, quantile
from flipcheck.stack.exact.joint import exact
from flipcheck.stack.intervals import Chance, difference
from flipcheck.stack.measures import Band
from flipcheck.stack.quasi_monte_carlo.simulate import simulate

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from flipcheck.decide.results import MethodResult
    from flipcheck.job.records import Job
    from flipcheck.stack.estimate import Estimate
    from flipcheck.stack.linear import LinearModel

#: Trials for what has no exact value, and chances closer than this count as one.
TRIALS, SAME = 65_536, 1e-4
_QUANTILES = {"p01": 0.01, "p05": 0.05, "p95": 0.95, "p99": 0.99}
#: An effect smaller than this (mm for each mm, or for each unit of a change) has dropped out.
_NONE = 1e-9


@dataclass(frozen=True)
class Effect:
    """What one error of the job does to the thickness of a web by one way of touching off Z.

    Attributes
    ----------
    source: Name of the error.
    slope: What one unit of it adds to the thickness, mm; the sum where it is drawn more than once; 0: it drops out.
    draws: How many draws of it act: the bed under one face, or under both.
    mean, std: Mean and standard deviation that it gives to the thickness, mm.
    """

    source: str
    slope: float
    draws: int
    mean: float
    std: float


@dataclass(frozen=True)
class ByZero:
    """A web with Z touched off in one way, of all blanks, whether they go on or not.

    Attributes
    ----------
    zero_z: Where Z is touched off, as in the job file.
    chance: Share within the limits; low and high are the same where it has an exact value.
    through: Share that is cut through: nothing is left of the web.
    mean, std: Thickness, mm.
    depth_a, depth_b: Depth of each cut below the surface it was cut into, when face B is cut; None for a face that is
        left as it is.
    effects: One for each error of the job that could act on a height.
    """

    zero_z: ZeroZ
    chance: Chance
    through: Chance
    mean: float
    std: float
    depth_a: Distribution | None = None
    depth_b: Distribution | None = None
    effects: tuple[Effect, ...] = ()


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
        """The ways with the highest chance: several where they are the same to 1 in 10,000, or to what trials tell."""
        return best_of({way.zero_z: way.chance for way in self.ways})


@dataclass(frozen=True)
class Zeroed:
    """All webs of a job with Z touched off in one way.

    Attributes
    ----------
    zero_z: The way.
    chance: Share of all blanks in which every web is within its limits.
    webs: One a web, in the order of the job.
    """

    zero_z: ZeroZ
    chance: Chance
    webs: tuple[ByZero, ...]


def best_of(chances: dict[ZeroZ, Chance]) -> tuple[ZeroZ, ...]:
    """The ways whose chance is the highest, or not told from it: by `SAME`, or by the intervals of the two."""
    most = max(chances.values(), key=lambda chance: chance.estimate)
    return tuple(
        way
        for way, chance in chances.items()
        if most.estimate - chance.estimate <= SAME or difference(most, chance)[0] <= 0.0
    )


def by_web(job: Job, ways: Sequence[Zeroed]) -> tuple[WebHeights, ...]:
    """What was found way by way, web by web."""
    return tuple(
        WebHeights(pair.name, *pair.limits, tuple(way.webs[number] for way in ways))
        for number, pair in enumerate(_webs(job))
    )


def with_heights(job: Job, methods: Sequence[MethodResult], ways: Sequence[Zeroed]) -> tuple[MethodResult, ...]:
    """Results of methods with the heights that each touches off by put beside its webs."""
    if not ways:
        return tuple(methods)
    found = {way.zero_z: dict(zip((pair.name for pair in _webs(job)), way.webs, strict=True)) for way in ways}
    zeros = {method.name: found[method.zero_z] for method in job.methods if method.zero_z in found}
    return tuple(
        replace(method, pairs=tuple(replace(pair, heights=zeros[method.name].get(pair.name)) for pair in method.pairs))
        for method in methods
    )


def zeroed(job: Job, ways: Iterable[ZeroZ] = get_args(ZeroZ), seed: int = 1) -> tuple[Zeroed, ...]:
    """The webs of a job by some ways of touching off Z; empty where the job has no webs.

    Without trials where there is an exact value, else from evenly spread points.
    """
    webs = _webs(job)
    return tuple(_Way(job, webs, zero_z, seed).zeroed() for zero_z in ways) if webs else ()


def _webs(job: Job) -> tuple[WebPair, ...]:
    return tuple(pair for pair in job.pairs if isinstance(pair, WebPair))


class _Way:
    """Works out the webs of a job by one way of touching off Z: without trials as far as there are exact values."""

    def __init__(self, job: Job, webs: tuple[WebPair, ...], zero_z: ZeroZ, seed: int) -> None:
        self._job, self._webs, self._zero_z, self._seed = job, webs, zero_z, seed
        self._model = webs_model(job, webs, zero_z)
        self._thicknesses = range(0, 3 * len(webs), 3)
        self._stds = np.sqrt(np.square(self._model.coefficients * self._model.stds).sum(axis=1))

    def zeroed(self) -> Zeroed:
        """Everything about them."""
        of_all, of_each = exact(self._model)
        together = self._limits.chance if of_all is None else _certain(of_all)
        within = [self._limits.passed(q) if share is None else _certain(share) for q, share in enumerate(of_each)]
        through = [self._through(row) for row in self._thicknesses]
        return Zeroed(self._zero_z, together, tuple(map(self._web, self._webs, self._thicknesses, within, through)))

    @cached_property
    def _limits(self) -> Estimate:
        """What trials say of the limits of the webs."""
        return simulate([self._model], TRIALS, self._seed).estimates[0]

    @cached_property
    def _outputs(self) -> Estimate:
        """What trials say of the outputs, one measure each: how often each is at most 0, and its quantiles."""
        at_most_0 = tuple(Band(row, -math.inf, 0.0) for row in range(len(self._model.centre)))
        return simulate([replace(self._model, measures=at_most_0)], TRIALS, self._seed).estimates[0]

    def _through(self, row: int) -> Chance:
        (share,) = chances(replace(self._model, measures=(Band(row, -math.inf, 0.0),)))
        return self._outputs.passed(row) if share is None else _certain(share)

    def _web(self, pair: WebPair, row: int, chance: Chance, through: Chance) -> ByZero:
        return ByZero(
            self._zero_z,
            chance,
            through,
            mean=float(self._model.expected[row]),
            std=float(self._stds[row]),
            depth_a=self._depth(row + 1) if pair.depth_a else None,
            depth_b=self._depth(row + 2) if pair.depth_b else None,
            effects=tuple(_effects(self._job, self._model, row)),
        )

    def _depth(self, row: int) -> Distribution:
        quantiles = {}
        for name, share in _QUANTILES.items():
            known = quantile(self._model, row, share)
            quantiles[name] = self._outputs.quantile(row, share) if known is None else known
        return Distribution(float(self._model.expected[row]), float(self._stds[row]), quantiles)


def _effects(job: Job, model: LinearModel, row: int) -> Iterator[Effect]:
    slopes = model.coefficients[row]
    for name in _acting(job):
        columns = [i for i, source in enumerate(model.sources) if source.name == name and abs(slopes[i]) > _NONE]
        yield Effect(
            name,
            float(slopes[columns].sum()),
            len(columns),
            float((slopes * model.source_means)[columns].sum()),
            float(np.sqrt(np.square((slopes * model.stds)[columns]).sum())),
        )


def _acting(job: Job) -> list[str]:
    """The errors and changes of a job that can act on a height, whether or not they do."""
    given = [(name, getattr(job.errors, name)) for name in ("stock_thickness", "bed_flatness", "z_touch")]
    return [name for name, spread in given if spread is not None and (spread.std or spread.mean)] + list(job.changes)


def _certain(share: float) -> Chance:
    return Chance(share, share, share)
