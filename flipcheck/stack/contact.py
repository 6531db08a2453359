"""The pose of a blank that hangs on two pins with play.

u runs along the pin line, n across it. Pin i may be anywhere inside the circle of radial clearance c_i of its hole; the
two are tied by
the pitch error p: d_2u = d_1u + p. See docs/explanation/model.md for the derivation.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


class Hang(StrEnum):
    """What decides where inside its play the blank comes to lie."""

    LOOSE = "loose"  # nothing: anywhere in the play, equally likely
    SLOT = "slot"  # the second hole is a slot along the pin line; anywhere in the play
    PUSHED = "pushed"  # pushed across the pin line until both pins touch


@dataclass(frozen=True, eq=False)
class Contact:
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
    contact: Contact, rng: np.random.Generator, c1: Array, c2: Array, pitch: Array, out: Array
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
    on = goes_on(contact.hang, c1, c2, pitch)
    if not on.all():
        c1, c2, pitch = np.where(on, c1, 1.0), np.where(on, c2, 1.0), np.where(on, pitch, 0.0)
    if contact.hang is Hang.PUSHED:
        _push(contact.push, c1, c2, pitch, out)
    elif contact.hang is Hang.SLOT:
        _hang_on_slot(contact.push, rng, c1, c2, out)
    else:
        _hang_loose(rng, c1, c2, pitch, out)
    if contact.follow:
        out[0] += contact.follow * pitch
    if not on.all():
        out *= on
    return on


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


def _hang_on_slot(sign: float, rng: np.random.Generator, c1: Array, c2: Array, out: Array) -> None:
    """First hole anywhere in its circle, second anywhere across its slot; at the end of both if pushed."""
    if sign:
        out[0] = 0.0
        np.multiply(c1, sign, out=out[1])
        np.multiply(c2, sign, out=out[2])
        return
    radius = np.sqrt(rng.random(len(c1)))
    radius *= c1
    phase = rng.random(len(c1))
    phase *= 2.0 * math.pi
    np.multiply(radius, np.cos(phase), out=out[0])
    np.multiply(radius, np.sin(phase), out=out[1])
    rng.random(out=out[2])
    out[2] -= 0.5
    out[2] *= 2.0
    out[2] *= c2


def _hang_loose(rng: np.random.Generator, c1: Array, c2: Array, pitch: Array, out: Array) -> None:
    """Uniform over all poses that keep both holes on their pins."""
    out[0] = _along(rng, c1, c2, pitch)
    rng.random(out=out[1:])
    out[1:] -= 0.5
    out[1:] *= 2.0
    out[1] *= np.sqrt(np.maximum(c1 * c1 - out[0] * out[0], 0.0))
    second = out[0] + pitch
    out[2] *= np.sqrt(np.maximum(c2 * c2 - second * second, 0.0))


def _along(rng: np.random.Generator, c1: Array, c2: Array, pitch: Array) -> Array:
    """Draw d_1u with density proportional to sqrt(c1^2 - u^2) sqrt(c2^2 - (u + p)^2) on the overlap of the two circles.

    Under the root stand four zeros: the ends lo and hi of the overlap, and two beyond them. A semicircle on (lo, hi)
        takes care of the
    first two; what the other two leave is a parabola, accepted against its largest value there. At least 8 / (3 pi) =
    85 % are accepted.
    """
    lo, hi = np.maximum(-c1, -c2 - pitch), np.minimum(c1, c2 - pitch)
    below, above = np.minimum(-c1, -c2 - pitch), np.maximum(c1, c2 - pitch)
    middle, half = 0.5 * (lo + hi), 0.5 * (hi - lo)
    peak = np.clip(0.5 * (below + above), lo, hi)
    top = (above - peak) * (peak - below)
    u = np.empty_like(c1)
    todo: NDArray[np.intp] | slice = slice(None)
    count = len(c1)
    while count:
        semicircle = np.sqrt(rng.random(count))
        phase = rng.random(count)
        phase *= 2.0 * math.pi
        semicircle *= np.cos(phase)
        proposed = middle[todo] + half[todo] * semicircle
        test = rng.random(count)
        test *= test
        refused = test * top[todo] > (above[todo] - proposed) * (proposed - below[todo])
        u[todo] = proposed  # a refused one is overwritten in a later round
        todo = np.flatnonzero(refused) if isinstance(todo, slice) else todo[refused]
        count = len(todo)
    return u
