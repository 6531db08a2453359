"""The ledger of draws: who is drawn how often, and by which face each draw is used.

Physics asks the ledger for an error and gets an array whose last axis X stands for "everything there is". The ledger is
read twice: a first reading notes which sources exist, a second hands out their unit vectors, so that every formula of
the physics, evaluated as it stands, returns coefficients. Whether two uses share a draw is decided here and nowhere
else: they do when they ask for the same name and part.

X holds every row twice, first as used while face A is set up and cut, then for face B; `total` adds the two, `by_face`
keeps them apart.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.linear import CONTACT_ROWS
from flipcheck.stack.sources import Life, Source

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from flipcheck.flip.frames import Face, Point
    from flipcheck.stack.contact.play import Play
    from flipcheck.stack.spreads import Circle, Spread

    Array = NDArray[np.float64]

#: Places of the bed closer than this (mm) are one place: a locator there is one locator.
SAME_LOCATOR = 0.01


@dataclass
class Ledger:
    """Sources, contacts and named places met so far."""

    sources: dict[str, Source] = field(default_factory=dict)
    contacts: dict[str, Play | None] = field(default_factory=dict)
    _places: dict[str, list[Point]] = field(default_factory=dict)
    #: The first row of each source and contact; None while they are still being noted.
    _first_rows: dict[str, int] | None = None
    #: How many rows there are in all.
    _rows: int = 0

    def second_reading(self) -> Ledger:
        """A ledger over the same sources and places that hands out unit vectors."""
        first_rows, rows = {}, 0
        for key, source in self.sources.items():
            first_rows[key], rows = rows, rows + source.rows
        for key in self.contacts:
            first_rows[key], rows = rows, rows + CONTACT_ROWS
        return Ledger(self.sources, dict(self.contacts), self._places, first_rows, rows)

    @property
    def width(self) -> int:
        """Length of the last axis X."""
        return 2 * self._rows if self._first_rows is not None else 1

    @property
    def _source_rows(self) -> int:
        """How many rows the sources fill; those of the contacts stand below them."""
        return sum(source.rows for source in self.sources.values())

    def zeros(self, *shape: int) -> Array:
        """Nothing at all, shape (*shape, X)."""
        return np.zeros((*shape, self.width))

    def take(
        self, name: str, part: str, spread: Spread | Circle | None, life: Life, face: Face, rows: int = 1
    ) -> Array:
        """The error `name` of `part` as it acts on `face`, shape (rows, X); nothing where none is given."""
        if spread is None or not (spread.std or spread.mean):
            return self.zeros(rows)
        source = Source(name, part, spread, life, rows)
        if self._first_rows is None:
            self.sources.setdefault(source.key, source)
            return self.zeros(rows)
        return self._units(source.key, rows, face)

    def rest(self, key: str, face: Face, forms: Array, play: Callable[[str, Array], Play]) -> Array:
        """Where a blank lies in its play, counted from where the errors move it linearly, shape (3, X).

        `forms` (F, X) are the linear forms that the play depends on; `play` makes the contact of its key and of their
        coefficients over the rows of the sources.
        """
        key = f"{key}/setup {face}"
        if self._first_rows is None:
            self.contacts[key] = None
            return self.zeros(CONTACT_ROWS)
        self.contacts[key] = play(key, self.total(forms)[:, : self._source_rows])
        return self._units(key, CONTACT_ROWS, face)

    def place(self, kind: str, point: Point, within: float) -> str:
        """A name for a place, the same for places of one kind that lie within so many mm of each other."""
        known = self._places.setdefault(kind, [])
        for x, y in known:
            if np.hypot(point[0] - x, point[1] - y) <= within:
                point = (x, y)
                break
        else:
            known.append(point)
        return f"{kind} at {point[0]:.6g}, {point[1]:.6g}"

    def total(self, form: Array) -> Array:
        """What each row does in all, shape (..., R), for a form of shape (..., X)."""
        first, second = np.split(form, 2, axis=-1)
        return first + second

    def by_face(self, form: Array) -> Array:
        """What each row does by way of face A and of face B, shape (2, ..., R)."""
        return np.stack(np.split(form, 2, axis=-1))

    def variance(self, form: Array) -> float:
        """Variance of a form of shape (..., X), summed over its leading axes, the play on pins left out."""
        if self._first_rows is None:
            return 0.0
        stds = np.repeat([s.spread.std for s in self.sources.values()], [s.rows for s in self.sources.values()])
        return float(np.square(self.total(form)[..., : len(stds)] * stds).sum())

    def _units(self, key: str, rows: int, face: Face) -> Array:
        assert self._first_rows is not None
        units = self.zeros(rows)
        first = self._first_rows[key] + (self._rows if face == "B" else 0)
        units[np.arange(rows), first + np.arange(rows)] = 1.0
        return units
