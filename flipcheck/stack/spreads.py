"""The closed set of distributions an error may have.

Each knows its mean, its standard deviation, its bound and how to be drawn. Sampling rules and standard deviations are
those of JCGM 101:2008, Table 1. All lengths are in mm and all angles in rad once a job has been read.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol, runtime_checkable

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

#: A normal distribution has no bound; where a worst case is asked for, this many standard deviations stand for it
#: (common practice, no source), unless the user gave a limit of their own.
NORMAL_BOUND = 3.0


class Spread(Protocol):
    """What every distribution can do."""

    @property
    def mean(self) -> float: ...
    @property
    def std(self) -> float: ...
    @property
    def bound(self) -> float:
        """Half-width about the mean that counts as the worst case."""

    @property
    def reach(self) -> float:
        """Half-width about the mean that no draw passes, or passes less than once in 10^10 draws."""

    def fill(self, rng: np.random.Generator, out: Array) -> None:
        """Fill `out`, of any shape, with independent draws."""


@runtime_checkable
class WithQuantile(Protocol):
    """A distribution that can be drawn from numbers between 0 and 1."""

    def quantile(self, share: Array) -> Array:
        """The value below which each share of the draws lies, shape as given."""


def _shift(out: Array, mean: float) -> None:
    """Add the mean, which is mostly nothing."""
    if mean:
        out += mean


@dataclass(frozen=True)
class Normal:
    """A normal distribution; `limit` is the half-width the user counts as the worst case, if they gave one."""

    std: float
    mean: float = 0.0
    limit: float | None = None

    @property
    def bound(self) -> float:
        return NORMAL_BOUND * self.std if self.limit is None else self.limit

    @property
    def reach(self) -> float:
        return 6.5 * self.std

    def fill(self, rng: np.random.Generator, out: Array) -> None:
        rng.standard_normal(out=out)
        out *= self.std
        _shift(out, self.mean)


@dataclass(frozen=True)
class _Bounded:
    """A distribution on mean ± half."""

    half: float
    mean: float = 0.0

    @property
    def bound(self) -> float:
        return self.half

    @property
    def reach(self) -> float:
        return self.half


@dataclass(frozen=True)
class Uniform(_Bounded):
    """Equally likely anywhere within mean ± half."""

    @property
    def std(self) -> float:
        return self.half / math.sqrt(3.0)

    def quantile(self, share: Array) -> Array:
        value = share * (2.0 * self.half)
        value += self.mean - self.half
        return value

    def fill(self, rng: np.random.Generator, out: Array) -> None:
        rng.random(out=out)
        out -= 0.5
        out *= 2.0 * self.half
        _shift(out, self.mean)


@dataclass(frozen=True)
class Triangular(_Bounded):
    """Most likely at the mean, falling in straight lines to nothing at mean ± half."""

    @property
    def std(self) -> float:
        return self.half / math.sqrt(6.0)

    def quantile(self, share: Array) -> Array:
        import numpy as np

        off = 2.0 * share - 1.0
        return self.mean + self.half * np.copysign(1.0 - np.sqrt(1.0 - np.abs(off)), off)

    def fill(self, rng: np.random.Generator, out: Array) -> None:
        rng.random(out=out)
        out -= rng.random(out.shape)
        out *= self.half
        _shift(out, self.mean)


@dataclass(frozen=True)
class Arcsine(_Bounded):
    """The shadow of a point that turns evenly on a circle of radius `half`: most likely at the ends."""

    @property
    def std(self) -> float:
        return self.half / math.sqrt(2.0)

    def quantile(self, share: Array) -> Array:
        import numpy as np

        return self.mean + self.half * np.sin(math.pi * (share - 0.5))

    def fill(self, rng: np.random.Generator, out: Array) -> None:
        import numpy as np

        rng.random(out=out)
        out *= 2.0 * math.pi
        np.sin(out, out=out)
        out *= self.half
        _shift(out, self.mean)


@dataclass(frozen=True)
class Trapezoid(_Bounded):
    """Flat over the middle share `top` of its width, falling in straight lines to nothing at mean ± half."""

    top: float = 0.5

    @property
    def std(self) -> float:
        return self.half * math.sqrt((1.0 + self.top**2) / 6.0)

    def quantile(self, share: Array) -> Array:
        import numpy as np

        off = 2.0 * share - 1.0
        flat = 0.5 * (1.0 + self.top) * np.abs(off)
        slope = 1.0 - np.sqrt((1.0 - self.top**2) * (1.0 - np.abs(off)))
        return self.mean + self.half * np.copysign(np.where(flat <= self.top, flat, slope), off)

    def fill(self, rng: np.random.Generator, out: Array) -> None:
        rng.random(out=out)
        out -= 0.5
        out *= 1.0 + self.top
        second = rng.random(out.shape)
        second -= 0.5
        second *= 1.0 - self.top
        out += second
        out *= self.half
        _shift(out, self.mean)


@dataclass(frozen=True)
class Exactly:
    """A known value without any scatter, such as how much wider a bit cuts by its runout."""

    mean: float

    @property
    def std(self) -> float:
        return 0.0

    @property
    def bound(self) -> float:
        return 0.0

    @property
    def reach(self) -> float:
        return 0.0

    def fill(self, rng: np.random.Generator, out: Array) -> None:  # noqa: ARG002
        out[:] = self.mean


@dataclass(frozen=True)
class Circle:
    """A point on a circle of the given radius at a phase nobody knows: two values, x and y, of one draw.

    Each of the two alone follows the arcsine distribution, but they are not independent.
    """

    radius: float

    @property
    def mean(self) -> float:
        return 0.0

    @property
    def std(self) -> float:
        """Standard deviation along any one axis."""
        return self.radius / math.sqrt(2.0)

    @property
    def bound(self) -> float:
        return self.radius

    @property
    def reach(self) -> float:
        return self.radius

    def fill_xy(self, rng: np.random.Generator, out: Array) -> None:
        """Fill `out`, shape (2, N), with the x and y of N draws."""
        self.xy(rng.random(out.shape[1:]), out)

    def xy(self, turns: Array, out: Array) -> None:
        """Fill `out`, shape (2, N), with the places at the given numbers of full turns, shape (N,)."""
        from flipcheck.stack.cos_sin import cos_sin

        cos_sin(turns, out[0], out[1])
        out *= self.radius


def resized(spread: Spread | Circle, size: float) -> Spread | Circle:
    """The same spread `size` times as large about the same mean; a known value itself grows.

    Raises
    ------
    TypeError: for a distribution that is not in this module.
    """
    if isinstance(spread, Normal):
        return replace(spread, std=size * spread.std, limit=None if spread.limit is None else size * spread.limit)
    if isinstance(spread, Uniform | Triangular | Arcsine | Trapezoid):
        return replace(spread, half=size * spread.half)
    if isinstance(spread, Exactly):
        return Exactly(size * spread.mean)
    if isinstance(spread, Circle):
        return Circle(size * spread.radius)
    raise TypeError(f"no other size of {spread!r} is known")
