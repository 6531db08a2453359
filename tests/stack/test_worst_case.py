"""Worst case and root sum of squares, against closed forms, brute force and draws."""

from __future__ import annotations

import math

import numpy as np
import pytest

from flipcheck.stack.contact.two_pins import Hang
from flipcheck.stack.linear import LinearModel
from flipcheck.stack.measures import Band, Largest, Radius
from flipcheck.stack.monte_carlo.simulate import simulate
from flipcheck.stack.spreads import Arcsine, Circle, Normal, Trapezoid, Triangular, Uniform
from flipcheck.stack.worst_case import bounds
from tests.stack.models import linear_model, two_pins

#: Directions and places are tried in small steps: 1 - cos(0.125 degrees) is what a step may miss.
STEP = 2.4e-6
ANY = Band(0, -np.inf, np.inf)


def test_chain_adds_its_bounds_and_their_squares():
    """In a chain with signs bounds of 3, 4 and 12 add up to 19, and their root sum of squares is 13."""
    model = linear_model({"a": Uniform(3.0), "b": Triangular(4.0), "c": Normal(4.0)}, [[1.0, -1.0, 1.0]], ANY)
    found = bounds(model, ANY)

    assert found.worst == pytest.approx(19.0)
    assert found.rss == pytest.approx(13.0)


def test_a_bound_is_multiplied_by_its_sensitivity():
    """An error that enters twice counts twice, with its own limit where one was given."""
    model = linear_model({"a": Uniform(0.1), "b": Normal(1.0, limit=0.05)}, [[2.0, -3.0]], ANY)

    assert bounds(model, ANY).worst == pytest.approx(0.2 + 0.15)
    assert bounds(model, ANY).rss == pytest.approx(math.hypot(0.2, 0.15))


@pytest.mark.parametrize("mean", [0.5, -0.5])
def test_a_known_mean_adds_in_full_to_both(mean: float):
    """A bias is no scatter: it adds to the worst case and to the root sum of squares, towards its own side."""
    model = linear_model({"a": Uniform(0.3, mean), "b": Uniform(0.4)}, [[1.0, 1.0]], ANY)
    found = bounds(model, ANY)

    assert found.worst == pytest.approx(0.5 + 0.7)
    assert found.rss == pytest.approx(0.5 + 0.5)


def test_a_band_counts_from_its_centre_and_a_distance_from_nothing():
    """A web of nominally 3 mm deviates by its errors alone; a distance includes the offset it starts from."""
    coefficients, centre = [[1.0, 0.0], [0.0, 1.0]], [3.0, 4.0]
    model = linear_model({"a": Uniform(0.2), "b": Uniform(0.1)}, coefficients, centre=centre)

    assert bounds(model, Band(0, 0.0, 9.0)).worst == pytest.approx(0.2)
    assert bounds(model, Largest((0, 1), 9.0)).worst == pytest.approx(4.1)
    assert bounds(model, Radius(0, 1, 9.0)).worst == pytest.approx(math.hypot(3.2, 4.1), rel=STEP)


def test_largest_is_the_worst_of_its_rows_on_either_side():
    """Each row is looked at by itself; a row not asked for does not count."""
    model = linear_model({"a": Uniform(0.2), "b": Uniform(0.1)}, [[1.0, 0.0], [1.0, -2.0], [9.0, 9.0]])

    assert bounds(model, Largest((0, 1), 1.0)).worst == pytest.approx(0.4)


def test_two_perpendicular_errors_reach_the_corner_of_their_rectangle():
    """Bounds of 0.3 and 0.4 across each other reach 0.5; the root sum of squares is taken along that diagonal."""
    model = linear_model({"a": Uniform(0.3), "b": Uniform(0.4)}, [[1.0, 0.0], [0.0, 1.0]])
    found = bounds(model, Radius(0, 1, 1.0))

    assert found.worst == pytest.approx(0.5, rel=STEP)
    # along (0.6, 0.8) the two reach 0.18 and 0.32; a step beside it changes that by no more than the step, 0.0022 rad
    assert found.rss == pytest.approx(math.hypot(0.18, 0.32), rel=0.0022)


def test_skew_errors_reach_the_farthest_corner_of_their_hexagon():
    """Three errors at 0, 60 and 120 degrees, one unit each, reach 2 units: the far corner of a regular hexagon."""
    angles = np.radians([0.0, 60.0, 120.0])
    coefficients = [np.cos(angles), np.sin(angles)]
    model = linear_model({"a": Uniform(1.0), "b": Uniform(1.0), "c": Uniform(1.0)}, coefficients)

    assert bounds(model, Radius(0, 1, 1.0)).worst == pytest.approx(2.0, rel=STEP)


@pytest.mark.parametrize("side", [1.0, -1.0, 0.3, -0.3, 0.7, -0.7, 3.0, -3.0])
def test_of_two_directions_that_are_equally_bad_the_larger_root_sum_of_squares_counts(side: float):
    """Rounding must not choose: 0.2 in one piece one way or in two the other way, in a mirror and in any size."""
    half, size = math.sqrt(0.5), abs(side)
    signs = size * np.array([[1.0], [np.sign(side)]])
    coefficients = (signs * [[1.0, 0.0, half, half, half], [0.0, 1.0, half, -half, -half]]).tolist()
    sizes = {"a": 0.3, "b": 0.3, "c": 0.2, "d": 0.1, "e": 0.1}
    found = bounds(linear_model({k: Uniform(v) for k, v in sizes.items()}, coefficients), Radius(0, 1, 1.0))

    # t off the diagonal: (0.3 sqrt 2 + 0.2) cos t + 0.2 sin t, largest where tan t = 0.2 / (0.3 sqrt 2 + 0.2)
    t = math.atan2(0.2, 0.3 * math.sqrt(2.0) + 0.2)
    one_piece = 0.09 + (0.2 * math.cos(t)) ** 2 + 2.0 * (0.1 * math.sin(t)) ** 2
    assert found.worst == pytest.approx(size * math.hypot(0.3 * math.sqrt(2.0) + 0.2, 0.2), rel=STEP)
    assert found.rss == pytest.approx(size * math.sqrt(one_piece), rel=0.0022)


@pytest.mark.parametrize("degrees", [0.0, 17.0, 45.0, 90.0, 211.0])
def test_a_circle_is_as_bad_in_every_direction(degrees: float):
    """Runout reaches its radius along any direction, not the corner of the square around it."""
    angle = math.radians(degrees)
    spreads = {"runout": Circle(0.02)}
    along = linear_model(spreads, [[math.cos(angle), math.sin(angle)]])
    turned = linear_model(spreads, [[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])

    assert bounds(along, ANY).worst == pytest.approx(0.02, rel=1e-12)
    assert bounds(turned, Radius(0, 1, 1.0)).worst == pytest.approx(0.02, rel=STEP)


def test_what_each_source_does_is_told_for_every_direction():
    """Along the worst direction the parts add up to the whole."""
    model = linear_model(
        {"a": Uniform(0.3), "runout": Circle(0.1)},
        [[1.0, 0.0, 2.0, 1.0, 0.5, 0.0]],
        contacts=(two_pins(Hang.LOOSE, (0.02, 0.02), pitch=[0.0, 0.0, 0.0]),),
    )
    found = bounds(model, ANY)
    at = int(np.argmax(found.sources.sum(axis=1) + found.contacts.sum(axis=1)))

    assert found.sources.shape == (2, 2)
    assert found.contacts.shape == (2, 1)
    assert [0.3, 0.2] == pytest.approx(found.sources[at])
    assert found.worst == pytest.approx(found.sources[at].sum() + found.contacts[at].sum())


def test_what_does_not_act_is_left_out():
    """A source that moves other outputs only is no part of a measure's worst case."""
    model = linear_model({"a": Uniform(0.3), "b": Uniform(0.2), "c": Uniform(0.1)}, [[1.0, 0.0, 2.0], [0.0, 1.0, 0.0]])
    found = bounds(model, Largest((0,), 1.0))

    assert (0, 2) == found.places
    assert [0.3, 0.0, 0.2, 0.5] == pytest.approx([found.by(who) for who in ([0], [1], [2], [0, 1, 2])])
    assert 0.5 == pytest.approx(found.worst)
    assert math.hypot(0.3, 0.2) == pytest.approx(found.rss)


def test_nothing_at_all_has_no_worst_case():
    """A model without any error."""
    model = linear_model({}, np.zeros((2, 0)))

    assert bounds(model, Radius(0, 1, 1.0)).worst == 0.0
    assert bounds(model, ANY).rss == 0.0


FORMS = [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.3, 0.5, 0.5), (-0.4, 0.9, -0.2), (1.0, -2.0, -3.0), (0.0, 1.0, -1.0)]


def only_pins(hang: Hang, play: tuple[float, float], form: tuple[float, float, float], push: float = 0.0) -> float:
    """Worst case of a form over the play alone."""
    model = linear_model({}, [form], contacts=(two_pins(hang, play, push=push),))
    return bounds(model, ANY).worst


@pytest.mark.parametrize("form", FORMS)
def test_support_of_equal_clearances(form: tuple[float, float, float]):
    """Equal clearances c without pitch error reach c sqrt(a_u^2 + (|a_1| + |a_2|)^2)."""
    along, first, second = form
    expected = 0.025 * math.hypot(along, abs(first) + abs(second))

    assert expected == pytest.approx(only_pins(Hang.LOOSE, (0.025, 0.025), form), rel=STEP)


@pytest.mark.parametrize("form", FORMS)
def test_support_of_a_slot(form: tuple[float, float, float]):
    """A disc and a slit each for itself: c1 sqrt(a_u^2 + a_1^2) + c2 |a_2|."""
    along, first, second = form
    expected = 0.03 * math.hypot(along, first) + 0.01 * abs(second)

    assert expected == pytest.approx(only_pins(Hang.SLOT, (0.03, 0.01), form), rel=STEP)


@pytest.mark.parametrize("push", [1.0, -1.0])
def test_support_of_a_pushed_blank_without_pitch_error(push: float):
    """There is one pose: the push times (a_1 c_1 + a_2 c_2), and it has no scatter."""
    model = linear_model({}, [(0.3, 2.0, -1.0)], contacts=(two_pins(Hang.PUSHED, (0.03, 0.01), push=push),))
    found = bounds(model, ANY)

    assert found.worst == pytest.approx(0.05)
    assert found.rss == pytest.approx(0.05)


def test_largest_turn_on_two_pins():
    """The turn (d_2n - d_1n) / B is at most (c1 + c2) / B."""
    expected = (0.05 + 0.075) / 200.0

    assert expected == pytest.approx(only_pins(Hang.LOOSE, (0.05, 0.05), (0.0, -1 / 200, 1 / 200)) + 0.025 / 200.0)
    assert expected == pytest.approx(only_pins(Hang.SLOT, (0.05, 0.075), (0.0, -1 / 200, 1 / 200)))


@pytest.mark.parametrize("hang", [Hang.LOOSE, Hang.SLOT])
def test_play_counts_like_any_other_bound(hang: Hang):
    """Play of 0.03 across the first pin beside an error of 0.04: 0.07 at worst, 0.05 as root of the sum of squares."""
    model = linear_model(
        {"a": Uniform(0.04)}, [[1.0, 0.0, 1.0, 0.0]], contacts=(two_pins(hang, (0.03, 0.03), pitch=[0]),)
    )
    found = bounds(model, ANY)

    assert found.worst == pytest.approx(0.07, rel=STEP)
    assert found.rss == pytest.approx(0.05, rel=STEP)


def loose_by_force(play: tuple[float, float], pitch: float, form: tuple[float, float, float]) -> float:
    """Largest value of a form over all poses with pitch errors within +-pitch, both tried in very small steps."""
    (c1, c2), (along, first, second) = play, form
    most = min(c1, c2 + pitch)
    u = np.concatenate([np.linspace(-most, most, 400_001), most * np.sin(np.linspace(-1.6, 1.6, 400_001))])
    second_along = np.maximum(np.abs(u) - pitch, 0.0)  # the pitch error brings the second pin back as far as it can
    chords = np.sqrt(np.maximum(c1**2 - u**2, 0.0)), np.sqrt(np.maximum(c2**2 - second_along**2, 0.0))
    return float(np.max(along * u + abs(first) * chords[0] + abs(second) * chords[1]))


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize(
    ("play", "pitch"),
    [((0.025, 0.025), 0.02), ((0.02, 0.05), 0.01), ((0.05, 0.02), 0.1), ((0.001, 0.2), 0.03), ((0.2, 0.001), 0.03)],
)
def test_support_of_loose_pins_against_brute_force(
    play: tuple[float, float], pitch: float, form: tuple[float, float, float]
):
    """With a pitch error that itself does nothing, the farthest pose is that of an exhaustive search."""
    along = form[0]
    contact = two_pins(Hang.LOOSE, play, pitch=[1.0])
    # the contact's first row is d_1u + follow p, so that -follow p leaves d_1u alone
    model = linear_model({"pitch": Uniform(pitch)}, [[-contact.follow * along, *form]], contacts=(contact,))
    expected = loose_by_force(play, pitch, form)

    assert expected == pytest.approx(bounds(model, ANY).worst, rel=2e-5)


def pushed_by_force(
    first: tuple[float, float], second: tuple[float, float], pitch: float, form: tuple[float, float, float]
) -> float:
    """Largest value of a form over all pushed poses with clearances in their spans, either way round."""
    c1, c2 = (c[..., None] for c in np.meshgrid(np.linspace(*first, 41), np.linspace(*second, 41)))
    lean = np.arcsin(np.minimum(pitch / (c1 + c2), 1.0)) * np.linspace(-1.0, 1.0, 401)
    value = -form[0] * c1 * np.sin(lean) + np.cos(lean) * (form[1] * c1 + form[2] * c2)
    return float(np.abs(value).max())


@pytest.mark.parametrize("form", [*FORMS, (1.0, -0.05, -0.02), (-1.0, 0.0, 0.2)])
@pytest.mark.parametrize("pitch", [0.004, 0.03, 0.2])
@pytest.mark.parametrize("half", [0.0, 0.015])
def test_support_of_a_pushed_blank_against_brute_force(form: tuple[float, float, float], pitch: float, half: float):
    """Whatever pitch error and clearances come together, the worst case is not below the farthest pushed pose.

    A search in steps finds no more than there is, so the worst case may exceed it; here by less than a hundredth.
    """
    contact = two_pins(Hang.PUSHED, (0.03, 0.02), push=1.0, pitch=[1.0, 0, 0], clearance=([0, 1.0, 0], [0, 0, 1.0]))
    spreads = {"pitch": Uniform(pitch), "first": Uniform(half), "second": Uniform(half)}
    model = linear_model(spreads, [[-contact.follow * form[0], 0.0, 0.0, *form]], contacts=(contact,))
    found = pushed_by_force((0.03 - half, 0.03 + half), (0.02 - half, 0.02 + half), pitch, form)

    assert found * (1.0 - STEP) <= bounds(model, ANY).worst <= found * 1.01


def test_support_of_a_blank_pushed_the_other_way_when_little_play_is_left():
    """An offset against the push is worst where the blank is hardly pushed at all: at the tightest fit that goes on.

    With clearances of 0.01 to 0.05 and a pitch error up to 0.04 the blank may lean on its pins at 90 degrees, d_1u =
    +-c_1 and no travel, for any c_1 + c_2 <= 0.04: at most c_1 = 0.03 against c_2 = 0.01.
    """
    contact = two_pins(Hang.PUSHED, (0.03, 0.03), push=1.0, pitch=[1.0, 0, 0], clearance=([0, 1.0, 0], [0, 0, 1.0]))
    spreads = {"pitch": Uniform(0.04), "first": Uniform(0.02), "second": Uniform(0.02)}
    model = linear_model(
        spreads, [[0.5, 0.0, 0.0, -1.0, 1.0, 1.0]], centre=[-1.0], contacts=(contact,)
    )  # -1 - d_1u + d_1n + d_2n

    # towards minus: 1 + d_1u - d_1n - d_2n, at most 1 + c_1
    assert bounds(model, Largest((0,), 2.0)).worst == pytest.approx(1.03, rel=STEP)


SPREADS = {
    "uniform": Uniform(0.02, 0.01),
    "triangular": Triangular(0.03),
    "arcsine": Arcsine(0.01, -0.004),
    "trapezoid": Trapezoid(0.02, top=0.3),
    "runout": Circle(0.015),
}
SOURCE_ROWS = 6


def bounded_model(seed: int, hang: Hang | None) -> LinearModel:
    """A model of bounded sources with random coefficients, on pins whose pitch and clearances err too."""
    rng = np.random.default_rng(seed)
    contacts = ()
    if hang:
        push = float(rng.choice([-1.0, 1.0])) if hang is Hang.PUSHED else 0.0
        forms = rng.normal(size=(3, SOURCE_ROWS)) * [[0.5], [0.1], [0.1]]
        contacts = (two_pins(hang, (0.03, 0.05), push=push, pitch=forms[0], clearance=(forms[1], forms[2])),)
    coefficients = rng.normal(size=(3, SOURCE_ROWS + 3 * len(contacts)))
    measures = (Radius(0, 1, 1.0), Band(2, -1.0, 1.0), Largest((0, 1, 2), 1.0))
    return linear_model(SPREADS, coefficients, *measures, centre=[0.01, -0.02, 5.0], contacts=contacts)


@pytest.mark.parametrize("hang", [None, *Hang], ids=["no pins", *Hang])
@pytest.mark.parametrize("seed", range(4))
def test_no_draw_of_a_bounded_model_passes_the_worst_case(seed: int, hang: Hang | None):
    """Sources, runout, pitch, clearances and play together never go beyond the worst case, and come near it."""
    model = bounded_model(seed, hang)
    ends = simulate([model], 100_000, seed).tallies[0].ends
    farthest = [ends[0, 1], np.abs(ends[1] - 5.0).max(), ends[2, 1]]

    for measure, value in zip(model.measures, farthest, strict=True):
        worst = bounds(model, measure).worst
        assert 0.5 * worst < value <= worst * (1.0 + STEP)
        assert bounds(model, measure).rss <= worst * (1.0 + 1e-12)


@pytest.mark.parametrize("form", [(-1.0, 0.0, 0.2), (-1.0, 0.05, 0.02), (0.3, 1.0, 1.0)])
def test_no_pushed_draw_passes_the_worst_case_where_the_pitch_eats_the_play(form: tuple[float, float, float]):
    """A pitch error as large as the play leans the blank on its pins anyhow, and the worst case sees all of that."""
    contact = two_pins(Hang.PUSHED, (0.05, 0.05), push=1.0, pitch=[1.0])
    model = linear_model({"pitch": Uniform(0.1)}, [[-contact.follow * form[0], *form]], ANY, contacts=(contact,))
    ends = simulate([model], 200_000, 1).tallies[0].ends

    assert np.abs(ends).max() <= bounds(model, ANY).worst * (1.0 + STEP)
