"""Registering against a fence and an end stop."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flipcheck.flip.locators import Bench, solve
from flipcheck.flip.registration import Registration, seated

if TYPE_CHECKING:
    from flipcheck.flip.frames import Placing
    from flipcheck.job.records import FenceMethod, Side


class Fence:
    """Two contacts on a fence fix one shift and the turn, a stop fixes the other shift."""

    def __init__(self, bench: Bench, method: FenceMethod) -> None:
        self._bench, self._method = bench, method

    def register(self, placing: Placing) -> Registration:
        """Seat the blank."""
        method, bench = self._method, self._bench
        by_hand = method.set_by == "hand"
        fence = bench.fence(placing, method.fence, method.contacts, by_hand=by_hand, rail=method.rail)
        stop = bench.stop(placing, stop_side(method, placing), method.stop_at, by_hand=by_hand)
        return seated(bench, placing, *solve([*fence, stop]))


def stop_side(method: FenceMethod, placing: Placing) -> Side:
    """The machine side of the stop: it stays, as the fence does, or follows the edge it met in setup A."""
    return method.stop if method.after_flip == "same side" else placing.edge_at(method.stop)
