"""Jobs for tests: a plain blank and plain methods, to be varied by keyword. Lengths in mm, slopes and angles in rad."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from flipcheck.flip.model import FlipModel, flip_model
from flipcheck.job.records import Job

LENGTH, WIDTH, THICKNESS = 180.0, 110.0, 12.0

PINS: dict[str, Any] = {
    "name": "pins",
    "kind": "pins",
    "pins": [[90.0, 8.0], [90.0, 102.0]],
    "pin": {"diameter": 6.0},
    "hole": {"diameter": 6.05},
}
FENCE: dict[str, Any] = {
    "name": "fence",
    "kind": "fence",
    "fence": "front",
    "contacts": [20.0, 150.0],
    "stop": "left",
    "stop_at": 30.0,
    "set_by": "hand",
}
PROBE: dict[str, Any] = {
    "name": "probe",
    "kind": "probe",
    "corner": "front-left",
    "touch_in": [25.0, 35.0],
    "angle": "two touches",
    "spacing": 120.0,
}


def make_job(*methods: dict[str, Any], errors: dict[str, Any] | None = None, **head: Any) -> Job:
    """A job with one hole pair at (60, 40) unless `pairs` are given."""
    pair = {"name": "seat", "kind": "hole", "at": [60.0, 40.0], "allowed": 0.1}
    data = {
        "title": "plate",
        "flip": "left-right",
        "blank": {"size": [LENGTH, WIDTH, THICKNESS]},
        "pairs": [pair],
        "methods": list(methods),
        "errors": errors or {},
    }
    return Job.model_validate({**data, **head})


def hole(x: float, y: float, name: str | None = None) -> dict[str, Any]:
    """A hole pair at a point."""
    return {"name": name or f"at {x:g}, {y:g}", "kind": "hole", "at": [x, y], "allowed": 0.1}


def model_of(method: dict[str, Any], errors: dict[str, Any], *points: tuple[float, float], **head: Any) -> FlipModel:
    """The model of one method with hole pairs at the points."""
    pairs = [hole(*point) for point in points]
    job = make_job(method, errors=errors, **({"pairs": pairs} if points else {}), **head)
    return flip_model(job, job.methods[0])


def effects(model: FlipModel, source: str) -> NDArray[np.float64]:
    """What one unit of each draw of a named source does to x and y at each pair, shape (pairs, 2, draws)."""
    linear = model.linear
    rows = [linear.source_rows[i] for i, s in enumerate(linear.sources) if s.name == source]
    columns = np.concatenate([np.arange(linear.stds.size)[r] for r in rows]) if rows else np.zeros(0, dtype=int)
    return np.array([linear.coefficients[[t.x, t.y]][:, columns] for t in model.targets])
