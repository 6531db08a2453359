"""A model that is linear in its sources: who contributes how much to what.

Letters for shapes, used throughout the package: R rows of sources and contacts, K shared components, M outputs, N
    trials.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.spreads import Circle

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from flipcheck.stack.contact.play import Play, Spans
    from flipcheck.stack.measures import Measure
    from flipcheck.stack.sources import Source

    Array = NDArray[np.float64]

#: Rows that one contact adds below the rows of the sources.
CONTACT_ROWS = 3


@dataclass(frozen=True, eq=False)
class LinearModel:
    """Outputs = centre + mix @ (shared @ rows) + own @ rows, where rows are the draws of all sources and contacts.

    Attributes
    ----------
    name: What the model is called.
    sources: Who is drawn; each fills one row, or two.
    contacts: Poses of a blank held with play, each three rows below those of the sources.
    shared: What all outputs have in common (of a rigid body: its shift and turn), shape (K, R).
    mix: How each output depends on it, shape (M, K).
    own: What each output has to itself, shape (M, R).
    centre: Outputs without any error, shape (M,).
    measures: What is asked of the outputs; a trial is good when it passes every one.
    """

    name: str
    sources: tuple[Source, ...]
    contacts: tuple[Play, ...]
    shared: Array
    mix: Array
    own: Array
    centre: Array
    measures: tuple[Measure, ...]

    def __repr__(self) -> str:
        return f"LinearModel({self.name!r}, {len(self.sources)} sources, {len(self.centre)} outputs)"

    @cached_property
    def coefficients(self) -> Array:
        """What one unit of each row does to each output, shape (M, R)."""
        return self.mix @ self.shared + self.own

    @cached_property
    def source_rows(self) -> tuple[slice, ...]:
        """Where each source stands among the rows."""
        ends = np.cumsum([source.rows for source in self.sources], dtype=int)
        return tuple(slice(int(end) - source.rows, int(end)) for source, end in zip(self.sources, ends, strict=True))

    def rows_of(self, places: Sequence[int]) -> NDArray[np.intp]:
        """The rows of the sources at some places."""
        rows = [np.arange(*self.source_rows[i].indices(self.stds.size)) for i in places]
        return np.concatenate(rows) if rows else np.arange(0)

    def acting(self, forms: Array) -> list[int]:
        """Places of the sources that move any of some linear forms, shape (..., R) or more columns."""
        if not self.sources:
            return []
        moves = np.any(forms[..., : self.stds.size], axis=tuple(range(forms.ndim - 1)))
        return np.flatnonzero(np.logical_or.reduceat(moves, [rows.start for rows in self.source_rows])).tolist()

    def only(self, places: Sequence[int]) -> LinearModel:
        """The same with some of its sources only, and without contacts."""
        rows, sources = self.rows_of(places), tuple(self.sources[i] for i in places)
        return replace(self, sources=sources, contacts=(), shared=self.shared[:, rows], own=self.own[:, rows])

    @cached_property
    def contact_rows(self) -> tuple[slice, ...]:
        """Where each contact stands among the rows."""
        first = sum(source.rows for source in self.sources)
        return tuple(slice(first + CONTACT_ROWS * i, first + CONTACT_ROWS * (i + 1)) for i in range(len(self.contacts)))

    def _each_row(self, name: str) -> Array:
        """The property `name` of every source's spread, one entry a source row."""
        return np.repeat([getattr(s.spread, name) for s in self.sources], [s.rows for s in self.sources])

    @cached_property
    def stds(self) -> Array:
        """Standard deviation of each source row."""
        return self._each_row("std")

    @cached_property
    def source_means(self) -> Array:
        """Mean of each source row."""
        return self._each_row("mean")

    @cached_property
    def means(self) -> Array:
        """Mean of each row; of a contact row its value with mean clearances and no pitch error."""
        return np.concatenate([self.source_means, *(self._mean_pose(contact) for contact in self.contacts)])

    @cached_property
    def expected(self) -> Array:
        """The outputs at the mean of every row, shape (M,)."""
        return self.centre + self.coefficients @ self.means

    def half_widths(self, forms: Array, kind: str) -> Array:
        """Half-width about its mean that each source gives to each linear form.

        Parameters
        ----------
        forms: Coefficients over the source rows, shape (D, R) or more columns, of which the source rows come first.
        kind: ``bound`` for what counts as the worst case, ``reach`` for what no draw passes.

        Returns
        -------
        Half-widths, shape (D, sources).
        """
        return (
            np.add.reduceat(self.draw_widths(forms, kind), self._first_draws, axis=1) if self.sources else forms[:, :0]
        )

    def draw_widths(self, forms: Array, kind: str) -> Array:
        """The same of each independent draw: two for a source of two rows, but one for a circle; shape (D, draws)."""
        sizes = self._sizes[kind]
        widths = np.abs(forms[:, : len(sizes)])
        for rows in self._circles:
            widths[:, rows.start] = np.linalg.norm(widths[:, rows], axis=1)
        widths *= sizes
        return widths[:, self._draws]

    @cached_property
    def _sizes(self) -> dict[str, Array]:
        return {kind: self._each_row(kind) for kind in ("bound", "reach")}

    @cached_property
    def _circles(self) -> list[slice]:
        sources = zip(self.sources, self.source_rows, strict=True)
        return [rows for source, rows in sources if isinstance(source.spread, Circle)]

    @cached_property
    def _draws(self) -> slice | NDArray[np.intp]:
        """The first row of each independent draw."""
        seconds = [rows.start + 1 for rows in self._circles]
        return np.delete(np.arange(len(self.stds)), seconds) if seconds else slice(None)

    @cached_property
    def _first_draws(self) -> NDArray[np.intp]:
        draws = [1 if isinstance(source.spread, Circle) else source.rows for source in self.sources]
        return np.cumsum([0, *draws[:-1]])

    def spans(self, contact: Play, kind: str) -> Spans:
        """Between which values combinations of a contact's forms lie; `kind` as for `half_widths`.

        What no draw passes is at most seven standard deviations of the whole off its mean: once in 10^11 draws.
        """

        def between(combinations: Array) -> tuple[Array, Array]:
            over_rows = combinations @ contact.forms
            middle = combinations @ contact.offsets + over_rows @ self.source_means
            half = self.half_widths(over_rows, kind).sum(axis=1)
            if kind == "reach":
                half = np.minimum(half, 7.0 * np.sqrt(np.square(over_rows) @ np.square(self.stds)))
            return middle - half, middle + half

        return between

    def _mean_pose(self, contact: Play) -> Array:
        return contact.mean_pose(contact.offsets + contact.forms @ self.source_means)
