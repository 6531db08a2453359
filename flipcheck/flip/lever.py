"""How a source comes to its effect at a pair: by how many faces, which way, over what lever arm, from where."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.flip.movement import MOVING
from flipcheck.job.flip_line import ON_THE_LINE, flip_line

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from flipcheck.flip.frames import Point
    from flipcheck.flip.model import FlipModel
    from flipcheck.flip.targets import Target
    from flipcheck.job.flip_line import FlipLine
    from flipcheck.job.records import Job

    Array = NDArray[np.float64]

#: Errors that need a lever arm: angles, and errors of travel.
SLOPES = {
    "machine_squareness",
    "machine_scale_x",
    "machine_scale_y",
    "stock_squareness",
    "stock_parallelism",
    "fence_angle",
    "eye_angle",
}

#: What is smaller than this share of the whole counts as nothing.
_NOTHING = 1e-6
#: What differs by more than this share of itself is another arm.
_ANOTHER = 1e-6


@dataclass(frozen=True)
class Lever:
    """The effect of a source at one pair; arm and origin are those of its strongest draw.

    Attributes
    ----------
    size: Its standard deviation, mm, rad, K or a ratio.
    faces: By how many faces it acts on the pair: 2 where it doubles, 1 otherwise; 0 where it cancels.
    across, along: What all its draws do across and along the flip line, all faces together, as root of the sum of
        squares, for each unit of `size`; without sign.
    arm: What one unit of it does by one face: the lever arm of an angle or a ratio, mm, or a plain factor for a length.
        Effect = faces x size x arm.
    slope: Whether it is an angle or a ratio.
    line: Where the arm is counted from when that is a line: ("x", 90.0) for x = 90 mm, or ("y", ...); None otherwise.
    centre: Where it is counted from when that is a point, mm; None otherwise. Both are None where the faces have
        different arms, from different places.
    from_flip_line: Whether `line` is the flip line.
    grows: Whether it is a change between the faces, which moves a pair away from `line` or `centre` in proportion to
        the distance, though not alike in all directions.
    mean: Of such a change its mean.
    """

    size: float
    faces: int
    across: float
    along: float
    arm: float
    slope: bool
    line: tuple[str, float] | None
    centre: Point | None
    from_flip_line: bool
    grows: bool = False
    mean: float = 0.0


def lever(job: Job, model: FlipModel, target: Target, members: Sequence[int], faces: int) -> Lever:
    """The lever of the strongest draw among the sources `members` of one name, at a pair that has an x and a y."""
    linear = model.linear
    assert target.x is not None
    assert target.y is not None
    assert target.at is not None
    rows = linear.rows_of(members)
    effects = linear.coefficients[[target.x, target.y]][:, rows]
    sizes, means = linear.stds[rows], linear.source_means[rows]
    strongest = int(np.argmax(np.abs(effects).sum(axis=0) * sizes))
    size = float(sizes[strongest])
    acting = sizes if size else np.abs(means)  # a change that is known acts by its mean
    turned_about = flip_line(job.flip, job.blank)
    across, along = (
        float(np.linalg.norm(np.asarray(way) @ (effects * acting)) / acting[strongest])
        for way in (turned_about.across, turned_about.along)
    )
    arm = float(np.hypot(*effects[:, strongest])) / max(faces, 1)
    name = linear.sources[members[0]].name
    slope, grows = name in SLOPES, name in MOVING
    field = linear.shared[:, rows[strongest]].reshape(2, 3)
    line, centre = _origin(field) if slope or grows else (None, None)
    if not grows and abs(_distance(target.at, line, centre) - arm) > _ANOTHER * arm:
        line = centre = None
    from_flip_line = line is not None and _runs_along(line, turned_about)
    mean = float(means[strongest]) if grows else 0.0
    return Lever(size, faces, across, along, arm, slope, line, centre, from_flip_line, grows, mean)


def _origin(field: Array) -> tuple[tuple[str, float] | None, Point | None]:
    """Where a field is nothing: along a line x = ... or y = ..., or at a point; (None, None) where nowhere so plain."""
    constant, slopes = field[:, 0], field[:, 1:]
    scale = np.abs(slopes).max()
    if scale < _NOTHING:
        return None, None
    if abs(np.linalg.det(slopes)) > (_NOTHING * scale) ** 2:
        x, y = np.linalg.solve(slopes, -constant)
        return None, (float(x), float(y))
    strongest = int(np.argmax(np.abs(slopes).max(axis=1)))
    by_x, by_y = slopes[strongest]
    if abs(by_y) < _NOTHING * scale:
        return ("x", float(-constant[strongest] / by_x)), None
    if abs(by_x) < _NOTHING * scale:
        return ("y", float(-constant[strongest] / by_y)), None
    return None, None


def _distance(point: Point, line: tuple[str, float] | None, centre: Point | None) -> float:
    """How far a point lies from a line or from a centre; infinite from neither."""
    if line is not None:
        axis, place = line
        return abs(point["xy".index(axis)] - place)
    return math.inf if centre is None else math.dist(point, centre)


def _runs_along(line: tuple[str, float], turned_about: FlipLine) -> bool:
    """Whether a line x = ... or y = ... is the flip line."""
    axis, place = line
    number = "xy".index(axis)
    return turned_about.across[number] == 1.0 and abs(place - turned_about.start[number]) < ON_THE_LINE
