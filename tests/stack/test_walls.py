"""A blank between four walls: answers worked out on paper, and every pose held against the eight inequalities."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import linprog

from flipcheck.stack.contact.play import Given
from flipcheck.stack.contact.walls import Walls

W, H = 150.0, 75.0
TRIALS = 100_000
PUSHES = [(0, 0), (1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1)]


def walls(push: tuple[int, int] = (0, 0), half: tuple[float, float] = (W, H)) -> Walls:
    return Walls("nest_clearance/test", np.zeros((8, 0)), np.zeros(8), half, push)


def pose(contact: Walls, gaps: np.ndarray, seed: int = 1) -> tuple[np.ndarray, np.ndarray]:
    """t_x, t_y and the turn in rad, shape (3, N), and which go in."""
    out = np.empty((3, gaps.shape[1]))
    on, _ = contact.draw(np.random.default_rng(seed), *contact.parts(gaps), out=out)
    return out / np.array([[1.0], [1.0], [contact.lever]]), on


def taken(p: np.ndarray, half: tuple[float, float] = (W, H)) -> np.ndarray:
    """How much of each gap a pose takes, by the geometry of a turned rectangle, shape (8, N)."""
    x, y, turn = p
    w, h = half
    right = np.array([x - turn * h, x + turn * h])
    back = np.array([y + turn * w, y - turn * w])
    return np.concatenate([right, -right, back, -back])


def random_gaps(count: int, size: float = 0.2, scatter: float = 0.1) -> np.ndarray:
    return size + scatter * np.random.default_rng(7).standard_normal((8, count))


def within(expected: float, values: np.ndarray) -> bool:
    """A mean square within four standard errors of the expected one."""
    square = values**2
    return abs(square.mean() - expected) < 4.0 * square.std() / math.sqrt(len(values))


def test_equal_gaps_leave_a_known_scatter():
    """Free for the middle are 2 (g - h |turn|) by 2 (g - w |turn|); integrated by hand for a blank twice as long."""
    gap = 0.2
    (x, y, turn), on = pose(walls(), np.full((8, TRIALS), gap))
    norm = 5.0 / 12.0  # integral of (1 - s / 2)(1 - s) from 0 to 1

    assert on.all()
    assert within((gap / W) ** 2 * (1 / 12 - 1 / 40) / norm, turn)
    assert within(gap**2 / 3 * 0.30625 / norm, x)  # of (1 - s / 2)^3 (1 - s)
    assert within(gap**2 / 3 * (1 / 4 - 1 / 2 * (1 / 4 - 1 / 5)) / norm, y)  # of (1 - s / 2)(1 - s)^3


@pytest.mark.parametrize("push", PUSHES)
def test_every_pose_is_inside(push: tuple[int, int]):
    """Whatever the gaps, no corner is beyond a wall; and pushed to a wall, it touches it."""
    gaps = random_gaps(20_000, 0.2, 0.12)
    p, on = pose(walls(push), gaps)
    left = (gaps - taken(p))[:, on]

    assert 0.5 < on.mean() < 0.999
    assert left.min() > -1e-12
    for side, rows in zip(push, (left[0:4], left[4:8]), strict=True):
        if side:
            touching = rows[:2] if side > 0 else rows[2:]
            assert np.abs(touching.min(axis=0)).max() < 1e-12


def test_what_goes_in_is_what_has_a_pose():
    """By linear programming: the least by which all gaps must be wider for eight inequalities to have a solution."""
    contact, gaps = walls(), random_gaps(60, 0.1, 0.15)
    rows = np.array([taken(unit[:, None])[:, 0] for unit in np.eye(3) / [1.0, 1.0, W]]).T
    least = [
        linprog([0, 0, 0, 1], np.column_stack([rows, -np.ones(8)]), g, bounds=[(None, None)] * 4).fun for g in gaps.T
    ]

    assert contact.short_of(gaps) == pytest.approx(least, abs=1e-9)
    assert (np.array(least) < 0).tolist() == pose(contact, gaps)[1].tolist()


@pytest.mark.parametrize("half", [(W, H), (H, W)])
def test_loose_poses_are_uniform(half: tuple[float, float]):
    """Against poses thrown into a box until they are inside: mean, scatter and correlations of one odd set of gaps."""
    gaps = np.array([0.10, 0.14, 0.05, 0.20, 0.12, 0.08, 0.10, 0.03])
    (x, y, turn), _ = pose(walls(half=half), np.repeat(gaps[:, None], TRIALS, axis=1))
    rng = np.random.default_rng(3)
    tried = rng.uniform(-1, 1, (3, 3_000_000)) * np.array([[0.22], [0.13], [0.0035]])
    tried = tried[:, (taken(tried, half) <= gaps[:, None]).all(axis=0)]
    count = min(TRIALS, tried.shape[1])
    pairs = [(np.array([x, y, turn]), tried)]

    assert count > 10_000
    for mine, theirs in pairs:
        scale = theirs.std(axis=1)
        assert np.abs(mine.mean(axis=1) - theirs.mean(axis=1)) / scale == pytest.approx([0, 0, 0], abs=6 / count**0.5)
        assert mine.std(axis=1) / scale == pytest.approx([1, 1, 1], abs=6 / count**0.5)
        assert np.corrcoef(mine) == pytest.approx(np.corrcoef(theirs), abs=6 / count**0.5)


def test_longer_edge_lies_flush_in_a_corner():
    """Pushed to the back right with one back gap wider: the long back edge turns onto its wall."""
    gaps = np.full((8, 1), 0.2)
    gaps[4] = 0.26  # back wall, end towards plus x
    (x, y, turn), _ = pose(walls((1, 1)), gaps)

    assert pytest.approx([0.06 / (2 * W)]) == turn
    assert pytest.approx([0.23]) == y
    assert pytest.approx([0.2 - H * 0.06 / (2 * W)]) == x  # the end of the right edge that the turn brings nearer


def test_tight_nest_keeps_it_from_lying_flush():
    """Where the turn that lies flush is not to be had, the nearest one is taken."""
    gaps = np.full((8, 1), 0.02)
    gaps[4] = 0.30
    (_, _, turn), on = pose(walls((0, 1)), gaps)

    assert on.all()
    assert pytest.approx([0.02 / H]) == turn  # the walls at left and right allow no more


@pytest.mark.parametrize("push", PUSHES)
def test_no_pose_passes_its_bound(push: tuple[int, int]):
    """The support of the play is at least as far as any draw reaches, in every direction."""
    centre, spread = 0.3, 0.1
    contact = walls(push)
    rng = np.random.default_rng(5)
    gaps = centre + spread * rng.uniform(-1, 1, (8, 20_000))
    # the gaps that a contact sees are counted from the pose that they move linearly
    linear = contact.follows() @ (gaps - centre)
    gaps = gaps - contact.closes() @ linear
    out = np.empty((3, gaps.shape[1]))
    on, _ = contact.draw(rng, gaps, out=out)

    def spans(combinations: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        over = combinations @ (np.eye(8) - contact.closes() @ contact.follows())
        middle = centre * combinations.sum(axis=1)
        half = spread * np.abs(over).sum(axis=1)
        return middle - half, middle + half

    alphas = rng.standard_normal((200, 3))
    reached = (alphas @ out[:, on]).max(axis=1)
    bound = contact.support(alphas, spans)

    assert (reached <= bound + 1e-12).all()
    assert (reached >= 0.2 * bound).mean() > 0.5  # and it is no idle bound


def test_given_points_take_the_place_of_random_ones():
    """The same numbers give the same pose, wherever they come from."""
    contact, gaps = walls(), random_gaps(50)
    numbers = np.random.default_rng(1).random((contact.points, 50))
    out = np.empty((3, 50))
    contact.draw(Given(numbers), gaps, out=out)

    assert out == pytest.approx(pose(contact, gaps)[0] * np.array([[1.0], [1.0], [contact.lever]]))
