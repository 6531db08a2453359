"""A blank on three or more pins: answers worked out on paper, and poses held against the circles."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize

from flipcheck.stack.contact.many_pins import ManyPins
from flipcheck.stack.contact.newton import backward, cholesky, forward

FOUR = [(-100.0, -180.0), (100.0, -180.0), (100.0, 180.0), (-100.0, 180.0)]
THREE = [(0.0, 0.0), (200.0, 30.0), (90.0, 300.0)]
TRIALS = 30_000


def discs(pins: list[tuple[float, float]], clearance: float = 0.1) -> ManyPins:
    away = np.array(pins) - np.mean(pins, axis=0)
    reach = math.sqrt(np.square(away).sum() / len(pins))
    arms = np.column_stack([-away[:, 1], away[:, 0]]) / reach
    offsets = np.repeat([0.0, clearance], [2 * len(pins), len(pins)])
    return ManyPins("pin_clearance/test", np.zeros((3 * len(pins), 0)), offsets, arms)


def misfits(contact: ManyPins, strays: np.ndarray) -> np.ndarray:
    """What the least-squares pose leaves of strays of shape (n, 2, N), by numpy's own least squares."""
    design = np.concatenate([np.column_stack([np.eye(2), arm]) for arm in contact.arms])
    flat = strays.reshape(2 * contact.pins, -1)
    return (flat - design @ np.linalg.lstsq(design, flat, rcond=None)[0]).reshape(strays.shape)


def hung(contact: ManyPins, strays: np.ndarray, clearances: np.ndarray, seed: int = 1) -> tuple[np.ndarray, np.ndarray]:
    out = np.empty((3, strays.shape[2]))
    on, _ = contact.draw(np.random.default_rng(seed), misfits(contact, strays), clearances, out=out)
    return out, on


def places(contact: ManyPins, strays: np.ndarray, p: np.ndarray) -> np.ndarray:
    """How far each hole is from its pin, shape (n, N)."""
    d = misfits(contact, strays) + p[:2] + contact.arms[:, :, None] * p[2]
    return np.hypot(d[:, 0], d[:, 1])


def out_of_square(slope: float) -> np.ndarray:
    return np.array([(2.0 * slope * y, 0.0) for _, y in FOUR])[:, :, None]


def test_four_pins_on_a_machine_out_of_square():
    """Each hole ends 2 g a b / sqrt(a^2 + b^2) from its pin: 0.175 mm for halves of 100 and 180 mm at 1 mm/m."""
    contact, strays = discs(FOUR), out_of_square(0.001)
    left = 2 * 0.001 * 100 * 180 / math.hypot(100, 180)

    assert pytest.approx(0.175, abs=5e-4) == left
    assert pytest.approx(np.full((4, 1), left)) == places(contact, strays, np.zeros((3, 1)))
    assert pytest.approx([left - 0.1], abs=1e-6) == contact.short_of(misfits(contact, strays), np.full((4, 1), 0.1))
    for clearance, goes in ((left - 1e-4, False), (left + 1e-4, True)):
        assert [goes] == hung(contact, strays, np.full((4, 1), clearance))[1].tolist()


@pytest.mark.parametrize("pins", [FOUR, THREE], ids=["four", "three"])
def test_every_hole_is_on_its_pin(pins: list[tuple[float, float]]):
    """All draws obey the inequalities, with errors so large that some blanks do not go on."""
    contact, rng = discs(pins), np.random.default_rng(2)
    strays = 0.06 * rng.standard_normal((len(pins), 2, TRIALS))
    clearances = 0.1 + 0.01 * rng.standard_normal((len(pins), TRIALS))
    p, on = hung(contact, strays, clearances)

    assert 0.5 < on.mean() < 0.99
    assert (places(contact, strays, p)[:, on] <= clearances[:, on]).all()
    assert not p[:, ~on].any()


def test_what_goes_on_is_what_has_a_pose():
    """The least widening, against a minimiser that knows nothing of barriers."""
    contact, rng = discs(THREE), np.random.default_rng(4)
    strays = 0.08 * rng.standard_normal((3, 2, 12))
    clearances = np.full((3, 12), 0.1)
    left = misfits(contact, strays)

    def widest(p: np.ndarray, trial: int) -> float:
        d = left[:, :, trial] + p[:2] + contact.arms * p[2]
        return float((np.hypot(*d.T) - clearances[:, trial]).max())

    options = {"xatol": 1e-8, "fatol": 1e-9, "maxiter": 4000}
    starts = 0.03 * rng.standard_normal((4, 3))
    least = [
        min(minimize(widest, start, (trial,), "Nelder-Mead", options=options).fun for start in starts)
        for trial in range(12)
    ]

    assert contact.short_of(left, clearances) == pytest.approx(least, abs=3e-6)
    assert (np.array(least) < 0).tolist() == hung(contact, strays, clearances)[1].tolist()


def test_a_third_pin_that_is_ever_so_loose_leaves_the_play_of_two():
    """Two pins without pitch error: variance 4 c^2 / 15 across the line at a pin, c^2 / 5 along it."""
    contact = discs([(0.0, 0.0), (0.0, 300.0), (1.0, 150.0)])
    clearances = np.repeat([[0.1], [0.1], [50.0]], TRIALS, axis=1)
    p, on = hung(contact, np.zeros((3, 2, TRIALS)), clearances)
    first = p[:2] + contact.arms[0][:, None] * p[2]
    error = 4.0 * 0.1**2 / math.sqrt(TRIALS)

    assert on.all()
    assert pytest.approx(0.1**2 * 4 / 15, abs=error) == (first[0] ** 2).mean()
    assert pytest.approx(0.1**2 / 5, abs=error) == (first[1] ** 2).mean()


@pytest.mark.parametrize("pins", [FOUR, THREE], ids=["four", "three"])
def test_poses_are_uniform(pins: list[tuple[float, float]]):
    """Against poses thrown into a cube until they fit: mean, scatter and correlations of one odd set of strays."""
    contact, rng = discs(pins), np.random.default_rng(6)
    strays = 0.025 * rng.standard_normal((len(pins), 2, 1))
    clearances = np.array([[0.11], [0.09], [0.12], [0.1]])[: len(pins)]
    p, _ = hung(contact, np.repeat(strays, TRIALS, axis=2), np.repeat(clearances, TRIALS, axis=1))
    tried = rng.uniform(-0.16, 0.16, (3, 2_000_000))
    tried = tried[:, (places(contact, strays, tried) <= clearances).all(axis=0)]
    count = min(TRIALS, tried.shape[1])

    assert count > 5000
    assert p.mean(axis=1) / tried.std(axis=1) == pytest.approx(
        tried.mean(axis=1) / tried.std(axis=1), abs=6 / count**0.5
    )
    assert p.std(axis=1) == pytest.approx(tried.std(axis=1), rel=6 / count**0.5)
    assert np.corrcoef(p) == pytest.approx(np.corrcoef(tried), abs=6 / count**0.5)


def test_bound_of_the_play():
    """Without misfit a blank may be moved by c any way; turned, as far as its farthest hole allows."""
    contact = discs(FOUR)

    def spans(combinations: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        value = combinations @ contact.offsets
        return value, value

    alphas = np.array([[1.0, 0, 0], [-1.0, 0, 0], [0.6, 0.8, 0], [0, 0, 1.0], [0, 0, -1.0]])

    assert contact.support(alphas, spans) == pytest.approx(np.full(5, 0.1), rel=1e-5)


def test_bound_holds_where_holes_are_out_of_place():
    """No draw reaches farther than the support worked out from the bounds of misfits and clearances."""
    contact, rng = discs(FOUR), np.random.default_rng(8)
    strays = rng.uniform(-0.05, 0.05, (4, 2, TRIALS))
    p, on = hung(contact, strays, np.full((4, TRIALS), 0.1))
    design = np.concatenate([np.column_stack([np.eye(2), arm]) for arm in contact.arms])
    leaves = np.eye(8) - design @ np.linalg.pinv(design)

    def spans(combinations: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        half = 0.05 * np.abs(combinations[:, :8] @ leaves).sum(axis=1)
        middle = combinations @ contact.offsets
        return middle - half, middle + half

    alphas = rng.standard_normal((100, 3))
    reached, bound = (alphas @ p[:, on]).max(axis=1), contact.support(alphas, spans)

    assert (reached <= bound).all()
    assert (reached > 0.5 * bound).all()


def test_small_systems():
    """Cholesky factors and both substitutions, against numpy."""
    a = np.random.default_rng(1).standard_normal((3, 3, 20))
    matrix = np.einsum("ikn,jkn->ijn", a, a) + np.eye(3)[:, :, None]
    right = np.random.default_rng(2).standard_normal((3, 20))
    lower = cholesky(matrix)
    expected = np.linalg.solve(matrix.transpose(2, 0, 1), right.T[:, :, None])[:, :, 0].T

    assert backward(lower, forward(lower, right)) == pytest.approx(expected)
