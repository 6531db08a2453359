"""How the blank, or its outline, fits its nest: for the fixture sheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from flipcheck.decide.pin_fit import Size
from flipcheck.flip.nest import nested

if TYPE_CHECKING:
    from flipcheck.decide.results import MethodResult
    from flipcheck.job.records import Job, NestMethod


@dataclass(frozen=True)
class NestFit:
    """A nest and what lies in it.

    Attributes
    ----------
    clearance: How much longer and wider than it the nest is, mm, from the errors of size alone: of the pocket, of the
        blank, and of the bit, which makes a pocket larger and an outline smaller.
    turn, largest_turn: How far it may turn to either side, rad: the clearance over the longer side; nominal, largest.
    goes_on: Share of blanks that go in; None where nothing was simulated.
    """

    clearance: Size
    turn: float
    largest_turn: float
    goes_on: float | None


def nest_fit(job: Job, method: NestMethod, result: MethodResult | None = None) -> NestFit:
    """How what lies in a nest fits it; the share that goes in is that of `result`."""
    with_a, errors = method.outline == "with face A", job.errors
    cuts = 2.0 if with_a else 1.0
    spreads = [(1.0, method.pocket_size), (cuts, errors.bit_diameter), (0.0 if with_a else -1.0, errors.stock_size)]
    middle = method.clearance + cuts * (errors.bit_runout or 0.0)
    middle += sum(times * spread.mean for times, spread in spreads if spread)
    bound = sum(abs(times) * spread.bound for times, spread in spreads if spread)
    clearance = Size(method.clearance, middle - bound, middle + bound)
    (x1, y1), (x2, y2) = nested(method, job.blank)
    longer = max(x2 - x1, y2 - y1)
    turn, largest = method.clearance / longer, max(clearance.high, 0.0) / longer
    return NestFit(clearance, turn, largest, result.goes_on if result else None)
