"""Sizes changed on the same points: against closed forms of small models, and against models written down anew."""

from __future__ import annotations

import math
from dataclasses import astuple

import numpy as np
import pytest

from flipcheck.stack.contact.two_pins import Hang, goes_on, short_of
from flipcheck.stack.linear import LinearModel
from flipcheck.stack.measures import Band, Largest, Measure, Radius
from flipcheck.stack.monte_carlo.simulate import simulate
from flipcheck.stack.monte_carlo.streams import BLOCK
from flipcheck.stack.quasi_monte_carlo.simulate import simulate as quasi_monte_carlo
from flipcheck.stack.quasi_monte_carlo.what_if import LARGEST, WhatIf, edge, largest, with_size
from flipcheck.stack.rarer_spreads import Exponential
from flipcheck.stack.spreads import Circle, Exactly, Normal, Spread, Trapezoid, Triangular, Uniform
from tests.stack.models import error_of_share, linear_model, two_pins

TRIALS = 4 * BLOCK


def below(z: float) -> float:
    """The standard normal distribution function."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def between(low: float, high: float, mean: float, std: float) -> float:
    """The share of a normal distribution between two values."""
    return below((high - mean) / std) - below((low - mean) / std)


@pytest.mark.parametrize("through_shared", [False, True])
@pytest.mark.parametrize("size", [0.0, 0.4, 1.0, 1.7, 6.0])
def test_chance_of_a_size(size: float, through_shared: bool):
    """Standard deviations of k and of 2 add up to a normal one of sqrt(k^2 + 4), about the sum of the means."""
    spreads = {"x": Normal(1.0, 0.5), "y": Normal(2.0, -0.25)}
    model = linear_model(spreads, [[1.0, 1.0]], Band(0, -3.0, 2.5), through_shared=through_shared)
    expected = between(-3.0, 2.5, 0.25, math.hypot(size, 2.0))
    found = WhatIf(model, TRIALS, 3).chance(model=with_size(model, [0], size))

    assert expected == pytest.approx(found, abs=error_of_share(expected, TRIALS))


@pytest.mark.parametrize(("goal", "z"), [(0.95, 1.9599640), (0.99, 2.5758293), (0.5, 0.6744898)])
def test_largest_size_of_two_sources(goal: float, z: float):
    """Both sources grow together: 3 within z sqrt(5) k."""
    model = linear_model({"x": Normal(1.0), "y": Normal(2.0)}, [[1.0, -1.0]], Band(0, -3.0, 3.0))
    found = WhatIf(model, TRIALS, 4).largest_size([0, 1], goal)
    density = math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)

    assert pytest.approx(found, rel=error_of_share(goal, TRIALS) / (2.0 * density * z)) == 3.0 / (z * math.sqrt(5.0))


def test_bias_stays():
    """A mean of 1 stays where it is while its scatter grows: 95 % below 2 leaves 1 / 1.645 of it."""
    model = linear_model({"x": Normal(0.1, 1.0)}, [[1.0]], Band(0, -math.inf, 2.0))
    found = WhatIf(model, TRIALS, 5).largest_size([0], 0.95)

    assert found == pytest.approx(10.0 / 1.6448536, rel=error_of_share(0.95, TRIALS) / (0.1031 * 1.645))


def test_a_known_value_grows_whole():
    """A value that is known exactly is all size: 0.2 may be 3 times as large below a limit of 0.6."""
    model = linear_model({"x": Exactly(0.2)}, [[1.0]], Band(0, -1.0, 0.6))

    assert 3.0 == pytest.approx(WhatIf(model, 1, 6).largest_size([0], 0.95), rel=2e-3)


def test_a_circle_grows():
    """A runout on a circle of radius 0.01 may grow until it alone fills the limit."""
    model = linear_model({"x": Circle(0.01)}, [[1.0, 0.0], [0.0, 1.0]], Radius(0, 1, 0.05))

    assert 5.0 == pytest.approx(WhatIf(model, 1, 7).largest_size([0], 0.95), rel=2e-3)


def test_any_size_or_none():
    """A source that is not measured may be of any size; where another spoils every part no size will do."""
    spreads = {"x": Normal(1.0), "y": Normal(1.0, 9.0)}
    unseen = WhatIf(linear_model(spreads, [[1.0, 0.0], [0.0, 1.0]], Band(0, -9.0, 9.0)), 1, 8)
    spoilt = WhatIf(linear_model(spreads, [[1.0, 1.0]], Band(0, -3.0, 3.0)), 1, 8)

    assert math.inf == unseen.largest_size([1], 0.95)
    assert spoilt.largest_size([0], 0.95) is None


SPREADS: dict[str, Spread | Circle] = {
    "normal": Normal(0.4, 0.1),
    "uniform": Uniform(0.5, -0.2),
    "triangular": Triangular(0.6),
    "trapezoid": Trapezoid(0.3, 0.1),
    "runout": Circle(0.3),
    "growth": Exactly(0.25),
}
#: Three outputs of five of them; a bolt's third output is what runout and bit leave of its limit.
COEFFICIENTS = [
    [1.0, 0.3, 0.0, 0.2, 1.0, 0.0, 0.0],
    [-0.2, 0.5, 1.0, 0.0, 0.0, 1.0, 0.0],
    [0.0, 0.0, 0.3, 1.0, 0.0, 0.0, 1.0],
]
MEASURES: dict[str, tuple[Measure, ...]] = {
    "radius": (Radius(0, 1, 1.5),),
    "bolt": (Radius(0, 1, 1.2, slack=2, need=-0.2),),
    "largest": (Largest((0, 1, 2), 1.4),),
    "band": (Band(1, -1.0, 1.4),),
    "all of them": (Radius(0, 1, 2.2), Radius(0, 1, 2.0, 2, -0.4), Largest((0, 1), 2.0), Band(2, -0.7, 1.5)),
}
GROUPS = {
    "normal": [0],
    "uniform": [1],
    "bit": [3],
    "runout and its growth": [4, 5],
    "everything": [0, 1, 2, 3, 4, 5],
}


@pytest.mark.parametrize("group", GROUPS)
@pytest.mark.parametrize("measure", MEASURES)
def test_largest_size_is_where_counting_meets_the_goal(measure: str, group: str):
    """At the largest size for a chance ordinary Monte Carlo counts that chance, in a model written at that size."""
    model, goal = linear_model(SPREADS, COEFFICIENTS, *MEASURES[measure]), 0.8
    size = WhatIf(model, BLOCK, 9).largest_size(GROUPS[group], goal)
    names = list(SPREADS)
    at = {
        name: written(spread, min(size, LARGEST)) if names.index(name) in GROUPS[group] else spread
        for name, spread in SPREADS.items()
    }
    counted = simulate([linear_model(at, COEFFICIENTS, *MEASURES[measure])], 8 * BLOCK, 5).tallies[0].good / (8 * BLOCK)

    # the error of the count, of the limit's own chance (0.003), and of a size found to a thousandth
    if math.isinf(size):
        assert counted >= goal - error_of_share(goal, 8 * BLOCK)
    else:
        assert goal == pytest.approx(counted, abs=error_of_share(goal, 8 * BLOCK) + 0.005)
    # the bit does not act on the row of the band
    assert ((measure, group) == ("band", "bit")) is (size == math.inf)


def written(spread: Spread | Circle, size: float) -> Spread | Circle:
    """A spread `size` times as large, written down anew."""
    match spread:
        case Normal():
            return Normal(size * spread.std, spread.mean)
        case Trapezoid():
            return Trapezoid(size * spread.half, spread.mean, spread.top)
        case Uniform() | Triangular():
            return type(spread)(size * spread.half, spread.mean)
        case Circle():
            return Circle(size * spread.radius)
        case _:
            return Exactly(size * spread.mean)


def clearance_model(hang: Hang) -> LinearModel:
    """A slack blank: two radial clearances of 0.05 less a pin's error, and a pitch error; its pose at the first pin."""
    contact = two_pins(
        hang,
        (0.05, 0.05),
        push=1.0 if hang is Hang.PUSHED else 0.0,
        pitch=[0.0, 1.0],
        clearance=([1.0, 0.0], [1.0, 0.0]),
    )
    coefficients = [[0.0, 0.0, 1.0, 0.0, 0.0], [0.0, 0.0, 0.0, 1.0, 0.0]]
    spreads = {"size": Uniform(0.01), "pitch": Normal(0.02)}
    return linear_model(spreads, coefficients, Radius(0, 1, 0.052), contacts=(contact,))


@pytest.mark.parametrize("hang", Hang)
def test_sizes_that_act_on_play(hang: Hang):
    """Where a size acts on the play of pins the contact is drawn anew: the chance is that of a model of that size."""
    model = clearance_model(hang)
    small, large = 0.5, 2.0
    what_if = WhatIf(model, BLOCK, 10)
    for size in (small, 1.0, large):
        contact = model.contacts[0]
        resized = linear_model(
            {"size": Uniform(0.01 * size), "pitch": Normal(0.02 * size)},
            model.own.tolist(),
            *model.measures,
            contacts=(contact,),
        )
        counted = simulate([resized], 8 * BLOCK, 10).tallies[0].good / (8 * BLOCK)
        found = what_if.chance(model=with_size(model, [0, 1], size))
        assert counted == pytest.approx(found, abs=1.5 * error_of_share(counted, 8 * BLOCK))


@pytest.mark.parametrize("hang", Hang)
def test_wider_clearances(hang: Hang):
    """Clearances larger by 0.02 mm are those of a model whose pins have 0.07 mm."""
    model = clearance_model(hang)
    wider = two_pins(
        hang, (0.07, 0.07), push=model.contacts[0].push, pitch=[0.0, 1.0], clearance=([1.0, 0.0], [1.0, 0.0])
    )
    spreads = {"size": Uniform(0.01), "pitch": Normal(0.02)}
    other = linear_model(spreads, model.own.tolist(), *model.measures, contacts=(wider,))
    what_if = WhatIf(model, BLOCK, 11)

    assert what_if.chance(0.02) == pytest.approx(what_if.chance(model=other), abs=1.5 / BLOCK)
    assert abs(what_if.chance(0.02) - what_if.chance()) > 0.02


def test_tightest_on_paper():
    """The pitch error of 0.02 mm is within twice the radial clearance in 95 of 100 blanks if that is 0.0196 mm."""
    contact = two_pins(Hang.LOOSE, (0.05, 0.05), pitch=[1.0])
    model = linear_model({"pitch": Normal(0.02)}, [[0.0, 0.0, 0.0, 0.0]], contacts=(contact,))
    density = 2.0 * 0.0584451 / 0.01  # of half the pitch error beyond 1.96 of its standard deviations, both ends
    error = error_of_share(0.95, TRIALS) / density

    assert WhatIf(model, TRIALS, 12).tightest(0.95) == pytest.approx(0.0195996 - 0.05, abs=error)


@pytest.mark.parametrize("hang", Hang)
@pytest.mark.parametrize("share", [0.02, 0.5, 0.95, 1.0])
def test_tightest_lets_just_so_many_go_on(hang: Hang, share: float):
    """With every clearance as tight as that the share goes on, and with a micrometre less fewer do."""
    what_if = WhatIf(clearance_model(hang), BLOCK, 13)
    model = what_if.model
    open_ = linear_model(
        {"size": Uniform(0.01), "pitch": Normal(0.02)},
        model.own.tolist(),
        Radius(0, 1, 9.0),
        contacts=model.contacts,
    )
    going = WhatIf(open_, BLOCK, 13)
    widen = what_if.tightest(share)

    assert share <= going.chance(widen)
    assert share > going.chance(widen - 1e-3)


def test_no_pins_let_everything_on():
    """Without pins there is always room."""
    assert WhatIf(linear_model({"x": Normal(1.0)}, [[1.0]]), 1, 14).tightest(0.95) == -math.inf


@pytest.mark.parametrize("hang", Hang)
def test_short_of_is_the_edge_of_going_on(hang: Hang):
    """Both clearances grown by a hair more than they fall short let a blank on, by a hair less do not."""
    rng = np.random.default_rng(15)
    c1, c2, pitch = rng.normal(0.0, 1.0, (3, 2000))
    short = short_of(hang, c1, c2, pitch)

    assert goes_on(hang, c1 + short + 1e-9, c2 + short + 1e-9, pitch).all()
    assert not goes_on(hang, c1 + short - 1e-9, c2 + short - 1e-9, pitch).any()


def test_farthest_on_paper():
    """A turn of 0.001 about the origin moves a point at distance d by 0.001 d: 0.2 in 95 of 100 if d = 102."""
    turn = linear_model({"turn": Normal(0.001)}, [[0.0], [1.0]], Radius(0, 1, 0.2), Band(1, -1e-9, 1e-9))
    model = LinearModel(
        "turn",
        turn.sources,
        (),
        np.array([[1.0]]),
        np.array([[0.0], [30.0]]),
        np.zeros((2, 1)),
        np.zeros(2),
        turn.measures,
    )
    start, step = np.array([[0.0], [-30.0]]), np.array([[0.0], [1.0]])
    found = WhatIf(model, TRIALS, 16).farthest(model.measures[0], start, step, 0.95)

    assert pytest.approx(found, rel=error_of_share(0.95, TRIALS) / (2.0 * 0.0584451 * 1.96)) == 200.0 / 1.9599640


def test_chance_is_that_of_a_run():
    """Without any change the chance is that of a run on the same points, but for how its weights are evened out."""
    model = clearance_model(Hang.LOOSE)
    run, found = quasi_monte_carlo([model], 2 * BLOCK, 17), WhatIf(model, BLOCK + 1, 17).interval()

    for one, other in zip(astuple(run.estimates[0].chance), astuple(found), strict=True):
        assert one == pytest.approx(other, abs=1e-5)


def test_no_other_size():
    """A distribution whose other sizes are not known is refused."""
    model = linear_model({"wait": Exponential(0.1)}, [[1.0]], Band(0, -1.0, 1.0))

    with pytest.raises(TypeError, match="no other size of Exponential"):
        with_size(model, [0], 2.0)


def test_largest_not_even_at_zero():
    """None where the chance misses the goal at every size, and where it just does so at zero."""
    assert largest(lambda k: 0.5, 0.95) is None
    assert largest(lambda k: 0.9499 - 0.1 * k, 0.95) is None


@pytest.mark.parametrize("answer", [0.01, 0.7, 1.0, 1.3, 40.0, 900.0])
def test_largest_of_a_falling_function(answer: float):
    """A chance that falls through the goal at some size, below the present one or far above it."""
    assert answer == pytest.approx(largest(lambda k: 0.95 - 0.01 * (k - answer) / answer, 0.95), rel=3e-3, abs=1e-3)


def test_largest_without_end():
    """Infinite where the chance never falls to the goal."""
    assert math.inf == largest(lambda k: 0.99, 0.95)


@pytest.mark.parametrize(("good", "bad"), [(0.0, 1.0), (0.04, 0.3)])
def test_edge_of_a_staircase(good: float, bad: float):
    """A counted chance has steps; the edge of the last good one is found, to a thousandth of itself."""
    found = edge(lambda k: math.floor(100.0 * (1.0 - k)) / 100.0, 0.9, good, bad, 1e-9)

    assert 0.1 == pytest.approx(found, rel=2e-3)


def test_edge_from_above():
    """The good value may be the larger one."""
    assert 0.9 == pytest.approx(edge(lambda k: k, 0.9, 5.0, 0.0, 1e-9), rel=2e-3)
