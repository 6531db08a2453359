"""Random streams keyed by (seed, source, block).

Trials come in blocks of `BLOCK`, and every source has a stream of its own in every block. So the numbers do not depend
on how many threads share the work, a longer run begins with the shorter one, and a source that is added leaves the
draws of all others alone.
The block size is part of what a seed means: changing it changes every result.
"""

from __future__ import annotations

import hashlib
from typing import TypeAlias

import numpy as np

#: Trials in a block. Small enough for a core's cache, large enough that threads seldom wait for each other.
BLOCK = 16_384

#: Whatever names a seed: None (fresh entropy), an int (0 counts), a SeedSequence or a Generator.
RngLike: TypeAlias = "int | np.random.SeedSequence | np.random.Generator | None"


def stream(seed: int, key: str, block: int) -> np.random.Generator:
    """The random numbers of source `key` in block number `block` of a run seeded with `seed`."""
    digest = hashlib.blake2b(key.encode(), digest_size=8).digest()
    words = (int.from_bytes(digest[:4], "little"), int.from_bytes(digest[4:], "little"), block)
    return np.random.Generator(np.random.SFC64(np.random.SeedSequence(seed, spawn_key=words)))


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
