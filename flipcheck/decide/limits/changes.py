"""What to change where a method misses its goal: one thing if that will do, else the shortest list that is found."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from flipcheck.stack.quasi_monte_carlo.what_if import largest, with_size

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from flipcheck.decide.limits.fixture import PinLimits
    from flipcheck.stack.linear import LinearModel
    from flipcheck.stack.quasi_monte_carlo.what_if import WhatIf

#: What the fit of the pins is called among the things that may change.
_FIT = "pin clearance"
#: The smallest fit is a micrometre, mm.
_LEAST = 1e-3


@dataclass(frozen=True)
class Changes:
    """The shortest list of changes found that reaches a missed goal.

    Attributes
    ----------
    sources: Keys of the errors to shrink, the one that harms most first.
    factor: What each of them must shrink to, in times its present size; 1 where none need, None where the goal is
        missed even without any error.
    clearance: What the nominal diametral clearance of the pins must become as well, mm; None where it may stay.
    """

    sources: tuple[str, ...]
    factor: float | None
    clearance: float | None = None


def single_change(factors: Mapping[str, float | None], pins: PinLimits | None) -> Changes | None:
    """The one thing that reaches the goal alone: the clearance, or else the error that must shrink least.

    `factors` holds the largest size of each error in times its present one, None where none will do.
    """
    if pins and pins.smallest is not None and pins.largest is not None:
        return Changes((), 1.0, min(max(pins.clearance, pins.smallest), pins.largest))
    alone = {name: factor for name, factor in factors.items() if factor is not None and factor < 1.0}
    if not alone:
        return None
    least = max(alone, key=lambda name: alone[name])
    return Changes((least,), alone[least])


class Search:
    """Looks for a list of changes, where no single one reaches the goal.

    First no error acts, and pins are as tight as still goes on. Then one thing after the other is put back as it was,
    the most harmless first, as long as the goal is met. What cannot be put back is the list: no part of it is idle.
    Its errors then shrink together, as little as they must, and the fit is set to what goes on with them.

    Parameters
    ----------
    what_if: The method.
    groups: The places in the model of the sources of each error.
    goal: The chance wanted.
    clearance: Nominal diametral clearance of the pins, mm; None without pins.
    """

    def __init__(
        self, what_if: WhatIf, groups: Mapping[str, tuple[int, ...]], goal: float, clearance: float | None
    ) -> None:
        self._what_if, self._groups, self._goal, self._clearance = what_if, groups, goal, clearance

    def changes(self) -> Changes:
        """The list."""
        nothing = with_size(self._what_if.model, [i for group in self._groups.values() for i in group], 0.0)
        fitted = self._clearance is not None
        if self._chance(nothing, fitted) < self._goal:
            return Changes(tuple(self._groups), None)
        model, kept = nothing, []
        for name in self._most_harmless_first(nothing, fitted):
            if name == _FIT:
                tried, fitted_then = model, False
            else:
                tried, fitted_then = self._with(model, [name]), fitted
            if self._chance(tried, fitted_then) >= self._goal:
                model, fitted = tried, fitted_then
            elif name != _FIT:
                kept.append(name)
        return self._shrunk(model, kept[::-1], fitted)

    def _with(self, model: LinearModel, names: Sequence[str], size: float = 1.0) -> LinearModel:
        """The model with some errors put back, at `size` times what they are in the job."""
        places = {i for name in names for i in self._groups[name]}
        back = with_size(self._what_if.model, places, size).sources
        return replace(model, sources=tuple(back[i] if i in places else old for i, old in enumerate(model.sources)))

    def _most_harmless_first(self, nothing: LinearModel, fitted: bool) -> list[str]:
        """The errors and the fit, by the chance that is left when each alone is as it is."""
        alone = {name: self._chance(self._with(nothing, [name]), fitted) for name in self._groups}
        if fitted:
            alone[_FIT] = self._chance(nothing, False)
        return sorted(alone, key=lambda name: -alone[name])

    def _shrunk(self, model: LinearModel, names: Sequence[str], fitted: bool) -> Changes:
        """Let the named errors come back together, as far as the goal allows."""
        factor = (
            largest(lambda size: self._chance(self._with(model, names, size), fitted), self._goal) if names else 1.0
        )
        clearance = None
        if fitted and factor is not None and self._clearance is not None:
            clearance = self._clearance + 2.0 * self._fit(self._with(model, names, factor))
        return Changes(tuple(names), factor, clearance)

    def _chance(self, model: LinearModel, fitted: bool) -> float:
        return self._what_if.chance(self._fit(model) if fitted else 0.0, model)

    def _fit(self, model: LinearModel) -> float:
        """By how much each radial clearance grows when the fit is made as tight as still goes on, mm.

        Blanks that do not go on are then at most half of the misses that the goal allows.
        """
        assert self._clearance is not None
        return max(self._what_if.tightest(0.5 * (1.0 + self._goal), model), 0.5 * (_LEAST - self._clearance))
