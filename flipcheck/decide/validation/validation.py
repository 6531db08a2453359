"""Published numbers, and what flipcheck's engine makes of them: `run_checks` shows anyone that it adds up.

A tolerance is half a unit of the last published digit, and four standard errors where something is simulated; ends of
shortest intervals, which lie on a flat minimum and were simulated by their authors too, get what repeated runs need.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Literal

from flipcheck.decide.validation.published_stacks import (
    NORMALS,
    ONE_DOMINANT,
    PROBE,
    RECTANGULARS,
    bars,
    clutch,
    contact_angle,
    end_gauge,
    expansion,
    gap,
    gauge_block,
    hole,
    logarithm,
    mass,
    process,
    reversal,
    roller_offset,
    scatter,
    screw,
    shaft,
    vector,
)
from flipcheck.stack.intervals import clopper_pearson, independent_difference, wilson
from flipcheck.stack.rarer_spreads import CurvilinearTrapezoid, Exponential, Gamma, StudentT
from flipcheck.stack.spreads import Normal, Spread, Trapezoid, Triangular, Uniform
from flipcheck.stack.stack import Stack
from flipcheck.stack.terms import Term

if TYPE_CHECKING:
    from collections.abc import Callable

    from flipcheck.stack.monte_carlo.adaptive import Verdict
    from flipcheck.stack.monte_carlo.trials import Simulation

_TRIALS = 1_000_000
_SEED = 20_250_101


@dataclass(frozen=True)
class Published:
    """A published number, and how far from it flipcheck may be."""

    value: float
    tolerance: float


@dataclass(frozen=True)
class Check:
    """One published number and the way to compute it.

    Attributes
    ----------
    name: What it is.
    source: Where it was published; "from memory" where the text was not seen, "computed here" where there is none.
    published: The number.
    compute: Runs flipcheck's engine.
    """

    name: str
    source: str
    published: Published
    compute: Callable[[], float]


@dataclass(frozen=True)
class Outcome:
    """What a check gave: `difference` is ours less published, `within` whether that is inside the tolerance."""

    name: str
    source: str
    published: float
    ours: float
    difference: float
    within: bool
    tolerance: float


def run_checks() -> tuple[Outcome, ...]:
    """Run all checks, in a few seconds."""
    try:
        return tuple(outcome(check) for check in CHECKS)
    finally:
        for kept in (drawn, verdict, _upper):
            kept.cache_clear()


def outcome(check: Check) -> Outcome:
    """Run one check."""
    ours, (value, tolerance) = float(check.compute()), (check.published.value, check.published.tolerance)
    # a hair for rounding, where a published digit leaves exactly its half
    within = abs(ours - value) <= tolerance + 1e-12 * abs(value)
    return Outcome(check.name, check.source, value, ours, ours - value, within, tolerance)


@cache
def drawn(make: Callable[[], Stack], coverage: float = 0.95) -> Simulation:
    """A simulation of one of the published stacks."""
    return make().monte_carlo(_TRIALS, rng=_SEED, coverage=coverage)


@cache
def verdict(stack: Stack) -> Verdict:
    """Clause 8 of JCGM 101 for two digits."""
    return stack.validate(2, rng=_SEED)


def _std(spread: Spread) -> float:
    return Stack([Term("x", spread)]).monte_carlo(_TRIALS, rng=_SEED).u


def _factor(spread: Spread) -> float:
    """What a tolerance of one term is inflated by."""
    alone = Stack([Term("x", spread)])
    return alone.inflated_rss().tolerance / alone.rss().tolerance


def _shifted() -> float:
    return gap().mean_shift({"a": 0.3, "b": 0.3, "d": 0.3}, inflated=True).tolerance


def _scale(method: Literal["worst case", "rss"]) -> float:
    """What the tolerances of the shaft are scaled by; ring and bearings are bought."""
    return shaft().allocate(0.015, {"a", "c", "g"}, method).factor


def _slope(function: Callable[..., float], by: str) -> float:
    return clutch(function).coefficients[by]


@cache
def _upper(stack: Stack) -> float:
    return stack.monte_carlo(_TRIALS, rng=_SEED).symmetric.high


def _far(stack: Stack) -> float:
    return verdict(stack).high_difference


def _difference() -> tuple[float, float]:
    return independent_difference(56, 70, 48, 80)


_SHIGLEY = "Budynas and Nisbett, Shigley's Mechanical Engineering Design, example 1-3"
_SCHOLZ = "public note on stack-up after F. Scholz, ISSTECH-95-030 (1995)"
_FACTORS = "F. Scholz, ISSTECH-95-030 (1995), Figure 6, as listed in a public guide"
_CHASE = "K. W. Chase, ADCATS 99-6 (1999), from memory"
_CLUTCH = "Chase, Gao and Magleby, one-way clutch (1995), from memory"
_H1 = "JCGM 100:2008, H.1"
_H1_QUOTED = "JCGM 100:2008, H.1, as printed by a public statistics package"
_GUM5 = "JCGM GUM-5:2026, section 15, as quoted in public tests"
_TN1900 = "NIST TN 1900 (2015), E13, as quoted in public tests"
_S1 = "JCGM 101:2008"
_S2 = "JCGM 102:2011"
_NPL = "NPL DEM-ES-011, Table 9.2, as quoted in public tests"
_NIST = "NIST/SEMATECH e-Handbook of Statistical Methods"
_NEWCOMBE = "R. G. Newcombe, Stat. Med. 17 (1998)"
_Y14 = "ASME Y14.5, appendix B"
_CIRCLES = "D. Wollschlaeger, shotGroups vignette, section 3"
_TABLE_I = f"{_NEWCOMBE} 857-872, Table I, as quoted in public tests"
_LEVEL = "Public page on calibrating engineers' levels"


def _rice(sigma: float, x: float, y: float, radius: float) -> float:
    return scatter(sigma, x=x, y=y).chance(high=radius)


def _check(source: str, name: str, value: float, tolerance: float, compute: Callable[[], float]) -> Check:
    return Check(name, source, Published(value, tolerance), compute)


CHECKS: tuple[Check, ...] = (
    _check(_SHIGLEY, "gap, nominal", 0.005, 5e-4, lambda: screw().nominal),
    _check(_SHIGLEY, "gap, tolerance", 0.010, 5e-4, lambda: screw().worst_case().tolerance),
    _check(_SHIGLEY, "gap, largest", 0.015, 5e-4, lambda: screw().worst_case().high),
    _check(_SHIGLEY, "gap, smallest", -0.005, 5e-4, lambda: screw().worst_case().low),
    _check(_SHIGLEY, "gap, smallest with d = 0.867", 0.003, 5e-4, lambda: screw(0.867).worst_case().low),
    _check(_SCHOLZ, "four links, worst case", 0.95, 5e-3, lambda: gap().worst_case().tolerance),
    _check(_SCHOLZ, "four links, root of squares", 0.48, 5e-3, lambda: gap().rss().tolerance),
    _check(_SCHOLZ, "four links, 1.5 times that", 0.72, 5e-3, lambda: gap().inflated_rss(1.5).tolerance),
    _check(_SCHOLZ, "four links, inflated", 0.78, 5e-3, lambda: gap().inflated_rss().tolerance),
    _check(_SCHOLZ, "four links, means shifted by 0.3", 0.79, 5e-3, _shifted),
    _check(_FACTORS, "inflation factor, normal", 1.0, 5e-4, lambda: _factor(Normal(1.0))),
    _check(_FACTORS, "inflation factor, triangular", 1.225, 5e-4, lambda: _factor(Triangular(1.0))),
    _check(_FACTORS, "inflation factor, trapezoid", 1.369, 5e-4, lambda: _factor(Trapezoid(1.0, top=0.5))),
    _check(_FACTORS, "inflation factor, uniform", 1.732, 5e-4, lambda: _factor(Uniform(1.0))),
    _check(_CHASE, "seven links, worst case", 0.0245, 5e-5, lambda: shaft().worst_case().tolerance),
    _check(_CHASE, "seven links, root of squares", 0.01108, 5e-6, lambda: shaft().rss().tolerance),
    _check(_CHASE, "seven links, scale to +-0.015, worst case", 0.47222, 5e-6, lambda: _scale("worst case")),
    _check(_CHASE, "seven links, scale to +-0.015, root of squares", 1.39526, 5e-6, lambda: _scale("rss")),
    _check(_CLUTCH, "contact angle, degrees", 7.0184, 5e-5, lambda: math.degrees(clutch(contact_angle).nominal)),
    _check(_CLUTCH, "roller offset, mm", 4.8105, 5e-5, lambda: clutch(roller_offset).nominal),
    _check("computed here", "clutch, d angle / d ring, 1/mm", 0.2063193, 5e-8, lambda: _slope(contact_angle, "e")),
    _check("computed here", "clutch, d offset / d roller", -16.3069082, 5e-8, lambda: _slope(roller_offset, "c")),
    _check(_H1_QUOTED, "end gauge, u to first order, nm", 31.71, 5e-3, lambda: end_gauge().first_order().u),
    _check(_H1, "end gauge, degrees of freedom", 16, 0.0, lambda: math.floor(end_gauge().first_order().dof)),
    _check(_H1_QUOTED, "end gauge, U at 99 %, nm", 92.62, 5e-3, lambda: end_gauge().first_order(0.99).expanded),
    _check(_H1_QUOTED, "end gauge, u to second order, nm", 33.91, 5e-3 + 0.096, lambda: drawn(end_gauge).u),
    _check(_GUM5, "readings and corrections, mean, kN", 10005.7, 0.05, lambda: bars().nominal),
    _check(_GUM5, "readings and corrections, u, kN", 9.9, 0.05, lambda: bars().first_order().u),
    _check(_GUM5, "readings and corrections, U at 95 %, kN", 19.4, 0.05, lambda: bars().first_order().expanded),
    _check(_TN1900, "expansion coefficient, 1/K", 1.7266e-5, 5e-10, lambda: expansion().nominal),
    _check(_TN1900, "expansion coefficient, u, 1/K", 1.76e-6, 5e-9, lambda: expansion().first_order().u),
    _check(f"{_S1}, 9.2.2", "four normals, upper end", 3.92, 0.005 + 0.0214, lambda: _upper(NORMALS)),
    _check(f"{_S1}, 9.2.3", "four rectangulars, upper end", 3.88, 0.005 + 0.0192, lambda: _upper(RECTANGULARS)),
    _check(f"{_S1}, 9.2.4", "one dominant, upper end", 17.0, 0.05 + 0.0384, lambda: _upper(ONE_DOMINANT)),
    _check(f"{_S1}, 9.2.4", "one dominant, u", 10.1, 0.05, lambda: ONE_DOMINANT.first_order().u),
    _check(f"{_S1}, 9.2.2, from memory", "four normals: first order holds", 1, 0.0, lambda: verdict(NORMALS).holds),
    _check(f"{_S1}, 9.2.4, from memory", "one dominant: it does not", 0, 0.0, lambda: verdict(ONE_DOMINANT).holds),
    _check(f"{_S1}, 9.2.4, from memory", "one dominant, d_high", 2.9, 0.05 + 0.2, lambda: _far(ONE_DOMINANT)),
    _check(f"{_S1}, 9.3", "mass, u to first order, mg", 0.0539, 5e-5, lambda: mass().first_order().u),
    _check(f"{_S1}, 9.3, from memory", "mass, u, mg", 0.0754, 5e-5 + 2.2e-4, lambda: drawn(mass).u),
    _check(f"{_S1}, 9.3, from memory", "mass, lower end, mg", 1.0834, 3e-3, lambda: drawn(mass).shortest.low),
    _check(f"{_S1}, 9.3, from memory", "mass, upper end, mg", 1.3825, 3e-3, lambda: drawn(mass).shortest.high),
    _check(f"{_S1}, 9.5", "gauge block, nm", 838.0, 0.5 + 0.15, lambda: drawn(gauge_block, 0.99).mean),
    _check(f"{_S1}, 9.5", "gauge block, u, nm", 36.0, 0.5 + 0.12, lambda: drawn(gauge_block, 0.99).u),
    _check(f"{_S1}, 9.5", "gauge block, lower 99 % end, nm", 745.0, 3.0, lambda: drawn(gauge_block, 0.99).shortest.low),
    _check(
        f"{_S1}, 9.5", "gauge block, upper 99 % end, nm", 932.0, 3.0, lambda: drawn(gauge_block, 0.99).shortest.high
    ),
    _check(
        f"{_S1}, Table 1",
        "curvilinear trapezoid, std drawn",
        0.57831,
        1.1e-3,
        lambda: _std(CurvilinearTrapezoid(1.0, 0.1)),
    ),
    _check(f"{_S1}, Table 1, from memory", "t, std drawn", 1.29099, 7.4e-3, lambda: _std(StudentT(1.0, 5))),
    _check(f"{_S1}, Table 1, from memory", "exponential, std drawn", 2.0, 1.2e-2, lambda: _std(Exponential(2.0))),
    _check(f"{_S1}, Table 1, from memory", "gamma, std drawn", 2.23607, 8.0e-3, lambda: _std(Gamma(4))),
    _check(f"{_S2}, Table 6, as quoted in public tests", "magnitude", 0.013, 5e-4 + 3e-5, lambda: drawn(vector).mean),
    _check(f"{_S2}, Table 6, as quoted in public tests", "magnitude, u", 0.007, 5e-4 + 2e-5, lambda: drawn(vector).u),
    _check("computed here", "circle of 2.4477 sigma holds", 0.95, 5e-5, lambda: vector(0.0, 1.0).chance(high=2.4477)),
    _check(_NPL, "logarithm to first order", -0.511, 5e-4, lambda: logarithm().nominal),
    _check(_NPL, "logarithm, u to first order", 0.481, 5e-4, lambda: logarithm().first_order().u),
    _check(_NPL, "logarithm", -0.665, 5e-4 + 2.5e-3, lambda: drawn(logarithm).mean),
    _check(_NPL, "logarithm, u", 0.606, 5e-4 + 2.2e-3, lambda: drawn(logarithm).u),
    _check(_NPL, "logarithm, lower end", -1.895, 1e-2, lambda: drawn(logarithm).shortest.low),
    _check(_NPL, "logarithm, upper end", 0.095, 1e-3, lambda: drawn(logarithm).shortest.high),
    _check(f"{_NIST}, 6.1.6", "Cp", 1.0, 5e-5, lambda: process().capability(8.0, 20.0).cp),
    _check(f"{_NIST}, 6.1.6", "Cpk", 0.6667, 5e-5, lambda: process().capability(8.0, 20.0).cpk),
    _check(f"{_NIST}, 7.2.4.1", "26 of 200, one-sided lower end", 0.09577, 5e-6, lambda: wilson(26, 200, 1.645).low),
    _check(f"{_NIST}, 7.2.4.1", "4 of 20, exact, lower end", 0.071354, 2e-6, lambda: clopper_pearson(4, 20, 0.9).low),
    _check(f"{_NIST}, 7.2.4.1", "4 of 20, exact, upper end", 0.401029, 2e-6, lambda: clopper_pearson(4, 20, 0.9).high),
    _check(f"{_NEWCOMBE} 873-890", "56 of 70 less 48 of 80, lower end", 0.0524, 5e-5, lambda: _difference()[0]),
    _check(f"{_NEWCOMBE} 873-890", "56 of 70 less 48 of 80, upper end", 0.3339, 5e-5, lambda: _difference()[1]),
    _check(
        "computed here", "eleven touches, s / sqrt n, mm", 0.000255, 5e-7, lambda: StudentT.of_readings(PROBE).scale
    ),
    _check(f"{_Y14}, as in a public handout", "floating fastener, hole, inch", 0.264, 5e-4, lambda: hole(0.25, 0.014)),
    _check(f"{_Y14}, as in a public handout", "fixed, hole, inch", 0.278, 5e-4, lambda: hole(0.25, 0.014, 0.014)),
    _check("G. Cogorno, Tolerancing fixed fasteners", "fixed, hole, inch", 0.274, 5e-4, lambda: hole(0.25, 0.024)),
    _check(
        f"{_Y14}, result computed here",
        "pin out of square, hole, mm",
        8.15,
        5e-3,
        lambda: hole(6.35, 0.2, 0.4, 12.0 / 8.0),
    ),
    _check(_CIRCLES, "Rayleigh, sigma 5, within 10", 0.8647, 5e-5, lambda: scatter(5.0).chance(high=10.0)),
    _check(_CIRCLES, "Rayleigh, sigma 2, within 1.5", 0.2452, 5e-5, lambda: scatter(2.0).chance(high=1.5)),
    _check(_CIRCLES, "Rice, 1 off in x and y, sigma 5, within 10", 0.8538, 5e-5, lambda: _rice(5.0, 1.0, 1.0, 10.0)),
    _check(_CIRCLES, "Rice, 1 off, sigma 2, within 1.5", 0.22, 5e-5, lambda: _rice(2.0, 1.0, 0.0, 1.5)),
    _check(_CIRCLES, "Hoyt, sigma 8 and 4, within 10", 0.7332, 5e-5, lambda: scatter(8.0, 4.0).chance(high=10.0)),
    _check(_TABLE_I, "Wilson, 81 of 263, lower end", 0.2553, 5e-5, lambda: wilson(81, 263).low),
    _check(_TABLE_I, "Wilson, 81 of 263, upper end", 0.3662, 5e-5, lambda: wilson(81, 263).high),
    _check(_TABLE_I, "Wilson, 15 of 148, lower end", 0.0624, 5e-5, lambda: wilson(15, 148).low),
    _check(_TABLE_I, "Wilson, 15 of 148, upper end", 0.1605, 5e-5, lambda: wilson(15, 148).high),
    _check(_TABLE_I, "Wilson, 0 of 20, upper end", 0.1611, 5e-5, lambda: wilson(0, 20).high),
    _check(_TABLE_I, "Wilson, 1 of 29, lower end", 0.0061, 5e-5, lambda: wilson(1, 29).low),
    _check(_TABLE_I, "Wilson, 1 of 29, upper end", 0.1718, 5e-5, lambda: wilson(1, 29).high),
    _check(_LEVEL, "level error, divisions", 3.5, 0.0, lambda: reversal(4.0, 3.0, 1).nominal),
    _check(_LEVEL, "surface error, divisions", 0.5, 0.0, lambda: reversal(4.0, 3.0, -1).nominal),
)
