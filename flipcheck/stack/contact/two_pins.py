"""The pose of a blank that hangs on two pins with play.

u runs along the pin line, n across it. Pin i may be anywhere inside the circle of radial clearance c_i of its hole; the
two are tied by
the pitch error p: d_2u = d_1u + p. See docs/explanation/model.md for the derivation.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.monte_carlo.cos_sin import cos_sin
from flipcheck.stack.normal import gauss_legendre

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


#: Nodes of the quadrature over the angle of a semicircle.
_NODES = 8
#: Steps of the table of the semicircle.
_STEPS = 4096


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
    pitch: Coefficients of the pitch error p over the source rows.
    clearance: Coefficients of the two radial clearances over the source rows, two rows of them.
    nominal: The two radial clearances without errors, mm.
    follow: Share of p that the first hole takes; the contact's first row is d_1u + follow * p, which does not
        correlate with p where the clearances are equal.
    """

    key: str
    hang: Hang
    push: float
    pitch: Array
    clearance: Array
    nominal: tuple[float, float]
    follow: float

    @property
    def forms(self) -> Array:
        """Pitch error and both clearances, coefficients over the source rows, shape (3, R)."""
        return np.vstack([self.pitch, self.clearance])

    @property
    def offsets(self) -> Array:
        """The same without errors, mm."""
        return np.array([0.0, *self.nominal])

    @property
    def widening(self) -> Array:
        """Clearances grow, a pitch error stays."""
        return np.array([0.0, 1.0, 1.0])

    def parts(self, values: Array) -> tuple[Array, Array, Array]:
        """Radial clearances and pitch error, from the values of the forms, shape (3, N)."""
        pitch, first, second = values
        return first, second, pitch

    def draw(self, rng: np.random.Generator, *parts: Array, out: Array) -> NDArray[np.bool_]:
        """See `Play.draw`, and the function `draw`."""
        c1, c2, pitch = parts
        return draw(self, rng, c1, c2, pitch, out)

    def short_of(self, *parts: Array) -> Array:
        """See `Play.short_of`, and the function `short_of`."""
        c1, c2, pitch = parts
        return short_of(self.hang, c1, c2, pitch)

    def mean_pose(self, values: Array) -> Array:
        """On the pins' middles, or as far as it is pushed."""
        return np.array([0.0, *(self.push * np.maximum(values[1:], 0.0))])


def follow_share(hang: Hang, nominal: tuple[float, float]) -> float:
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


def draw(
    contact: TwoPins, rng: np.random.Generator, c1: Array, c2: Array, pitch: Array, out: Array
) -> NDArray[np.bool_]:
    """Draw where the holes sit on the pins.

    Parameters
    ----------
    contact: Which contact.
    rng: Its stream.
    c1, c2, pitch: Radial clearances and pitch error of each trial, mm, shape (N,).
    out: Filled with (d_1u + follow * p, d_1n, d_2n), mm, shape (3, N); zero where the blank does not go on.

    Returns
    -------
    Which trials go on, shape (N,).
    """
    on, _ = place(contact, rng, c1, c2, pitch, out)
    return on


def place(
    contact: TwoPins, rng: np.random.Generator | Array, c1: Array, c2: Array, pitch: Array, out: Array
) -> tuple[NDArray[np.bool_], Array | None]:
    """The same, from random numbers or from given points in the unit cube, shape (`points_wanted`, N).

    Returns
    -------
    Which trials go on, and what each of them counts, of mean 1; None where all count the same.
    """
    on, weight = goes_on(contact.hang, c1, c2, pitch), None
    if not on.all():
        c1, c2, pitch = np.where(on, c1, 1.0), np.where(on, c2, 1.0), np.where(on, pitch, 0.0)
    if contact.hang is Hang.PUSHED:
        _push(contact.push, c1, c2, pitch, out)
    elif contact.hang is Hang.SLOT and contact.push:
        _push_in_slot(contact.push, c1, c2, out)
    elif contact.hang is Hang.SLOT:
        _hang_on_slot(_points(rng, len(c1)), c1, c2, out)
    elif isinstance(rng, np.random.Generator):
        out[0] = _along(rng, c1, c2, pitch)
        _across(rng.random((2, len(c1))), c1, c2, pitch, out)
    else:
        out[0], weight = _along_points(rng[0], c1, c2, pitch)
        _across(rng[1:], c1, c2, pitch, out)
    if contact.follow:
        out[0] += contact.follow * pitch
    if not on.all():
        out *= on
    return on, weight


def points_wanted(contact: TwoPins) -> int:
    """How many numbers in (0, 1) a pose takes."""
    return 0 if contact.push else 3


def _points(rng: np.random.Generator | Array, count: int) -> Array:
    return rng.random((3, count)) if isinstance(rng, np.random.Generator) else rng


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

    A semicircle on the overlap takes care of two of the four zeros under the root; what the other two leave is a
    parabola, accepted against its largest value there. Accepted are at least 32 / (15 pi) = 68 %, the share for a small
    circle inside a large one at its edge; of equal circles at least 8 / (3 pi) = 85 %.
    """
    middle, half, below, above = _overlap(c1, c2, pitch)
    peak = np.clip(0.5 * (below + above), middle - half, middle + half)
    top = (above - peak) * (peak - below)
    u = np.empty_like(c1)
    todo: NDArray[np.intp] | slice = slice(None)
    count = len(c1)
    while count:
        semicircle, cosine, sine = np.sqrt(rng.random(count)), np.empty(count), np.empty(count)
        cos_sin(rng.random(count), cosine, sine)
        semicircle *= cosine
        proposed = middle[todo] + half[todo] * semicircle
        test = rng.random(count)
        test *= test
        refused = test * top[todo] > (above[todo] - proposed) * (proposed - below[todo])
        u[todo] = proposed  # a refused one is overwritten in a later round
        todo = np.flatnonzero(refused) if isinstance(todo, slice) else todo[refused]
        count = len(todo)
    return u


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
