"""What the first parts say: the pattern of their mismatch, its cause, the correction, and what is left to chance."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.decide.answer import asked
from flipcheck.decide.check import method_named, refuse_impossible
from flipcheck.decide.first_article.afterwards import Afterwards, chances
from flipcheck.decide.first_article.causes import brought_up_to_date, causes_of, is_unexplained
from flipcheck.decide.first_article.correction import OPTIONS, Corrector
from flipcheck.decide.first_article.expected import expected_of, seen_at, stroke_variance
from flipcheck.decide.first_article.fit import pattern_of
from flipcheck.decide.first_article.gross import suspects
from flipcheck.decide.first_article.results import (
    Article,
    Correction,
    Coupons,
    Diagonal,
    Grown,
    SizeOnly,
    Squareness,
    Suspect,
)
from flipcheck.errors import JobError, Problem
from flipcheck.flip.model import flip_model
from flipcheck.stack.least_squares import t_factor
from flipcheck.stack.monte_carlo.streams import seed_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from flipcheck.decide.first_article.correction import Move
    from flipcheck.decide.first_article.fit import Fitted
    from flipcheck.flip.model import FlipModel
    from flipcheck.job.readings.records import Readings
    from flipcheck.job.records import Job
    from flipcheck.stack.intervals import Chance
    from flipcheck.stack.linear import LinearModel
    from flipcheck.stack.monte_carlo.streams import RngLike

    Array = NDArray[np.float64]

#: Trials of each model unless told otherwise: a chance near 95 % is then known to 0.0017.
TRIALS = 65_536
#: A simpler correction is advised where it leaves no more than this to chance beyond the best.
_AS_GOOD = 0.005
#: Nothing is corrected that wins less.
_NOTHING_WON = 0.0005
#: For how many parts the worth of the mean is told, and the most that are asked for.
_COUPONS, _MOST_COUPONS = (1, 3, 5, 10), 100
_SQUARENESS = "machine_squareness"


def correct(
    job: Job,
    readings: Readings,
    method: str | None = None,
    *,
    bit: float | None = None,
    plate: float | None = None,
    trials: int = TRIALS,
    rng: RngLike = 1,
    threads: int | None = None,
    progress: Callable[[int], None] | None = None,
) -> Article:
    """What to correct after the first parts, and what is then left to chance.

    Parameters
    ----------
    job: The job that the parts were made by.
    readings: What was measured on them (`read_readings`).
    method: Name of the method they were made by; the first of the job unless given.
    bit, plate: Diameter of the bit and thickness of the touch plate, mm, to name gross errors by.
    trials, rng, threads, progress: As for `check`.

    Raises
    ------
    JobError: for an unknown method, an impossible job, or no readings at all.
    ValueError: for fewer than one trial or a negative seed.
    """
    refuse_impossible(job)
    if not any(True for _ in readings):
        raise JobError([Problem("no-readings", "the readings", "at least one reading", "none")])
    first_article = _FirstArticle(job, flip_model(job, method_named(job, method)), readings, seed_of(rng))
    return first_article.article(bit, plate, trials, threads, progress)


class _FirstArticle:
    """One method of a job, and the readings."""

    def __init__(self, job: Job, model: FlipModel, readings: Readings, seed: int) -> None:
        self.job, self.model, self.readings, self.seed = job, model, readings, seed
        self.expected = expected_of(job, model, seed)
        self.fitted: Fitted | None = pattern_of(job, readings, self.expected) if readings.offsets else None
        self.lasting = brought_up_to_date(job, model, self.expected, self.fitted, readings.diagonals)
        self.corrector = Corrector(job, model.method)
        self.moves = {name: self.corrector.move(self.lasting.field, name) for name in OPTIONS}
        self.squared = self._squared()

    def article(
        self,
        bit: float | None,
        plate: float | None,
        trials: int,
        threads: int | None,
        progress: Callable[[int], None] | None,
    ) -> Article:
        """Everything."""
        job, fitted, method = self.job, self.fitted, self.model.method
        by_job, *found = chances(self._models(), trials, self.seed, threads, progress)
        corrections = self._corrections(found)
        advice = self._advice(corrections)
        advised = self.moves[advice.name] if advice else None
        return Article(
            **asked(job, trials, self.seed),
            method=method.name,
            kind=method.kind,
            parts=len(self.readings.parts),
            readings=sum(1 for _ in self.readings),
            pattern=fitted.pattern if fitted else None,
            causes=causes_of(self.model, self.lasting, self._places(), self.seed) if fitted else (),
            suspects=self._suspects(bit, plate),
            by_job=by_job,
            as_read=corrections[0].chance if fitted else None,
            corrections=tuple(corrections[1:]) if fitted else (),
            advice=advice,
            shared=self.corrector.shared(advised) if advised else None,
            shim=self.corrector.shim(advised) if advised else None,
            squareness=self._squareness(found[-1]) if self.squared else None,
            coupons=self._coupons(found[len(OPTIONS)]),
            diagonal=_diagonal(job, self.readings),
            sizes=self._sizes(),
            grown=_grown(self.readings),
        )

    def _models(self) -> list[LinearModel]:
        """The job's own; the parts to come by each correction; with what lasts known; with the machine squared."""
        after = Afterwards(self.model.linear, self.lasting, self.fitted)
        models = [self.model.linear, *(after.model(move.field) for move in self.moves.values())]
        # of what lasts, known exactly and corrected part by part: what no number of coupons can better
        known = self.corrector.left(after.spread_fields, "shift and turn")
        models.append(after.model(self.moves["shift and turn"].field, spread_fields=known))
        if self.squared:
            mean, move = self.squared
            models.append(after.model(move.field, mean=mean))
        return models

    def _suspects(self, bit: float | None, plate: float | None) -> tuple[Suspect, ...]:
        """Gross errors, where the job does not explain the pattern."""
        fitted, expected = self.fitted, self.expected
        if fitted is None or not is_unexplained(fitted, expected):
            return ()
        return suspects(self.job, self.model.method, self.readings, fitted, expected, bit=bit, plate=plate)

    def _places(self) -> list[tuple[float, float]]:
        return list(dict.fromkeys(offset.at for offset in self.readings.offsets))

    def _corrections(self, found: Sequence[Chance]) -> list[Correction]:
        about = self.corrector.about
        return [
            Correction(name, move.x, move.y, move.turn, move.shear, about, chance)
            for (name, move), chance in zip(self.moves.items(), found, strict=False)
        ]

    def _advice(self, corrections: Sequence[Correction]) -> Correction | None:
        """The simplest correction that is as good as the best; none where nothing is real, or nothing won."""
        if self.fitted is None:
            return None
        none, *some = corrections
        if not self.fitted.pattern.real:
            return none
        best = max(correction.chance.estimate for correction in some)
        if best - none.chance.estimate < _NOTHING_WON:
            return none
        return next(c for c in some if c.chance.estimate >= best - _AS_GOOD)

    def _squared(self) -> tuple[Array, Move] | None:
        """What lasts once the machine is squared, and the shift and turn that then go with it."""
        lasting = self.lasting
        if _SQUARENESS not in lasting.names or self.fitted is None:
            return None
        at = lasting.names.index(_SQUARENESS)
        mean = lasting.mean.copy()
        mean[at] = -self._mean_squareness(at)
        field = lasting.expected.mean + lasting.effect @ mean
        return mean, self.corrector.move(field, "shift and turn")

    def _mean_squareness(self, at: int) -> float:
        return float(self.model.linear.source_means[self.expected.rows[at]])

    def _squareness(self, chance: Chance) -> Squareness | None:
        """Worth telling where the squareness is told from zero."""
        at = self.lasting.names.index(_SQUARENESS)
        value = self._mean_squareness(at) + float(self.lasting.mean[at])
        std = math.sqrt(float(self.lasting.covariance[at, at]))
        return Squareness(value, std, chance) if abs(value) > 2.0 * std else None

    def _coupons(self, at_most: Chance) -> Coupons | None:
        if self.fitted is None:
            return None
        parts = len(self.readings.parts)
        numbers = sorted({parts, *_COUPONS})
        growth = {n: math.sqrt(1.0 + 1.0 / n) for n in numbers}
        return Coupons(parts, growth, at_most, self._needed())

    def _needed(self) -> int | None:
        """Parts after which the clearest term, as large as it was seen, would be told from its scatter."""
        assert self.fitted is not None
        pattern = self.fitted.pattern
        if pattern.real:
            return None
        scatters = [(term.scatter or term.expected_scatter, abs(term.value)) for term in pattern.terms]
        for n in range(3, _MOST_COUPONS + 1):
            if any(t_factor(n - 1) * scatter < math.sqrt(n) * size for scatter, size in scatters):
                return n
        return None

    def _sizes(self) -> tuple[SizeOnly, ...]:
        """The readings without a direction, place by place."""
        found = []
        for key in dict.fromkeys((one.at, one.feature) for one in self.readings.distances):
            sizes = [one.size for one in self.readings.distances if (one.at, one.feature) == key]
            there = float(np.hypot(*(seen_at(key[0]) @ self.lasting.field))) if self.fitted else None
            found.append(SizeOnly(key[0], key[1], len(sizes), sum(sizes) / len(sizes), there))
        return tuple(found)


def _diagonal(job: Job, readings: Readings) -> Diagonal | None:
    """Squareness by all rectangles together: their mean, with the larger of what is said and what they scatter."""
    if not readings.diagonals:
        return None
    values = np.array([one.squareness for one in readings.diagonals])
    own = math.sqrt(2.0 * stroke_variance(job))
    said = math.sqrt(sum(one.squareness_u(own) ** 2 for one in readings.diagonals)) / len(values)
    scatter = float(values.std(ddof=1)) / math.sqrt(len(values)) if len(values) > 1 else 0.0
    return Diagonal(len(values), float(values.mean()), max(said, scatter))


def _grown(readings: Readings) -> Grown | None:
    """Mean difference of size by the steps of coupons."""
    if not readings.growths:
        return None
    x = [one.along_x for one in readings.growths if one.along_x is not None]
    y = [one.along_y for one in readings.growths if one.along_y is not None]
    return Grown(sum(x) / len(x) if x else None, sum(y) / len(y) if y else None)
