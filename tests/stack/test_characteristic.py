"""Exact chances from characteristic functions, against closed forms, quadrature and simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import special

from flipcheck.stack.contact.two_pins import Hang
from flipcheck.stack.exact.characteristic import (
    _bessel,
    _bessel_of_many,
    chances,
    function,
    has_function,
    quantile,
)
from flipcheck.stack.exact.joint import exact
from flipcheck.stack.measures import Band, Largest, Radius
from flipcheck.stack.monte_carlo.simulate import simulate as monte_carlo
from flipcheck.stack.rarer_spreads import Exponential
from flipcheck.stack.spreads import Arcsine, Circle, Exactly, Normal, Spread, Trapezoid, Triangular, Uniform
from tests.stack.models import ERRORS_ALLOWED, linear_model, two_pins

SPREADS = [
    Normal(0.7),
    Uniform(1.3),
    Triangular(1.1),
    Arcsine(0.9),
    Trapezoid(1.2, top=0.25),
    Circle(0.8),
    Exactly(2.0),
]


@pytest.mark.parametrize("spread", SPREADS, ids=lambda spread: type(spread).__name__)
def test_function_is_the_mean_of_waves(spread: Spread | Circle):
    """The characteristic function of each spread is the mean of cos over a million draws of it."""
    rows = 2 if isinstance(spread, Circle) else 1
    model = linear_model({"a": spread}, [[1.0] * rows], Largest((0,), 1.0))
    draws = np.empty((rows, 1_000_000))
    model.sources[0].fill(np.random.default_rng(1), draws)
    off = (draws - spread.mean).sum(axis=0)
    at = np.array([0.3, 1.0, 2.5, 6.0])
    waves = np.cos(np.outer(at, off))

    found = function(model, np.ones((1, rows)), at[:, None])
    assert np.all(np.abs(found - waves.mean(axis=1)) <= ERRORS_ALLOWED * waves.std(axis=1) / 1000.0 + 1e-12)


@pytest.mark.parametrize("order", [0, 1])
def test_bessel(order: int):
    """The Bessel functions are those of scipy, by the sum and through the table."""
    x = np.linspace(0.0, 90.0, 20_001)

    assert np.abs(_bessel(order, x) - special.jv(order, x)).max() < 1e-12
    if order == 0:
        assert np.abs(_bessel_of_many(-x) - special.j0(x)).max() < 1e-8
        assert [1.0] == _bessel_of_many(np.zeros(1)).tolist()


def one_line(*measures, **spreads):
    effects = [[1.0] * sum(2 if isinstance(spread, Circle) else 1 for spread in spreads.values())]
    return linear_model(spreads, effects, *measures)


def test_normal_length():
    """A normal length within a band, and a slot with a bias, have the chances of the normal distribution."""
    model = one_line(Band(0, -0.1, 0.2), Largest((0,), 0.15), Band(0, -np.inf, 0.05), a=Normal(0.08, mean=0.03))
    z = (np.array([[-0.1, 0.2], [-0.15, 0.15], [-9.0, 0.05]]) - 0.03) / 0.08

    np.testing.assert_allclose(chances(model), np.diff(special.ndtr(z)).ravel(), rtol=0.0, atol=1e-10)


def test_sum_of_a_normal_and_a_uniform():
    """A normal and a uniform error together: the integral of the normal distribution over the uniform."""
    nodes, weights = np.polynomial.legendre.leggauss(60)
    inside = special.ndtr((0.1 - 0.12 * nodes) / 0.02) - special.ndtr((-0.1 - 0.12 * nodes) / 0.02)

    found = chances(one_line(Largest((0,), 0.1), a=Normal(0.02), b=Uniform(0.12)))[0]
    assert float(weights @ inside) / 2.0 == pytest.approx(found, abs=1e-10)


def test_quantiles():
    """Of a normal those of its table; of a normal on a wide uniform those where its chance, by hand, is the share."""
    normal = one_line(Band(0, 0.0, 1.0), a=Normal(0.08, mean=0.03))
    both = one_line(Band(0, 0.0, 1.0), a=Normal(0.02), b=Uniform(0.6, mean=-0.1))
    nodes, weights = np.polynomial.legendre.leggauss(300)

    for share in (0.01, 0.05, 0.5, 0.95, 0.99):
        assert 0.03 + 0.08 * special.ndtri(share) == pytest.approx(quantile(normal, 0, share), abs=1e-8)
        found = quantile(both, 0, share)
        assert found is not None
        assert share == pytest.approx(0.5 * weights @ special.ndtr((found + 0.1 - 0.6 * nodes) / 0.02), abs=1e-9)


def test_no_quantiles():
    """There is none of a sharp edge, of a spread without a function, or of pins; what never varies has its mean."""
    assert quantile(one_line(Band(0, 0.0, 1.0), a=Uniform(0.6)), 0, 0.05) is None
    assert quantile(one_line(Band(0, 0.0, 1.0), a=Exponential(0.6)), 0, 0.05) is None
    assert quantile(one_line(Band(0, 0.0, 1.0), a=Exactly(0.6)), 0, 0.05) == pytest.approx(0.6)


def hole(spreads: dict[str, Spread | Circle], effects: list[list[float]], limit: float, **more):
    return linear_model(spreads, effects, Radius(0, 1, limit, **more))


def test_rayleigh_and_rice():
    """A round scatter, aimed right or off, is within the limit as the Rayleigh and Rice distributions say."""
    right = hole({"x": Normal(0.05), "y": Normal(0.05)}, np.eye(2).tolist(), 0.12)
    off = hole({"x": Normal(0.05, mean=0.07), "y": Normal(0.05)}, np.eye(2).tolist(), 0.12)

    assert 1.0 - math.exp(-0.5 * (0.12 / 0.05) ** 2) == pytest.approx(chances(right)[0], abs=1e-11)
    assert special.chndtr((0.12 / 0.05) ** 2, 2, (0.07 / 0.05) ** 2) == pytest.approx(chances(off)[0], abs=1e-9)


def test_runout_and_scatter():
    """A point somewhere on a circle, with normal scatter: the distance is that of the Rice distribution, by hand."""
    model = hole(
        {"runout": Circle(0.04), "x": Normal(0.03), "y": Normal(0.03)}, [[1, 0, 1, 0], [0, 1, 0, 1]], limit=0.06
    )

    assert special.chndtr(4.0, 2, (0.04 / 0.03) ** 2) == pytest.approx(chances(model)[0], abs=1e-10)


@pytest.mark.parametrize("bit", [Normal(0.01, mean=0.004), Uniform(0.02), Triangular(0.02, mean=-0.003)])
def test_uncertain_limit(bit: Spread):
    """A limit that is itself uncertain: the chance is the mean over it."""
    scatter = {"x": Normal(0.05), "y": Normal(0.05), "bit": bit}
    model = hole(scatter, [[1, 0, 0], [0, 1, 0], [0, 0, 1]], 0.12, slack=2)
    bits = np.empty(1_000_000)
    bit.fill(np.random.default_rng(2), bits)
    each = 1.0 - np.exp(-0.5 * ((0.12 + bits) / 0.05) ** 2)

    assert abs(each.mean() - chances(model)[0]) <= ERRORS_ALLOWED * each.std() / 1000.0


def test_slack_that_must_be_enough():
    """Where too little slack lets nothing pass, only the rest counts."""
    scatter = {"x": Normal(0.001), "y": Normal(0.001), "bit": Normal(0.01)}
    model = hole(scatter, [[1, 0, 0], [0, 1, 0], [0, 0, 1]], 0.5, slack=2, need=0.005)

    assert special.ndtr(-0.5) == pytest.approx(chances(model)[0], abs=1e-8)
    never = hole(scatter, [[1, 0, 0], [0, 1, 0], [0, 0, 1]], 0.5, slack=2, need=0.5)
    assert [0.0] == chances(never)


def test_nothing_varies():
    """Without scatter a measure passes or it does not."""
    scatter = {"x": Exactly(0.03), "y": Exactly(0.04)}
    for limit, chance in ((0.051, 1.0), (0.049, 0.0)):
        assert [chance] == chances(hole(scatter, np.eye(2).tolist(), limit))
        assert [chance] == chances(one_line(Largest((0,), limit), a=Exactly(0.05)))
    assert [0.0] == chances(one_line(Band(0, 2.0, 3.0), a=Normal(0.05)))


def test_where_there_is_no_answer():
    """Pins, outlines, unknown functions and ends that are too sharp have no exact answer here."""
    on_pins = linear_model(
        {"x": Normal(0.01)},
        [[1.0, 1.0, 0.0, 0.0]],
        Largest((0,), 0.1),
        contacts=(two_pins(Hang.SLOT, (0.05, 0.05), pitch=[0.0]),),
    )
    outline = linear_model({"x": Normal(0.01)}, [[1.0], [2.0]], Largest((0, 1), 0.1))
    unknown = one_line(Largest((0,), 0.1), a=Exponential(0.1))
    sharp = one_line(Largest((0,), 0.05), a=Uniform(0.1))
    moving = hole({"x": Normal(0.05), "y": Normal(0.05)}, [[1, 0], [0, 1], [0.2, 0]], 0.12, slack=2)

    assert not has_function(on_pins)
    for model in (on_pins, outline, unknown, sharp, moving):
        assert (None, [None]) == exact(model)


def shared(spreads: dict[str, Spread | Circle], holes: int = 4, axes: int = 3):
    """Holes that share a shift and a turn, or less of these, each with normal scatter of its own."""
    places = [(-60.0, 20.0), (60.0, -30.0), (10.0, 50.0), (40.0, 25.0)][:holes]
    own = {f"{axis}{i}": Normal(0.02) for i in range(holes) for axis in "xy"}
    effects = []
    for i, (x, y) in enumerate(places):
        for axis, pose in enumerate(((1.0, 0.0, -y / 100.0), (0.0, 1.0, x / 100.0))):
            row = [pose[k % axes] for k in range(len(spreads))]
            effects.append(row + [1.0 if place == (i, axis) else 0.0 for place in np.ndindex(holes, 2)])
    return linear_model(spreads | own, effects, *(Radius(2 * i, 2 * i + 1, 0.1) for i in range(holes)))


@pytest.mark.parametrize("axes", [1, 2, 3])
def test_joint_chance(axes: int):
    """The chance that four holes are within at once agrees with a million trials, for one, two or three shared sums."""
    spreads = {
        "a": Normal(0.03, mean=0.01),
        "b": Uniform(0.05),
        "c": Triangular(0.04),
        "d": Normal(0.03),
        "e": Normal(0.02),
        "f": Normal(0.03),
    }
    model = shared(spreads, axes=axes)
    found, each = exact(model)
    plain = monte_carlo([model], 1_000_000, 1).estimates[0]

    assert found is not None
    error = math.sqrt(found * (1.0 - found) / 1e6)
    assert abs(found - plain.chance.estimate) <= ERRORS_ALLOWED * error
    for q, alone in enumerate(each):
        assert abs(alone - plain.passed(q).estimate) <= ERRORS_ALLOWED * math.sqrt(alone * (1.0 - alone) / 1e6)


def test_joint_chance_of_normals():
    """Two holes that share one normal shift: the joint chance is one integral of products of Rice distributions."""
    own = {name: Normal(0.02) for name in ("x0", "y0", "x1", "y1")}
    model = linear_model(
        {"shift": Normal(0.05)} | own,
        [[1, 1, 0, 0, 0], [0, 0, 1, 0, 0], [1, 0, 0, 1, 0], [0, 0, 0, 0, 1]],
        Radius(0, 1, 0.08),
        Radius(2, 3, 0.11),
    )
    z, weights = np.polynomial.hermite_e.hermegauss(80)
    both = special.chndtr(16.0, 2, (2.5 * z) ** 2) * special.chndtr(5.5**2, 2, (2.5 * z) ** 2)

    assert float(weights @ both) / math.sqrt(2.0 * math.pi) == pytest.approx(exact(model)[0], abs=2e-6)


def test_what_shares_nothing():
    """A slot that shares nothing with the holes only multiplies; own scatter that is not normal does no harm there."""
    spreads = {"x": Normal(0.03), "lean": Uniform(0.05)}
    model = linear_model(spreads, np.eye(2).tolist(), Largest((0,), 0.04), Largest((1,), 0.04))
    model_of_two = linear_model(
        spreads | {"cut": Normal(0.02)}, [[1, 0, 0], [0, 1, 1]], Largest((0,), 0.04), Largest((1,), 0.04)
    )

    assert exact(model)[0] is None  # a uniform error alone is too sharp
    total, each = exact(model_of_two)
    assert each[0] * each[1] == pytest.approx(total, abs=1e-12)


def test_too_much_is_shared():
    """With four sums shared, or own scatter that is not normal, there is no joint answer, but one for each hole."""
    model = shared({name: Normal(0.02) for name in "abc"})
    wide = linear_model(
        {"a": Normal(0.02), "b": Normal(0.02), "c": Uniform(0.01)},
        [[1, 0, 1], [1, 1, 0]],
        Largest((0,), 0.04),
        Largest((1,), 0.04),
    )

    assert exact(model)[0] is not None
    total, each = exact(wide)
    assert total is None
    assert None not in each


def test_an_error_that_acts_on_nothing_changes_nothing():
    """The function of an arcsine error is 1 wherever its effect is 0, for many directions at once."""
    assert (_bessel_of_many(np.zeros(2000)) == 1.0).all()


def test_the_least_slack_is_enough():
    """A bolt as wide as its narrower hole passes while the middle of both allows it: slack of just what it needs."""
    scatter = {"x": Normal(0.05), "y": Normal(0.05), "bit": Exactly(0.0)}
    effects = [[1, 0, 0], [0, 1, 0], [0, 0, 1]]
    chance = 1.0 - math.exp(-0.5 * (0.12 / 0.05) ** 2)

    assert chance == pytest.approx(chances(hole(scatter, effects, 0.12, slack=2, need=0.0))[0], abs=1e-11)
    assert 0.0 == chances(hole(scatter, effects, 0.12, slack=2, need=1e-9))[0]


def test_what_is_known_is_not_shared():
    """Two bands moved by one known value, each with scatter of its own: their chances multiply."""
    spreads = {"known": Exactly(0.01), "a": Normal(0.02), "b": Normal(0.03)}
    model = linear_model(spreads, [[1, 1, 0], [1, 0, 1]], Band(0, -0.04, 0.05), Band(1, -0.06, 0.07))
    a = special.ndtr(0.04 / 0.02) - special.ndtr(-0.05 / 0.02)
    b = special.ndtr(0.06 / 0.03) - special.ndtr(-0.07 / 0.03)

    assert a * b == pytest.approx(exact(model)[0], abs=1e-9)
