"""The pose of a blank on two pins, against plain rejection sampling and brute force written here."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from flipcheck.stack.contact.two_pins import Hang, follow_share, goes_on
from tests.stack.models import ERRORS_ALLOWED, two_pins

Array = NDArray[np.float64]

DRAWS = 60_000
#: A true sampler fails one Kolmogorov-Smirnov test in 10^4; seeds are fixed, so it passes for good or not at all.
UNLIKELY = 1e-4

PLAYS = [
    (0.025, 0.025, 0.0),
    (0.025, 0.025, 0.02),
    (0.025, 0.025, -0.045),
    (0.05, 0.02, 0.01),
    (0.02, 0.05, -0.03),  # the small circle just inside the large one
    (0.02, 0.05, 0.066),  # a lens near c1 + c2 = 0.07
    (0.001, 0.2, 0.05),
    (0.2, 0.001, -0.2),
]


def poses(hang: Hang, c1: float, c2: float, pitch: float, *, push: float = 0.0, count: int = DRAWS) -> Array:
    """Draws of (d_1u, d_1n, d_2n), shape (3, count)."""
    contact, out = two_pins(hang, (c1, c2), push=push), np.empty((3, count))
    rng = np.random.default_rng(17)
    on, _ = contact.draw(rng, np.full(count, c1), np.full(count, c2), np.full(count, pitch), out=out)
    assert on.all()
    out[0] -= contact.follow * pitch
    return out


def rejected_to(c1: float, c2: float, pitch: float) -> Array:
    """The same by plain rejection: points of a box, those kept that lie inside both circles."""
    rng, kept = np.random.default_rng(18), np.empty((3, 0))
    low, high = np.array([[max(-c1, -c2 - pitch), -c1, -c2], [min(c1, c2 - pitch), c1, c2]])
    while kept.shape[1] < DRAWS:
        box = rng.uniform(low[:, None], high[:, None], (3, 1_000_000))
        inside = (np.hypot(box[0], box[1]) <= c1) & (np.hypot(box[0] + pitch, box[2]) <= c2)
        kept = np.concatenate([kept, box[:, inside]], axis=1)
    return kept[:, :DRAWS]


@pytest.mark.parametrize(("c1", "c2", "pitch"), PLAYS)
def test_loose_poses_are_those_of_plain_rejection(c1: float, c2: float, pitch: float):
    """Uniform over all poses that keep both holes on their pins: means, standard deviations and shapes agree."""
    drawn, plain = poses(Hang.LOOSE, c1, c2, pitch), rejected_to(c1, c2, pitch)

    for ours, theirs in zip(drawn, plain, strict=True):
        std = theirs.std()
        of_mean = math.sqrt(2.0 / DRAWS) * std
        of_std = std * math.sqrt((stats.kurtosis(theirs, fisher=False) - 1.0) / (2.0 * DRAWS))
        assert theirs.mean() == pytest.approx(ours.mean(), abs=ERRORS_ALLOWED * of_mean)
        assert std == pytest.approx(ours.std(), abs=ERRORS_ALLOWED * of_std)
        assert stats.ks_2samp(ours, theirs).pvalue > UNLIKELY


@pytest.mark.parametrize(("c1", "c2", "pitch"), PLAYS)
def test_loose_poses_turn_the_blank_as_plain_rejection_does(c1: float, c2: float, pitch: float):
    """The turn needs both pins at once: d_2n - d_1n agrees in shape, so the two are tied as they should be."""
    drawn, plain = poses(Hang.LOOSE, c1, c2, pitch), rejected_to(c1, c2, pitch)

    assert stats.ks_2samp(drawn[2] - drawn[1], plain[2] - plain[1]).pvalue > UNLIKELY
    assert stats.ks_2samp(np.abs(drawn[0]) + np.abs(drawn[1]), np.abs(plain[0]) + np.abs(plain[1])).pvalue > UNLIKELY


@pytest.mark.parametrize(("c1", "c2", "pitch"), PLAYS)
def test_no_loose_pose_leaves_its_clearance(c1: float, c2: float, pitch: float):
    """Both pins stay inside their holes, to the last few bits."""
    d1u, d1n, d2n = poses(Hang.LOOSE, c1, c2, pitch)

    assert np.hypot(d1u, d1n).max() <= c1 + 1e-15
    assert np.hypot(d1u + pitch, d2n).max() <= c2 + 1e-15


def test_equal_clearances_without_pitch_error_give_a_parabola_along_the_pins():
    """d_1u follows Beta(2, 2) on -c to c: variance c^2 / 5, as chord times chord is c^2 - u^2 (worked out here)."""
    c, count = 0.025, 400_000
    along = poses(Hang.LOOSE, c, c, 0.0, count=count)[0]
    kurtosis = 15.0 / 7.0  # of Beta(2, 2)

    assert stats.kstest(along, stats.beta(2, 2, -c, 2.0 * c).cdf).pvalue > UNLIKELY
    of_variance = c * c / 5.0 * math.sqrt((kurtosis - 1.0) / count)
    assert pytest.approx(along.var(), abs=ERRORS_ALLOWED * of_variance) == c * c / 5.0


def test_equal_clearances_without_pitch_error_across_the_pins():
    """d_1n has variance c^2 (1 - 1/5) / 3 = 4 c^2 / 15, more than the c^2 / 4 of a disc, as the other pin holds it
    near the middle of its chord (worked out here).
    """
    c, count = 0.025, 400_000
    across = poses(Hang.LOOSE, c, c, 0.0, count=count)[1]
    # fourth moment: E (c^2 - u^2)^2 / 5 = c^4 (1 - 2/5 + 3/35) / 5 = 24 c^4 / 175
    variance = 4.0 / 15.0 * c * c
    of_variance = math.sqrt((24.0 / 175.0 * c**4 - variance**2) / count)

    assert pytest.approx(across.var(), abs=ERRORS_ALLOWED * of_variance) == variance


def test_largest_turn_of_loose_pins_is_the_sum_of_clearances_over_their_spacing():
    """No draw turns farther than (c1 + c2) / B, and some come within a hundredth of it."""
    c1, c2, spacing = 0.03, 0.05, 94.0
    _, d1n, d2n = poses(Hang.LOOSE, c1, c2, 0.0, count=1_000_000)
    largest = np.abs((d2n - d1n) / spacing).max()

    assert 0.97 * (c1 + c2) / spacing <= largest <= (c1 + c2) / spacing * (1.0 + 1e-12)


@pytest.mark.parametrize(("c1", "c2"), [(0.025, 0.025), (0.001, 0.2), (0.2, 0.001)])
def test_slot_is_a_disc_and_a_slit(c1: float, c2: float):
    """The first hole is uniform over its disc (c/2 an axis; c/4 of diametral clearance), the second over its width."""
    d1u, d1n, d2n = poses(Hang.SLOT, c1, c2, 123.0)
    radius, phase = np.hypot(d1u, d1n), np.arctan2(d1n, d1u)

    assert stats.kstest(radius**2, stats.uniform(0.0, c1**2).cdf).pvalue > UNLIKELY
    assert stats.kstest(phase, stats.uniform(-math.pi, 2.0 * math.pi).cdf).pvalue > UNLIKELY
    assert stats.kstest(d2n, stats.uniform(-c2, 2.0 * c2).cdf).pvalue > UNLIKELY
    for axis in (d1u, d1n):
        of_std = 0.5 * c1 * math.sqrt((2.0 - 1.0) / (4.0 * DRAWS))  # the kurtosis of a disc seen along an axis is 2
        assert 0.5 * c1 == pytest.approx(axis.std(), abs=ERRORS_ALLOWED * of_std)
    assert radius.max() <= c1 + 1e-15
    assert np.abs(d2n).max() <= c2


def test_slot_leaves_its_two_holes_to_themselves():
    """The places of the first and of the second hole are not tied to each other."""
    d1u, d1n, d2n = poses(Hang.SLOT, 0.02, 0.03, 0.0)

    for first in (d1u, d1n, np.hypot(d1u, d1n)):
        for second in (d2n, np.abs(d2n)):
            assert abs(np.corrcoef(first, second)[0, 1]) < ERRORS_ALLOWED / math.sqrt(DRAWS)


@pytest.mark.parametrize("push", [1.0, -1.0])
def test_pushed_onto_a_slot_both_holes_are_at_the_end(push: float):
    """A slot has no pitch to hold the blank back."""
    pose = poses(Hang.SLOT, 0.02, 0.03, 5.0, push=push, count=3)

    assert pytest.approx(pose) == np.outer([0.0, 0.02 * push, 0.03 * push], np.ones(3))


@pytest.mark.parametrize("push", [1.0, -1.0])
@pytest.mark.parametrize(("c1", "c2", "pitch"), [*PLAYS, (0.02, 0.05, 0.07)])
def test_pushed_pose_is_that_of_greatest_travel(c1: float, c2: float, pitch: float, push: float):
    """No place along the pins lets the middle of the pin line travel farther, and both pins touch."""
    d1u, d1n, d2n = poses(Hang.PUSHED, c1, c2, pitch, push=push, count=1)[:, 0]
    u = np.linspace(max(-c1, -c2 - pitch), min(c1, c2 - pitch), 2_000_001)
    travel = np.sqrt(np.maximum(c1**2 - u**2, 0.0)) + np.sqrt(np.maximum(c2**2 - (u + pitch) ** 2, 0.0))
    # near its top the travel is a parabola: a step of the search misses less than this
    missed = 1e-9 * (c1 + c2)

    assert travel.max() == pytest.approx(push * (d1n + d2n), abs=missed)
    assert c1 == pytest.approx(math.hypot(d1u, d1n), rel=1e-9, abs=1e-12)
    assert c2 == pytest.approx(math.hypot(d1u + pitch, d2n), rel=1e-9, abs=1e-12)


def test_pushed_without_pitch_error_is_a_plain_shift():
    """Each hole goes its own clearance towards the push."""
    pose = poses(Hang.PUSHED, 0.02, 0.03, 0.0, push=-1.0, count=2)

    assert pytest.approx(pose) == np.outer([0.0, -0.02, -0.03], np.ones(2))


GOES_ON = [  # radial clearances, pitch error, goes onto two round holes, goes onto a hole and a slot
    (0.02, 0.03, 0.0, True, True),
    (0.02, 0.03, 0.0499, True, True),
    (0.02, 0.03, -0.0499, True, True),
    (0.02, 0.03, 0.0501, False, True),
    (0.02, 0.03, -0.0501, False, True),
    (0.0, 0.03, 0.0, False, False),
    (0.03, 0.0, 0.0, False, False),
    (-0.01, 0.03, 0.0, False, False),
    (0.5, -0.01, 0.0, False, False),
]


@pytest.mark.parametrize("column", [0, 1], ids=["round", "slot"])
def test_goes_on_with_clearance_at_both_pins_and_pitch_within_their_sum(column: int):
    """A negative clearance never goes on, a pitch error beyond c1 + c2 only where the second hole is a slot."""
    c1, c2, pitch, *expected = np.array(GOES_ON).T

    for hang in (Hang.SLOT,) if column else (Hang.LOOSE, Hang.PUSHED):
        assert expected[column].astype(bool).tolist() == goes_on(hang, c1, c2, pitch).tolist()


@pytest.mark.parametrize("hang", Hang)
def test_blanks_that_do_not_go_on_are_left_at_zero(hang: Hang):
    """A draw says which blanks go on, and leaves no pose and no NaN for the others."""
    c1, c2, pitch, round_on, slot_on = np.array(GOES_ON).T
    out, given = np.full((3, len(c1)), np.nan), [c1.copy(), c2.copy(), pitch.copy()]
    contact = two_pins(hang, (0.02, 0.03), push=float(hang is Hang.PUSHED))
    on, _ = contact.draw(np.random.default_rng(1), *given, out=out)

    assert (slot_on if hang is Hang.SLOT else round_on).astype(bool).tolist() == on.tolist()
    assert not out[:, ~on].any()
    assert out[:, on].any(axis=0).all()
    assert np.array(given).tolist() == [c1.tolist(), c2.tolist(), pitch.tolist()]


def test_every_trial_has_the_clearance_and_pitch_of_its_own():
    """With sizes that vary from trial to trial each pose stays inside its own clearance."""
    rng = np.random.default_rng(2)
    c1, c2 = rng.uniform(0.001, 0.05, (2, DRAWS))
    pitch = rng.uniform(-1.0, 1.0, DRAWS) * (c1 + c2)
    out, contact = np.empty((3, DRAWS)), two_pins(Hang.LOOSE, (0.025, 0.025))

    assert contact.draw(rng, c1, c2, pitch, out=out)[0].all()
    d1u = out[0] - contact.follow * pitch
    assert (np.hypot(d1u, out[1]) <= c1 + 1e-15).all()
    assert (np.hypot(d1u + pitch, out[2]) <= c2 + 1e-15).all()


@pytest.mark.parametrize(
    ("hang", "nominal", "expected"),
    [
        (Hang.LOOSE, (0.025, 0.025), 0.5),
        (Hang.PUSHED, (0.01, 0.03), 0.25),
        (Hang.SLOT, (0.01, 0.03), 0.0),
        (Hang.LOOSE, (0.0, 0.0), 0.5),
        (Hang.LOOSE, (-0.01, 0.03), 0.0),
        (Hang.LOOSE, (0.03, -0.01), 1.0),
    ],
)
def test_the_first_hole_takes_its_share_of_a_pitch_error(hang: Hang, nominal: tuple[float, float], expected: float):
    """By the clearances; half each where there is none; nothing where the second hole is a slot."""
    assert expected == follow_share(hang, nominal)


@pytest.mark.parametrize("pitch", [0.01, -0.03])
def test_the_first_row_is_free_of_the_pitch_error_on_average(pitch: float):
    """With equal clearances d_1u + p / 2 averages nothing, whatever p (by symmetry)."""
    c, out = 0.025, np.empty((3, DRAWS))
    contact = two_pins(Hang.LOOSE, (c, c))
    contact.draw(np.random.default_rng(4), np.full(DRAWS, c), np.full(DRAWS, c), np.full(DRAWS, pitch), out=out)

    assert pytest.approx(out[0].mean(), abs=ERRORS_ALLOWED * out[0].std() / math.sqrt(DRAWS)) == 0.0


def test_a_touch_of_play_at_the_very_limit_is_no_endless_search():
    """A pitch error of exactly c1 + c2 leaves one pose, at the point between both pins."""
    c1, c2 = 0.02, 0.03
    d1u, d1n, d2n = poses(Hang.LOOSE, c1, c2, c1 + c2, count=100)

    assert pytest.approx(d1u, abs=1e-15) == np.full(100, -c1)
    # half a chord is the root of what rounding leaves of the overlap, about sqrt(2 c 1e-17)
    assert np.abs([d1n, d2n]).max() < 1e-8
