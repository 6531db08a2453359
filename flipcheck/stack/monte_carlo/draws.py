"""One block of trials of a model: draw its sources, add them up, hang the blank on its pins, mix the outputs."""

from __future__ import annotations

import itertools
import threading
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.linear import CONTACT_ROWS
from flipcheck.stack.monte_carlo.additions import Additions
from flipcheck.stack.monte_carlo.streams import BLOCK, stream

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from flipcheck.stack.linear import LinearModel
    from flipcheck.stack.sources import Source

    Array = NDArray[np.float64]

#: Each thread's `Plan.room`, as large as any model in it needed.
_rooms = threading.local()


class Draws:
    """The draws of one block; kept, where several models ask for the same source."""

    def __init__(self, seed: int, block: int, *, keep: bool = False) -> None:
        self._seed, self._block, self._keep = seed, block, keep
        self._kept: dict[Source, Array] = {}

    def of(self, source: Source) -> Array:
        """Draws of a source, shape (rows, BLOCK)."""
        if self._keep and source in self._kept:
            return self._kept[source]
        drawn = np.empty((source.rows, BLOCK))
        source.fill(self.stream(source.key), drawn)
        if self._keep:
            self._kept[source] = drawn  # not by its key: two models may give one source different spreads
        return drawn

    def stream(self, key: str) -> np.random.Generator:
        """The random numbers of a source or a contact in this block."""
        return stream(self._seed, key, self._block)


class Plan:
    """A model made ready for the loop.

    Every row of draws is added to *sums*, shape (K + M + F, N): the K shared components, what each of the M outputs
    has to itself, and the F forms that the play of the contacts depends on.
    """

    def __init__(self, model: LinearModel) -> None:
        self.model = model
        rows = model.source_means.size
        forms = [contact.forms for contact in model.contacts]
        #: Coefficients of the sums over the rows of the sources.
        self.onto = np.vstack([model.shared[:, :rows], model.own[:, :rows], *forms])
        self._additions: dict[int, Additions] = {}
        self._hung = Additions(np.vstack([model.shared, model.own])[:, rows:])
        self._mixed = Additions(model.mix)
        self.components, self.count = len(model.shared), len(self.onto)
        ends = self.count - np.cumsum([0, *(len(form) for form in forms[::-1])])[::-1]
        #: Where the forms of each contact stand among the sums.
        self.form_rows = tuple(slice(int(a), int(b)) for a, b in itertools.pairwise(ends))

    def add_sources(
        self, draws: Draws, which: Iterable[int] | None = None, room: Array | None = None, means: Array | None = None
    ) -> Array:
        """The sums of all sources, or of those with the given places in the model, shape (K + M + F, BLOCK).

        They are written into `room`, where one of that shape is given; each begins with its entry in `means`.
        """
        sums = np.empty((self.count, BLOCK)) if room is None else room
        sums[:] = 0.0 if means is None else means[:, None]
        for i in range(len(self.model.sources)) if which is None else which:
            self.add(i, draws.of(self.model.sources[i]), sums)
        return sums

    def add(self, i: int, rows: Array, sums: Array) -> None:
        """Add the draws of source number i, shape (its rows, N), to the sums."""
        if i not in self._additions:
            self._additions[i] = Additions(self.onto[:, self.model.source_rows[i]])
        self._additions[i].add(rows, sums)

    def room(self) -> Array:
        """Room for sums that this thread uses again and again: fresh memory for every block would cost time."""
        kept: Array | None = getattr(_rooms, "kept", None)
        if kept is None or len(kept) < self.count:
            kept = _rooms.kept = np.empty((self.count, BLOCK))
        return kept[: self.count]

    def hang(self, sums: Array, draws: Draws) -> tuple[Array, NDArray[np.bool_]]:
        """Hang the blanks on their pins and add their poses to the sums.

        Returns
        -------
        The contact rows, shape (3 C, N), and which trials go on, shape (N,).
        """
        trials = sums.shape[1]
        on = np.ones(trials, dtype=bool)
        poses = np.empty((CONTACT_ROWS * len(self.model.contacts), trials))
        for i, (contact, form) in enumerate(zip(self.model.contacts, self.play(sums), strict=True)):
            pose = poses[CONTACT_ROWS * i : CONTACT_ROWS * (i + 1)]
            here, _ = contact.draw(draws.stream(contact.key), *form, out=pose)
            on &= here
        self.add_poses(sums, poses)
        return poses, on

    def play(self, sums: Array) -> list[tuple[Array, ...]]:
        """For each contact what its play depends on, mm: of two pins the radial clearances and the pitch error."""
        return [
            contact.parts(sums[rows] + contact.offsets[:, None])
            for contact, rows in zip(self.model.contacts, self.form_rows, strict=True)
        ]

    def widen(self, sums: Array, by: float) -> None:
        """Make every radial clearance larger by so many mm."""
        for contact, rows in zip(self.model.contacts, self.form_rows, strict=True):
            sums[rows] += by * contact.widening[:, None]

    def add_poses(self, sums: Array, poses: Array) -> None:
        """Add poses on the pins, shape (3 C, N), to the sums."""
        self._hung.add(poses, sums)

    def mix(self, sums: Array) -> Array:
        """The outputs without their centre, shape (M, N); written over their own part of the sums."""
        outputs = sums[self.components : self.components + len(self.model.centre)]
        self._mixed.add(sums[: self.components], outputs)
        return outputs

    def shift(self, outputs: Array) -> None:
        """Add their centre to outputs, shape (M, N)."""
        for row in np.flatnonzero(self.model.centre):
            outputs[row] += self.model.centre[row]


def sample(plan: Plan, draws: Draws) -> tuple[Array, Array, NDArray[np.bool_]]:
    """One block of a model: outputs (M, BLOCK), contact rows (3 C, BLOCK) and which trials go on (BLOCK,).

    The outputs stand in the thread's own `room`: they are gone with the next block.
    """
    sums = plan.add_sources(draws, room=plan.room())
    poses, on = plan.hang(sums, draws)
    outputs = plan.mix(sums)
    plan.shift(outputs)
    return outputs, poses, on
