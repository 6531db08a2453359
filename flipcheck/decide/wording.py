"""How chances and shares are written, in the reason of a recommendation as in the tables: one rule."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flipcheck.stack.intervals import Chance

#: What stands where there is no number.
NOTHING = "-"
#: Below this the tails of the errors, which nobody knows so well, would decide the digits.
RARE = 1e-4


def decimals(chance: Chance) -> int:
    """Decimals of a percentage that its interval supports, three at most."""
    half = 50.0 * (chance.high - chance.low)
    return min(3, max(0, math.ceil(-math.log10(half / 1.5)))) if half > 0.0 else 3


def percent(share: float, places: int) -> str:
    """A share as a bare percentage; what is neither 0 nor 1 is not rounded to them."""
    if share in (0.0, 1.0):
        return f"{100 * share:.0f}"
    text = f"{100.0 * share:.{places}f}"
    step = 10.0**-places
    if float(text) <= 0.0:
        return f"<{step:.{places}f}"
    return f">{100.0 - step:.{places}f}" if float(text) >= 100.0 else text


def chance_text(chance: Chance) -> str:
    """The estimate of a chance, with the digits its interval supports."""
    if math.isnan(chance.estimate):
        return NOTHING
    return rare(chance) or f"{percent(chance.estimate, decimals(chance))} %"


def rare(chance: Chance) -> str:
    """What is said of a chance whose whole interval is next to 0 or 1, or of which no trial knew the other side."""
    if chance.low > 1.0 - RARE:
        return ">99.99 %"
    if chance.high < RARE:
        return "<0.01 %"
    places = min(2, decimals(chance))
    steps = 100.0 * 10**places
    if chance.estimate == 1.0:
        return f">{100.0 * math.floor(chance.low * steps) / steps:.{places}f} %"
    return f"<{100.0 * math.ceil(chance.high * steps) / steps:.{places}f} %" if chance.estimate == 0.0 else ""


def goal_text(goal: float) -> str:
    """The goal as it was given, in per cent."""
    return f"{100.0 * goal:.6g} %"


def share_text(share: float) -> str:
    """A source's share of the scatter, in whole per cent."""
    if math.isnan(share):
        return NOTHING
    return "<1 %" if 0.0 < share < 0.005 else f"{100.0 * share:.0f} %"


#: What a blank that is held with play goes onto or into, by the kind of method.
_SEATS = {"pins": "onto {} pins", "nest": "into {} nest"}


def seat(kind: str, whose: str = "the") -> str:
    """Where a blank goes by a kind of method, such as "onto the pins"; of kinds without play the pins stand for all."""
    return _SEATS.get(kind, _SEATS["pins"]).format(whose)


def has_play(kind: str) -> bool:
    """Whether blanks may fail to go on or in by a kind of method."""
    return kind in _SEATS
