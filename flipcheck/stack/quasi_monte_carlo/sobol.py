"""Points that fill a cube more evenly than random ones: Sobol's sequence, shifted at random, several times over.

Each shift gives an estimate of its own, unbiased; the scatter between them is an honest standard error. The first 2^m
points are evenly spread for every m, so a run may stop there. Blocks are made directly, without those before them.
scipy has these points too, but importing it costs more time than most answers.
Sources: I. M. Sobol, USSR Comput. Math. Math. Phys. 7 (1967) 86-112; primitive polynomials and first direction numbers
of S. Joe and F. Y. Kuo, SIAM J. Sci. Comput. 30 (2008) 2635-2654, as scipy ships them; digital shifts after P. L'Ecuyer
and C. Lemieux (2002), from memory.
"""

from __future__ import annotations

from functools import cache, cached_property
from typing import TYPE_CHECKING

import numpy as np

from flipcheck.stack.monte_carlo.streams import BLOCK, stream

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Words = NDArray[np.uint32]
    Kept = dict[tuple[object, ...], list[Array]]

#: Shifts of the sequence: independent repeats of the whole run.
REPEATS = 16

_BITS = 32
#: As many of them number the points of a block.
_IN_BLOCK = (BLOCK // REPEATS).bit_length() - 1
#: For each dimension but the first: the primitive polynomial, as the bits of a number, and its direction numbers.
_TABLE = """
    3: 1; 7: 1 3; 11: 1 3 1; 13: 1 1 1; 19: 1 1 3 3; 25: 1 3 5 13; 37: 1 1 5 5 17; 41: 1 1 5 5 5;
    47: 1 1 7 11 19; 55: 1 1 5 1 1; 59: 1 1 1 3 11; 61: 1 3 5 5 31; 67: 1 3 3 9 7 49; 91: 1 1 1 15 21 21;
    97: 1 3 1 13 27 49; 103: 1 1 1 15 7 5; 109: 1 3 1 15 13 25; 115: 1 1 5 5 19 61; 131: 1 3 7 11 23 15 103;
    137: 1 3 7 13 13 15 69; 143: 1 1 3 13 7 35 63; 145: 1 3 5 9 1 25 53; 157: 1 3 1 13 9 35 107;
    167: 1 3 1 5 27 61 31; 171: 1 1 5 11 19 41 61; 185: 1 3 5 3 3 13 69; 191: 1 1 7 13 1 19 1;
    193: 1 3 7 5 13 19 59; 203: 1 1 3 9 25 29 41; 211: 1 3 5 13 23 1 55; 213: 1 3 7 3 13 59 17;
    229: 1 3 1 3 5 53 69; 239: 1 1 5 5 23 33 13; 241: 1 1 7 7 1 61 123; 247: 1 1 7 9 13 61 49;
    253: 1 3 3 5 3 55 33; 285: 1 3 1 15 31 13 49 245; 299: 1 3 5 15 31 59 63 97; 301: 1 3 1 11 11 11 77 249;
    333: 1 3 1 11 27 43 71 9; 351: 1 1 7 15 21 11 81 45; 355: 1 3 7 3 25 31 65 79; 357: 1 3 1 1 19 11 3 205;
    361: 1 1 5 9 19 21 29 157; 369: 1 3 7 11 1 33 89 185; 391: 1 3 3 3 15 9 79 71; 397: 1 3 7 11 15 39 119 27;
    425: 1 1 3 1 11 31 97 225; 451: 1 1 1 3 23 43 57 177; 463: 1 3 7 7 17 17 37 71; 487: 1 3 1 5 27 63 123 213;
    501: 1 1 3 5 11 43 53 133; 529: 1 3 5 5 29 17 47 173 479; 539: 1 3 3 11 3 1 109 9 69;
    545: 1 1 1 5 17 39 23 5 343; 557: 1 3 1 5 25 15 31 103 499; 563: 1 1 1 11 11 17 63 105 183;
    601: 1 1 5 11 9 29 97 231 363; 607: 1 1 5 15 19 45 41 7 383; 617: 1 3 7 7 31 19 83 137 221;
    623: 1 1 1 3 23 15 111 223 83; 631: 1 1 5 13 31 15 55 25 161; 637: 1 1 3 13 25 47 39 87 257
"""
#: Dimensions there are points for.
DIMENSIONS = _TABLE.count(":") + 1


class Sobol:
    """The points of one run.

    Parameters
    ----------
    seed: Of the run.
    names: A name a dimension, `DIMENSIONS` at most; the shifts are keyed by it, so that two models share those of a
        source they share.
    kept: Where blocks once made are kept, for runs that ask for them again and again.
    """

    def __init__(self, seed: int, names: Sequence[str], kept: Kept | None = None) -> None:
        self._key, self._kept = (seed, *names), kept
        self._directions = _directions(len(names))
        shifts = [stream(seed, f"shift/{name}", 0).integers(0, 1 << _BITS, REPEATS, dtype=np.uint32) for name in names]
        self._shifts = np.array(shifts, dtype=np.uint32).reshape(len(names), 1, REPEATS)

    @cached_property
    def _first(self) -> Words:
        """Block 0 with its shifts; every other block is this one, shifted once more.

        The last bit is set instead, so that no point is 0.
        """
        first = _words(self._directions, 0)
        return np.repeat(first, REPEATS, axis=1) ^ np.tile(self._shifts[:, 0], first.shape[1]) | np.uint32(1)

    def block(self, number: int) -> Iterator[Array]:
        """Points of one block, in (0, 1): row by row, each of shape (BLOCK,); place j belongs to repeat j % REPEATS."""
        if self._kept is None:
            return self._rows(number)
        key = (*self._key, number)
        if key not in self._kept:
            self._kept[key] = list(self._rows(number))
        return iter(self._kept[key])

    def _rows(self, number: int) -> Iterator[Array]:
        for first, jump in zip(self._first, _jump(self._directions, number) & ~np.uint32(1), strict=True):
            yield np.multiply(first ^ jump, 2.0**-_BITS)


def _words(directions: Words, number: int) -> Words:
    """One block of points of the sequence, as binary fractions of 32 bits, shape (dimensions, BLOCK / REPEATS)."""
    words = np.zeros((len(directions), 1), dtype=np.uint32)
    for bit in range(_IN_BLOCK):
        words = np.concatenate([words, words ^ directions[:, bit, None]], axis=1)
    return words ^ _jump(directions, number)[:, None]


def _jump(directions: Words, number: int) -> Words:
    """What a block differs by from block 0, shape (dimensions,)."""
    jump = np.zeros(len(directions), dtype=np.uint32)
    for bit in range(number.bit_length()):
        if number >> bit & 1:
            jump ^= directions[:, _IN_BLOCK + bit]
    return jump


@cache
def _directions(dimensions: int) -> Words:
    """The direction numbers, shape (dimensions, 32): bit k of a point's number brings in column k."""
    found = [[1] * _BITS]
    for entry in _TABLE.split(";")[: max(dimensions - 1, 0)]:
        polynomial, first = entry.split(":")
        found.append(_recurrence(int(polynomial), [int(number) for number in first.split()]))
    shifted = [[m << (_BITS - 1 - k) for k, m in enumerate(numbers)] for numbers in found[:dimensions]]
    return np.array(shifted, dtype=np.uint32).reshape(dimensions, _BITS)


def _recurrence(polynomial: int, numbers: list[int]) -> list[int]:
    degree = len(numbers)
    while len(numbers) < _BITS:
        new = numbers[-degree] ^ (numbers[-degree] << degree)
        for i in range(1, degree):
            if polynomial >> (degree - i) & 1:
                new ^= numbers[-i] << i
        numbers.append(new)
    return numbers
