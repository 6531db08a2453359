"""Random streams keyed by (seed, source, block).

Trials come in blocks of `BLOCK`, and every source has a stream of its own in every block. So the numbers do not depend
on how many threads share the work, a longer run begins with the shorter one, and a source that is added leaves the
draws of all others alone.
The block size is part of what a seed means: changing it changes every result.
"""

from __future__ import annotations

import functools
import hashlib
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
from numpy.random.bit_generator import ISeedSequence

if TYPE_CHECKING:
    from numpy.typing import DTypeLike, NDArray

#: Trials in a block. Small enough for a core's cache, large enough that threads seldom wait for each other.
BLOCK = 16_384

#: Blocks whose streams start from the words of one seed sequence, and the words that SFC64 takes for each.
_BATCH, _WORDS = 16, 3

#: Whatever names a seed: None (fresh entropy), an int (0 counts), a SeedSequence or a Generator.
RngLike: TypeAlias = "int | np.random.SeedSequence | np.random.Generator | None"


class _Start(ISeedSequence):
    """The words that a bit generator starts from."""

    def __init__(self, words: NDArray[np.uint64]) -> None:
        self._words = words

    def generate_state(self, n_words: int, dtype: DTypeLike = np.uint32) -> NDArray[Any]:  # noqa: ARG002
        """The words, which are as many and of the kind that SFC64 asks for."""
        return self._words


def stream(seed: int, key: str, block: int) -> np.random.Generator:
    """The random numbers of source `key` in block number `block` of a run seeded with `seed`."""
    batch, place = divmod(block, _BATCH)
    start = _Start(_starts(seed, key, batch)[place])
    return np.random.Generator(np.random.SFC64(start))  # type: ignore[arg-type]  # takes any ISeedSequence


@functools.lru_cache(maxsize=4096)
def _starts(seed: int, key: str, batch: int) -> NDArray[np.uint64]:
    """Where the streams of a source start in each of `_BATCH` blocks, shape (_BATCH, _WORDS).

    One seed sequence for all of them: to set one up for every block would cost a tenth of the time of a run.
    """
    digest = hashlib.blake2b(key.encode(), digest_size=8).digest()
    words = (int.from_bytes(digest[:4], "little"), int.from_bytes(digest[4:], "little"), batch)
    state = np.random.SeedSequence(seed, spawn_key=words).generate_state(_BATCH * _WORDS, np.uint64)
    return state.astype(np.uint64, copy=False).reshape(_BATCH, _WORDS)


def seed_of(rng: RngLike) -> int:
    """The non-negative integer that a run is seeded with, so that it can be stored and used again.

    Raises
    ------
    TypeError: if `rng` is none of the kinds named in `RngLike`.
    ValueError: if `rng` is a negative integer.
    """
    if rng is None:
        rng = np.random.SeedSequence()
    if isinstance(rng, np.random.Generator):
        return int(rng.integers(2**63))
    if isinstance(rng, np.random.SeedSequence):
        return int.from_bytes(rng.generate_state(4).tobytes(), "little")
    if isinstance(rng, bool) or not isinstance(rng, int | np.integer):
        raise TypeError(f"a seed is None, a whole number, a SeedSequence or a Generator, not {rng!r}")
    if rng < 0:
        raise ValueError(f"a seed is not negative, but {rng} is")
    return int(rng)
