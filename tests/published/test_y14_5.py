"""ASME Y14.5, appendix B: fasteners through holes, as worst cases of stacks in the plane."""

from __future__ import annotations

import numpy as np
import pytest

from flipcheck.decide.validation.published_stacks import hole
from flipcheck.stack.spreads import Circle, Exactly
from flipcheck.stack.stack import Stack
from flipcheck.stack.terms import Term

# fastener, position zone of the clearance hole, that of the tight one, and the hole needed
HOLES = {
    "floating": (0.250, 0.014, 0.0, 0.264),  # inch, public handout, seen
    "fixed": (0.250, 0.014, 0.014, 0.278),  # the same handout, seen
    "fixed, all of it to one part": (0.250, 0.024, 0.0, 0.274),  # G. Cogorno, Tolerancing fixed fasteners, Fig. 8-5
    "fixed, split in equal parts": (6.0, 0.22, 0.22, 6.44),  # mm; 0.22 seen, 6.44 and 6 from memory
}


@pytest.mark.parametrize("case", HOLES)
def test_hole_for_a_fastener(case: str):
    """H = F + T for a floating fastener and F + T1 + T2 for a fixed one."""
    fastener, in_hole, in_pin, needed = HOLES[case]

    assert needed == pytest.approx(hole(fastener, in_hole, in_pin), abs=1e-12)


def test_hole_for_a_pin_out_of_square():
    """F 6.35, T1 0.2, T2 0.4, projecting 12.0 from 8.0 of engagement: H = 8.15 mm.

    Inputs and the beginning of the sum were seen; its last line was not readable, so the result is computed here.
    """
    assert pytest.approx(hole(6.35, 0.2, 0.4, 12.0 / 8.0), abs=1e-12) == 8.15


def test_no_leaning_pin_passes_the_worst_case():
    """Pins through two random points of the zones at either end of their hole, worked out without the engine.

    400 000 of them come near the tip offset of (8.15 - 6.35 - 0.2) / 2 = 0.8 mm, and none passes it.
    """
    rng = np.random.default_rng(8)
    angles, radii = rng.uniform(0.0, 2.0 * np.pi, (2, 400_000)), 0.2 * np.sqrt(rng.random((2, 400_000)))
    upper, lower = radii * np.exp(1j * angles)
    tips = np.abs(upper + (upper - lower) * 12.0 / 8.0)
    ends = 0.5 * (hole(6.35, 0.2, 0.4, 12.0 / 8.0) - 6.35 - 0.2)

    assert 0.95 * ends < tips.max() <= ends


def test_position_error_from_offsets():
    """Goodheart-Willcox, GD&T (2021), p. 312: offsets 0.006 and -0.001 inch; the result 0.0121655 is computed here."""
    point = Stack(
        [Term("x", Exactly(0.006), coefficient=(1.0, 0.0)), Term("y", Exactly(-0.001), coefficient=(0.0, 1.0))]
    )

    assert pytest.approx(2.0 * point.nominal, abs=0.5e-7) == 0.0121655


def test_two_zones_add_up_when_drawn():
    """Two points on the rims of zones of 0.014 lie at most 0.014 apart, and every distance below that occurs."""
    found = Stack([Term("one", Circle(0.007)), Term("other", Circle(0.007))]).monte_carlo(100_000, rng=1)

    assert 0.0139 < found.samples[-1] <= 0.014 + 1e-15
    assert found.samples[0] < 0.0001
