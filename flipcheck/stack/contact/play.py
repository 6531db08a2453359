"""What the engine asks of a contact that holds the blank with play, whatever kind of contact it is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    #: Least and largest value of combinations, shape (D, F), of a contact's forms: two arrays of shape (D,).
    Spans = Callable[[Array], tuple[Array, Array]]
    #: Which blanks go on, shape (N,); and what each trial counts, shape (N,), of mean 1, or None where all count 1.
    Drawn = tuple[NDArray[np.bool_], Array | None]


class Given:
    """Numbers in (0, 1) that are given, shape (points, N), in place of random ones."""

    def __init__(self, points: Array) -> None:
        self._points = points

    def random(self, shape: tuple[int, int]) -> Array:
        """The numbers, which must have the shape that is asked for."""
        assert self._points.shape == shape
        return self._points


class Play(Protocol):
    """A blank held with play in one setup: what its play depends on, and where inside it the blank lies.

    Letters: F linear forms over the source rows (clearances, misfits), N trials, D directions.
    """

    @property
    def key(self) -> str:
        """Name of its random stream; what stands before the stroke is what the stack table calls it."""

    @property
    def forms(self) -> Array:
        """Coefficients of its forms over the source rows, shape (F, R)."""

    @property
    def offsets(self) -> Array:
        """The forms without errors, mm, shape (F,)."""

    @property
    def widening(self) -> Array:
        """What each form gains when every radial clearance grows by one, shape (F,)."""

    @property
    def carried(self) -> Array:
        """The part of the pose that the forms carry along, shape (3, F); its place in the play is the rest."""

    @property
    def points(self) -> int:
        """How many numbers in (0, 1) a pose takes, asked for all at once; 0 where that depends on how they fall."""

    def parts(self, values: Array) -> tuple[Array, ...]:
        """The values of the forms, shape (F, N), as `draw` and `short_of` want them."""

    def draw(self, rng: np.random.Generator | Given, *parts: Array, out: Array) -> Drawn:
        """Fill `out`, shape (3, N), with the pose, zero where the blank does not go on."""

    def short_of(self, *parts: Array) -> Array:
        """How much too small all radial clearances are for the blank to go on, mm, shape (N,); negative with room."""

    def mean_pose(self, values: Array) -> Array:
        """About where the pose lies with the forms at `values`, shape (F,); shape (3,)."""

    def support(self, alphas: Array, spans: Spans) -> Array:
        """The largest that alphas, shape (D, 3), times the place in the play can be with the forms in their spans."""
