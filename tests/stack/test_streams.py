"""Random streams keyed by seed, source and block."""

from __future__ import annotations

import numpy as np
import pytest

from flipcheck.stack.monte_carlo.streams import BLOCK, seed_of, stream


def numbers(seed: int, key: str, block: int) -> list[float]:
    return stream(seed, key, block).random(8).tolist()


def test_same_key_same_numbers():
    """Seed, source and block fix the numbers."""
    assert numbers(1, "seating/stop, setup A", 3) == numbers(1, "seating/stop, setup A", 3)


@pytest.mark.parametrize(
    "other",
    [(2, "probe_radius/", 0), (1, "probe_radius/setup A", 0), (1, "probe_radius/", 1), (0, "probe_radius/", 0)],
    ids=["seed", "source", "block", "seed 0"],
)
def test_another_key_gives_other_numbers(other: tuple[int, str, int]):
    """Not one number is shared when the seed, the source or the block is another."""
    assert not set(numbers(1, "probe_radius/", 0)) & set(numbers(*other))


def test_many_streams_are_all_different():
    """No two of 3000 streams begin with the same number."""
    first = {numbers(s, f"source {k}", b)[0] for s in range(10) for k in range(10) for b in range(30)}

    assert len(first) == 3000


def test_names_beyond_ascii_have_streams_of_their_own():
    """A pair may be named in any script."""
    assert numbers(1, "cut/Lagersitz ø", 0) != numbers(1, "cut/Lagersitz o", 0)


def test_neighbouring_streams_are_uncorrelated():
    """Two sources, two blocks or two seeds show no correlation beyond chance (4 standard errors of 1 / sqrt BLOCK)."""
    base, *others = (
        stream(*key).standard_normal(BLOCK) for key in [(1, "a", 0), (1, "b", 0), (1, "a", 1), (2, "a", 0)]
    )
    correlations = [np.corrcoef(base, other)[0, 1] for other in others]

    assert np.abs(correlations).max() < 4.0 / np.sqrt(BLOCK)


def test_seed_zero_is_a_seed():
    """Zero is taken as it is, not as no seed at all."""
    assert seed_of(0) == 0
    assert numbers(0, "a", 0) == numbers(0, "a", 0)


@pytest.mark.parametrize("seed", [1, 2**40, np.int64(7), np.uint8(7)])
def test_a_whole_number_is_its_own_seed(seed: int):
    """Whole numbers, numpy's too, come back as plain ones."""
    assert int(seed) == seed_of(seed)
    assert type(seed_of(seed)) is int


def test_no_seed_is_a_new_one_each_time():
    """None asks the system for fresh entropy, of at least 64 bits in use."""
    seeds = {seed_of(None) for _ in range(20)}

    assert len(seeds) == 20
    assert min(seeds) >= 0
    assert max(seeds) > 2**64


def test_a_seed_sequence_names_the_same_seed_every_time():
    """Reading the seed of a sequence does not use it up."""
    sequence = np.random.SeedSequence(5)

    assert seed_of(sequence) == seed_of(sequence) == seed_of(np.random.SeedSequence(5))
    assert seed_of(sequence) != seed_of(np.random.SeedSequence(6))
    assert seed_of(sequence) != seed_of(np.random.SeedSequence(5, spawn_key=(0,)))


def test_a_generator_is_drawn_from():
    """A generator gives another seed each time, and the same ones again if it is begun again."""
    first, second = np.random.default_rng(5), np.random.default_rng(5)
    seeds = [seed_of(first), seed_of(first)]

    assert seeds == [seed_of(second), seed_of(second)]
    assert seeds[0] != seeds[1]


def test_every_seed_can_be_used():
    """Whatever a seed was made from, a stream can be seeded with it."""
    for rng in (None, 0, np.int64(3), np.random.SeedSequence(1), np.random.default_rng(1)):
        assert 0.0 <= stream(seed_of(rng), "a", 0).random() < 1.0


@pytest.mark.parametrize("rng", [1.0, "1", True, False, [1]])
def test_what_is_no_seed_is_refused(rng: object):
    """A seed of the wrong kind is named in the message."""
    with pytest.raises(TypeError, match="a seed is None, a whole number, a SeedSequence or a Generator, not "):
        seed_of(rng)  # type: ignore[arg-type]


@pytest.mark.parametrize("rng", [-1, np.int32(-5)])
def test_a_negative_seed_is_refused(rng: int):
    """A negative seed is named in the message."""
    with pytest.raises(ValueError, match=f"a seed is not negative, but {rng} is"):
        seed_of(rng)


def test_a_generator_gives_seeds_of_63_bits():
    """Few seeds would mean that two runs are often the same: eight of them come from all over the range."""
    rng = np.random.default_rng(1)
    seeds = [seed_of(rng) for _ in range(8)]

    assert len({seed >> 60 for seed in seeds}) > 3
    assert 0 <= min(seeds) < max(seeds) < 2**63


def test_a_seed_sequence_gives_the_same_128_bits_each_time():
    """The state of a seed sequence is four words of 32 bits."""
    first, again, other = (seed_of(np.random.SeedSequence(entropy)) for entropy in (5, 5, 6))

    assert first == again != other
    assert 2**64 < min(first, other) < max(first, other) < 2**128
