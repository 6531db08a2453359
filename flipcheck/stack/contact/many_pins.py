"""The pose of a blank with play on three or more pins: each hole may be anywhere inside the circle of its clearance.

The pose p = (t_x, t_y, a) is counted from the least-squares fit of holes to pins; a is the turn times `lever`, the
root of the mean square distance of the pins from their middle. Hole i sits at d_i = e_i + t + a r_i from its pin, with
the misfit e_i that no pose takes out. All poses with |d_i| <= c_i are a convex body; see docs/explanation/more-ways.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.contact.newton import backward, cholesky, newton_step
from flipcheck.stack.contact.play import Given

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from flipcheck.stack.contact.play import Drawn, Spans

    Array = NDArray[np.float64]

#: A Newton decrement below this counts as the centre; the ellipsoids below allow for what is left of it.
_CENTRED = 1e-3
#: A decrement below this counts as near enough to a path to go on along it.
_ON_PATH = 0.3
#: A centre is found in a few dozen steps; more would mean that a body is as good as empty.
_STEPS = 400
#: A widening, and the sign of one, is found to this, as a share of the mean clearance.
_PRECISE, _SURE = 1e-5, 1e-7
#: Rounds of proposals in which every trial gets numbers, wanted or not, so that a small change of one leaves the
#: numbers of the others alone.
_ALIGNED = 8


@dataclass(frozen=True, eq=False)
class ManyPins:
    """A blank on n >= 3 pins in one setup.

    Attributes
    ----------
    key: Name of its random stream.
    forms: Coefficients over the source rows: two for each misfit (x, y), pin by pin, then one for each radial
        clearance; shape (3 n, R).
    offsets: The forms without errors, mm.
    arms: How each hole moves per unit of a, r_i = k x (m_i - middle) / lever, shape (n, 2).
    """

    key: str
    forms: Array
    offsets: Array
    arms: Array

    @property
    def pins(self) -> int:
        """How many."""
        return len(self.arms)

    @property
    def widening(self) -> Array:
        """Clearances grow, misfits stay."""
        return np.repeat([0.0, 1.0], [2 * self.pins, self.pins])

    @property
    def carried(self) -> Array:
        """Nothing: poses are counted from where the errors move the blank linearly."""
        return np.zeros((3, 3 * self.pins))

    @property
    def points(self) -> int:
        """Poses are thrown until one falls inside: nobody knows how many numbers that takes."""
        return 0

    def parts(self, values: Array) -> tuple[Array, Array]:
        """Misfits, shape (n, 2, N), and radial clearances, shape (n, N)."""
        return values[: 2 * self.pins].reshape(self.pins, 2, -1), values[2 * self.pins :]

    def short_of(self, *parts: Array) -> Array:
        """See `Play.short_of`."""
        misfits, clearances = parts
        return _least_widening(self.arms, misfits, clearances, sign_only=False)[0]

    def draw(self, rng: np.random.Generator | Given, *parts: Array, out: Array) -> Drawn:
        """Draw the pose, uniform among all that keep every hole on its pin; see `Play.draw`."""
        assert not isinstance(rng, Given)
        misfits, clearances = parts
        widening, start = _least_widening(self.arms, misfits, clearances, sign_only=True)
        on: NDArray[np.bool_] = (widening < 0.0) & (clearances > 0.0).all(axis=0)
        out[:] = 0.0
        if on.any():
            body = _Body(self.arms, misfits[:, :, on], clearances[:, on])
            out[:, on] = _uniform(rng, body, body.centre(start[:, on]))
        return on, None

    def mean_pose(self, values: Array) -> Array:  # noqa: ARG002
        """The fit itself."""
        return np.zeros(3)

    def support(self, alphas: Array, spans: Spans) -> Array:
        """See `Play.support`; an upper bound.

        The pose is the least-squares fit of the places d_i, so alpha . p is a sum of what each of them adds; and where
        misfits are small it cannot be more than with holes that are wider by the misfit and fit without one.
        """
        n = self.pins
        lows, highs = spans(np.eye(3 * n))
        clearances = np.maximum(highs[2 * n :], 0.0)
        misfits = np.hypot(*np.maximum(np.abs(lows), np.abs(highs))[: 2 * n].reshape(n, 2).T)
        moves = np.concatenate([np.tile(np.eye(2), (n, 1, 1)), self.arms[:, :, None]], axis=2)
        by_hole = np.linalg.norm(np.einsum("icj,dj->idc", moves, alphas), axis=2).T @ clearances / n
        wide = clearances + misfits
        if not wide.min() > 0.0:
            return by_hole
        return np.minimum(by_hole, _farthest(self.arms, wide, alphas))


class _Body:
    """All poses with |d_i| < c_i for many trials at once, and the barrier -sum log(c_i^2 - |d_i|^2) inside it."""

    def __init__(self, arms: Array, misfits: Array, clearances: Array) -> None:
        self.arms, self.misfits, self.clearances = arms, misfits, clearances

    def only(self, which: NDArray[np.intp]) -> _Body:
        return _Body(self.arms, self.misfits[:, :, which], self.clearances[:, which])

    def places(self, pose: Array) -> tuple[Array, Array]:
        """Where each hole sits on its pin, x and y, two arrays of shape (n, N)."""
        x = self.misfits[:, 0] + pose[0] + self.arms[:, 0, None] * pose[2]
        y = self.misfits[:, 1] + pose[1] + self.arms[:, 1, None] * pose[2]
        return x, y

    def holds(self, pose: Array) -> NDArray[np.bool_]:
        """Whether a pose belongs to it."""
        x, y = self.places(pose)
        return np.all(x * x + y * y <= np.square(self.clearances), axis=0)

    def barrier(self, pose: Array) -> tuple[Array, Array, Array]:
        """Gradient (3, N), Hessian (3, 3, N), and the part of the Hessian that the circles have at their middles."""
        x, y = self.places(pose)
        weight = 2.0 / (np.square(self.clearances) - x * x - y * y)
        turned = self.arms[:, 0, None] * x + self.arms[:, 1, None] * y
        slopes = np.array([x, y, turned]) * weight
        gradient = slopes.sum(axis=1)
        plain = self.plain(weight)
        return gradient, plain + _squares(slopes), plain

    def plain(self, weight: Array) -> Array:
        """The sum of weight times J_i' J_i over the holes, shape (3, 3, N), for weights of shape (n, N)."""
        matrix = np.zeros((3, 3, weight.shape[1]))
        matrix[0, 0] = matrix[1, 1] = weight.sum(axis=0)
        matrix[0, 2] = matrix[2, 0] = (self.arms[:, 0, None] * weight).sum(axis=0)
        matrix[1, 2] = matrix[2, 1] = (self.arms[:, 1, None] * weight).sum(axis=0)
        matrix[2, 2] = (np.square(self.arms).sum(axis=1)[:, None] * weight).sum(axis=0)
        return matrix

    def centre(self, start: Array) -> Array:
        """The analytic centre, shape (3, N), from poses inside."""
        return _follow(lambda at, which: self.only(which).barrier(at)[:2], start, _CENTRED)


def _squares(slopes: Array) -> Array:
    """The sum over the holes of each slope times each other, shape (m, m, N), for slopes of shape (m, n, N)."""
    size = len(slopes)
    matrix = np.empty((size, size, slopes.shape[2]))
    for j in range(size):
        for k in range(j + 1):
            matrix[j, k] = matrix[k, j] = (slopes[j] * slopes[k]).sum(axis=0)
    return matrix


def _uniform(rng: np.random.Generator, body: _Body, centre: Array) -> Array:
    """Poses uniform in a body: thrown into an ellipsoid that holds it until they fall inside.

    Of n circles at least (n (n + 1))^(-3/2) of the throws do, 1 in 90 with four pins; see `_ellipsoid`.
    """
    inverse, count = _ellipsoid(body, centre), centre.shape[1]
    pose, todo = np.empty_like(centre), np.arange(count)
    thrown = 0
    while len(todo):
        wanted = len(todo) if thrown >= _ALIGNED else count
        numbers = rng.standard_normal((3, wanted))
        radius = np.cbrt(rng.random(wanted))
        if wanted != len(todo):
            numbers, radius = numbers[:, todo], radius[todo]
        ball = numbers * (radius / np.sqrt(np.square(numbers).sum(axis=0)))
        tried = centre[:, todo] + np.einsum("jkn,kn->jn", inverse[:, :, todo], ball)
        inside = body.only(todo).holds(tried)
        pose[:, todo[inside]] = tried[:, inside]
        todo = todo[~inside]
        thrown += 1
    return pose


def _ellipsoid(body: _Body, centre: Array) -> Array:
    """Matrices (3, 3, N) that carry the unit ball to an ellipsoid about the centre that holds the whole body.

    Let a pose lie off the centre by v, and hole i move by w_i = J_i v. With s_i = c_i^2 - |d_i|^2 put
    a_i = 2 d_i . w_i / s_i and m_i = |w_i|^2 / s_i. The pose is in the body where a_i + m_i <= 1. At the centre the a_i
    add up to 0, so the b_i = 1 - a_i >= m_i add up to n, and

        v' P v = 2 sum m_i <= 2 n,        v' H v = sum (2 m_i + a_i^2) <= n + sum b_i^2 <= n + n^2,

    with the Hessian H of the barrier and its plain part P. The smaller of the two ellipsoids is taken. The body in turn
    holds the ellipsoid v' H v <= 1. Off the centre by a decrement of x the sum of the a_i is within x |v|_H of 0.
    """
    _, hessian, plain = body.barrier(centre)
    n, x = float(len(body.arms)), _CENTRED
    most = (n * x + np.sqrt(n * n * x * x + (1.0 - x * x) * (n + n * n))) / (1.0 - x * x)
    reach = {"hessian": most, "plain": np.sqrt(2.0 * (n + x * most))}
    lower = {"hessian": cholesky(hessian), "plain": cholesky(plain)}
    volume = {name: reach[name] ** 3 / np.prod([lower[name][i, i] for i in range(3)], axis=0) for name in reach}
    smaller = volume["plain"] < volume["hessian"]
    chosen = np.where(smaller, lower["plain"] / reach["plain"], lower["hessian"] / reach["hessian"])
    columns = [backward(chosen, np.broadcast_to(unit[:, None], centre.shape)) for unit in np.eye(3)]
    return np.stack(columns, axis=1)


def _follow(
    slopes: Callable[[Array, NDArray[np.intp]], tuple[Array, Array]], start: Array, near: float = _ON_PATH
) -> Array:
    """Newton steps until every decrement is below `near`; `slopes` gives gradient and Hessian of some trials."""
    point, todo = start.copy(), np.arange(start.shape[1])
    for _ in range(_STEPS):
        step, decrement = newton_step(*slopes(point[:, todo], todo))
        going = decrement > near
        todo = todo[going]
        if not len(todo):
            break
        point[:, todo] += step[:, going]
    return point


def _least_widening(arms: Array, misfits: Array, clearances: Array, *, sign_only: bool) -> tuple[Array, Array]:
    """By how much all circles must be widened for one pose to be left, shape (N,), and about which pose that is.

    A path-following interior-point method in (pose, widening): minimise mu w - sum log((c_i + w)^2 - |d_i|^2) for ever
    larger mu; at its end w is at most 2 n / mu too large. With `sign_only` it stops where the sign is known.
    """
    n, count = clearances.shape
    scale = max(float(np.abs(clearances).mean()), 1e-9)
    misfits, clearances = misfits / scale, clearances / scale
    point = np.zeros((4, count))
    point[3] = np.maximum(np.hypot(misfits[:, 0], misfits[:, 1]) - clearances, -clearances).max(axis=0)
    answer, pose = point[3].copy(), np.zeros((3, count))
    todo = np.flatnonzero(answer >= 0.0) if sign_only else np.arange(count)
    point[3] += 1.0
    mu, gap = 2.0 * n, 1.0
    while len(todo) and gap > (_SURE if sign_only else _PRECISE):
        body = _Body(arms, misfits[:, :, todo], clearances[:, todo])
        here = _follow(partial(_widened, body, mu), point[:, todo])
        point[:, todo] = here
        x, y = body.places(here[:3])
        least = np.maximum(np.hypot(x, y) - body.clearances, -body.clearances).max(axis=0)
        better = least < answer[todo]
        answer[todo[better]], pose[:, todo[better]] = least[better], here[:3, better]
        gap = 2.0 * n / mu
        if sign_only:
            # near the path the widening is at most twice the gap too large
            todo = todo[(answer[todo] >= 0.0) & (here[3] - 2.0 * gap <= 0.0)]
        mu *= 6.0
    return answer * scale, pose * scale


def _widened(body: _Body, mu: float, point: Array, which: NDArray[np.intp]) -> tuple[Array, Array]:
    """Gradient (4, N) and Hessian (4, 4, N) of mu w - sum log((c_i + w)^2 - |d_i|^2), of the trials `which`."""
    body = body.only(which)
    wide = _Body(body.arms, body.misfits, body.clearances + point[3])
    x, y = wide.places(point[:3])
    weight = 2.0 / (np.square(wide.clearances) - x * x - y * y)
    turned = body.arms[:, 0, None] * x + body.arms[:, 1, None] * y
    slopes = np.array([x, y, turned, -wide.clearances]) * weight
    gradient = slopes.sum(axis=1)
    gradient[3] += mu
    hessian = _squares(slopes)
    hessian[:3, :3] += body.plain(weight)
    hessian[3, 3] -= weight.sum(axis=0)
    return gradient, hessian


def _farthest(arms: Array, clearances: Array, alphas: Array) -> Array:
    """The largest alpha . p with |t + a r_i| <= c_i, shape (D,), to a ten-millionth of itself and not below it."""
    count = len(alphas)
    size = np.linalg.norm(alphas, axis=1)
    toward = (alphas / np.where(size > 0.0, size, 1.0)[:, None]).T
    body = _Body(arms, np.zeros((len(arms), 2, count)), np.repeat(clearances[:, None], count, axis=1))
    pose, mu = np.zeros((3, count)), 1.0 / float(clearances.mean())
    end = 1e7 * len(arms) * mu
    while mu < end:
        mu *= 6.0

        def pulled(at: Array, which: NDArray[np.intp], mu: float = mu) -> tuple[Array, Array]:
            gradient, hessian, _ = body.only(which).barrier(at)
            return gradient - mu * toward[:, which], hessian

        pose = _follow(pulled, pose)
    return size * ((toward * pose).sum(axis=0) + 2.0 * len(arms) / mu)
