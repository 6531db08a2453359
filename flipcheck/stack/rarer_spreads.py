"""The rarer distributions of JCGM 101:2008, Table 1: what is known of a mean, a doubtful limit, a size or a count.

They have the face of `flipcheck.stack.spreads.Spread`. Those without an end have a few standard deviations stand for
their worst case, as a normal distribution has.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from flipcheck.stack.spreads import NORMAL_BOUND

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

#: How seldom a draw passes the reach of a distribution without an end.
_SELDOM = 1e-10


@dataclass(frozen=True)
class CurvilinearTrapezoid:
    """Equally likely within mean ± half, where `half` itself is only known to ± `inexact` (at most `half`).

    JCGM 101:2008, 6.4.3: both ends are off by the same amount, itself uniform.
    """

    half: float
    inexact: float
    mean: float = 0.0

    @property
    def std(self) -> float:
        return math.sqrt(self.half**2 / 3.0 + self.inexact**2 / 9.0)

    @property
    def bound(self) -> float:
        return self.half + self.inexact

    @property
    def reach(self) -> float:
        return self.half + self.inexact

    def fill(self, rng: np.random.Generator, out: Array) -> None:
        width = rng.random(out.shape)
        width -= 0.5
        width *= 2.0 * self.inexact
        width += self.half
        rng.random(out=out)
        out -= 0.5
        out *= 2.0
        out *= width
        out += self.mean


@dataclass(frozen=True)
class StudentT:
    """What is known of a mean from few readings: mean + scale * t, with `dof` degrees of freedom.

    JCGM 101:2008, 6.4.9. Its standard deviation is larger than `scale`, and infinite up to 2 degrees of freedom.
    """

    scale: float
    dof: float
    mean: float = 0.0

    @classmethod
    def of_readings(cls, readings: Sequence[float]) -> StudentT:
        """The mean of independent readings of one thing: scale s / sqrt n and n - 1 degrees of freedom.

        Raises
        ------
        ValueError: for fewer than two readings.
        """
        count = len(readings)
        if count < 2:
            raise ValueError(f"a scatter needs two readings or more, not {count}")
        mean = math.fsum(readings) / count
        square = math.fsum((reading - mean) ** 2 for reading in readings)
        return cls(math.sqrt(square / (count - 1) / count), count - 1.0, mean)

    @property
    def std(self) -> float:
        return self.scale * math.sqrt(self.dof / (self.dof - 2.0)) if self.dof > 2.0 else math.inf

    @property
    def bound(self) -> float:
        return NORMAL_BOUND * self.std

    @property
    def reach(self) -> float:
        from scipy.special import stdtrit

        return -self.scale * float(stdtrit(self.dof, 0.5 * _SELDOM))

    def fill(self, rng: np.random.Generator, out: Array) -> None:
        out[:] = rng.standard_t(self.dof, out.shape)
        out *= self.scale
        out += self.mean


@dataclass(frozen=True)
class Exponential:
    """Never negative, and its mean is all that is known of it (JCGM 101:2008, 6.4.10)."""

    mean: float

    @property
    def std(self) -> float:
        return self.mean

    @property
    def bound(self) -> float:
        return NORMAL_BOUND * self.std

    @property
    def reach(self) -> float:
        return -self.mean * (1.0 + math.log(_SELDOM))

    def fill(self, rng: np.random.Generator, out: Array) -> None:
        import numpy as np

        rng.random(out=out)
        np.negative(out, out=out)
        np.log1p(out, out=out)
        out *= -self.mean


@dataclass(frozen=True)
class Gamma:
    """The mean number of events in a period, of which one period showed `count` (JCGM 101:2008, 6.4.11)."""

    count: int

    @property
    def mean(self) -> float:
        return self.count + 1.0

    @property
    def std(self) -> float:
        return math.sqrt(self.count + 1.0)

    @property
    def bound(self) -> float:
        return NORMAL_BOUND * self.std

    @property
    def reach(self) -> float:
        from scipy.special import gammainccinv

        return float(gammainccinv(self.mean, _SELDOM)) - self.mean

    def fill(self, rng: np.random.Generator, out: Array) -> None:
        rng.standard_gamma(self.mean, out=out)
