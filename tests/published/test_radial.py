"""Radial misalignment: how likely two scattered components stay within a radius (Rayleigh, Rice and Hoyt laws).

Published probabilities are outputs printed in the vignette of the R package shotGroups, sections 3.2 and 3.3 (seen).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from flipcheck.stack.measures import Band, Radius
from flipcheck.stack.monte_carlo.simulate import simulate
from flipcheck.stack.radial import normal_in_circle
from flipcheck.stack.spreads import Normal
from tests.stack.models import error_of_quantile, error_of_share, linear_model, quantile

TRIALS = 1_000_000

# standard deviations of x and y, offset, radius, printed probability and half a unit of its last digit
DISTANCES = {
    "Rayleigh, 5 within 10": (5.0, 5.0, 0.0, 10.0, 0.8647, 0.5e-4),
    "Rayleigh, 2 within 1.5": (2.0, 2.0, 0.0, 1.5, 0.2452, 0.5e-4),
    "Rice, offset sqrt 2": (5.0, 5.0, math.sqrt(2.0), 10.0, 0.8538, 0.5e-4),
    "Rice, offset 1": (2.0, 2.0, 1.0, 1.5, 0.22, 0.5e-4),  # printed as 0.22; R drops zeros, so four digits
    "Hoyt, 8 and 4": (8.0, 4.0, 0.0, 10.0, 0.7332, 0.5e-4),
}


@pytest.mark.parametrize("direction", [0.0, 1.1], ids=["along x", "askew"])
@pytest.mark.parametrize("case", DISTANCES)
def test_share_within_a_radius(case: str, direction: float):
    """Printed probabilities, whichever way the pattern is turned."""
    std_x, std_y, offset, radius, published, digit = DISTANCES[case]
    cos, sin = math.cos(direction), math.sin(direction)
    model = linear_model(
        {"x": Normal(std_x), "y": Normal(std_y)},
        [[cos, -sin], [sin, cos]],
        Radius(0, 1, radius),
        centre=[offset * cos, offset * sin],
    )
    tally = simulate([model], TRIALS, 31).tallies[0]

    assert published == pytest.approx(tally.good / TRIALS, abs=digit + error_of_share(published, TRIALS))


@pytest.mark.parametrize("case", DISTANCES)
def test_share_within_a_radius_without_simulation(case: str):
    """The same by quadrature: to half a unit of the printed digit, and to 1e-10 of distributions that scipy knows."""
    std_x, std_y, offset, radius, published, digit = DISTANCES[case]
    cos, sin = math.cos(0.7), math.sin(0.7)
    turn = np.array([[cos, -sin], [sin, cos]])
    covariance = turn @ np.diag([std_x**2, std_y**2]) @ turn.T
    found = normal_in_circle(turn @ [offset, 0.0], covariance, radius)

    assert published == pytest.approx(found, abs=digit)
    if std_x == std_y:
        assert stats.ncx2.cdf((radius / std_x) ** 2, 2, (offset / std_x) ** 2) == pytest.approx(found, abs=1e-10)
    else:
        assert pytest.approx(found, abs=0.5e-7) == 0.7332017  # computed here by Marcum's function and by quadrature


@pytest.mark.parametrize(("mean", "published"), [(0.0, 0.5467), (1.0, 0.4931)])
def test_share_within_a_band_on_one_axis(mean: float, published: float):
    """One axis, standard deviation 2, within 1.5 of nothing: printed 0.5467 centred and 0.4931 with a mean of 1."""
    model = linear_model({"x": Normal(2.0, mean)}, [[1.0]], Band(0, -1.5, 1.5))
    tally = simulate([model], TRIALS, 32).tallies[0]

    assert published == pytest.approx(tally.good / TRIALS, abs=0.5e-4 + error_of_share(published, TRIALS))


# share and r / sigma; 1.1774 and 2.4477 are published roundings, seen in the script of Farrell, Aided Navigation
# (2008), Example 4.24; all are computed here from sqrt(-2 ln(1 - p))
RAYLEIGH = [
    (0.5, 1.1774100),
    (0.632121, 1.4142136),
    (0.9, 2.1459660),
    (0.95, 2.4477468),
    (0.99, 3.0348543),
    (0.9973, 3.4393323),
]


def test_quantiles_of_a_distance():
    """Radii that hold 50, 63.2, 90, 95, 99 and 99.73 per cent, in standard deviations."""
    model = linear_model({"x": Normal(1.0), "y": Normal(1.0)}, np.eye(2), Radius(0, 1, 1.0))
    run = simulate([model], TRIALS, 33)

    for share, expected in RAYLEIGH:
        density = expected * math.exp(-0.5 * expected**2)
        error = error_of_quantile(share, density, TRIALS)
        assert expected == pytest.approx(quantile(run, 0, share), abs=1e-6 + error)


def test_nssda_factor():
    """95 % of a distance over the root of its mean square: 1.7308 (from memory; computed here 2.4477 / sqrt 2)."""
    model = linear_model({"x": Normal(1.0), "y": Normal(1.0)}, np.eye(2), Radius(0, 1, 1.0))
    run = simulate([model], TRIALS, 34)
    root_mean_square = math.sqrt(run.tallies[0].values[1, 0] / TRIALS)
    # the square is exponential of mean 2: its mean is known to 1 / sqrt N, so its root to half of that
    error = error_of_quantile(0.95, 2.4477 * 0.05, TRIALS) / math.sqrt(2.0) + 4.0 * 0.5 * 1.7308 / math.sqrt(TRIALS)

    assert pytest.approx(quantile(run, 0, 0.95) / root_mean_square, abs=0.5e-4 + error) == 1.7308


@pytest.mark.parametrize(
    ("inner", "outer", "exact", "published"),
    [(1.0, 2.0, 0.4375, 0.437), (2.0, 3.0, 0.0605469, 0.061), (3.0, np.inf, 0.0019531, 0.002)],
)
def test_shares_beyond_the_circle_that_holds_half(inner: float, outer: float, exact: float, published: float):
    """43.7 %, 6.1 % and 0.2 % lie between 1, 2, 3 and more times the radius that holds half (seen in an encyclopedia
    article, "Circular error probable"; exact shares computed here).
    """
    half = 1.1774100
    measures = [Radius(0, 1, times * half) for times in (inner, outer)]
    model = linear_model({"x": Normal(1.0), "y": Normal(1.0)}, np.eye(2), *measures)
    within_inner, within_outer = simulate([model], TRIALS, 35).tallies[0].passed / TRIALS
    error = error_of_share(exact, TRIALS)

    assert exact == pytest.approx(within_outer - within_inner, abs=1e-6 + error)
    # 43.75 % is printed as 43.7: cut off or rounded to even, so a whole half digit away
    assert published == pytest.approx(within_outer - within_inner, abs=0.5001e-3 + error)


# standard deviation across over that along, and r / (standard deviation along) for 50, 90, 95 and 99 % (computed here)
HOYT = {
    0.1: (0.68199, 1.64791, 1.96253, 2.57778),
    0.25: (0.72543, 1.66461, 1.97651, 2.58839),
    0.5: (0.87042, 1.73708, 2.03586, 2.63257),
    0.75: (1.02709, 1.90335, 2.18580, 2.74916),
    0.9: (1.11807, 2.04236, 2.33180, 2.89743),
}
SHARES = (0.50, 0.90, 0.95, 0.99)


@pytest.mark.parametrize("ratio", HOYT)
def test_radii_of_an_elongated_scatter(ratio: float):
    """Radii of a scatter that is wider one way than the other hold the shares they should, counted and integrated."""
    measures = [Radius(0, 1, radius) for radius in HOYT[ratio]]
    model = linear_model({"along": Normal(1.0), "across": Normal(ratio)}, np.eye(2), *measures)
    tally = simulate([model], 400_000, 36).tallies[0]

    for share, count in zip(SHARES, tally.passed, strict=True):
        exact = normal_in_circle(np.zeros(2), np.diag([1.0, ratio**2]), HOYT[ratio][SHARES.index(share)])
        assert share == pytest.approx(exact, abs=0.5e-5)
        # the last digit of a radius moves the share by less than itself, as no density here exceeds 1
        assert share == pytest.approx(count / 400_000, abs=0.5e-5 + error_of_share(share, 400_000))
