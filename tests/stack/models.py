"""Small linear models for tests: named scalar sources, coefficients and measures, written down in a line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.contact.two_pins import Hang, TwoPins
from flipcheck.stack.linear import CONTACT_ROWS, LinearModel
from flipcheck.stack.sources import Life, Source
from flipcheck.stack.spreads import Circle, Spread

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from flipcheck.stack.measures import Measure
    from flipcheck.stack.monte_carlo.simulate import Run

#: Tests allow a simulated figure this many of its standard errors.
ERRORS_ALLOWED = 4.0


def linear_model(
    spreads: Mapping[str, Spread | Circle],
    coefficients: Sequence[Sequence[float]],
    *measures: Measure,
    centre: Sequence[float] | None = None,
    contacts: tuple[TwoPins, ...] = (),
    through_shared: bool = False,
) -> LinearModel:
    """A model with one source a spread, named as in `spreads` (two rows for a `Circle`).

    `coefficients` has a row an output and a column a source row, then three columns a contact; they are put into the
    model's `own` part, or all of them into its `shared` part.
    """
    sources = tuple(
        Source(name, "", spread, Life.CUT, rows=2 if isinstance(spread, Circle) else 1)
        for name, spread in spreads.items()
    )
    own = np.array(coefficients, dtype=float)
    outputs, rows = own.shape
    assert rows == sum(source.rows for source in sources) + CONTACT_ROWS * len(contacts)
    shared, mix = np.zeros((0, rows)), np.zeros((outputs, 0))
    if through_shared:
        shared, mix, own = own, np.eye(outputs), np.zeros_like(own)
    middle = np.zeros(outputs) if centre is None else np.array(centre, dtype=float)
    return LinearModel("plain", sources, contacts, shared, mix, own, middle, measures)


def two_pins(
    hang: Hang,
    nominal: tuple[float, float],
    *,
    push: float = 0.0,
    pitch: Sequence[float] = (),
    clearance: tuple[Sequence[float], Sequence[float]] = ((), ()),
    key: str = "pins",
) -> TwoPins:
    """A contact with radial clearances `nominal`; forms over the source rows as given, of no rows by default."""
    forms = np.array(clearance, dtype=float).reshape(2, -1)
    along = np.array(pitch, dtype=float) if len(pitch) else np.zeros(forms.shape[1])
    if not forms.size:
        forms = np.zeros((2, len(along)))
    return TwoPins(key, hang, push, np.vstack([along, forms]), np.array([0.0, *nominal]))


def quantile(run: Run, measure: int, share: float) -> float:
    """A quantile of one measure of the only model of a run."""
    tally, spans = run.tallies[0], run.ranges[0]
    return spans[measure].quantile(share, tally.histogram[measure], tally.ends[measure])


def mean_and_std(run: Run, output: int) -> tuple[float, float]:
    """Mean and standard deviation of one output of the only model of a run."""
    tally = run.tallies[0]
    mean, square = tally.outputs[:, output] / tally.on
    return float(run.origins[0].outputs[output] + mean), float(np.sqrt(square - mean**2))


def error_of_share(share: float, trials: int) -> float:
    """What a counted share may be off: `ERRORS_ALLOWED` standard errors."""
    return ERRORS_ALLOWED * float(np.sqrt(share * (1.0 - share) / trials))


def error_of_quantile(share: float, density: float, trials: int) -> float:
    """What a simulated quantile may be off where the density is `density`: `ERRORS_ALLOWED` standard errors."""
    return error_of_share(share, trials) / density
