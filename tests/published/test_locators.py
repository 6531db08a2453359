"""Three locators in the plane: how far a drilled point strays when each of them errs.

W. Polini and G. Moroni, p. 204 of Models for Computer Aided Tolerancing in Design and Manufacturing (2007; title and
year from memory), after Armillotta et al. 2003: locators at x2 and x3 set one axis and a locator at y1 the other; the
density of a hole's place has the prefactor (x3 - x2) / (2 pi) over (Y - y1)^2 + (X - x2)^2 + (X - x3)^2 (seen in a text
fragment that has lost sigma and any root). With them restored here,

    sqrt(det Cov) = sigma^2 sqrt((Y - y1)^2 + (X - x2)^2 + (X - x3)^2) / (x3 - x2)

It is checked through the physics of a fence, and of touching off, not through a formula of our own.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from flipcheck.flip.model import flip_model
from flipcheck.job.records import Job

Array = NDArray[np.float64]

LENGTH, WIDTH = 260.0, 170.0
SIGMA = 0.02
MACHINE, HAND = ({"kind": "fence", "set_by": by} for by in ("machine", "hand"))
PROBE = {"kind": "probe"}
WAYS = {"fence set by the machine": MACHINE, "fence set by hand": HAND, "touching off": PROBE}


def method(way: dict[str, Any], x2: float, x3: float, y1: float) -> dict[str, Any]:
    """Contacts or touches at x2 and x3 on the front, at y1 on the left, at the same machine places in both setups."""
    if way["kind"] == "fence":
        place = {"fence": "front", "contacts": [x2, x3], "stop": "left", "stop_at": y1}
        return {"name": "located", **way, **place, "after_flip": "same side"}
    place = {"corner": "front-left", "touch_in": [x2, y1], "angle": "two touches", "spacing": x3 - x2}
    return {"name": "located", **way, **place, "after_flip": "same side", "stylus": "probe"}


def covariance(way: dict[str, Any], x2: float, x3: float, y1: float, point: tuple[float, float]) -> Array:
    """Covariance of what face B alone does at a machine point, in machine axes, shape (2, 2)."""
    error = "seating" if way["kind"] == "fence" else "probe_repeatability"
    job = Job.model_validate(
        {
            "flip": "left-right",
            "blank": {"size": [LENGTH, WIDTH, 10.0]},
            "errors": {error: {"std": SIGMA}},
            # after a left-right turn the machine point (X, Y) is at (L - X, Y) of the blank
            "pairs": [{"name": "hole", "kind": "hole", "at": [LENGTH - point[0], point[1]], "allowed": 0.1}],
            "methods": [method(way, x2, x3, y1)],
        }
    )
    model = flip_model(job, job.methods[0])
    rows = model.by_face[1][[model.targets[0].x, model.targets[0].y]]
    assert np.count_nonzero(np.abs(rows).sum(axis=0)) == 3
    in_machine = np.array([[-1.0, 0.0], [0.0, 1.0]]) @ rows
    return in_machine @ np.diag(np.square(model.linear.stds)) @ in_machine.T


@pytest.mark.parametrize("way", WAYS)
def test_covariance_identity_at_random_places(way: str):
    """The identity holds at any locators and any point, to 1e-12, for fence and probe alike."""
    rng = np.random.default_rng(204)
    for _ in range(40):
        x2 = rng.uniform(1.0, 100.0)
        x3 = x2 + rng.uniform(20.0, 150.0)
        y1, x, y = rng.uniform(1.0, 169.0), rng.uniform(0.0, LENGTH), rng.uniform(0.0, WIDTH)
        expected = SIGMA**2 * math.sqrt((y - y1) ** 2 + (x - x2) ** 2 + (x - x3) ** 2) / (x3 - x2)
        found = math.sqrt(np.linalg.det(covariance(WAYS[way], x2, x3, y1, (x, y))))

        assert expected == pytest.approx(found, rel=1e-12)


@pytest.mark.parametrize("way", WAYS)
def test_covariance_entries_at_random_places(way: str):
    """Each entry of the covariance, from the Jacobian of three locators (worked out on paper)."""
    rng = np.random.default_rng(205)
    for _ in range(20):
        x2 = rng.uniform(1.0, 100.0)
        x3 = x2 + rng.uniform(20.0, 150.0)
        y1, x, y = rng.uniform(1.0, 169.0), rng.uniform(0.0, LENGTH), rng.uniform(0.0, WIDTH)
        unit = (SIGMA / (x3 - x2)) ** 2
        cross = unit * (y - y1) * ((x3 - x) - (x - x2))
        along_x = SIGMA**2 + 2.0 * unit * (y - y1) ** 2
        along_y = unit * ((x3 - x) ** 2 + (x - x2) ** 2)
        expected = np.array([[along_x, cross], [cross, along_y]])

        assert expected == pytest.approx(covariance(WAYS[way], x2, x3, y1, (x, y)), rel=1e-10, abs=1e-16)


# x2 = 20, x3 = 180, y1 = 60 mm, sigma = 0.02 mm: point, variances of x and y, covariance in mm^2, root of the
# determinant (all computed here)
ROWS = [
    ((100.0, 60.0), (0.000400, 0.000200, 0.0), 2.828427e-4),
    ((150.0, 100.0), (0.000450, 0.000278, -0.000063), 3.482097e-4),
    ((0.0, 0.0), (0.000513, 0.000513, -0.000188), 4.769696e-4),
]


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize(("point", "entries", "root"), ROWS)
def test_worked_rows(way: str, point: tuple[float, float], entries: tuple[float, float, float], root: float):
    """Three points worked out in numbers, to half a unit of the last digit."""
    found = covariance(WAYS[way], 20.0, 180.0, 60.0, point)

    assert entries == pytest.approx((found[0, 0], found[1, 1], found[0, 1]), abs=0.5e-6)
    assert root == pytest.approx(math.sqrt(np.linalg.det(found)), abs=0.5e-10)
