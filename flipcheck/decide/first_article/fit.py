"""The pattern of the mismatch by least squares: shift, turn, shear, scale, as many as readings can tell apart."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.decide.first_article.expected import readings_of
from flipcheck.decide.first_article.pattern import TERMS, Pattern, Term
from flipcheck.stack.intervals import Z95
from flipcheck.stack.least_squares import (
    Fit,
    chi_square_beyond,
    fit,
    mahalanobis,
    mean_and_covariance,
    t_factor,
    told_apart,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from flipcheck.decide.first_article.expected import Expected
    from flipcheck.flip.frames import Point
    from flipcheck.job.readings.records import Offset, Readings
    from flipcheck.job.records import Job

    Array = NDArray[np.float64]

#: A term must move the readings by this share of what it moves the rim of the blank, to be told from others.
_LEAST = 0.01
#: The repeats of fewer parts say too little of the scatter: Student's t is 12.7 for two.
_FEWEST = 3
#: Nobody's parts scatter less than a tenth of what the job expects: readings are rounded (common practice, no source).
_CALMEST = 0.1
#: Scatter beyond the one expected, or a pattern beyond it, is believed below this chance of being luck.
SCATTER_DOUBT = PATTERN_DOUBT = 0.01


@dataclass(frozen=True, eq=False)
class PartReadings:
    """The readings of one part.

    Attributes
    ----------
    seen: How each sees the field, shape (M, 6).
    values: The readings, mm, shape (M,).
    scatter: The covariance that is expected of them, shape (M, M).
    u: Standard uncertainty of each, mm, shape (M,); None where that of any is not known.
    """

    seen: Array
    values: Array
    scatter: Array
    u: Array | None


@dataclass(frozen=True, eq=False)
class Fitted:
    """A pattern, with what is needed to go on from it.

    Attributes
    ----------
    pattern: The pattern.
    fields: The field of one unit of each fitted term, shape (6, P).
    values: The fitted terms, shape (P,).
    seen: How they depend on the field, shape (P, 6).
    covariance: Of the fitted terms, by everything that is new with every part, shape (P, P).
    excess: Of the terms of one part, by scatter that the job does not expect, shape (P, P).
    """

    pattern: Pattern
    fields: Array
    values: Array
    seen: Array
    covariance: Array
    excess: Array


def pattern_of(job: Job, readings: Readings, expected: Expected) -> Fitted:
    """Fit the pattern to readings that have a direction, of which there must be one at least."""
    by_part = {part: [o for o in readings.offsets if o.part == part] for part in readings.parts}
    parts = tuple(_part_readings(offsets, expected) for offsets in by_part.values())
    places = list(dict.fromkeys(offset.at for offset in readings.offsets))
    about = _middle(places)
    fields = term_fields(about)
    rim = 0.5 * math.hypot(job.blank.length, job.blank.width)
    scales = np.array([1.0, 1.0, *[1.0 / rim] * 4])
    taken, confused = _told_apart(parts, fields * scales, len(places))
    solution = _Solution(parts, fields[:, taken], scales[taken], expected)
    pattern = Pattern(
        about=about,
        terms=tuple(solution.terms(taken)),
        confused={TERMS[i]: tuple(TERMS[j] for j in others) for i, others in confused.items()},
        by_part=solution.by_part,
        interval_from="repeats" if solution.by_repeats else "job",
        misfit=solution.misfit(),
        scattered=tuple(TERMS[i] for i, scale in zip(taken, solution.scale, strict=True) if scale > 1.0),
        noise=solution.noise,
        calm=tuple(TERMS[i] for i, scale in zip(taken, solution.scale, strict=True) if scale < 1.0),
        unexplained=solution.unexplained(),
    )
    return Fitted(pattern, fields[:, taken], solution.values, solution.seen, solution.covariance, solution.excess())


def term_fields(about: Point) -> Array:
    """The field of one unit of each term about a point, shape (6, 6), in the order of `TERMS`."""
    x, y = about
    columns = [
        (1.0, 0.0, 0.0, 0.0, 0.0, 0.0),
        (0.0, 0.0, 0.0, 1.0, 0.0, 0.0),
        (y, 0.0, -1.0, -x, 1.0, 0.0),
        (-y, 0.0, 1.0, -x, 1.0, 0.0),
        (-x, 1.0, 0.0, 0.0, 0.0, 0.0),
        (0.0, 0.0, 0.0, -y, 0.0, 1.0),
    ]
    return np.array(columns).T


def _part_readings(offsets: Sequence[Offset], expected: Expected) -> PartReadings:
    seen, values, scatter = readings_of(offsets, expected)
    us = [offset.u for offset in offsets for value in (offset.dx, offset.dy) if value is not None]
    return PartReadings(seen, values, scatter, None if None in us else np.array(us, dtype=float))


def _middle(places: Sequence[Point]) -> Point:
    x, y = np.mean(places, axis=0)
    return float(x), float(y)


def _told_apart(
    parts: Sequence[PartReadings], unit_fields: Array, places: int
) -> tuple[list[int], dict[int, list[int]]]:
    """Which terms the readings can tell apart; scales are left alone below three places."""
    design = np.vstack([part.seen for part in parts]) @ unit_fields
    tried = len(TERMS) if places > 2 else TERMS.index("scale_x")
    taken, confused = told_apart(design[:, :tried], _LEAST)
    return taken, confused


class _Solution:
    """The fit of every part by itself where each can be, or else of all readings together."""

    def __init__(self, parts: Sequence[PartReadings], fields: Array, scales: Array, expected: Expected) -> None:
        self.parts, self.expected = parts, expected
        self.by_part = len(parts) > 1 and all(
            len(told_apart(part.seen @ fields * scales, _LEAST)[0]) == len(scales) for part in parts
        )
        weighed = all(part.u is not None for part in parts)
        groups = [[part] for part in parts] if self.by_part else [list(parts)]
        self.fits = [_fit(group, fields, weighed=weighed) for group in groups]
        self.noise = self._noise(groups)
        self.parts = [replace(part, scatter=part.scatter + self.noise**2 * np.eye(len(part.values))) for part in parts]
        self.values = np.mean([one.values for one in self.fits], axis=0)
        # how the terms depend on the readings of each part
        columns = [one.weights / len(self.fits) for one in self.fits]
        ends = np.cumsum([len(part.values) for part in parts])[:-1]
        self.weights = np.split(np.hstack(columns), ends, axis=1)
        each = [w @ part.scatter @ w.T for w, part in zip(self.weights, self.parts, strict=True)]
        self.one_part = np.sum(each, axis=0) * len(self.fits)
        self.seen_scatter = mean_and_covariance([one.values for one in self.fits])[1] if self.by_part else None
        self.scale = self._scale()
        self.covariance = self.one_part * np.outer(self.scale, self.scale) / len(self.fits)
        self.seen = np.sum([w @ part.seen for w, part in zip(self.weights, self.parts, strict=True)], axis=0)
        self.by_repeats = self.by_part and len(parts) >= _FEWEST

    def terms(self, taken: Sequence[int]) -> list[Term]:
        """The terms with their intervals."""
        count = len(self.fits)
        if self.by_repeats and self.seen_scatter is not None:
            halves = t_factor(count - 1) * np.sqrt(np.diag(self.seen_scatter) / count)
        else:
            halves = Z95 * np.sqrt(np.diag(self.covariance))
        expected = np.sqrt(np.diag(self.one_part))
        seen = None if self.seen_scatter is None else np.sqrt(np.diag(self.seen_scatter))
        return [
            Term(
                name=TERMS[i],
                value=float(value),
                low=float(value - half),
                high=float(value + half),
                scatter=None if seen is None else float(seen[k]),
                expected_scatter=float(expected[k]),
            )
            for k, (i, value, half) in enumerate(zip(taken, self.values, halves, strict=True))
        ]

    def misfit(self) -> float | None:
        """What no term takes up, root mean square over the readings that are more than the unknowns."""
        freedom = sum(one.freedom for one in self.fits)
        squares = sum(float(np.square(one.residuals).sum()) for one in self.fits)
        return math.sqrt(squares / freedom) if freedom else None

    def unexplained(self) -> float:
        """How likely a pattern at least as far from the one expected is, with what lasts and the scatter of the job."""
        seen, expected = self.seen, self.expected
        covariance = self.covariance + seen @ expected.field_covariance() @ seen.T
        return chi_square_beyond(mahalanobis(self.values - seen @ expected.mean, covariance), len(self.values))

    def excess(self) -> Array:
        """Covariance of the terms of one part by scatter that the job does not expect, shape (P, P)."""
        return np.diag(np.diag(self.one_part) * np.maximum(np.square(self.scale) - 1.0, 0.0))

    def _scale(self) -> Array:
        """Standard deviation of each term from part to part by the one expected, 1 unless significantly different."""
        scale = np.ones(len(self.values))
        if self.seen_scatter is None:
            return scale
        freedom = len(self.fits) - 1
        for k, ratio in enumerate(np.diag(self.seen_scatter) / np.diag(self.one_part)):
            beyond = chi_square_beyond(float(freedom * ratio), freedom)
            if min(beyond, 1.0 - beyond) < SCATTER_DOUBT / len(scale):
                scale[k] = max(math.sqrt(ratio), _CALMEST)
        return scale

    def _noise(self, groups: Sequence[Sequence[PartReadings]]) -> float:
        """What is left after the fits beyond what is expected, as a standard deviation; 0 unless significantly more."""
        freedom, squares, expected = 0, 0.0, 0.0
        for one, group in zip(self.fits, groups, strict=True):
            freedom += one.freedom
            squares += float(np.square(one.residuals).sum())
            rest = np.eye(len(one.residuals)) - one.design @ one.weights
            ends = np.cumsum([len(part.values) for part in group])[:-1]
            for part, left in zip(group, np.split(rest, ends, axis=1), strict=True):
                expected += float((left @ part.scatter * left).sum())
        if freedom and chi_square_beyond(squares / expected * freedom, freedom) < SCATTER_DOUBT:
            return math.sqrt((squares - expected) / freedom)
        return 0.0


def _fit(group: Sequence[PartReadings], fields: Array, *, weighed: bool) -> Fit:
    """Least squares of some parts together, by the uncertainty of each reading where all have one."""
    u = np.concatenate([part.u for part in group if part.u is not None]) if weighed else None
    values = np.concatenate([part.values for part in group])
    return fit(np.vstack([part.seen for part in group]) @ fields, values, u)
