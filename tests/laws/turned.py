"""The same job told otherwise: seen in a mirror, with its axes swapped, in another size, in inches."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

Table = dict[str, Any]
#: Errors that are angles or ratios, not lengths.
ANGLES = {"machine_squareness", "stock_squareness", "stock_parallelism", "fence_angle", "eye_angle"}
RATIOS = {"machine_scale_x", "machine_scale_y"}
#: Errors with the same bias in x and in y, which a mirror would turn about in one of them only.
VECTORS = {"positioning", "lost_motion", "rehoming", "clamping_shift"}
LEANING_EDGES = {"stock_squareness", "stock_parallelism"}
#: Numbers that are no lengths.
_PLAIN = {"angle", "breakout", "minutes", "sigmas", "top", "goal", *ANGLES, *RATIOS}

MIRRORS = {"x": np.diag([-1.0, 1.0]), "y": np.diag([1.0, -1.0]), "swap": np.array([[0.0, 1.0], [1.0, 0.0]])}
_SIDES = {
    "x": {"left": "right", "right": "left"},
    "y": {"front": "back", "back": "front"},
    "swap": {"left": "front", "front": "left", "right": "back", "back": "right"},
}


def lengths(job: Table, change: Callable[[float], float]) -> Table:
    """The job with every length changed."""

    def walk(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: v if key in _PLAIN else walk(v) for key, v in value.items()}
        if isinstance(value, list):
            return [walk(v) for v in value]
        return change(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else value

    return walk(job)


def in_inches(job: Table) -> Table:
    """The job as it is written in a file in inches."""
    return {**lengths(job, lambda mm: mm / 25.4), "units": "in"}


def fit_for(mirror: str, job: Table) -> Table:
    """The job without what has a handedness of its own, so that a mirror turns all that is left.

    The front edge is the datum of the blank: what leans, leans from it, and only a mirror in x leaves it where it is. A
    fence set by hand, or a blank laid by eye, does not know where the machine counts from, so with them the machine's
    geometry is out of the mirror.
    """
    errors = dict(job["errors"])
    if mirror != "x":
        errors = {key: v for key, v in errors.items() if key not in LEANING_EDGES}
    if any(m.get("set_by") == "hand" or m.get("angle") == "by eye" for m in job["methods"]):
        errors = {key: v for key, v in errors.items() if key not in {"machine_squareness", *RATIOS}}
    methods = job["methods"]
    if mirror != "swap":
        errors = {key: _without_bias(v) if key in VECTORS else v for key, v in errors.items()}
        methods = [{k: _without_bias(v) if k == "hole_position" else v for k, v in m.items()} for m in methods]
    return {**job, "errors": errors, "methods": methods}


def turned(mirror: str, job: Table) -> Table:
    """The job as it stands in a mirror across x or across y, or with x and y swapped."""
    size = job["blank"]["size"]

    def place(b: list[float]) -> list[float]:
        x, y = b
        return {"x": [size[0] - x, y], "y": [x, size[1] - y], "swap": [y, x]}[mirror]

    flip, blank = job["flip"], size
    if mirror == "swap":
        flip = {"left-right": "front-back", "front-back": "left-right"}.get(flip, flip)
        blank = [size[1], size[0], size[2]]
    return {
        **job,
        "flip": flip,
        "blank": {**job["blank"], "size": blank},
        "errors": _errors(mirror, job["errors"]),
        "pairs": [_pair(mirror, pair, place) for pair in job["pairs"]],
        "methods": [_method(mirror, method, place, size) for method in job["methods"]],
    }


def _without_bias(spread: Table) -> Table:
    return {key: v for key, v in spread.items() if key != "bias"}


def _errors(mirror: str, errors: Table) -> Table:
    """Angles turn the other way; the shear of the machine's axes keeps its sense when they are swapped."""
    other = ANGLES - ({"machine_squareness"} if mirror == "swap" else set())
    changed = {}
    for key, spread in errors.items():
        name = key
        if mirror == "swap" and key in RATIOS:
            name = key[:-1] + ("y" if key.endswith("x") else "x")
        biased = key in other and "bias" in spread
        changed[name] = {**spread, "bias": -spread["bias"]} if biased else spread
    return changed


def _pair(mirror: str, pair: Table, place: Callable[[list[float]], list[float]]) -> Table:
    pair = dict(pair)
    if "at" in pair:
        pair["at"] = place(pair["at"])
    if "points" in pair:
        pair["points"] = [place(point) for point in pair["points"]]
    if "angle" in pair:
        pair["angle"] = {"x": 180 - pair["angle"], "y": -pair["angle"], "swap": 90 - pair["angle"]}[mirror]
    return pair


def _method(mirror: str, method: Table, place: Callable[[list[float]], list[float]], size: list[float]) -> Table:
    turned = dict(method)
    for key in ("fence", "stop", "push", "corner"):
        if key in method:
            turned[key] = _sides(mirror, method[key])
    for key in ("pins", "bores"):
        if key in method:
            turned[key] = [place(point) for point in method[key]]
    if "rectangle" in method:
        (x1, y1), (x2, y2) = (place(corner) for corner in method["rectangle"])
        turned["rectangle"] = [[min(x1, x2), min(y1, y2)], [max(x1, x2), max(y1, y2)]]
    if "contacts" in method:
        turned["contacts"] = [_along(mirror, method["fence"], c, size) for c in method["contacts"]]
    if "stop_at" in method:
        turned["stop_at"] = _along(mirror, method["stop"], method["stop_at"], size)
    if mirror == "swap" and method["kind"] == "probe":
        turned["touch_in"] = method["touch_in"][::-1]
        turned["middle"] = [{"x": "y", "y": "x"}[axis] for axis in method.get("middle", [])]
    return turned


def _sides(mirror: str, words: str) -> str:
    """A side, or a corner such as "front-left", in the mirror; of a corner the front or the back comes first."""
    names = [_SIDES[mirror].get(word, word) for word in words.split("-")]
    return "-".join(sorted(names, key=lambda name: name in ("left", "right")))


def _along(mirror: str, side: str, distance: float, size: list[float]) -> float:
    """A place along a machine side in the mirror."""
    runs = "x" if side in ("front", "back") else "y"
    return (size[0] if runs == "x" else size[1]) - distance if mirror == runs else distance
