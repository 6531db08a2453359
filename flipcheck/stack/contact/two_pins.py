"""The pose of a blank that hangs on two pins with play.

u runs along the pin line, n across it. Pin i may be anywhere inside the circle of radial clearance c_i of its hole; the
two are tied by the pitch error p: d_2u = d_1u + p. See docs/explanation/model.md for the derivation.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.contact.play import Given
from flipcheck.stack.cos_sin import cos_sin
from flipcheck.stack.normal import gauss_legendre

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from flipcheck.stack.contact.play import Drawn, Spans

    Array = NDArray[np.float64]


#: Nodes of the quadrature over the angle of a semicircle.
_NODES = 8
#: Steps of the table of the semicircle.
_STEPS = 4096
#: Places tried along the play of the first hole for the worst case: a loss of about 1e-5 at most.
_PLACES = 721


class Hang(StrEnum):
    """What decides where inside its play the blank comes to lie."""

    LOOSE = "loose"  # nothing: anywhere in the play, equally likely
    SLOT = "slot"  # the second hole is a slot along the pin line; anywhere in the play
    PUSHED = "pushed"  # pushed across the pin line until both pins touch


@dataclass(frozen=True, eq=False)
class TwoPins:
    """Two holes on two pins in one setup, as linear forms over the rows of the model's sources.

    Attributes
    ----------
    key: Name of its random stream.
    hang: What decides the pose.
    push: +1 or -1 where the blank is pushed towards +n or -n; 0 otherwise.
    forms: Coefficients over the source rows of the pitch error p and of the two radial clearances, shape (3, R).
    offsets: The same without errors, mm, shape (3,).
    """

    key: str
    hang: Hang
    push: float
    forms: Array
    offsets: Array

    @property
    def widening(self) -> Array:
        """Clearances grow, a pitch error stays."""
        return np.array([0.0, 1.0, 1.0])

    @property
    def follow(self) -> float:
        """Share of p that the first hole takes."""
        return follow_share(self.hang, self.offsets[1:])

    @property
    def carried(self) -> Array:
        """The pose's first row is d_1u + follow * p, which does not correlate with p where clearances are equal."""
        carried = np.zeros((3, 3))
        carried[0, 0] = self.follow
        return carried

    @property
    def points(self) -> int:
        """Three, or none where the blank is pushed."""
        return 0 if self.push else 3

    def parts(self, values: Array) -> tuple[Array, Array, Array]:
        """Radial clearances and pitch error, from the values of the forms, shape (3, N)."""
        pitch, first, second = values
        return first, second, pitch

    def draw(self, rng: np.random.Generator | Given, *parts: Array, out: Array) -> Drawn:
        """Fill `out` with (d_1u + follow * p, d_1n, d_2n), mm; see `Play.draw`."""
        c1, c2, pitch = parts
        on, weight = goes_on(self.hang, c1, c2, pitch), None
        if not on.all():
            c1, c2, pitch = np.where(on, c1, 1.0), np.where(on, c2, 1.0), np.where(on, pitch, 0.0)
        if self.hang is Hang.PUSHED:
            _push(self.push, c1, c2, pitch, out)
        elif self.hang is Hang.SLOT and self.push:
            _push_in_slot(self.push, c1, c2, out)
        elif self.hang is Hang.SLOT:
            _hang_on_slot(rng.random((3, len(c1))), c1, c2, out)
        elif isinstance(rng, Given):
            along, *across = rng.random((3, len(c1)))
            out[0], weight = _along_points(along, c1, c2, pitch)
            _across(np.asarray(across), c1, c2, pitch, out)
        else:
            out[0] = _along(rng, c1, c2, pitch)
            _across(rng.random((2, len(c1))), c1, c2, pitch, out)
        if self.follow:
            out[0] += self.follow * pitch
        if not on.all():
            out *= on
        return on, weight

    def short_of(self, *parts: Array) -> Array:
        """See `Play.short_of`, and the function `short_of`."""
        c1, c2, pitch = parts
        return short_of(self.hang, c1, c2, pitch)

    def mean_pose(self, values: Array) -> Array:
        """On the pins' middles, or as far as it is pushed."""
        return np.array([0.0, *(self.push * np.maximum(values[1:], 0.0))])

    def support(self, alphas: Array, spans: Spans) -> Array:
        """See `Play.support`; met by some pose."""
        lows, highs = spans(np.eye(3))
        pitch = math.inf if self.hang is Hang.SLOT else float(max(highs[0], -lows[0]))
        first, second = ((max(float(lows[i]), 0.0), max(float(highs[i]), 0.0)) for i in (1, 2))
        if self.push:
            return _pushed_support(self, alphas, first, second, pitch)
        return _support(alphas, first[1], second[1], pitch)


def follow_share(hang: Hang, nominal: Sequence[float] | Array) -> float:
    """The share of a pitch error that the first hole takes, on average, for the given radial clearances."""
    if hang is Hang.SLOT:
        return 0.0
    first, second = (max(c, 0.0) for c in nominal)
    return first / (first + second) if first + second > 0.0 else 0.5


def goes_on(hang: Hang, c1: Array, c2: Array, pitch: Array) -> NDArray[np.bool_]:
    """Which blanks go on: both clearances positive and the pitch error within their sum (a slot takes any)."""
    free = (c1 > 0.0) & (c2 > 0.0)
    if hang is not Hang.SLOT:
        free &= np.abs(pitch) <= c1 + c2
    return free


def short_of(hang: Hang, c1: Array, c2: Array, pitch: Array) -> Array:
    """How much too small both radial clearances are for a blank to go on, mm; negative where there is room to spare."""
    short = np.maximum(-c1, -c2)
    if hang is not Hang.SLOT:
        np.maximum(short, 0.5 * (np.abs(pitch) - c1 - c2), out=short)
    return short


def _push(sign: float, c1: Array, c2: Array, pitch: Array, out: Array) -> None:
    """The pose of greatest travel at the middle of the pin line.

    The sum of the two half chords is largest where both contact normals lean alike, at d_1u = -p c1 / (c1 + c2).
    """
    lean = pitch / (c1 + c2)
    np.multiply(-lean, c1, out=out[0])
    across = np.sqrt(np.maximum(1.0 - lean * lean, 0.0))
    across *= sign
    np.multiply(across, c1, out=out[1])
    np.multiply(across, c2, out=out[2])


def _push_in_slot(sign: float, c1: Array, c2: Array, out: Array) -> None:
    """Both holes at the end of their play across the pin line."""
    out[0] = 0.0
    np.multiply(c1, sign, out=out[1])
    np.multiply(c2, sign, out=out[2])


def _hang_on_slot(points: Array, c1: Array, c2: Array, out: Array) -> None:
    """First hole anywhere in its circle, second anywhere across its slot."""
    radius = np.sqrt(points[0])
    radius *= c1
    cos_sin(points[1], out[0], out[1])
    out[:2] *= radius
    np.subtract(points[2], 0.5, out=out[2])
    out[2] *= 2.0
    out[2] *= c2


def _across(points: Array, c1: Array, c2: Array, pitch: Array, out: Array) -> None:
    """Across the pin line each hole is anywhere in the chord that its place along the line leaves."""
    np.subtract(points, 0.5, out=out[1:])
    out[1:] *= 2.0
    out[1] *= np.sqrt(np.maximum(c1 * c1 - out[0] * out[0], 0.0))
    second = out[0] + pitch
    out[2] *= np.sqrt(np.maximum(c2 * c2 - second * second, 0.0))


def _along(rng: np.random.Generator, c1: Array, c2: Array, pitch: Array) -> Array:
    """Draw d_1u with density proportional to sqrt(c1^2 - u^2) sqrt(c2^2 - (u + p)^2) on the overlap of the two circles.

    A semicircle on the overlap takes care of two of the four zeros under the root. What the other two leave is the root
    of a parabola, which lies below its tangent at the middle: a semicircle that leans with the tangent is proposed, and
    accepted against it. Accepted are at least 8 / (3 pi) = 85 %, the share for equal circles that fit.
    """
    middle, half, below, above = _overlap(c1, c2, pitch)
    square = (above - middle) * (middle - below)  # of the root at the middle, where the tangent touches it
    lean = 0.5 * half * (above + below - 2.0 * middle) / square
    u = np.empty_like(c1)
    todo: NDArray[np.intp] | slice = slice(None)
    count = len(c1)
    while count:
        off, sine = np.empty(count), np.empty(count)
        cos_sin(rng.random(count), off, sine)
        off *= np.sqrt(rng.random(count))
        off = _leaned(off, lean[todo], rng.random(count))
        test = rng.random(count)
        test *= 1.0 + lean[todo] * off
        test *= test
        test *= square[todo]
        off *= half[todo]
        off += middle[todo]
        refused = test > (above[todo] - off) * (off - below[todo])
        u[todo] = off  # a refused one is overwritten in a later round
        todo = np.flatnonzero(refused) if isinstance(todo, slice) else todo[refused]
        count = len(todo)
    return u


def _leaned(off: Array, lean: Array, chance: Array) -> Array:
    """Numbers spread evenly about 0 in (-1, 1), their signs turned so that the density becomes 1 + lean * off times it.

    Of a number and its opposite each is kept with half that share, as `chance`, uniform in (0, 1), decides.
    """
    return np.copysign(off, off * (1.0 + lean * off - 2.0 * chance))


def _along_points(points: Array, c1: Array, c2: Array, pitch: Array) -> tuple[Array, Array]:
    """The same from one given number each: from the semicircle, and what each counts for the parabola it leaves out."""
    middle, half, below, above = _overlap(c1, c2, pitch)
    u = middle + half * _semicircle(points)

    def parabola(at: Array) -> Array:
        return np.sqrt(np.maximum((above - at) * (at - below), 0.0))

    # the mean of the root over the semicircle, which is smooth in the angle: Gauss-Legendre
    nodes, weights = gauss_legendre(_NODES)
    mean = np.zeros_like(u)
    for angle, weight in zip(0.5 * math.pi * (nodes + 1.0), weights, strict=True):
        mean += weight * math.sin(angle) ** 2 * parabola(middle + half * math.cos(angle))
    return u, parabola(u) / mean


def _overlap(c1: Array, c2: Array, pitch: Array) -> tuple[Array, Array, Array, Array]:
    """Middle and half-width of the overlap of the two circles, and the two ends beyond it."""
    lo, hi = np.maximum(-c1, -c2 - pitch), np.minimum(c1, c2 - pitch)
    below, above = np.minimum(-c1, -c2 - pitch), np.maximum(c1, c2 - pitch)
    return 0.5 * (lo + hi), 0.5 * (hi - lo), below, above


def _semicircle(share: Array) -> Array:
    """The value below which a share of the semicircle distribution on (-1, 1) lies, to 4e-8."""
    values, rises = _semicircle_table()
    place = np.cbrt(np.minimum(share, 1.0 - share))
    place *= _STEPS / math.cbrt(0.5)
    step = np.minimum(place.astype(np.intp), _STEPS - 1)
    place -= step
    place *= rises[step]
    place += values[step]
    return np.copysign(place, share - 0.5)


@cache
def _semicircle_table() -> tuple[Array, Array]:
    """How far from 0 the value lies, at equal steps of the cube root of a share up to one half, and its rises.

    In that root it is smooth, down to the end.
    """
    share = 0.5 * np.linspace(0.0, 1.0, _STEPS + 1) ** 3
    grid = np.linspace(0.0, 0.5 * math.pi, _STEPS + 1)
    angle = np.interp(share, (grid - np.sin(grid) * np.cos(grid)) / math.pi, grid)
    for _ in range(3):
        sine = np.sin(angle)
        excess = angle - sine * np.cos(angle) - math.pi * share
        angle -= excess / np.maximum(2.0 * sine * sine, 1e-9)
    values = np.cos(np.clip(angle, 0.0, 0.5 * math.pi))
    return values, np.append(np.diff(values), 0.0)


def _support(alphas: Array, c1: float, c2: float, pitch: float) -> Array:
    """Largest value of alphas @ (d_1u, d_1n, d_2n) over the play, shape (D,), for alphas of shape (D, 3)."""
    farthest = min(c1, c2 + pitch)
    # the play is the same on either side along every axis: one quarter of it tells all
    u = farthest * np.sin(np.linspace(0.0, 0.5 * np.pi, _PLACES // 2 + 1))
    across_1 = np.sqrt(np.maximum(c1 * c1 - u * u, 0.0))
    across_2 = np.sqrt(np.maximum(c2 * c2 - np.maximum(u - pitch, 0.0) ** 2, 0.0))
    return (np.abs(alphas) @ np.array([u, across_1, across_2])).max(axis=1)


def _pushed_support(
    contact: TwoPins, alphas: Array, first: tuple[float, float], second: tuple[float, float], pitch: float
) -> Array:
    """The same when pushed until both pins touch: d_1u = -c_1 sin a, d_in = +-c_i cos a, sin a = p / (c_1 + c_2)."""
    sines = np.zeros(1)
    if contact.hang is not Hang.SLOT and pitch:
        sums = np.add.outer(first, second).ravel()
        leans = np.divide(pitch, sums, out=np.ones(4), where=sums > pitch)  # where each corner begins to be cut off
        sines = np.sin(np.arcsin(leans[0]) * np.linspace(-1.0, 1.0, _PLACES))
        sines = np.concatenate([sines, leans, -leans])
    most = np.divide(pitch, np.abs(sines), out=np.full(len(sines), np.inf), where=sines != 0.0)
    cosines = contact.push * np.sqrt(1.0 - sines * sines)
    # at one angle a form is linear in the clearances, so it is largest at a corner of those that allow the angle: of
    # the rectangle of both, cut off at c_1 + c_2 = p / sin a
    up_first, up_second = np.clip(most - second[0], *first), np.clip(most - first[0], *second)
    corners = [
        (first[0], second[0]),
        (up_first, second[0]),
        (first[0], up_second),
        (up_first, np.clip(most - up_first, *second)),
        (np.clip(most - up_second, *first), up_second),
    ]
    poses = [np.array([-c1 * sines, c1 * cosines, c2 * cosines]) for c1, c2 in corners]
    return np.max([np.max(alphas @ pose, axis=1) for pose in poses], axis=0)
