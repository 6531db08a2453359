"""The stacks behind published numbers, as inputs for flipcheck's engine; `validation` says where they come from."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.rarer_spreads import CurvilinearTrapezoid, StudentT
from flipcheck.stack.spreads import Arcsine, Circle, Normal, Spread, Uniform
from flipcheck.stack.stack import Stack
from flipcheck.stack.terms import Term

if TYPE_CHECKING:
    from collections.abc import Callable

_ROOT3 = math.sqrt(3.0)


def chain(**links: tuple[int, float, Spread]) -> Stack:
    """A chain of links, each with its sign, nominal and spread."""
    return Stack([Term(name, spread, nominal, float(sign)) for name, (sign, nominal, spread) in links.items()])


def screw(d: float = 0.875) -> Stack:
    """A shouldered screw with three sleeves, inch."""
    return chain(
        a=(1, 1.750, Uniform(0.003)), b=(-1, 0.750, Uniform(0.001)), c=(-1, 0.120, Uniform(0.005)),
        d=(-1, d, Uniform(0.001)),
    )  # fmt: skip


def gap() -> Stack:
    """Four links, mm, of which three are uniform and one normal with 3 sigma = T."""
    return chain(
        a=(1, 25.0, Uniform(0.25)), b=(-1, 5.0, Uniform(0.25)), c=(-1, 14.0, Normal(0.2 / 3.0)),
        d=(-1, 5.0, Uniform(0.25)),
    )  # fmt: skip


def shaft() -> Stack:
    """A shaft in two bearings with its housing, inch; inputs from memory."""
    links = {"a": (-1, 0.0505, 0.0015), "b": (1, 8.0, 0.008), "c": (-1, 0.5093, 0.0025), "d": (1, 0.4, 0.002)}
    links |= {"e": (-1, 7.711, 0.006), "f": (1, 0.4, 0.002), "g": (-1, 0.5093, 0.0025)}
    return chain(**{name: (sign, nominal, Uniform(t)) for name, (sign, nominal, t) in links.items()})


def clutch(function: Callable[..., float]) -> Stack:
    """A one-way clutch: hub a, roller radius c, ring radius e, mm; inputs and tolerances from memory."""
    return Stack.of(function, a=Uniform(0.05, 27.645), c=Uniform(0.01, 11.43), e=Uniform(0.0125, 50.8))


def contact_angle(a: float, c: float, e: float) -> float:
    """Angle of the contact of a roller, rad."""
    return math.acos((a + c) / (e - c))


def roller_offset(a: float, c: float, e: float) -> float:
    """Where a roller lies along the flat of the hub, mm."""
    return ((e - c) ** 2 - (a + c) ** 2) ** 0.5


def end_gauge() -> Stack:
    """GUM H.1: calibration of an end gauge, nm; the estimates are stated as normal with their degrees of freedom."""
    return Stack.of(
        lambda standard, difference, expansion, temperature, d_expansion, d_temperature: (
            standard + difference - standard * (d_expansion * temperature + expansion * d_temperature)
        ),
        standard=Normal(25.0, 50_000_623.0),
        difference=Normal(9.7, 215.0),
        expansion=Normal(1.2e-6, 11.5e-6),
        temperature=Normal(0.41, -0.1),
        d_expansion=Normal(0.58e-6),
        d_temperature=Normal(0.029),
        dof={"standard": 18, "difference": 25.6, "d_expansion": 50, "d_temperature": 2},
    )


def bars() -> Stack:
    """GUM-5, section 15: the mean of six readings and four rectangular corrections, kN."""
    mean = StudentT.of_readings([10006.0, 10007.0, 10005.0, 10008.0, 10003.0, 10005.0])
    return chain(readings=(1, 0.0, mean), **{f"c{h}": (1, 0.0, Uniform(h)) for h in (6.8, 8.2, 8.7, 10.2)})


def expansion() -> Stack:
    """NIST TN 1900, E13: thermal expansion coefficient from two lengths and two temperatures, 1/K."""
    return Stack.of(
        lambda l0, l1, t0, t1: (l1 - l0) / (l0 * (t1 - t0)),
        l0=Normal(0.0001, 1.4999), l1=Normal(0.0002, 1.5021), t0=Normal(0.02, 288.15), t1=Normal(0.05, 373.10),
    )  # fmt: skip


def four(*spreads: Spread) -> Stack:
    """JCGM 101, 9.2: a sum of four."""
    return Stack([Term(name, spread) for name, spread in zip("abcd", spreads, strict=True)])


NORMALS = four(*[Normal(1.0)] * 4)
RECTANGULARS = four(*[Uniform(_ROOT3)] * 4)
ONE_DOMINANT = four(*[Uniform(_ROOT3)] * 3, Uniform(10.0 * _ROOT3))


def mass() -> Stack:
    """JCGM 101, 9.3: calibration of a mass in air, mg and kg/m^3."""
    return Stack.of(
        lambda m, dm, air, w, r: (m + dm) * (1.0 + (air - 1.2) * (1.0 / w - 1.0 / r)) - 100_000.0,
        m=Normal(0.050, 100_000.0), dm=Normal(0.020, 1.234), air=Uniform(0.1, 1.2), w=Uniform(1000.0, 8000.0),
        r=Uniform(50.0, 8000.0),
    )  # fmt: skip


def gauge_block() -> Stack:
    """JCGM 101, 9.5: calibration of a gauge block, nm, with every kind of distribution."""
    return Stack.of(
        lambda s, d, d1, d2, a, t0, swing, da, dt: s + d + d1 + d2 - s * (da * (t0 + swing) + a * dt) - 5e7,
        s=StudentT(25.0, 18, 50_000_623.0), d=StudentT(6.0, 24, 215.0), d1=StudentT(4.0, 5), d2=StudentT(7.0, 8),
        a=Uniform(2e-6, 11.5e-6), t0=Normal(0.2, -0.1), swing=Arcsine(0.5), da=CurvilinearTrapezoid(1e-6, 0.1e-6),
        dt=CurvilinearTrapezoid(0.050, 0.025),
    )  # fmt: skip


def logarithm() -> Stack:
    """NPL DEM-ES-011, Table 9.2: ln X with X rectangular on 0.1 to 1.1."""
    return Stack.of(lambda x: np.log(x), x=Uniform(0.5, 0.6))


def vector(offset: float = 0.001, std: float = 0.010) -> Stack:
    """JCGM 102: a vector with the same scatter of both components, and its first one off by a little."""
    return Stack([Term("x", Normal(std, offset), coefficient=(1, 0)), Term("y", Normal(std), coefficient=(0, 1))])


def process() -> Stack:
    """NIST/SEMATECH e-Handbook 6.1.6: a process with mean 16 and standard deviation 2."""
    return Stack([Term("x", Normal(2.0), 16.0)])


def hole(fastener: float, in_hole: float, in_pin: float = 0.0, leaning: float = 0.0) -> float:
    """ASME Y14.5, appendix B: hole that a fastener passes at worst, with zones of diameter `in_hole` and `in_pin`.

    A pin that stands out of square is off by 1 + `leaning` times its upper and `leaning` times its lower end.
    """
    terms = [Term("hole", Circle(0.5 * in_hole)), Term("upper", Circle(0.5 * in_pin), coefficient=1.0 + leaning)]
    terms.append(Term("lower", Circle(0.5 * in_pin), coefficient=leaning))
    return fastener + 2.0 * Stack(terms).worst_case().high


PROBE = (
    26.303561, 26.305558, 26.304226, 26.304226, 26.303561, 26.305558, 26.305558, 26.303561, 26.303561, 26.304226,
    26.304892,
)  # fmt: skip


def scatter(sigma_x: float, sigma_y: float | None = None, x: float = 0.0, y: float = 0.0) -> Stack:
    """A point of the plane that scatters normally about (x, y)."""
    other = sigma_x if sigma_y is None else sigma_y
    return Stack(
        [
            Term("x", Normal(sigma_x), x, coefficient=(1.0, 0.0)),
            Term("y", Normal(other), y, coefficient=(0.0, 1.0)),
        ]
    )


def reversal(first: float, turned: float, sign: int) -> Stack:
    """Half the sum or the difference of two readings, before and after the level was turned round."""
    return Stack(
        [
            Term("first", Normal(0.0), first, coefficient=0.5),
            Term("turned", Normal(0.0), turned, coefficient=0.5 * sign),
        ]
    )
