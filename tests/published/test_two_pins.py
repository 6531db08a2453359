"""Two round pins in two round holes: how far the blank turns and shifts, and whether it goes on at all.

No handbook example with numbers could be read; exact limits are geometry, computed here.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, special

from flipcheck.flip.model import flip_model
from flipcheck.job.records import Job
from flipcheck.stack.contact.two_pins import Hang
from flipcheck.stack.linear import LinearModel
from flipcheck.stack.measures import Band, Radius
from flipcheck.stack.monte_carlo.simulate import simulate
from flipcheck.stack.spreads import Uniform
from flipcheck.stack.worst_case import bounds
from tests.stack.models import ERRORS_ALLOWED, error_of_share, linear_model, mean_and_std, two_pins

TRIALS = 1_000_000
SPACING = 200.0
FIRST, SECOND = 0.10, 0.15  # diametral clearances
RADIAL = (0.5 * FIRST, 0.5 * SECOND)
TURN = (0.0, -1.0 / SPACING, 1.0 / SPACING)
ANY = Band(0, -np.inf, np.inf)


def turn_model(hang: Hang, mismatch: float = 0.0) -> LinearModel:
    """The turn of a blank whose holes are `mismatch` farther apart than its pins."""
    contact = two_pins(hang, RADIAL, pitch=[1.0])
    return linear_model({"mismatch": Uniform(0.0, mismatch)}, [[0.0, *TURN]], ANY, contacts=(contact,))


def test_largest_turn_with_equal_spacings():
    """theta_max = 2 asin(rho / 2 L), rho = (c1 + c2) / 2: 6.25e-4, here and in the handbook form atan((c1 + c2) / 2 L).

    The exact angle, the handbook's and the model's first order differ by parts of rho^2 / L^2, 4e-7.
    """
    rho = 0.5 * (FIRST + SECOND)
    exact = 2.0 * math.asin(rho / (2.0 * SPACING))
    worst = bounds(turn_model(Hang.LOOSE), ANY).worst

    assert exact == pytest.approx(worst, rel=(rho / SPACING) ** 2)
    assert math.atan((FIRST + SECOND) / (2.0 * SPACING)) == pytest.approx(worst, rel=(rho / SPACING) ** 2)
    assert pytest.approx(worst, abs=0.5e-9) == 6.25000e-4


@pytest.mark.parametrize(("mismatch", "expected"), [(0.0, 6.25000e-4), (0.03, 6.06688e-4), (-0.03, 6.06688e-4)])
def test_largest_turn_with_unequal_spacings(mismatch: float, expected: float):
    """cos theta_max = (Lh^2 + Lp^2 - rho^2) / (2 Lh Lp), a triangle of both spacings and rho: no draw turns farther.

    To first order both spacings are 200, which is good to half of 0.03 / 200 in the angle.
    """
    rho, holes = 0.5 * (FIRST + SECOND), SPACING + abs(mismatch)
    exact = math.acos((holes**2 + SPACING**2 - rho**2) / (2.0 * holes * SPACING))
    largest = np.abs(simulate([turn_model(Hang.LOOSE, mismatch)], TRIALS, 51).tallies[0].ends).max()

    assert expected == pytest.approx(exact, abs=0.5e-9)
    assert 0.98 * exact < largest <= exact * (1.0 + 0.5 * abs(mismatch) / SPACING + 1e-9)


@pytest.mark.parametrize(("mismatch", "expected"), [(0.1249, 1.0), (-0.1249, 1.0), (0.1251, 0.0), (-0.1251, 0.0)])
def test_unequal_spacings_go_on_within_the_mean_clearance(mismatch: float, expected: float):
    """The blank goes on where holes and pins differ in spacing by at most rho = (c1 + c2) / 2 = 0.125."""
    tally = simulate([turn_model(Hang.LOOSE, mismatch)], 1000, 52).tallies[0]

    assert expected == tally.on / tally.trials


def test_turn_of_two_places_taken_for_independent():
    """sigma = sqrt(c1^2 + c2^2) / 4 L = 2.25347e-4 for two discs that know nothing of each other, none above 6.25e-4.

    Each disc is the first hole of a hole-and-slot contact of its own.
    """
    contacts = tuple(two_pins(Hang.SLOT, (c, c), key=f"pin {i}") for i, c in enumerate(RADIAL))
    model = linear_model({}, [[0.0, -1.0 / SPACING, 0.0, 0.0, 1.0 / SPACING, 0.0]], ANY, contacts=contacts)
    run = simulate([model], TRIALS, 53)
    _, std = mean_and_std(run, 0)

    assert math.hypot(FIRST, SECOND) / (4.0 * SPACING) == pytest.approx(2.25347e-4, abs=0.5e-9)
    # a sum of two discs seen along an axis has less kurtosis than a normal law
    assert pytest.approx(std, abs=0.5e-9 + ERRORS_ALLOWED * std / math.sqrt(2.0 * TRIALS)) == 2.25347e-4
    assert np.abs(run.tallies[0].ends).max() <= 6.25e-4


def test_turn_of_a_rigid_blank_on_two_round_pins():
    """Two round holes a fixed spacing apart shift along the pins together, which leaves more room across: the turn then
    scatters more than two independent discs would let it.

    By quadrature over the common shift u with weight sqrt(c1^2 - u^2) sqrt(c2^2 - u^2): each place across is uniform
    over its chord, with a variance of a third of the half chord squared.
    """
    c1, c2 = RADIAL

    def weight(u: float) -> float:
        return math.sqrt((c1**2 - u**2) * (c2**2 - u**2))

    def third_of_squares(u: float) -> float:
        return weight(u) * ((c1**2 - u**2) + (c2**2 - u**2)) / 3.0

    variance = integrate.quad(third_of_squares, -c1, c1)[0] / integrate.quad(weight, -c1, c1)[0]
    expected = math.sqrt(variance) / SPACING
    _, std = mean_and_std(simulate([turn_model(Hang.LOOSE)], TRIALS, 54), 0)

    assert expected == pytest.approx(std, abs=ERRORS_ALLOWED * std / math.sqrt(2.0 * TRIALS))
    assert expected > 1.02 * 2.25347e-4


def pins_job(**changes: object) -> Job:
    """A job with one pair at the first of two pins; hole 0.05 wider than pin."""
    method = {
        "name": "pins",
        "kind": "pins",
        "pins": [[90.0, 8.0], [90.0, 102.0]],
        "pin": {"diameter": 6.0},
        "hole": {"diameter": 6.05},
    }
    return Job.model_validate(
        {
            "flip": "left-right",
            "blank": {"size": [180.0, 110.0, 12.0]},
            "pairs": [{"name": "at the pin", "kind": "hole", "at": [90.0, 8.0], "allowed": 0.025}],
            "methods": [{**method, **changes}],
        }
    )


def test_hole_on_its_pin_scatters_like_a_disc():
    """With a slot as second hole a pair at the first pin has standard deviation c/4 an axis and mean distance c/3, with
    c the diametral clearance, and never strays more than c/2.
    """
    clearance = 0.05
    job = pins_job(second_hole="slot")
    model = flip_model(job, job.methods[0]).linear
    run = simulate([model], TRIALS, 55)
    tally = run.tallies[0]

    for axis in (0, 1):
        _, std = mean_and_std(run, axis)
        # seen along an axis a disc has kurtosis 2
        assert clearance / 4.0 == pytest.approx(std, abs=ERRORS_ALLOWED * std / math.sqrt(4.0 * TRIALS))
    # a distance with variance c^2 (1/8 - 1/9)
    of_mean = ERRORS_ALLOWED * clearance / math.sqrt(72.0 * TRIALS)
    assert clearance / 3.0 == pytest.approx(run.origins[0].values[0] + tally.values[0, 0] / TRIALS, abs=of_mean)
    assert tally.ends[0, 1] <= 0.5 * clearance * (1.0 + 1e-12)
    assert bounds(model, Radius(0, 1, 1.0)).worst == pytest.approx(0.5 * clearance, rel=2.4e-6)


@pytest.mark.parametrize("std", [0.01, 0.03])
def test_share_of_drilled_blanks_that_go_on(std: float):
    """Two holes drilled with a scatter err in spacing by sqrt 2 of it; the blank goes on within 0.05 of clearance."""
    job = pins_job(holes="beforehand", hole_position={"std": std})
    tally = simulate([flip_model(job, job.methods[0]).linear], TRIALS, 56).tallies[0]
    expected = float(special.erf(0.05 / (std * math.sqrt(2.0)) / math.sqrt(2.0)))

    assert expected == pytest.approx(tally.on / TRIALS, abs=error_of_share(expected, TRIALS))
