"""Quantiles from histograms, and the ranges that the histograms span."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from flipcheck.stack.contact.two_pins import Hang
from flipcheck.stack.measures import Band, Largest, Radius
from flipcheck.stack.monte_carlo.histogram import BINS, Range, count, ranges
from flipcheck.stack.monte_carlo.simulate import simulate
from flipcheck.stack.spreads import Circle, Normal, Uniform
from tests.stack.models import linear_model, two_pins

Array = NDArray[np.float64]

TRIALS = 1_000_000
ANY = Band(0, -np.inf, np.inf)
PLANE = [[1.0, 0.0], [0.0, 1.0]]
FOUR = {name: Uniform(1.0) for name in "abcd"}

LAWS = {
    "normal": (linear_model({"a": Normal(0.3, 1.0)}, [[1.0]], ANY), stats.norm(1.0, 0.3)),
    "uniform": (linear_model({"a": Uniform(0.3, -1.0)}, [[1.0]], ANY), stats.uniform(-1.3, 0.6)),
    "sum of four": (linear_model(FOUR, [[1.0] * 4], ANY), stats.irwinhall(4, loc=-4.0, scale=2.0)),
    "radius": (linear_model({"x": Normal(0.3), "y": Normal(0.3)}, PLANE, Radius(0, 1, 1.0)), stats.rayleigh(0, 0.3)),
    "offset radius": (
        linear_model({"x": Normal(0.3, 2.0), "y": Normal(0.3)}, PLANE, Radius(0, 1, 1.0)),
        stats.rice(2.0 / 0.3, scale=0.3),
    ),
}


def counted(span: Range, values: Array) -> tuple[NDArray[np.int64], Array]:
    return count([span], values[None])[0], np.array([values.min(), values.max()])


@pytest.mark.parametrize("name", LAWS)
def test_quantiles_lose_next_to_nothing_by_counting(name: str):
    """A quantile read off a histogram differs from the sample's own by less than a tenth of its standard error.

    Inside its bin, with a share b of the N trials, a sample strays from a straight line as a Brownian bridge does, by
    at most sqrt(b N) / 2 ranks standard deviation. Towards the ends of a law, where the quantile itself is well known,
    4 of those are allowed instead.
    """
    model, law = LAWS[name]
    span = ranges(model)[0]
    values = law.rvs(TRIALS, random_state=np.random.default_rng(9))
    counts, ends = counted(span, values)

    for share in (0.01, 0.05, 0.25, 0.5, 0.75, 0.95, 0.975, 0.99):
        density = law.pdf(law.ppf(share))
        standard_error = math.sqrt(share * (1.0 - share) / TRIALS) / density
        inside = density * (span.high - span.low) / BINS
        strays = 0.5 * math.sqrt(inside / TRIALS) / density
        allowed = 0.1 * standard_error if 0.05 <= share <= 0.95 else 4.0 * strays
        expected = float(np.quantile(values, share))
        assert expected == pytest.approx(span.quantile(share, counts, ends), abs=allowed)


def test_counting_in_pieces_is_counting_at_once():
    """Counts are whole numbers, so the order of the pieces does not matter."""
    span, values = Range(-1.0, 1.0), np.random.default_rng(3).uniform(-1.0, 1.0, 10_000)
    whole = count([span], values[None])
    pieces = sum(count([span], piece[None]) for piece in np.split(values[::-1], [10, 5000]))

    assert whole.sum() == 10_000
    assert whole.tolist() == pieces.tolist()


def test_each_row_is_counted_in_its_own_range():
    """Rows counted together are counted as each would be alone."""
    spans, values = [Range(-1.0, 1.0), Range(0.0, 0.5)], np.random.default_rng(3).uniform(-1.0, 1.0, (2, 1000))
    together = count(spans, values)

    assert (2, BINS) == together.shape
    for span, row, counts in zip(spans, values, together, strict=True):
        assert count([span], row[None])[0].tolist() == counts.tolist()


def test_values_beyond_the_range_go_into_the_end_bins():
    """A value farther out than foreseen is still counted, and the quantile stays between the true ends."""
    span = Range(0.0, 1.0)
    counts, ends = counted(span, np.array([-5.0, 0.5, 7.0]))

    assert (counts[0], counts[-1], counts.sum()) == (1, 1, 3)
    assert span.quantile(1.0, counts, ends) <= 7.0


def test_a_value_falls_into_the_bin_that_holds_it():
    """The first, the middle and the last bin."""
    counts, _ = counted(Range(0.0, float(BINS)), np.array([0.0, 0.5, 3000.25, 5999.9]))

    assert np.flatnonzero(counts).tolist() == [0, 3000, 5999]
    assert counts[0] == 2


def test_a_quantile_within_the_first_bin():
    """A straight line inside the bin, from where it begins: half of what it holds lies below its middle."""
    span, values = Range(0.0, float(BINS)), np.repeat([0.2, 0.9, 5.5], [50, 50, 100])
    counts, ends = counted(span, values)

    assert 0.5 == pytest.approx(span.quantile(0.25, counts, ends), abs=1e-9)


def test_no_trials_have_no_quantile():
    """Where no blank goes on there is nothing to say."""
    assert math.isnan(Range(0.0, 1.0).quantile(0.5, np.zeros(BINS, dtype=np.int64), np.array([np.inf, -np.inf])))


@pytest.mark.parametrize("value", [0.0, 0.123456, 1.0])
@pytest.mark.parametrize("share", [1e-9, 0.5, 1.0])
def test_values_all_alike_have_that_value_as_every_quantile(value: float, share: float):
    """Without scatter the quantile is exact, not just the middle of its bin."""
    span = Range(0.0, 1.0)
    counts, ends = counted(span, np.full(100, value))

    assert value == span.quantile(share, counts, ends)


def test_quantiles_rise_with_their_share():
    """A larger share never has a smaller quantile, and the last one is the largest value."""
    values = np.random.default_rng(4).exponential(1.0, 5000)
    span = Range(0.0, 20.0)
    counts, ends = counted(span, values)
    quantiles = [span.quantile(share, counts, ends) for share in np.linspace(0.001, 1.0, 500)]

    assert (np.diff(quantiles) >= 0.0).all()
    assert quantiles[-1] == pytest.approx(values.max(), abs=20.0 / BINS)


def test_two_values_far_apart():
    """The quantile steps from the one to the other at their share, within a bin."""
    span = Range(0.0, 1.0)
    counts, ends = counted(span, np.repeat([0.2, 0.8], [70, 30]))

    assert span.quantile(0.69, counts, ends) == pytest.approx(0.2, abs=1.0 / BINS)
    assert span.quantile(0.71, counts, ends) == pytest.approx(0.8, abs=1.0 / BINS)


@pytest.mark.parametrize("hang", [None, *Hang], ids=["no pins", *Hang])
def test_ranges_are_wide_enough_for_every_draw(hang: Hang | None):
    """No value of a bounded model, and none of a normal one within 7 standard deviations, falls outside its range."""
    spreads = {"a": Uniform(0.02, 0.01), "runout": Circle(0.02), "b": Normal(0.01)}
    rng = np.random.default_rng(6)
    contacts = ()
    if hang:
        push = float(hang is Hang.PUSHED)
        forms = rng.normal(size=(3, 4)) * [[0.5], [0.2], [0.2]]
        contacts = (two_pins(hang, (0.03, 0.01), push=push, pitch=forms[0], clearance=(forms[1], forms[2])),)
    coefficients = rng.normal(size=(3, 4 + 3 * len(contacts)))
    measures = (Radius(0, 1, 1.0), Band(2, -1.0, 1.0), Largest((0, 2), 1.0))
    model = linear_model(spreads, coefficients, *measures, centre=[0.1, -0.3, 2.0], contacts=contacts)
    run = simulate([model], 200_000, 8)

    for span, (low, high) in zip(run.ranges[0], run.tallies[0].ends, strict=True):
        assert span.low < low < high < span.high


@pytest.mark.parametrize("hang", Hang)
@pytest.mark.parametrize("form", [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (-1.0, 2.0, -3.0)])
def test_ranges_are_wide_enough_for_play_alone(form: tuple[float, float, float], hang: Hang):
    """With nothing but play, a pitch error and clearances that vary, every value falls within its range."""
    contact = two_pins(hang, (0.03, 0.02), push=float(hang is Hang.PUSHED), pitch=[1, 0], clearance=([0, 1], [0, 1]))
    spreads = {"pitch": Uniform(0.04), "size": Uniform(0.015)}
    model = linear_model(spreads, [[0.0, 0.0, *form]], ANY, contacts=(contact,))
    run = simulate([model], 100_000, 9)
    (span,), ((low, high),) = run.ranges[0], run.tallies[0].ends

    assert span.low < low <= high < span.high


def test_a_range_is_not_much_wider_than_needed():
    """One normal error spans 6.5 of its standard deviations to either side, many small ones together 7."""
    one = ranges(linear_model({"a": Normal(0.1)}, [[1.0]], ANY))[0]
    many = ranges(linear_model({str(i): Normal(0.1) for i in range(100)}, [[1.0] * 100], ANY))[0]

    assert one.high - one.low == pytest.approx(1.3, rel=1e-5)
    assert many.high - many.low == pytest.approx(14.0, rel=1e-5)


def test_a_job_without_any_error_still_has_a_range():
    """A range of no width could not be divided into bins."""
    model = linear_model({}, np.zeros((2, 0)), Radius(0, 1, 1.0), Band(0, 0.0, 1.0), centre=[3.0, 4.0])
    run = simulate([model], 10, 0)

    for span, counts, ends, expected in zip(
        run.ranges[0], run.tallies[0].histogram, run.tallies[0].ends, (5.0, 3.0), strict=True
    ):
        assert span.low < span.high
        assert expected == span.quantile(0.5, counts, ends)
