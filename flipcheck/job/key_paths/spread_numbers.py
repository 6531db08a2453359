"""The numbers of a spread, or of what holds one, by their keys; and the same with another of them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from flipcheck.job.between import Change
from flipcheck.job.quantities import RefusedError
from flipcheck.job.spread_table import SizeSpread
from flipcheck.stack.spreads import Exactly, Normal, Uniform

if TYPE_CHECKING:
    from flipcheck.stack.spreads import Spread

    #: None where the job gives none.
    Sized = Spread | SizeSpread | Change | None

#: The sizes that a spread may be given by, one of them.
SIZES = ("std", "limit", "total")


def spread_in(value: Sized) -> Spread | None:
    """The spread itself."""
    return value.spread if isinstance(value, (SizeSpread, Change)) else value


def numbers_of(value: Sized) -> list[str]:
    """The keys of the numbers that it has, or may be given where there is none yet."""
    told = isinstance(value, Change) and value.before is not None
    own = ["diameter"] if isinstance(value, SizeSpread) else ["before", "after"] if told else []
    spread = spread_in(value)
    if _without_size(spread):
        return [*own, *SIZES]
    sizes = ["std"] if isinstance(spread, Normal) and spread.limit is None else SIZES
    return [*own, *sizes, *([] if told else ["bias"])]


def number_of(value: Sized, key: str) -> float | None:
    """One of its numbers, in mm, rad, K or as a ratio; None where there is none."""
    if key in ("diameter", "before", "after"):
        return getattr(value, key, None)
    spread = spread_in(value)
    if spread is None:
        return None
    if key == "bias":
        return spread.mean
    return spread.std if key == "std" else spread.bound * (2.0 if key == "total" else 1.0)


def with_size(value: Sized, key: str, number: float) -> Sized:
    """The same with another number; errors as of `resized`."""
    if isinstance(value, Change):
        if key not in ("before", "after"):
            return replace(value, spread=resized(value.spread, key, number))
        ends = {"before": value.before or 0.0, "after": value.after or 0.0, key: number}
        return Change(resized(value.spread, "bias", ends["after"] - ends["before"]), **ends)
    if isinstance(value, SizeSpread):
        new = {key: number} if key == "diameter" else {"spread": resized(value.spread, key, number)}
        return value.model_copy(update=new)
    return resized(value, key, number)


def resized(spread: Spread | None, key: str, size: float) -> Spread:
    """A spread of the same shape and bias, one of whose numbers is another; a new one where it had no size.

    Raises
    ------
    RefusedError: negative, for a size below 0; spread-option, where a limit does not tell the standard deviation.
    """
    if key == "bias":
        assert spread is not None
        return replace(spread, mean=size)  # type: ignore[type-var]
    if size < 0.0:
        raise RefusedError("negative", "a spread of 0 or more", hint="bias for a known one-sided error")
    half = size / 2.0 if key == "total" else size
    if spread is None or _without_size(spread):
        mean = spread.mean if spread else 0.0
        return Normal(size, mean) if key == "std" else Uniform(half, mean)
    if not isinstance(spread, Normal):
        factor = replace(spread, half=1.0).std if key == "std" else 1.0  # type: ignore[type-var]
        return replace(spread, half=half / factor)  # type: ignore[type-var]
    if spread.limit is None:
        return replace(spread, std=size)
    if not spread.std:
        raise RefusedError("spread-option", "a spread that is not zero, to be made larger or smaller")
    sigmas = spread.limit / spread.std
    std, limit = (size, size * sigmas) if key == "std" else (half / sigmas, half)
    return Normal(std, spread.mean, limit)


def _without_size(spread: Spread | None) -> bool:
    return spread is None or isinstance(spread, Exactly) or spread == Normal(0.0)
