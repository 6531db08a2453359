"""F. Scholz, ISSTECH-95-030 (1995), as restated in public notes: one stack by five methods, and inflation factors."""

from __future__ import annotations

import math

import pytest

from flipcheck.decide.validation.published_stacks import gap
from flipcheck.stack.rarer_spreads import StudentT
from flipcheck.stack.spreads import Normal, Spread, Trapezoid, Triangular, Uniform
from flipcheck.stack.stack import Stack
from flipcheck.stack.terms import Term

SHARES = {"a": 0.3, "b": 0.3, "d": 0.3}

# method, tolerance and smallest gap as published (mm, two decimals; seen in a public wiki note), tolerance recomputed
METHODS = {
    "worst case": (lambda: gap().worst_case(), 0.95, 0.05, 0.950000),
    "root of squares": (lambda: gap().rss(), 0.48, 0.52, 0.476970),
    "1.5 times that": (lambda: gap().inflated_rss(1.5), 0.72, 0.28, 0.715454),
    "inflated": (lambda: gap().inflated_rss(), 0.78, 0.22, 0.776209),
    "shifted means": (lambda: gap().mean_shift(SHARES, inflated=True), 0.79, 0.21, 0.786805),
}


@pytest.mark.parametrize("method", METHODS)
def test_one_stack_by_five_methods(method: str):
    """25 - 5 - 14 - 5 = 1 mm with 0.25, 0.25, 0.20 and 0.25: half a unit of the second decimal, and six recomputed."""
    ask, tolerance, smallest, recomputed = METHODS[method]
    found = ask()

    assert pytest.approx(found.nominal) == 1.0
    assert tolerance == pytest.approx(found.tolerance, abs=0.005)
    assert smallest == pytest.approx(found.low, abs=0.005)
    assert recomputed == pytest.approx(found.tolerance, abs=0.5e-6)


def test_shares_of_the_variance():
    """Published: printed links 27 % each, the module 18 % of the plain root of squares; recomputed 27.47, 17.58 %."""
    links = {"a": (25.0, 0.25, 1.0), "b": (5.0, 0.25, -1.0), "c": (14.0, 0.20, -1.0), "d": (5.0, 0.25, -1.0)}
    plain = Stack([Term(name, Normal(t / 3.0), nominal, sign) for name, (nominal, t, sign) in links.items()])
    shares = {part.name: part.share for part in plain.first_order().contributions}

    assert {"a": 0.27, "b": 0.27, "c": 0.18, "d": 0.27} == pytest.approx(shares, abs=0.005)
    assert {"a": 0.2747, "b": 0.2747, "c": 0.1758, "d": 0.2747} == pytest.approx(shares, abs=0.5e-4)


# Figure 6, as listed in a public guide; factor and closed form of 3 sigma / T
FACTORS = {
    "normal": (Normal(0.1), 1.000, 1.0),
    "triangular": (Triangular(0.3), 1.225, math.sqrt(1.5)),
    "trapezoid": (Trapezoid(0.3, top=0.5), 1.369, 3.0 * math.sqrt(1.25 / 6.0)),
    "uniform": (Uniform(0.3), 1.732, math.sqrt(3.0)),
    "t, 4 degrees of freedom": (StudentT(0.1, 4), 1.000, 1.0),
    "t, 10 degrees of freedom": (StudentT(0.1, 10), 1.000, 1.0),
}


@pytest.mark.parametrize("name", FACTORS)
def test_inflation_factors(name: str):
    """What the tolerance of a single term is inflated by, to three decimals as published."""
    spread: Spread
    spread, published, exact = FACTORS[name]
    stack = Stack([Term("x", spread)])
    factor = stack.inflated_rss().tolerance / stack.worst_case().tolerance

    assert published == pytest.approx(factor, abs=0.5e-3)
    assert exact == pytest.approx(factor, rel=1e-12)
