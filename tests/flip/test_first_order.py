"""First order by two routes: uncertain numbers pushed through the formulas of the flip, and its coefficients."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from uncertainties import ufloat

from flipcheck.flip.frames import at
from flipcheck.flip.ledger import Ledger
from flipcheck.flip.model import FlipModel, flip_model, physics
from flipcheck.job.records import Errors
from flipcheck.stack.sources import Source
from tests.make import FENCE, PINS, PROBE, hole, make_job

#: Newer versions warn of their own basic use.
pytestmark = [
    pytest.mark.filterwarnings("ignore::FutureWarning"),
    pytest.mark.filterwarnings("ignore:Using UFloat objects with std_dev==0"),  # what is known exactly
]

SLOPES = {"machine_squareness", "stock_squareness", "stock_parallelism", "fence_angle", "eye_angle"}
EVERY = {
    name: {"std": 0.0004 if name in SLOPES or "scale" in name else 0.013, "bias": 0.0001}
    for name in Errors.model_fields
    if name != "bit_runout"
} | {"bit_runout": 0.03}
POINTS = [(20.0, 15.0), (150.0, 90.0)]
METHODS = {
    "pins": PINS,
    "pins beforehand, pushed": {**PINS, "holes": "beforehand", "hole_position": {"std": 0.02}, "push": "left"},
    "pins, same stroke, slot": {**PINS, "bed_holes": "same stroke", "second_hole": "slot"},
    "pins, slot": {**PINS, "second_hole": "slot"},
    "nest": {"name": "nest", "kind": "nest", "clearance": 0.4, "push": "left", "pocket_size": {"std": 0.013}},
    "fence by hand": FENCE,
    "fence by machine, rail": {**FENCE, "set_by": "machine", "rail": True},
    "two touches, middle": {**PROBE, "middle": ["y"]},
    "probe, fence": {**PROBE, "angle": "fence", "fence": "front", "contacts": [20.0, 90.0], "after_flip": "same side"},
}
#: Standard deviations given to the three rows of a contact, mm.
PLAY = (0.011, 0.012, 0.013)


class Given(Ledger):
    """A ledger that hands out values, by the keys of sources and contacts: the same for both faces."""

    def __init__(self, values: dict[str, np.ndarray]) -> None:
        super().__init__()
        self.values = values

    def take(self, name: str, part: str, spread: Any, life: Any, face: Any, rows: int = 1) -> np.ndarray:
        """The value of an error, or nothing where it is not given."""
        given = spread is not None and (spread.std or spread.mean)
        return self.values[Source(name, part, spread, life, rows).key] if given else self.zeros(rows)

    def rest(self, key: str, face: Any, forms: Any, play: Any) -> np.ndarray:
        """The value of a contact."""
        return self.values[f"{key}/setup {face}"]


def uncertain(source: Source) -> np.ndarray:
    """An uncertain number for each row of a source, shape (rows, 1)."""
    return np.array([[ufloat(source.spread.mean, source.spread.std)] for _ in range(source.rows)])


def pushed(model: FlipModel, job: Any) -> np.ndarray:
    """The field of misalignment as uncertain numbers, shape (2, 3)."""
    values = {source.key: uncertain(source) for source in model.linear.sources}
    values |= {c.key: np.array([[ufloat(0.0, std)] for std in PLAY]) for c in model.linear.contacts}
    return physics(job, job.methods[0], Given(values))[0][:, :, 0]


@pytest.mark.parametrize("flip", ["left-right", "front-back", "diagonal"])
@pytest.mark.parametrize("name", METHODS)
def test_two_routes_agree(name: str, flip: str):
    """Nominal values and standard deviations of x, y and the angle agree to 1e-9, whichever way they are found."""
    method = METHODS[name]
    if flip == "diagonal":
        method = {**method, "pins": [[20.0, 20.0], [95.0, 95.0]]} if method["kind"] == "pins" else dict(method)
        method |= {"contacts": [20.0, 90.0], "after_flip": "same side"} if method["kind"] == "fence" else {}
        method |= {"after_flip": "second pocket"} if method["kind"] == "nest" else {}
        method |= {"spacing": 60.0} if method.get("angle") == "two touches" else {}
    if flip == "front-back" and method.get("bed_holes") == "same stroke":
        method = {**method, "pins": [[20.0, 55.0], [160.0, 55.0]]}
    job = make_job(method, errors=EVERY, flip=flip, pairs=[hole(*point) for point in POINTS])
    model = flip_model(job, job.methods[0])
    field = pushed(model, job)
    linear = model.linear
    stds = np.concatenate([linear.stds, *(PLAY for _ in linear.contacts)])
    means = np.concatenate([linear.source_means, np.zeros(3 * len(linear.contacts))])
    angle = 0.5 * (field[1, 1] - field[0, 2])
    turn = 0.5 * (linear.shared[4] - linear.shared[2])

    assert pytest.approx(angle.s, rel=1e-9, abs=1e-18) == np.sqrt(np.square(turn * stds).sum())
    assert pytest.approx(angle.n, rel=1e-9, abs=1e-18) == turn @ means
    for x, y in POINTS:
        weights = np.kron(np.eye(2), [1.0, x, y]) @ linear.shared
        for route, coefficients in zip(at(field[:, :, None], (x, y))[:, 0], weights, strict=True):
            assert pytest.approx(route.s, rel=1e-9, abs=1e-15) == np.sqrt(np.square(coefficients * stds).sum())
            assert pytest.approx(route.n, rel=1e-9, abs=1e-15) == coefficients @ means
