"""One error at a time through the exact simulation: each draw must move each pair as a coefficient of the model says.

Trial k of the simulation errs in its k-th draw alone, by a step so small that what is not of first order cannot be
seen; the last trial errs in none. So both programs tell, without any luck, who is drawn, how often, and what each
draw does, with its sign, by way of either face.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

import flipcheck
from flipcheck.flip.model import FlipModel, flip_model
from flipcheck.stack.measures import Largest

from .jobs import FIXED, random_job, to_toml
from .rigid import SPREAD_KEYS, World, dot, judge_web, misalignment, way

STEP = 1e-4  # mm, times the size of the draw below
SIZES = {"fence_angle": 0.003, "eye_angle": 0.003, "moisture": 1.0, "temperature": 10.0}
#: Of the step: what is not linear in it, and the golden section by which the simulation looks for a pushed pose.
ALLOWED = 2e-3 * STEP
#: Diameter of a hole less that of its pin, and clearance of a nest, mm: a lever arm is longer or shorter by half of it.
PLAY = 0.04
#: What the simulation calls its draws, where that is not the name of the error.
NAMES = {
    "hole": "hole_size",
    "pin": "pin_size",
    "play": "pin_play",
    "hole place": "hole_position",
    "bore place": "hole_position",
    "nest": "pocket_size",
    "second nest": "pocket_size",
}
CROWDS = {"pins: four", "pins: three, holes beforehand, front-back", "pins: four on a skewed machine, where some bind"}
JOBS = {name: job for name, job in FIXED.items() if name not in CROWDS}
JOBS |= {f"random {seed}": random_job(seed) for seed in range(12)}


class Halves:
    """In place of luck: every draw of a pose in the middle of what is free."""

    def random(self, shape: Any) -> np.ndarray:
        return np.full(shape, 0.5)

    def uniform(self, low: float, high: float, shape: Any) -> np.ndarray:
        return np.full(shape, 0.5 * (low + high))


class OneByOne(World):
    """A world in which each draw is nothing but in one trial, its own."""

    def __init__(self, job: dict[str, Any], trials: int) -> None:
        super().__init__(job, trials, 0)
        self.rng, self.tir = Halves(), 0.0
        self.names: list[str] = []

    def of(self, table: dict[str, Any], *key: Any) -> np.ndarray:
        def draw() -> np.ndarray:
            values = np.zeros(self.n)
            if any(k in SPREAD_KEYS for k in table):
                values[len(self.names)] = STEP * size(name)
                self.names.append(name)
            return values

        name = key[1] if key[0] == "between" else NAMES.get(key[0], key[0])
        return self.once(key, draw)

    def change(self, name: str) -> np.ndarray:
        """Without what is known of the change, which the model counts as its mean."""
        told = self.job.get("between", {}).get(name)
        return self.of(told if isinstance(told, dict) else {"bias": told}, "between", name)


def size(name: str) -> float:
    slope = name in SIZES or "square" in name or "scale" in name or "parallel" in name
    return SIZES.get(name, 0.003 if slope else 1.0)


def determined(method: dict[str, Any], flip: str) -> dict[str, Any] | None:
    """The method with little play, and pushed where the pose of a loose blank is luck; None if it cannot be."""
    if method["kind"] == "pins":
        if len(method["pins"]) > 2:
            return None
        (x1, y1), (x2, y2) = method["pins"]
        across, steep = abs(abs(y2 - y1) - abs(x2 - x1)), abs(y2 - y1) > abs(x2 - x1)
        if flip == "diagonal" and method.get("holes") == "beforehand" and across > 100 and "push" not in method:
            return None
        if flip == "diagonal" and method.get("holes") != "beforehand":
            steep = not steep
        loose = {"push": "left" if steep else "back", **method}
        return {**loose, "hole": {**method["hole"], "diameter": method["pin"]["diameter"] + PLAY}}
    if method["kind"] == "nest":
        return {"push": "front-left", **method, "clearance": PLAY}
    return method


def exact(job: dict[str, Any], method: dict[str, Any], model: FlipModel) -> tuple[list[str], np.ndarray, np.ndarray]:
    """Names of the draws; what each does to every output, (draws, M), and by face to x and y, (2, draws, P)."""
    world = OneByOne(job, 400)
    cutters, goes, _ = way(method["kind"])(world, method)
    assert goes.all()
    outputs: list[np.ndarray] = []
    faces: list[list[np.ndarray]] = []
    for target in model.targets:
        pair = next(p for p in job["pairs"] if p["name"] == target.pair.name)
        if target.at is None:
            outputs.append(judge_web(world, method.get("zero_z", "bed"), pair)[0])
            continue
        b = complex(*target.at)
        outputs += looked_at(world, cutters, pair, b)
        cuts = [c.cut(b, world.stroke("feature", pair["name"], c.setup.name)) for c in cutters]
        before = b - cuts[0]
        after = cuts[1] - world.grown(cuts[0]) - before  # what moves between the faces counts to face B
        faces += [[before.real, after.real], [before.imag, after.imag]]
    draws = len(world.names)
    assert draws < world.n
    found = np.array(outputs)
    by_face = np.array(faces).reshape(-1, 2, world.n)
    changes = (found - found[:, -1:])[:, :draws], (by_face - by_face[..., -1:])[..., :draws]
    return world.names, changes[0].T, np.moveaxis(changes[1], (0, 1), (2, 0))


def looked_at(world: World, cutters: list[Any], pair: dict[str, Any], b: complex) -> list[np.ndarray]:
    """Misalignment in x and y at b; of a slot also across it, of an outline at each end of each side, outward."""
    d = misalignment(world, cutters, pair, b)
    looked = [d.real, d.imag]
    if pair["kind"] == "slot":
        looked.append(dot(1j * np.exp(1j * np.radians(pair["angle"])), d))
    if pair["kind"] == "outline":
        points = [complex(*p) for p in pair["points"]]
        for start, end in zip(points, [*points[1:], points[0]], strict=True):
            outward = -1j * (end - start) / abs(end - start)
            looked += [dot(outward, misalignment(world, cutters, pair, p)) for p in (start, end)]
    return looked


def first_order(model: FlipModel) -> tuple[list[str], np.ndarray, np.ndarray]:
    """The same of the model: its coefficients, and what its contacts make of the step."""
    linear = model.linear
    names = [s.name.removeprefix("locator_") for s in linear.sources for _ in range(s.rows)]
    outputs: list[int] = []
    for t in model.targets:
        outputs += [t.measure.row] if t.at is None else [t.x, t.y]
        outputs += t.measure.rows if isinstance(t.measure, Largest) else ()
    seen = [row for t in model.targets if t.at for row in (t.x, t.y)]
    steps = np.diag([STEP * size(name) * (0.01 if name == "moisture" else 1.0) for name in names])
    poses = [
        np.array([c.mean_pose(c.offsets + c.forms @ step) - c.mean_pose(c.offsets) for step in steps])
        for c in linear.contacts
    ]
    rows = np.hstack([steps, *poses])
    return names, rows @ linear.coefficients[outputs].T, rows @ np.swapaxes(model.by_face[:, seen], 1, 2)


def unmatched(names: list[str], theirs: np.ndarray, others: list[str], ours: np.ndarray) -> list[str]:
    """Draws that have no counterpart of the same name and effect; those without any effect do not count."""
    open_ = {i for i in range(len(others)) if np.abs(ours[i]).max(initial=0.0) > ALLOWED}
    left = []
    for name, effect in zip(names, theirs, strict=True):
        if np.abs(effect).max(initial=0.0) <= ALLOWED:
            continue
        near = (i for i in open_ if others[i] == name and np.abs(ours[i] - effect).max() <= ALLOWED)
        found = next(near, None)
        if found is None:
            left.append(f"{name}, simulated: {np.round(effect / STEP / size(name), 3)}")
        open_.discard(found)
    return left + [f"{others[i]}, model: {np.round(ours[i] / STEP / size(others[i]), 3)}" for i in sorted(open_)]


def by_side(by_face: np.ndarray) -> np.ndarray:
    """What each draw does by way of A and by way of B, side by side."""
    return np.concatenate(list(by_face), axis=1)


def from_face_a(method: dict[str, Any]) -> bool:
    """Whether the blank is found by what was cut with face A; the model then counts the error of that cut to face A."""
    if method["kind"] == "nest":
        return method.get("outline", "beforehand") == "with face A"
    return method["kind"] in ("pins", "bores") and method.get("holes", "with face A") == "with face A"


@pytest.mark.parametrize("name", JOBS)
def test_each_draw_moves_each_pair_as_in_the_exact_simulation(name: str):
    """The draws of both programs are the same, one by one; where no hole was cut with face A also by each face."""
    job = {**JOBS[name], "errors": {k: v for k, v in JOBS[name]["errors"].items() if k != "bit_runout"}}
    job["methods"] = [m for m in (determined(m, job["flip"]) for m in job["methods"]) if m]
    parsed = flipcheck.parse_job(to_toml(job))
    for method, record in zip(job["methods"], parsed.methods, strict=True):
        model = flip_model(parsed, record)
        names, total, by_face = exact(job, method, model)
        others, ours, ours_by_face = first_order(model)
        assert not unmatched(names, total, others, ours), method["name"]
        if not from_face_a(method):
            assert not unmatched(names, by_side(by_face), others, by_side(ours_by_face)), method["name"]
