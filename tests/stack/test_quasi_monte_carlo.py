"""Evenly spread points with known scatter worked out, against ordinary Monte Carlo and closed forms."""

from __future__ import annotations

import math
import tracemalloc

import numpy as np
import pytest
from scipy import optimize, special, stats

from flipcheck.stack.contact.two_pins import Hang
from flipcheck.stack.intervals import half_width
from flipcheck.stack.measures import Band, Largest, Radius
from flipcheck.stack.monte_carlo.simulate import simulate as monte_carlo
from flipcheck.stack.monte_carlo.streams import BLOCK
from flipcheck.stack.quasi_monte_carlo.conditional import conditional
from flipcheck.stack.quasi_monte_carlo.own_scatter import own_scatter
from flipcheck.stack.quasi_monte_carlo.simulate import simulate
from flipcheck.stack.rarer_spreads import Exponential
from flipcheck.stack.spreads import Arcsine, Circle, Exactly, Normal, Trapezoid, Triangular, Uniform
from tests.stack.models import ERRORS_ALLOWED, linear_model, two_pins

SPREADS = {
    "shift": Normal(0.03, mean=0.01),
    "lean": Uniform(0.05),
    "edge": Triangular(0.04),
    "wave": Arcsine(0.02),
    "size": Trapezoid(0.05, top=0.3),
    "runout": Circle(0.02),
    "bit": Normal(0.01),
    "x cut": Normal(0.012, mean=0.004),
    "y cut": Normal(0.012),
    "z cut": Normal(0.02),
}
#: Outputs: x and y of a hole, the slack of its limit, and a height. The last three sources act on one measure alone.
EFFECTS = [
    [1.0, 1.0, 0.0, 0.5, 0.0, 1.0, 0.0, 0.0, 1.0, 0.0, 0.0],
    [0.5, 0.0, 1.0, 0.0, 0.7, 0.0, 1.0, 0.0, 0.0, 1.0, 0.0],
    [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0],
    [0.6, 0.0, 1.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0],
]
MEASURES = (Radius(0, 1, 0.11, slack=2, need=-0.02), Band(3, -0.08, 0.1), Largest((0,), 0.1), Radius(0, 1, 0.12))


def mixed_model(*measures, contacts=(), play: float = 1.0):
    """Sources of every shape; with contacts also their play along x and across."""
    extra = [[play, 0.0, 0.0], [0.0, play, 0.2 * play], [0.0, 0.0, 0.0], [0.0, 0.0, 0.0]]
    effects = [row + more * len(contacts) for row, more in zip(EFFECTS, extra, strict=True)]
    return linear_model(SPREADS, effects, *(measures or MEASURES[:2]), contacts=contacts)


def pins(hang: Hang, push: float = 0.0, clearance: float = 0.04):
    pitch = [0.4, 0.3, *([0.0] * 9)]
    grows = ([0.0] * 7 + [0.5, 0.0, 0.0, 0.0],) * 2
    return two_pins(hang, (clearance, 1.2 * clearance), push=push, pitch=pitch, clearance=grows)


MODELS = {
    "no pins": mixed_model(),
    "every measure": mixed_model(*MEASURES),
    "loose": mixed_model(contacts=(pins(Hang.LOOSE),)),
    "slot": mixed_model(contacts=(pins(Hang.SLOT),)),
    "pushed": mixed_model(contacts=(pins(Hang.PUSHED, 1.0),)),
    "pushed in a slot": mixed_model(contacts=(pins(Hang.SLOT, -1.0),)),
    "seldom on": mixed_model(contacts=(pins(Hang.LOOSE, clearance=0.012),)),
}


@pytest.mark.parametrize("name", MODELS)
def test_agrees_with_monte_carlo(name: str):
    """Every number is that of ordinary Monte Carlo, within the scatter of both."""
    model, trials = MODELS[name], 40 * BLOCK
    even = simulate([model], 4 * BLOCK, 1).estimates[0]
    plain = monte_carlo([model], trials, 2).estimates[0]

    def close(a: float, b: float, width: float) -> None:
        assert abs(a - b) <= 0.5 * ERRORS_ALLOWED * width

    both = [(even.chance, plain.chance), *((even.passed(q), plain.passed(q)) for q in range(len(model.measures)))]
    for one, other in both:
        close(one.estimate, other.estimate, math.hypot(one.high - one.low, other.high - other.low) / 2.0)
    on = plain.goes_on
    close(even.goes_on, on, 2.0 * math.sqrt(on * (1.0 - on) / (4 * BLOCK)) + 1e-12)
    for q in range(len(model.measures)):
        for share in (0.05, 0.5, 0.95, 0.99):
            width = math.hypot(even.quantile_error(q, min(share, 0.98)), plain.quantile_error(q, min(share, 0.98)))
            close(even.quantile(q, share), plain.quantile(q, share), 1.5 * width + 2e-5)
        std = plain.value(q).std
        close(even.value(q).mean, plain.value(q).mean, 3.0 * std / math.sqrt(trials * on / 8))
        close(even.value(q).std, std, 3.0 * std / math.sqrt(trials * on / 8))
    for row in range(len(model.centre)):
        mean, std = plain.output(row)
        close(even.output(row).mean, mean, 3.0 * std / math.sqrt(trials * on / 8) + 1e-12)
        close(even.output(row).std, std, 3.0 * std / math.sqrt(trials * on / 8) + 1e-12)
    scale = np.sqrt(np.diag(plain.pose_covariance()))
    off = np.abs(even.pose_covariance() - plain.pose_covariance())
    assert np.all(off <= 0.02 * np.outer(scale, scale) + 1e-12)


def hole_off_a_line(limit: float = 0.1):
    """A hole with a uniform error along x and normal scatter of its own: its chance is one integral."""
    spreads = {"lean": Uniform(0.08), "x cut": Normal(0.03), "y cut": Normal(0.03)}
    return linear_model(spreads, [[1.0, 1.0, 0.0], [0.0, 0.0, 1.0]], Radius(0, 1, limit))


def exact_chance(limit: float) -> float:
    nodes, weights = np.polynomial.legendre.leggauss(60)
    return float(weights @ special.chndtr((limit / 0.03) ** 2, 2, (0.08 * nodes / 0.03) ** 2)) / 2.0


def test_one_integral():
    """A chance that is one integral comes out to six digits."""
    chance = simulate([hole_off_a_line()], BLOCK, 1).estimates[0].chance

    assert exact_chance(0.1) == pytest.approx(chance.estimate, abs=3e-6)
    assert chance.high - chance.low < 2e-5


def test_nothing_left_to_draw():
    """Where all scatter is known the answer is exact, and the interval says so."""
    model = linear_model({"x": Normal(0.03), "y": Normal(0.03)}, np.eye(2).tolist(), Radius(0, 1, 0.05))
    estimate = simulate([model], BLOCK, 1).estimates[0]

    assert 1.0 - math.exp(-0.5 * (0.05 / 0.03) ** 2) == pytest.approx(estimate.chance.estimate, abs=1e-6)
    assert estimate.chance.high - estimate.chance.low < 1e-9
    for share in (0.5, 0.95, 0.99):
        rayleigh = 0.03 * math.sqrt(-2.0 * math.log(1.0 - share))
        assert rayleigh == pytest.approx(estimate.quantile(0, share), abs=5e-6)  # a quantile comes from bins
    assert 0.03 * math.sqrt(math.pi / 2.0) == pytest.approx(estimate.value(0).mean, abs=1e-6)


def test_nothing_left_to_draw_of_a_height():
    """A height all of whose scatter is known has its own mean and standard deviation, not those of a bin."""
    model = linear_model({"z": Normal(0.1)}, [[1.0]], Band(0, 1.4, 1.7), centre=[1.5])
    mean, std = simulate([model], BLOCK, 1).estimates[0].value(0)

    assert (1.5, 0.1) == pytest.approx((mean, std), abs=1e-9)


def test_percentile_between_two_bins():
    """A 95 % distance is right to a small part of the bins that the offsets are counted in, as one integral says."""
    estimate = simulate([hole_off_a_line()], 4 * BLOCK, 1).estimates[0]
    exact = optimize.brentq(lambda limit: exact_chance(limit) - 0.95, 0.05, 0.2, xtol=1e-10)

    # the bins of the offsets are 0.0013 mm wide; the mean of each alone would leave an error of 4e-6 mm
    assert exact == pytest.approx(estimate.quantile(0, 0.95), abs=5e-7)


def test_chance_of_many_holes():
    """Holes that share nothing all pass with the product of their chances."""
    spreads = {f"{axis}{i}": Normal(0.03) for i in range(6) for axis in "xy"}
    measures = [Radius(2 * i, 2 * i + 1, 0.06) for i in range(6)]
    chance = simulate([linear_model(spreads, np.eye(12).tolist(), *measures)], BLOCK, 1).estimates[0].chance

    assert (1.0 - math.exp(-0.5 * 4.0)) ** 6 == pytest.approx(chance.estimate, abs=1e-5)


SEEDS = 400


@pytest.mark.parametrize("name", ["no pins", "loose", "seldom on"])
def test_interval_covers(name: str):
    """Of 400 seeds about 95 in 100 intervals contain the truth: the chance, and a 95 % distance."""
    model = MODELS[name]
    truth = simulate([model], 2**19, 10_000).estimates[0]
    chance, distance = truth.chance.estimate, truth.quantile(0, 0.95)
    hits, near = 0, 0
    for seed in range(SEEDS):
        estimate = simulate([model], BLOCK // 8, seed, threads=1).estimates[0]
        hits += estimate.chance.low <= chance <= estimate.chance.high
        near += abs(estimate.quantile(0, 0.95) - distance) <= estimate.quantile_error(0, 0.95)

    # four standard deviations of a count of 400 at 95 %
    allowed = ERRORS_ALLOWED * math.sqrt(SEEDS * 0.95 * 0.05)
    assert abs(hits - 0.95 * SEEDS) <= allowed
    assert abs(near - 0.95 * SEEDS) <= allowed


def test_interval_of_a_rare_miss():
    """Where hardly any trial misses the interval is still honest: it contains the truth for nearly every seed."""
    model, truth = hole_off_a_line(0.165), exact_chance(0.165)
    chances = [simulate([model], 1000, seed, threads=1).estimates[0].chance for seed in range(100)]

    assert 0.999 < truth < 1.0
    assert sum(chance.low <= truth <= chance.high for chance in chances) >= 99


def test_unbiased():
    """The mean over many seeds is the truth, within its own scatter."""
    repeats = [simulate([MODELS["loose"]], BLOCK // 4, seed, threads=1).estimates[0].repeats for seed in range(60)]
    means = np.mean(repeats, axis=1)
    truth = simulate([MODELS["loose"]], 2**19, 999).estimates[0].chance.estimate

    assert abs(means.mean() - truth) <= ERRORS_ALLOWED * means.std(ddof=1) / math.sqrt(len(means))


def test_less_scatter():
    """The same number of trials leaves a fraction of the scatter of counting."""
    estimate = simulate([MODELS["loose"]], 4 * BLOCK, 3).estimates[0]
    share = estimate.chance.estimate
    counted = math.sqrt(share * (1.0 - share) / (4 * BLOCK))

    assert half_width(estimate.repeats) < 0.35 * 2.0 * counted


def digits(run) -> list:
    estimate = run.estimates[0]
    return [
        estimate.chance,
        estimate.passed(1),
        estimate.quantile(0, 0.95),
        estimate.value(1),
        estimate.pose_covariance().tolist(),
    ]


@pytest.mark.parametrize("name", ["no pins", "loose"])
def test_threads_leave_the_bytes_alone(name: str):
    """The result does not depend on how many threads share the work, nor on the models beside it."""
    model = MODELS[name]
    one, three = (simulate([model], 5 * BLOCK + 77, 3, threads=threads) for threads in (1, 3))
    beside = simulate([model, MODELS["pushed"]], 5 * BLOCK + 77, 3)

    assert digits(one) == digits(three) == digits(beside)


def test_any_number_of_trials():
    """So many trials are counted as were asked for, even fewer than there are repeats."""
    for trials in (1, 7, 16, 1000, BLOCK + 1):
        run = simulate([MODELS["loose"]], trials, 1)
        chance = run.estimates[0].chance
        assert trials == run.trials == run.estimates[0].trials
        assert 0.0 <= chance.low <= chance.estimate <= chance.high <= 1.0


def test_no_trials():
    """At least one trial is needed."""
    with pytest.raises(ValueError, match="at least one trial is needed, not 0"):
        simulate([MODELS["loose"]], 0, 1)


def test_never_on():
    """With pins larger than their holes nothing goes on, and nothing more is known."""
    model = mixed_model(contacts=(pins(Hang.LOOSE, clearance=-0.3),))
    estimate = simulate([model], 1000, 1).estimates[0]

    assert (0.0, 0.0) == (estimate.goes_on, estimate.chance.estimate)
    assert math.isnan(estimate.passed(0).estimate)
    assert math.isnan(estimate.quantile(0, 0.95))
    assert math.isnan(estimate.quantile_error(0, 0.95))
    assert math.isnan(estimate.value(0).mean)


def test_difference_of_two_models():
    """Two models on the same points: the interval of their difference is narrower than that of either, and honest."""
    loose, pushed = MODELS["loose"], MODELS["pushed"]
    run = simulate([loose, pushed, loose], 4 * BLOCK, 1)
    truth = simulate([loose, pushed], 2**18, 77)
    first, second = (estimate.chance.estimate for estimate in truth.estimates)
    low, high = run.difference(0, 1)

    assert low <= first - second <= high
    assert (0.0, 0.0) == run.difference(0, 2)


def test_difference_of_rare_misses():
    """Where hardly any trial misses, no difference is not taken for certainty."""
    run = simulate([hole_off_a_line(0.3), hole_off_a_line(0.31)], 1000, 1)
    low, high = run.difference(0, 1)

    assert low < 0.0 < high


def test_ends_when_settled():
    """The run asks after 1, 2, 4, 8 blocks, and ends when told that it has settled."""
    asked = []

    def settled(estimates) -> bool:
        asked.append(estimates[0].trials // BLOCK)
        return len(asked) == 4

    run = simulate([MODELS["no pins"]], 100 * BLOCK, 1, settled=settled)

    assert [1, 2, 4, 8] == asked
    assert (8 * BLOCK, True) == (run.trials, run.settled)


def test_memory_does_not_grow():
    """Twice the blocks take no more memory."""
    simulate([MODELS["loose"]], 1, 1)  # whatever is loaded once is loaded now
    peaks = []
    for blocks in (4, 12):
        tracemalloc.start()
        simulate([MODELS["loose"]], blocks * BLOCK, 1, threads=1)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()

    assert peaks[1] < 1.1 * peaks[0]


def test_what_is_worked_out():
    """Only normal scatter that is even, and touches one measure, is worked out; what it misses is drawn."""
    scatter = own_scatter(MODELS["no pins"])
    assert {"x cut", "y cut", "z cut"} == {MODELS["no pins"].sources[i].name for i in scatter.known}
    assert (0.012, 0.02) == pytest.approx(tuple(scatter.stds))

    uneven = linear_model({"x": Normal(0.03), "y": Normal(0.02)}, np.eye(2).tolist(), Radius(0, 1, 0.05))
    leaning = linear_model({"x": Normal(0.03), "y": Normal(0.03)}, [[1.0, 0.5], [0.0, 1.0]], Radius(0, 1, 0.05))
    shared = linear_model({"x": Normal(0.03)}, [[1.0], [1.0]], Largest((0,), 0.05), Largest((1,), 0.05))
    largest = linear_model({"x": Normal(0.03)}, [[1.0], [1.0]], Largest((0, 1), 0.05))
    slack = linear_model({"bit": Normal(0.01)}, [[0.0], [0.0], [1.0]], Radius(0, 1, 0.05, slack=2))
    uniform = linear_model({"x": Uniform(0.03)}, [[1.0]], Largest((0,), 0.02))
    for model in (uneven, leaning, shared, largest, slack, uniform):
        assert not own_scatter(model).known


def test_many_dimensions():
    """With more errors than there are dimensions the rest is drawn at random, and the answer stays right."""
    count = 100
    spreads = {f"u{i}": Uniform(0.03) for i in range(count)}
    model = linear_model(spreads, [[1.0] * count], Largest((0,), 0.3), through_shared=True)
    chance = simulate([model], 4 * BLOCK, 1).estimates[0].chance
    plain = monte_carlo([model], 20 * BLOCK, 1).estimates[0].chance

    assert plain.low - (plain.high - plain.low) <= chance.estimate <= plain.high + (plain.high - plain.low)
    assert chance.high - chance.low < 0.02


def test_other_spreads():
    """A spread without a quantile function is drawn at random; a known value is only added."""
    spreads = {"wait": Exponential(0.02), "known": Exactly(0.01), "x": Normal(0.01)}
    model = linear_model(spreads, [[1.0, 1.0, 1.0]], Largest((0,), 0.06))
    even, plain = (run([model], 8 * BLOCK, 5).estimates[0] for run in (simulate, monte_carlo))

    width = math.hypot(even.chance.high - even.chance.low, plain.chance.high - plain.chance.low)
    assert abs(even.chance.estimate - plain.chance.estimate) <= width
    assert 0.03 == pytest.approx(even.output(0).mean, abs=2e-4)


def test_mean_of_a_distance_across_with_scatter_of_its_own():
    """The mean of |x| for normal x is that of the folded normal distribution (scipy), to either side and at nothing."""
    offset = np.array([-0.3, -0.01, 0.0, 0.02, 0.11])
    across = conditional(linear_model({"x": Normal(0.05)}, [[1.0]]), Largest((0,), 0.1), 0.05)

    assert across.mean(offset) == pytest.approx(stats.foldnorm.mean(np.abs(offset) / 0.05, scale=0.05))


def test_no_quantile_lies_beyond_what_was_drawn():
    """Two uniform errors of 0.03 and 0.05: none of 100 000 trials reads more than 0.08, however wide a bin is."""
    model = linear_model({"x": Uniform(0.03), "y": Uniform(0.05)}, [[1.0, 1.0]], Largest((0,), 0.06))
    estimate = simulate([model], 100_000, 3).estimates[0]

    assert 0.079 < estimate.quantile(0, 1.0) <= 0.08
    assert 0.0 <= estimate.quantile(0, 0.0) < 0.001


def test_no_distance_is_less_than_nothing():
    """Across a line, whatever scatters: the chance of a distance below 0 is nothing, that of any at all is 1."""
    offset = np.array([-0.3, 0.0, 0.02])
    across = conditional(linear_model({"x": Normal(0.05)}, [[1.0]]), Largest((0,), 0.1), 0.05)

    assert [0.0] * 3 == across.below(-1e-9, offset).tolist()
    assert across.below(9.0, offset) == pytest.approx(np.ones(3))


def test_a_limit_whose_slack_is_known():
    """A limit of 0.06 and a known 0.04 more, about scatter of 0.05 along each axis: 1 - exp(-(0.1 / 0.05)^2 / 2)."""
    sides = {"x": Normal(0.05), "y": Normal(0.05)}
    model = linear_model(sides, [[1, 0], [0, 1], [0, 0]], Radius(0, 1, 0.06, slack=2), centre=[0.0, 0.0, 0.04])

    assert 1.0 - math.exp(-2.0) == pytest.approx(simulate([model], BLOCK, 1).estimates[0].chance.estimate, abs=1e-6)
