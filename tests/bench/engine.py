"""Goals of the engine alone, measured inside one process on one thread; processor time, the best of several rounds."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache, partial

import numpy as np

from flipcheck.flip.model import flip_model
from flipcheck.job.reader import built_in
from flipcheck.stack.contact.two_pins import TwoPins
from flipcheck.stack.exact.joint import exact
from flipcheck.stack.linear import LinearModel
from flipcheck.stack.monte_carlo.draws import Draws, Plan, sample
from flipcheck.stack.monte_carlo.simulate import simulate
from flipcheck.stack.monte_carlo.streams import BLOCK
from flipcheck.stack.quasi_monte_carlo.simulate import simulate as simulate_evenly
from flipcheck.stack.spreads import Circle, Normal
from tests.bench.goal import Effort
from tests.bench.problems import HOLES, R1_ANSWERS, R1_LINEAR_CHANCE, R2_ANSWERS, R2_PITCH, Answers, r1, r2
from tests.bench.timing import best, cpu

Measured = tuple[tuple[float, ...], str]


def plain_against_draws(effort: Effort) -> Measured:
    """P1: all outputs of a plain run against nothing but its random numbers."""
    ratio = _against_draws(r1(), effort)
    job = built_in()
    fewer = replace(effort, rounds=-(-effort.rounds // 5))
    own = {method.name: _against_draws(flip_model(job, method).linear, fewer) for method in job.methods}
    name = max(own, key=lambda name: own[name])
    return (ratio, own[name]), f"of the example the worst of {len(own)} methods, {name}"


def _against_draws(model: LinearModel, effort: Effort) -> float:
    normals, uniforms = numbers_of(model)
    rng = np.random.Generator(np.random.SFC64(1))
    room = np.empty((normals, BLOCK)), np.empty((uniforms, BLOCK))

    def draw() -> None:
        for _ in range(-(-effort.trials // BLOCK)):
            rng.standard_normal(out=room[0])
            rng.random(out=room[1])

    took = best(
        {"draws": partial(cpu, draw), "plain": partial(cpu, partial(plain, model, effort.trials))}, effort.rounds
    )
    return took["plain"] / took["draws"]


def numbers_of(model: LinearModel) -> tuple[int, int]:
    """How many normal and how many uniform numbers a trial takes: a pose on pins five of these, a circle one."""
    normals = sum(source.rows for source in model.sources if isinstance(source.spread, Normal))
    others = [source for source in model.sources if not isinstance(source.spread, Normal)]
    poses = sum(0 if contact.push else 5 for contact in model.contacts if isinstance(contact, TwoPins))
    return normals, sum(1 if isinstance(source.spread, Circle) else source.rows for source in others) + poses


def plain(model: LinearModel, trials: int, seed: int = 1) -> tuple[float, float]:
    """Chance and P95 of the first measure by ordinary Monte Carlo, with all else that is counted on the way."""
    (estimate,) = simulate([model], trials, seed, threads=1).estimates
    return estimate.chance.estimate, estimate.quantile(0, 0.95)


def even(model: LinearModel, trials: int, seed: int = 1) -> tuple[float, float]:
    """The same on evenly spread points."""
    (estimate,) = simulate_evenly([model], trials, seed, threads=1).estimates
    return estimate.chance.estimate, estimate.quantile(0, 0.95)


@cache
def errors_at_equal_time(make: str, points: int, effort: Effort) -> tuple[float, float, float]:
    """How many times less evenly spread points miss the chance and the P95 by than plain trials of the same time.

    Both by root mean square over seeds, from the true answer. The error of a plain chance is that of counting; that of
    a plain P95 is measured. Also how many plain trials take as long.
    """
    model, truth = (r1(), R1_ANSWERS) if make == "r1" else (r2(), R2_ANSWERS)
    runs = {"plain": partial(plain, model, effort.trials), "even": partial(even, model, points)}
    took = best({name: partial(cpu, run) for name, run in runs.items()}, effort.rounds)
    trials = took["even"] / took["plain"] * effort.trials
    evenly = _rms([even(model, points, seed) for seed in range(1, effort.seeds + 1)], truth)
    drawn = _rms([plain(model, BLOCK, seed) for seed in range(1, effort.seeds + 1)], truth)
    chance = math.sqrt(truth.chance * (1.0 - truth.chance) / trials) / evenly[0]
    return chance, drawn[1] * math.sqrt(BLOCK / trials) / evenly[1], trials


def _rms(runs: list[tuple[float, float]], truth: Answers) -> tuple[float, float]:
    chance, p95 = np.sqrt(np.square(np.array(runs) - [truth.chance, truth.p95]).mean(axis=0))
    return float(chance), float(p95)


def r1_chance(effort: Effort) -> Measured:
    """P6."""
    chance, _, trials = errors_at_equal_time("r1", 2**16, effort)
    return (chance,), f"2^16 points, which take as long as {trials:.2g} plain trials; {effort.seeds} seeds"


def r1_p95(effort: Effort) -> Measured:
    """P7."""
    _, p95, trials = errors_at_equal_time("r1", 2**16, effort)
    return (p95,), f"2^16 points, which take as long as {trials:.2g} plain trials; {effort.seeds} seeds"


def r2_chance(effort: Effort) -> Measured:
    """P8."""
    few, _, less = errors_at_equal_time("r2", BLOCK, effort)
    many, _, more = errors_at_equal_time("r2", 2 * BLOCK, effort)
    # both at the time of 2e4 plain trials: on the straight line through the two in logarithms
    slope = math.log(many / few) / math.log(more / less)
    at = few * (2e4 / less) ** slope
    return (at,), f"{few:.0f} at the time of {less:.2g}, {many:.0f} of {more:.2g} plain trials; {effort.seeds} seeds"


def exact_answer(effort: Effort) -> Measured:
    """P9: all exact answers of a linear model, as so many plain trials of it."""
    model = r1(linear=True)
    took = best(
        {
            "plain": partial(cpu, partial(plain, model, effort.trials)),
            "exact": partial(cpu, partial(exact, model)),
        },
        effort.rounds,
    )
    chance, each = exact(model)
    assert chance is not None
    off = abs(chance - R1_LINEAR_CHANCE)
    return (took["exact"] / took["plain"] * effort.trials, off), f"with the chance of each of {len(each)} pairs"


class Counting(np.random.Generator):
    """Counts the uniform numbers that are asked of it."""

    asked = 0

    def random(self, size=None, *args, **kwargs):
        self.asked += int(np.prod(size))
        return super().random(size, *args, **kwargs)


def poses(effort: Effort) -> Measured:
    """P10: places on two loose pins; the smallest share accepted over many clearances and pitch errors."""
    (contact,) = r2().contacts
    assert isinstance(contact, TwoPins)
    shares = []
    for ratio in (0.01, 0.1, 0.3, 0.6, 1.0):
        touching = (1.0 - ratio) / (1.0 + ratio)  # the smaller circle inside the larger, at its edge
        for part in (0.0, 0.3, 0.6, 0.9, 0.999, touching):
            rng = Counting(np.random.SFC64(2))
            c1, c2 = np.full(BLOCK, 0.05), np.full(BLOCK, 0.05 * ratio)
            contact.draw(rng, c1, c2, part * (c1 + c2), out=np.empty((3, BLOCK)))
            shares.append(4 * BLOCK / (rng.asked - 2 * BLOCK))
    rng, room = np.random.Generator(np.random.SFC64(3)), np.empty((6, BLOCK))
    c1, c2 = (np.full(BLOCK, c) for c in contact.offsets[1:])

    def pose() -> None:
        rng.standard_normal(out=room[0])
        room[0] *= R2_PITCH
        contact.draw(rng, c1, c2, room[0], out=room[1:4])

    def numbers() -> None:
        rng.standard_normal(out=room[0])
        rng.random(out=room[1:])

    took = best({"pose": partial(cpu, pose), "numbers": partial(cpu, numbers)}, 8 * effort.rounds)
    return (min(shares), took["pose"] / took["numbers"]), f"{len(shares)} pairs of clearances and pitch errors"


def quantiles(effort: Effort) -> Measured:
    """P16: how far the quantiles of the histograms lie from those of the values themselves, in standard errors."""
    model, trials = r1(), effort.trials
    (estimate,) = simulate([model], trials, 1).estimates
    plan, values = Plan(model), np.empty((len(HOLES), trials))
    for block in range(-(-trials // BLOCK)):
        outputs, _, _ = sample(plan, Draws(1, block))
        part = values[:, block * BLOCK : (block + 1) * BLOCK]
        for row, measure in zip(part, model.measures, strict=True):
            row[:] = measure.value(outputs)[: part.shape[1]]
    off = []
    for share in (0.5, 0.95, 0.99):
        for q, true in enumerate(np.quantile(values, share, axis=1)):
            error = estimate.quantile_error(q, min(share, 0.98)) / 2.0  # the half-width of an interval is two of them
            off.append(abs(estimate.quantile(q, share) - true) / error)
    return (max(off),), "the largest of P50, P95 and P99 of ten pairs"


def growth(effort: Effort) -> Measured:
    """T1: how the time of a run grows with its trials and with its pairs: the slopes in logarithms."""
    slopes = []
    for run in (plain, even):
        lengths = [effort.trials // 4, effort.trials, 4 * effort.trials]
        slopes.append(_slope(lengths, [partial(run, r1(), length) for length in lengths], effort))
    for run in (plain, even):
        holes = [10, 20, 40, 80]
        few = max(effort.trials // 8, BLOCK)
        slopes.append(_slope(holes, [partial(run, r1(count), few) for count in holes], effort))
    return tuple(slopes), "1 is in proportion; below 1, since something is the same for any number"


def _slope(sizes, calls, effort: Effort) -> float:
    took = best({str(size): partial(cpu, call) for size, call in zip(sizes, calls, strict=True)}, min(effort.rounds, 5))
    return float(np.polyfit(np.log(sizes), np.log([took[str(size)] for size in sizes]), 1)[0])
