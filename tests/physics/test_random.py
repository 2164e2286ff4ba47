"""The random generator against its published sequences, and its numbers against chance."""

import numpy as np
import pytest

from photonsim.kernel.entry import jit_entry
from photonsim.kernel.random import COUNTER_STEP, apart, mix, next_state, start, uniform_as
from tests.chance import assert_distribution, assert_mean

# SplitMix64 for seed 1234567, as on Rosetta Code ('Pseudo-random numbers/Splitmix64'), made with
# Vigna's splitmix64.c: published, quoted from memory, and recomputed by `splitmix64` below.
PUBLISHED_STARTS = (
    6457827717110365317,
    3203168211198807973,
    9817491932198370423,
    4593380528125082431,
    16408922859458223821,
)
# xoroshiro64* from the halves 1 and 2, made with its authors' xoroshiro64star.c: published with the
# tests of the Rust crate rand_xoshiro, quoted from memory, and recomputed by `xoroshiro64` below.
PUBLISHED_NUMBERS = (
    2654435771,
    327208753,
    4063491769,
    4259754937,
    261922412,
    168123673,
    552743735,
    1672597395,
    1031040050,
    2755315674,
)
BITS = (1 << 64) - 1
HISTORIES = 1 << 18
DRAWS = 8


def splitmix64(seed: int, count: int) -> list[int]:
    """SplitMix64 in whole numbers of Python, from the description in Steele, Lea, Flood (2014)."""
    found = []
    for step in range(1, count + 1):
        z = (seed + step * 0x9E3779B97F4A7C15) & BITS
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & BITS
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & BITS
        found.append(z ^ (z >> 31))
    return found


def xoroshiro64(first: int, second: int, count: int) -> list[int]:
    """xoroshiro64* in whole numbers of Python: a = 26, b = 9, c = 13, times 0x9E3779BB.

    Blackman and Vigna, ACM Trans. Math. Softw. 47, 36 (2021): the engine of section 3 with 32 bits.
    """

    def turned(word: int, by: int) -> int:
        return (word << by | word >> 32 - by) & 0xFFFFFFFF

    found = []
    for _ in range(count):
        found.append(first * 0x9E3779BB & 0xFFFFFFFF)
        second ^= first
        first = turned(first, 26) ^ second ^ (second << 9 & 0xFFFFFFFF)
        second = turned(second, 13)
    return found


@jit_entry
def fill(seed, first, numbers):
    """Write uniform numbers [histories, draws] as the kernel draws them."""
    for history in range(numbers.shape[0]):
        rng = start(seed, first + np.uint64(history))
        for draw in range(numbers.shape[1]):
            rng = next_state(rng)
            numbers[history, draw] = uniform_as(1.0, rng)


@pytest.fixture(scope="module")
def numbers():
    filled = np.empty((HISTORIES, DRAWS))
    fill(np.uint64(2026), np.uint64(0), filled)
    return filled


def test_published_sequences():
    assert splitmix64(1234567, 5) == list(PUBLISHED_STARTS)
    assert xoroshiro64(1, 2, 10) == list(PUBLISHED_NUMBERS)
    for history, expected in enumerate(PUBLISHED_STARTS):
        counter = np.uint64((1234567 + (history + 1) * int(COUNTER_STEP)) & BITS)
        assert int(mix(counter)) == expected
        assert int(start(np.uint64(1234567), np.uint64(history))) == expected
    rng = np.uint64(2 << 32 | 1)
    for expected in PUBLISHED_NUMBERS:
        assert uniform_as(1.0, rng) == expected * 2.0**-32
        assert uniform_as(np.float32(1.0), rng) == np.float32((expected >> 8) * 2.0**-24)
        rng = np.uint64(next_state(rng))


def test_history_begins_where_the_sequence_of_starts_says():
    # Design: history h begins with the number h of SplitMix64's sequence of its seed. Derived.
    begin = splitmix64(99, 4)[3]
    drawn = np.empty((1, 1000))
    fill(np.uint64(99), np.uint64(3), drawn)
    expected = xoroshiro64(begin & 0xFFFFFFFF, begin >> 32, 1001)[1:]
    assert drawn[0].tolist() == [number * 2.0**-32 for number in expected]


def test_numbers_of_blocks_are_of_a_sequence_apart():
    # Design: SplitMix64 from the seed with some of its bits turned over. Derived.
    expected = splitmix64(99 ^ 0x243F6A8885A308D3, 3)
    assert [int(apart(np.uint64(99), np.uint64(number))) for number in range(3)] == expected


def test_the_last_history_wraps_without_a_fuss():
    drawn = np.empty((2, 4))
    fill(np.uint64(BITS), np.uint64(BITS - 1), drawn)
    assert ((drawn >= 0.0) & (drawn < 1.0)).all()
    assert not np.array_equal(drawn[0], drawn[1])


def test_uniform_numbers_are_multiples_of_the_last_bit(numbers):
    scaled = numbers * 2.0**32
    assert (scaled == np.floor(scaled)).all()
    assert numbers.min() >= 0.0
    assert numbers.max() < 1.0


# The remaining checks are derived from the definition of independent uniform numbers; the tests
# themselves are those of Knuth, The Art of Computer Programming, vol. 2, section 3.3.2.


@pytest.mark.parametrize("draw", range(DRAWS))
def test_equidistribution_over_histories(numbers, draw):
    counts = np.bincount((numbers[:, draw] * 1000).astype(int), minlength=1000)
    assert_distribution(counts, np.full(1000, 1e-3), what=f"draw {draw} in 1000 bins")


def test_equidistribution_of_the_low_bits(numbers):
    low = (numbers.ravel() * 2.0**32).astype(np.int64) & 255
    assert_distribution(np.bincount(low, minlength=256), np.full(256, 1 / 256), what="low bits")


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (np.s_[:-1, 0], np.s_[1:, 0]),
        (np.s_[:-1, 3], np.s_[1:, 3]),
        (np.s_[:-7, 0], np.s_[7:, 0]),
        (np.s_[:, 0], np.s_[:, 1]),
        (np.s_[:, 0], np.s_[:, 4]),
        (np.s_[:-1, 0], np.s_[1:, 1]),
    ],
    ids=["next history", "next, 4th draw", "7 on", "next draw", "4 draws on", "both next"],
)
def test_pairs_are_independent(numbers, first, second):
    place = (numbers[first] * 32).astype(int) * 32 + (numbers[second] * 32).astype(int)
    counts = np.bincount(place, minlength=1024)
    assert_distribution(counts, np.full(1024, 1 / 1024), what="pairs in 32 x 32 bins")


def test_three_dimensions(numbers):
    place = np.zeros(HISTORIES, dtype=int)
    for draw in range(3):
        place = place * 10 + (numbers[:, draw] * 10).astype(int)
    counts = np.bincount(place, minlength=1000)
    assert_distribution(counts, np.full(1000, 1e-3), what="triples in 10 x 10 x 10 bins")


def test_seeds_beside_each_other_are_unrelated(numbers):
    others = np.empty((HISTORIES, 1))
    fill(np.uint64(2027), np.uint64(0), others)
    products = (numbers[:, 0] - 0.5) * (others[:, 0] - 0.5)
    assert_mean(products.reshape(64, -1).mean(axis=1), 0.0, what="covariance of two seeds")
