"""The simulation: the same for any number of threads, in memory that does not grow, and right."""

from __future__ import annotations

import math
import threading
import time
import tracemalloc
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from flipcheck.stack.contact.two_pins import Hang
from flipcheck.stack.estimate import mean_std
from flipcheck.stack.linear import LinearModel
from flipcheck.stack.measures import Band, Largest, Radius
from flipcheck.stack.monte_carlo.blocks import cores
from flipcheck.stack.monte_carlo.draws import Draws, Plan, sample
from flipcheck.stack.monte_carlo.histogram import BINS
from flipcheck.stack.monte_carlo.simulate import ASK_EVERY, Tally, simulate
from flipcheck.stack.monte_carlo.streams import BLOCK
from flipcheck.stack.spreads import Circle, Normal, Triangular, Uniform
from tests.stack.models import ERRORS_ALLOWED, linear_model, two_pins

ANY = Band(0, -np.inf, np.inf)


def mixed_model(hang: Hang = Hang.LOOSE, *, through_shared: bool = False) -> LinearModel:
    """Every kind of source and measure, on pins that some blanks do not go onto."""
    spreads = {"wide": Normal(0.02), "narrow": Uniform(0.01, 0.005), "runout": Circle(0.01), "size": Triangular(0.03)}
    contact = two_pins(
        hang, (0.02, 0.025), push=float(hang is Hang.PUSHED), pitch=[1, 0, 0, 0, 0], clearance=([0, 0, 0, 0, 1],) * 2
    )
    coefficients = [
        [1.0, -1.0, 0.5, 0.0, 0.0, 1.0, 0.0, 0.0],
        [0.2, 2.0, 0.0, 0.5, 0.0, 0.0, 0.7, 0.3],
        [0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0],
    ]
    measures = (Radius(0, 1, 0.04), Largest((0, 1), 0.035), Band(2, 0.98, 1.02), Radius(0, 1, 1.03, slack=2, need=0.0))
    return linear_model(
        spreads,
        coefficients,
        *measures,
        centre=[0.0, 0.001, 1.0],
        contacts=(contact,),
        through_shared=through_shared,
    )


def digits(tally: Tally) -> dict[str, bytes | int]:
    """All of a tally, to the last bit."""
    return {name: v.tobytes() if isinstance(v, np.ndarray) else v for name, v in vars(tally).items()}


@pytest.mark.parametrize("hang", Hang)
def test_any_number_of_threads_gives_the_same_to_the_last_bit(hang: Hang):
    """One, two and three threads add up to the same bytes, also for a last block that is not full."""
    runs = [simulate([mixed_model(hang)], 5 * BLOCK + 77, 3, threads=threads) for threads in (1, 2, 3, None)]

    assert 0 < runs[0].tallies[0].good < runs[0].tallies[0].trials
    for run in runs[1:]:
        assert digits(runs[0].tallies[0]) == digits(run.tallies[0])


def test_another_seed_gives_another_run():
    """Seeds 0 and 1 are different runs, and so counts differ."""
    counts = [simulate([mixed_model()], BLOCK, seed).tallies[0].histogram.tolist() for seed in (0, 1)]

    assert counts[0] != counts[1]


@pytest.mark.parametrize(("short", "longer"), [(1, 2), (1000, BLOCK), (BLOCK, BLOCK + 1), (20_000, 40_000)])
def test_a_longer_run_begins_with_the_shorter(short: int, longer: int):
    """No count of the shorter run is lost, and the longer adds its further trials and nothing else."""
    less, more = (simulate([mixed_model()], trials, 5).tallies[0] for trials in (short, longer))
    extra = more.histogram - less.histogram

    assert (extra >= 0).all()
    assert [more.on - less.on] * 4 == extra.sum(axis=1).tolist()
    assert 0 <= more.on - less.on <= longer - short == more.trials - less.trials
    assert 0 <= more.good - less.good <= more.on - less.on
    assert (0 <= more.passed - less.passed).all()
    assert (more.passed - less.passed <= more.on - less.on).all()
    assert (more.ends[:, 0] <= less.ends[:, 0]).all()
    assert (more.ends[:, 1] >= less.ends[:, 1]).all()


def test_adding_a_source_leaves_everything_else_alone():
    """An error that acts on one output changes no bit of what is told of the others."""
    spreads = {"a": Normal(1.0), "b": Uniform(1.0)}
    measures = (Band(0, -1.0, 1.0), Band(1, -1.0, 1.0))
    before = linear_model(spreads, [[1.0, 0.5], [0.0, 1.0]], *measures)
    after = linear_model({"new": Normal(2.0), **spreads}, [[0.0, 1.0, 0.5], [1.0, 0.0, 1.0]], *measures)
    old, new = (simulate([model], 30_000, 1).tallies[0] for model in (before, after))

    assert old.passed[0] == new.passed[0]
    assert old.histogram[0].tolist() == new.histogram[0].tolist()
    assert old.ends[0].tolist() == new.ends[0].tolist()
    assert old.outputs[:, 0].tolist() == new.outputs[:, 0].tolist()
    assert old.values[:, 0].tolist() == new.values[:, 0].tolist()
    assert old.passed[1] > new.passed[1]


def test_the_order_of_the_sources_does_not_matter_to_their_draws():
    """A stream belongs to the name of its source, not to its place in the list."""
    forward = linear_model({"a": Normal(1.0), "b": Uniform(1.0)}, [[1.0, 0.0]], ANY)
    turned = linear_model({"b": Uniform(1.0), "a": Normal(1.0)}, [[0.0, 1.0]], ANY)

    assert digits(simulate([forward], 1000, 1).tallies[0]) == digits(simulate([turned], 1000, 1).tallies[0])


def test_several_models_each_give_what_they_give_alone():
    """On common random numbers each model's tally is, to the last bit, the one it has by itself."""
    models = [mixed_model(), mixed_model(Hang.SLOT), mixed_model(Hang.PUSHED)]
    together = simulate(models, 2 * BLOCK + 5, 11)

    for model, tally in zip(models, together.tallies, strict=True):
        assert digits(simulate([model], 2 * BLOCK + 5, 11).tallies[0]) == digits(tally)


@pytest.mark.parametrize("first", [0, 1])
def test_an_error_of_another_size_in_each_model_keeps_its_size(first: int):
    """Two methods may name the same error but give it other spreads, such as the size of two kinds of pin."""
    models = [linear_model({"size": spread}, [[1.0]], Band(0, -0.5, 0.5)) for spread in (Uniform(1.0), Normal(0.1))]
    models = models[first:] + models[:first]
    together = simulate(models, 1000, 1)

    for model, tally in zip(models, together.tallies, strict=True):
        assert digits(simulate([model], 1000, 1).tallies[0]) == digits(tally)


def test_both_good_counts_the_trials_that_two_models_share():
    """Models on one shared draw and one on a draw of its own: diagonal, nested and independent counts."""
    trials = 200_000
    loose, tight = (linear_model({"a": Normal(1.0)}, [[1.0]], Band(0, -np.inf, high)) for high in (1.0, 0.0))
    other = linear_model({"b": Normal(1.0)}, [[1.0]], Band(0, -np.inf, 0.0))
    run = simulate([loose, tight, other], trials, 2)
    good = [tally.good for tally in run.tallies]

    assert good == run.both_good.diagonal().tolist()
    assert run.both_good.tolist() == run.both_good.T.tolist()
    assert good[1] == run.both_good[0, 1]  # whoever is within the tight limit is within the loose one
    share = 0.25  # two fair coins
    assert share * trials == pytest.approx(
        run.both_good[1, 2], abs=ERRORS_ALLOWED * math.sqrt(trials * share * (1 - share))
    )


def test_good_is_what_passes_everything():
    """A trial that fails any one of its pairs is not good: with independent pairs the chances multiply."""
    trials, limit = 200_000, 1.0
    spreads = {name: Normal(1.0) for name in "abc"}
    model = linear_model(spreads, np.eye(3), *(Band(i, -limit, limit) for i in range(3)))
    tally = simulate([model], trials, 4).tallies[0]
    one = stats.norm.cdf(limit) - stats.norm.cdf(-limit)

    for count, share in [(tally.good, one**3), *((int(n), one) for n in tally.passed)]:
        assert share == pytest.approx(count / trials, abs=ERRORS_ALLOWED * math.sqrt(share * (1.0 - share) / trials))
    assert tally.on == tally.trials == trials


@pytest.mark.parametrize("through_shared", [False, True], ids=["own", "shared"])
def test_moments_agree_with_exact_values(through_shared: bool):
    """Means and standard deviations of outputs within 4 standard errors of what the coefficients say."""
    trials = 400_000
    spreads = {"a": Normal(0.3, 1.0), "b": Uniform(0.5), "runout": Circle(0.2)}
    coefficients = np.array([[1.0, -2.0, 0.5, 0.0], [0.0, 1.0, 3.0, -1.0]])
    model = linear_model(spreads, coefficients, ANY, centre=[5.0, -1.0], through_shared=through_shared)
    run = simulate([model], trials, 6)
    (sums, squares), origin = run.tallies[0].outputs, run.origins[0].outputs
    stds = np.array([0.3, 0.5 / math.sqrt(3.0), 0.2 / math.sqrt(2.0), 0.2 / math.sqrt(2.0)])

    for i in range(2):
        variance = float(np.square(coefficients[i] * stds).sum())
        mean = sums[i] / trials
        assert coefficients[i, 0] + [5.0, -1.0][i] == pytest.approx(
            origin[i] + mean, abs=ERRORS_ALLOWED * math.sqrt(variance / trials)
        )
        # no distribution here has more kurtosis than the normal one
        of_variance = variance * math.sqrt(2.0 / trials)
        assert variance == pytest.approx(squares[i] / trials - mean**2, abs=ERRORS_ALLOWED * of_variance)


def test_moments_of_a_distance_agree_with_rayleigh():
    """Mean distance sigma sqrt(pi / 2) and mean square 2 sigma^2, both counted from the distance without scatter."""
    trials, std = 400_000, 0.3
    model = linear_model({"x": Normal(std), "y": Normal(std)}, np.eye(2), Radius(0, 1, 1.0))
    run = simulate([model], trials, 7)
    (total,), (square,) = run.tallies[0].values

    assert run.origins[0].values.tolist() == [0.0]
    assert std * math.sqrt(math.pi / 2.0) == pytest.approx(
        total / trials, abs=ERRORS_ALLOWED * std * math.sqrt((2.0 - math.pi / 2.0) / trials)
    )
    assert 2.0 * std**2 == pytest.approx(square / trials, abs=ERRORS_ALLOWED * 2.0 * std**2 / math.sqrt(trials))


def test_poses_on_a_slot_agree_with_exact_moments():
    """c1^2/4 along and across the first hole, c2^2/3 across the second, no mean and no product between them."""
    trials, c1, c2 = 400_000, 0.03, 0.02
    model = linear_model({}, [[1.0, 2.0, 3.0]], ANY, contacts=(two_pins(Hang.SLOT, (c1, c2)),))
    poses = simulate([model], trials, 8).tallies[0].poses / trials
    stds = np.array([0.5 * c1, 0.5 * c1, c2 / math.sqrt(3.0)])

    assert poses.shape == (4, 3)
    # products of two bounded places scatter less than the products of their bounds
    assert np.abs(poses[0] / stds).max() < ERRORS_ALLOWED / math.sqrt(trials)
    assert pytest.approx(poses[1:] / np.outer(stds, stds), abs=ERRORS_ALLOWED / math.sqrt(trials)) == np.eye(3)


def test_half_the_blanks_go_on_when_half_the_pitch_errors_fit():
    """With pitch errors over twice what the clearances take one blank in two goes on, and only those are summed."""
    trials = 200_000
    contact = two_pins(Hang.LOOSE, (0.02, 0.03), pitch=[1.0])
    model = linear_model({"pitch": Uniform(0.1)}, [[1.0, 0.0, 0.0, 0.0]], Band(0, -0.02, np.inf), contacts=(contact,))
    tally = simulate([model], trials, 9).tallies[0]

    assert pytest.approx(tally.on / trials, abs=ERRORS_ALLOWED * 0.5 / math.sqrt(trials)) == 0.5
    assert tally.on == tally.histogram.sum()
    assert tally.good == tally.passed[0]
    # of the pitch errors that fit, within +-0.05, those above -0.02 are 7 in 10
    assert pytest.approx(tally.good / tally.on, abs=ERRORS_ALLOWED * math.sqrt(0.21 / tally.on)) == 0.7
    # the square of a uniform value has a variance of 4/5 of its mean squared
    of_square = ERRORS_ALLOWED * math.sqrt(0.8 / tally.on)
    assert pytest.approx(tally.outputs[1, 0] / tally.on, rel=of_square) == 0.05**2 / 3.0
    assert np.abs(tally.ends).max() <= 0.05


def test_a_blank_must_go_on_in_both_setups():
    """With two contacts that each take half the blanks, independently, a quarter goes on."""
    trials = 200_000
    contacts = tuple(
        two_pins(Hang.LOOSE, (0.02, 0.03), pitch=pitch, key=f"setup {i}") for i, pitch in enumerate(np.eye(2))
    )
    spreads = {"first": Uniform(0.1), "second": Uniform(0.1)}
    model = linear_model(spreads, [[1.0, 1.0, *[0.0] * 6]], ANY, contacts=contacts)
    tally = simulate([model], trials, 10).tallies[0]

    assert pytest.approx(tally.on / trials, abs=ERRORS_ALLOWED * math.sqrt(0.1875 / trials)) == 0.25
    assert tally.poses.shape == (7, 6)


def test_ends_are_those_of_all_blocks():
    """The smallest and the largest value of every measure among all trials, also of a last block that is not full."""
    model = linear_model({"a": Normal(1.0), "b": Normal(2.0)}, np.eye(2), Radius(0, 1, 1.0), Band(1, -1.0, 1.0))
    trials = 3 * BLOCK + 100
    tally = simulate([model], trials, 4).tallies[0]
    blocks = [sample(Plan(model), Draws(4, block))[0].copy() for block in range(4)]
    outputs = np.concatenate(blocks, axis=1)[:, :trials]

    for ends, values in zip(tally.ends, (np.sqrt(np.square(outputs).sum(axis=0)), outputs[1]), strict=True):
        assert (values.min(), values.max()) == pytest.approx(tuple(ends), rel=1e-15)


def test_no_blank_that_goes_on_leaves_nothing_to_sum():
    """Pins thicker than their holes: nothing goes on, nothing is good, and no NaN appears."""
    contact = two_pins(Hang.LOOSE, (-0.01, 0.02))
    model = linear_model({}, [[1.0, 0.0, 0.0]], Radius(0, 0, 1.0), ANY, contacts=(contact,))
    tally = simulate([model], 100, 1).tallies[0]

    assert (tally.trials, tally.on, tally.good, tally.passed.tolist()) == (100, 0, 0, [0, 0])
    assert not tally.histogram.any()
    assert not np.concatenate([tally.outputs.ravel(), tally.values.ravel(), tally.poses.ravel()]).any()
    assert tally.ends.tolist() == [[np.inf, -np.inf]] * 2


def test_a_model_without_errors_is_always_the_same():
    """Nothing to draw: every trial is the centre."""
    model = linear_model({}, np.zeros((2, 0)), Radius(0, 1, 5.0), Radius(0, 1, 4.9), centre=[3.0, 4.0])
    tally = simulate([model], 100, 1).tallies[0]

    assert tally.passed.tolist() == [100, 0]
    assert tally.ends.tolist() == [[5.0, 5.0]] * 2


def test_an_offset_far_larger_than_the_scatter_keeps_its_digits():
    """A scatter of 1 um beside an offset of 1 km is summed from the offset, not from nothing."""
    model = linear_model({"a": Normal(0.001)}, [[1.0]], ANY, centre=[1e6])
    tally = simulate([model], 100_000, 1).tallies[0]
    std = math.sqrt(tally.outputs[1, 0] / tally.trials)

    assert pytest.approx(std, rel=ERRORS_ALLOWED / math.sqrt(200_000)) == 0.001


def test_progress_adds_up():
    """Each block is told once, in order; the last one is what is left."""
    told: list[int] = []
    simulate([mixed_model()], 3 * BLOCK + 10, 1, threads=3, progress=told.append)

    assert told == [BLOCK, BLOCK, BLOCK, 10]


@pytest.mark.parametrize("trials", [0, -1])
def test_less_than_one_trial_is_refused(trials: int):
    """The number that was asked for is in the message."""
    with pytest.raises(ValueError, match=f"at least one trial is needed, not {trials}"):
        simulate([mixed_model()], trials, 1)


def test_a_run_knows_how_it_was_made():
    """Seed and trials are kept with the results."""
    run = simulate([mixed_model()], 10, 42)

    assert (run.seed, run.trials, len(run.tallies)) == (42, 10, 1)
    assert run.tallies[0].histogram.shape == (4, BINS)
    assert cores() >= 1


def peak(model: LinearModel, blocks: int) -> int:
    """Most memory in use at once during a run, bytes."""
    tracemalloc.start()
    try:
        simulate([model], blocks * BLOCK, 1, threads=1)
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_memory_does_not_grow_with_the_trials():
    """Twenty blocks need no more at once than five, give or take the three tallies that may happen to be waiting.

    If anything were kept of each block, 15 more blocks would keep at least 15 more tallies.
    """
    measures = [Band(0, -1.0, 1.0)] * 20
    model = linear_model({"a": Normal(1.0)}, [[1.0]], *measures)
    one_tally = len(measures) * BINS * 8
    simulate([model], 1, 1)  # whatever is loaded once is loaded now

    assert peak(model, 20) <= peak(model, 5) + 3 * one_tally


@dataclass(frozen=True)
class Counting(Band):
    """A band that notes the threads it is asked in."""

    asked: list[str] = field(default_factory=list, compare=False)

    def value(self, outputs: NDArray[np.float64]) -> NDArray[np.float64]:
        self.asked.append(threading.current_thread().name)
        return super().value(outputs)


@pytest.mark.parametrize("error", [KeyboardInterrupt, RuntimeError])
def test_an_interrupt_leaves_no_worker_running(error: type[BaseException]):
    """Whoever interrupts while progress is told gets the interrupt; no thread lives on, no further block is begun."""
    measure = Counting(0, -1.0, 1.0)
    model = linear_model({"a": Normal(1.0)}, [[1.0]], measure)
    before = set(threading.enumerate())

    def interrupt(_: int) -> None:
        raise error

    with pytest.raises(error):
        simulate([model], 200 * BLOCK, 1, threads=2, progress=interrupt)

    assert set(threading.enumerate()) <= before
    assert 0 < len(measure.asked) < 20


def test_workers_stay_only_a_few_blocks_ahead_of_who_listens():
    """However long the caller takes over its progress, finished blocks do not pile up: two a thread and one."""
    measure, ahead = Counting(0, -1.0, 1.0), []
    model = linear_model({"a": Normal(1.0)}, [[1.0]], measure)

    def listen(_: int) -> None:
        time.sleep(0.01)
        ahead.append(len(measure.asked) - len(ahead))

    measured_at_the_start = 1  # once for the origin of the sums
    simulate([model], 30 * BLOCK, 1, threads=2, progress=listen)

    assert max(ahead) <= 2 * 2 + 1 + measured_at_the_start


@dataclass(frozen=True)
class Broken(Band):
    """A measure that fails."""

    def passes(self, value: NDArray[np.float64], outputs: NDArray[np.float64]) -> NDArray[np.bool_]:
        raise ArithmeticError("broken measure")


def test_an_error_in_a_worker_comes_out_as_it_is():
    """What goes wrong in a thread is raised in the caller, and no thread lives on."""
    before = set(threading.enumerate())

    with pytest.raises(ArithmeticError, match="broken measure"):
        simulate([linear_model({"a": Normal(1.0)}, [[1.0]], Broken(0, 0.0, 1.0))], 50 * BLOCK, 1, threads=2)
    assert set(threading.enumerate()) <= before


def test_difference_of_two_models_on_the_same_trials():
    """A band of 1 and one of 2 standard deviations: 0.9545 - 0.6827 = 0.2718, and none is good by the first alone.

    The standard error of such a difference d is sqrt(d (1 - d) / N); its interval is about twice 1.96 of them wide.
    """
    narrow, wide = (linear_model({"x": Normal(1.0)}, [[1.0]], Band(0, -z, z)) for z in (1.0, 2.0))
    run = simulate([narrow, wide], 4 * BLOCK, 2)
    low, high = run.difference(1, 0)
    d = 0.954500 - 0.682689
    error = math.sqrt(d * (1.0 - d) / (4 * BLOCK))

    assert (low + high) / 2.0 == pytest.approx(d, abs=ERRORS_ALLOWED * error)
    assert high - low == pytest.approx(2.0 * 1.96 * error, rel=0.02)
    assert run.difference(0, 1) == pytest.approx((-high, -low))


def test_a_run_is_asked_now_and_then_whether_it_has_settled():
    """Every few blocks, with what there is so far; it ends where the answer is yes, and says so."""
    asked: list[int] = []

    def settled(estimates: Any) -> bool:
        asked.append(estimates[0].trials)
        return len(asked) == 2

    run = simulate([mixed_model()], 40 * BLOCK, 3, settled=settled)

    assert [ASK_EVERY * BLOCK, 2 * ASK_EVERY * BLOCK] == asked
    assert (run.trials, run.settled) == (2 * ASK_EVERY * BLOCK, True)
    assert not simulate([mixed_model()], BLOCK, 3).settled


def test_two_values_have_a_standard_deviation():
    """Of 0 and 2: mean 1, and sqrt 2 with the divisor one less than two; of one value none."""
    assert mean_std(np.array([2.0, 4.0]), 2, 0.0) == pytest.approx((1.0, math.sqrt(2.0)))
    assert mean_std(np.array([3.0, 9.0]), 1, 10.0) == pytest.approx((13.0, 0.0))
    assert all(math.isnan(value) for value in mean_std(np.zeros(2), 0, 0.0))


@pytest.mark.parametrize("share", [0.1, 0.5, 0.95])
def test_how_well_a_quantile_is_known(share: float):
    """Two standard errors, sqrt(p (1 - p) / N) over the density, here 1 / 0.4 per mm of a uniform error of ±0.2 mm."""
    trials = 40 * BLOCK
    (estimate,) = simulate([linear_model({"a": Uniform(0.2)}, [[1.0]], Band(0, -1.0, 1.0))], trials, 3).estimates
    expected = 2.0 * math.sqrt(share * (1.0 - share) / trials) * 0.4

    # the density is taken from some 2 % of the trials, counted
    assert expected == pytest.approx(estimate.quantile_error(0, share), rel=4.0 / math.sqrt(0.02 * trials))
