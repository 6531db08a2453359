"""Numbers to draw: where the misalignment of each pair falls, and how it grows over the blank."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.decide.check import method_named, refuse_impossible
from flipcheck.flip.model import flip_model
from flipcheck.job.records import HolePair
from flipcheck.stack.monte_carlo.draws import Draws, Plan, sample
from flipcheck.stack.monte_carlo.streams import BLOCK, seed_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from flipcheck.flip.frames import Point
    from flipcheck.flip.model import FlipModel
    from flipcheck.job.records import Job, Method
    from flipcheck.stack.monte_carlo.streams import RngLike

    Array = NDArray[np.float64]

#: Trials drawn unless told otherwise, and points of the map along the longer side of the blank.
TRIALS, POINTS = 32_768, 25


@dataclass(frozen=True, eq=False)
class Cloud:
    """The misalignment of one pair in some blanks that go on.

    Attributes
    ----------
    pair, kind: Its name and kind.
    x, y: Misalignment, B minus A, blank frame, mm, shape (N,); None for a web.
    value: What is judged: distance, distance across, largest step, or thickness, mm, shape (N,).
    normals: Unit vectors along which x and y are judged, as of `Target`; none for a hole and for a web.
    """

    pair: str
    kind: str
    x: Array | None
    y: Array | None
    value: Array
    normals: tuple[Point, ...] = ()

    def __repr__(self) -> str:
        return f"Cloud({self.pair!r}, {len(self.value)} blanks)"


@dataclass(frozen=True, eq=False)
class BlankMap:
    """Radial misalignment that 95 in 100 of the blanks that go on stay within, for a hole anywhere on the blank, mm.

    `x` (columns) and `y` (rows) are places in the blank frame, mm; `p95` has the shape (rows, columns).
    """

    x: Array
    y: Array
    p95: Array

    def __repr__(self) -> str:
        return f"BlankMap({len(self.y)} x {len(self.x)} points)"


@dataclass(frozen=True, eq=False)
class Survey:
    """Clouds of all pairs of a job by one method, in the order of the job, and the map of the blank."""

    method: str
    clouds: tuple[Cloud, ...]
    map: BlankMap


def survey(job: Job, method: str | None = None, *, trials: int = TRIALS, rng: RngLike = 1) -> Survey:
    """Draw some parts of a job by one method (the first, unless named), to be looked at.

    They are the first trials of `check` with the same seed, rounded up to whole blocks. Raises as `check` does.
    """
    refuse_impossible(job)
    chosen = method_named(job, method)
    seed = seed_of(rng)
    return Survey(chosen.name, _clouds(flip_model(job, chosen), trials, seed), _map(job, chosen, trials, seed))


def _clouds(model: FlipModel, trials: int, seed: int) -> tuple[Cloud, ...]:
    plan = Plan(model.linear)
    blocks = []
    for draws in _draws(trials, seed):
        outputs, _, on = sample(plan, draws)
        blocks.append(outputs[:, on])
    outputs = np.concatenate(blocks, axis=1)
    clouds = []
    for target in model.targets:
        x, y = (None, None) if target.x is None or target.y is None else outputs[[target.x, target.y]]
        value = target.measure.value(outputs)
        clouds.append(Cloud(target.pair.name, target.pair.kind, x, y, value, target.normals))
    return tuple(clouds)


def _map(job: Job, method: Method, trials: int, seed: int) -> BlankMap:
    """The p95 on a grid: the field of misalignment at each point, plus the scatter of a hole's own two cuts."""
    hole = HolePair(name="anywhere", at=(0.0, 0.0), allowed=1.0)
    model = flip_model(job.model_copy(update={"pairs": (hole,)}), method)
    plan, (target,) = Plan(model.linear), model.targets
    assert target.x is not None
    assert target.y is not None
    xy = [target.x, target.y]
    fields, corners = [], []
    for draws in _draws(trials, seed):
        sums = plan.add_sources(draws)
        _, on = plan.hang(sums, draws)
        corners.append(plan.mix(sums)[xy][:, on])
        fields.append(sums[: plan.components, on])
    corner, field = np.concatenate(corners, axis=1), np.concatenate(fields, axis=1)
    step = max(job.blank.length, job.blank.width) / (POINTS - 1)
    xs, ys = (np.linspace(0.0, side, max(3, round(side / step) + 1)) for side in (job.blank.length, job.blank.width))
    if not corner.shape[1]:
        return BlankMap(xs, ys, np.full((len(ys), len(xs)), np.nan))
    p95 = [
        [_p95(corner[0] + x * field[1] + y * field[2], corner[1] + x * field[4] + y * field[5]) for x in xs] for y in ys
    ]
    return BlankMap(xs, ys, np.array(p95))


def _p95(x: Array, y: Array) -> float:
    return float(np.quantile(np.hypot(x, y), 0.95))


def _draws(trials: int, seed: int) -> Iterator[Draws]:
    return (Draws(seed, block) for block in range(-(-trials // BLOCK)))
