"""Geometry that cannot be: every number may be right by itself and the part or the setup still impossible."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from flipcheck.job.between import of_between
from flipcheck.job.checks.part import NEARLY, Part, Place
from flipcheck.job.checks.setups import of_method
from flipcheck.job.findings import Finding, Path, names_of
from flipcheck.job.records import HolePair, OutlinePair, SlotPair, WebPair
from flipcheck.job.uses import of_use

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from flipcheck.errors import Problem
    from flipcheck.job.between import Between
    from flipcheck.job.records import Job, Method, Pair


def problems_of(job: Job) -> tuple[Problem, ...]:
    """What is impossible in a job built in Python; a job that was read from a file has been through this."""
    pairs, methods = dict(enumerate(job.pairs)), dict(enumerate(job.methods))
    findings = impossible(Part(job.blank, job.flip, job.units), pairs, methods, job.between)
    return tuple(finding.problem(names_of(job), {}) for finding in findings)


def impossible(
    part: Part, pairs: Mapping[int, Pair], methods: Mapping[int, Method], between: Between | None = None
) -> list[Finding]:
    """All that is impossible in the pairs and methods that could be read, each given by its place in the job."""
    found = list(_skim(part))
    found += [
        replace(finding, path=("pairs", number, *finding.path))
        for number, pair in pairs.items()
        for finding in of_pair(pair, part)
    ]
    found += [
        replace(finding, path=("methods", number, *finding.path))
        for number, method in methods.items()
        for finding in of_method(method, part)
    ]
    if between is not None:
        found += [replace(finding, path=("between", *finding.path)) for finding in of_between(between)]
    return found


def _skim(part: Part) -> Iterator[Finding]:
    """More skimmed off face A than there is."""
    if part.blank is not None and part.blank.skimmed >= part.blank.thickness:
        needed = f"a skim_a below the thickness of {part.text(part.blank.thickness)}"
        yield Finding("depth-outside", ("blank", "skim_a"), needed, part.text(part.blank.skimmed))


def of_pair(pair: Pair, part: Part) -> Iterator[Finding]:
    """What is impossible in one pair; paths are counted from the pair."""
    if isinstance(pair, HolePair | SlotPair | OutlinePair):
        yield from of_use(pair, part)
    if isinstance(pair, SlotPair | OutlinePair) and pair.allowed is None and pair.use is None:
        yield Finding("no-limit", (), "a limit: allowed, or use", "neither", "allowed = 0.1")
    if isinstance(pair, OutlinePair):
        yield from _outline(pair.points, part)
        return
    yield from part.off_blank(("at",), pair.at)
    if isinstance(pair, HolePair):
        yield from _hole_limit(pair, part)
    if isinstance(pair, WebPair):
        yield from _web(pair, part)


def _hole_limit(pair: HolePair, part: Part) -> Iterator[Finding]:
    if pair.use in ("countersink", "ring"):
        return
    if pair.allowed is not None and pair.bolt is not None:
        yield Finding("two-limits", ("allowed",), "one limit: allowed, or bolt with hole_a", "both")
    elif pair.allowed is None and pair.bolt is None:
        yield Finding("no-limit", (), "a limit: allowed, or bolt with hole_a", "neither", "allowed = 0.15")
    if pair.bolt is None:
        # Where hole_b was left out it is hole_a: one telling is enough.
        given = {"hole_b": pair.hole_b, "hole_a": pair.hole_a}
        for key in ({size: key for key, size in given.items() if size is not None}).values():
            yield Finding("option-unused", (key,), "bolt beside it, since it acts only with a bolt", key)
        return
    if pair.hole_a is None or pair.hole_b is None:
        yield Finding("bolt-without-hole", ("bolt",), "hole_a beside bolt, the diameter of the hole it passes")
        return
    for key, hole in (("hole_a", pair.hole_a), ("hole_b", pair.hole_b)):
        if pair.bolt >= hole and (key == "hole_a" or pair.hole_b != pair.hole_a):
            came = f"bolt = {part.text(pair.bolt)} in {key} = {part.text(hole)}"
            yield Finding("bolt-too-big", ("bolt",), "a bolt smaller than its hole", came)


def _web(pair: WebPair, part: Part) -> Iterator[Finding]:
    low, high = pair.limits
    if math.isinf(low) and math.isinf(high):
        needed = "a limit: min_web, max_web or min_overlap"
        yield Finding("no-limit", (), needed, "none of them", "min_web = 1.5")
    elif low > high:
        given = {"min_web": pair.min_web, "max_web": pair.max_web, "min_overlap": pair.min_overlap}
        came = ", ".join(f"{key} = {part.text(value)}" for key, value in given.items() if value is not None)
        if pair.min_overlap is None:
            yield Finding("limits-crossed", ("min_web",), "a min_web no larger than max_web", came)
        else:
            yield Finding(
                "limits-crossed", ("min_overlap",), "a min_overlap no larger than the overlap that min_web allows", came
            )
    if part.blank is None:
        return
    thickness = part.blank.thickness
    for key, depth in (("depth_a", pair.depth_a), ("depth_b", pair.depth_b)):
        if not 0.0 <= depth <= thickness + NEARLY:
            needed = f"a depth from 0 to the thickness of {part.text(thickness)}"
            yield Finding("depth-outside", (key,), needed, part.text(depth))
    if pair.depth_a == pair.depth_b == 0.0:
        yield Finding("depth-outside", ("depth_a",), "a cut from one face at least", "depths of 0 from both")
    elif 0.0 <= pair.depth_a < part.blank.skimmed - NEARLY < thickness:
        needed = f"a depth of the {part.text(part.blank.skimmed)} skimmed off all of face A, or more"
        yield Finding("depth-outside", ("depth_a",), needed, part.text(pair.depth_a))


def _outline(points: tuple[Place, ...], part: Part) -> Iterator[Finding]:
    path: Path = ("points",)
    for number, point in enumerate(points):
        yield from part.off_blank((*path, number), point)
    if len(points) < 3:
        yield Finding("outline-points", path, "at least 3 points", str(len(points)))
        return
    repeated = [number for number in range(len(points)) if math.dist(points[number - 1], points[number]) < NEARLY]
    for number in repeated:
        hint = "leave the last point out, the outline closes itself" if number == 0 else "leave one of the two out"
        came = f"{part.text(*points[number])} twice"
        at = number or len(points) - 1
        yield Finding("outline-repeats", (*path, at), "each point different from the one before it", came, hint)
    if repeated:
        return
    first = points[0]
    far = max(points, key=lambda point: math.dist(first, point))
    if all(_distance_off(first, far, point) < NEARLY for point in points):
        yield Finding("outline-flat", path, "an outline that encloses something", "points that lie on one line")
        return
    crossing = _crossing(points)
    if crossing:
        one, other = (f"the side from point {side + 1} to point {(side + 1) % len(points) + 1}" for side in crossing)
        came = f"{one} meets {other}"
        yield Finding(
            "outline-crosses", path, "an outline that does not meet itself", came, "the points in order around"
        )


def _distance_off(a: Place, b: Place, point: Place) -> float:
    """How far a point lies from the line through a and b."""
    return abs(_turn(a, b, point)) / math.dist(a, b)


def _turn(a: Place, b: Place, c: Place) -> float:
    """Twice the area of the triangle a, b, c; positive when it turns left."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _crossing(points: tuple[Place, ...]) -> tuple[int, int] | None:
    """The first two sides that meet elsewhere than at a common end; side i runs from point i to the next."""
    count = len(points)
    sides = [(points[number], points[(number + 1) % count]) for number in range(count)]
    boxes = [(min(a[0], b[0]), max(a[0], b[0]), min(a[1], b[1]), max(a[1], b[1])) for a, b in sides]
    for i in range(count):
        a, b = sides[i]
        after = sides[(i + 1) % count][1]
        if _turn(a, b, after) == 0.0 and (b[0] - a[0]) * (after[0] - b[0]) + (b[1] - a[1]) * (after[1] - b[1]) < 0.0:
            return i, (i + 1) % count  # runs back along itself
        left, right, low, high = boxes[i]
        for j in range(i + 2, count - (i == 0)):
            other = boxes[j]
            if (
                other[0] <= right
                and other[1] >= left
                and other[2] <= high
                and other[3] >= low
                and _meet(*sides[i], *sides[j])
            ):
                return i, j
    return None


def _meet(a: Place, b: Place, c: Place, d: Place) -> bool:
    """Whether two sides whose boxes overlap have a point in common."""
    return _turn(a, b, c) * _turn(a, b, d) <= 0.0 and _turn(c, d, a) * _turn(c, d, b) <= 0.0
