"""The random generator against its published sequence, and its numbers against chance."""

import os
import subprocess
import sys

import numpy as np
import pytest
from chance import assert_distribution, assert_mean

from photonsim.kernel.compiler import jit_entry
from photonsim.kernel.random import STEP, draws_of, mix, start, uniform

# SplitMix64 for seed 1234567, as on Rosetta Code ('Pseudo-random numbers/Splitmix64'), made with
# Vigna's splitmix64.c: published, quoted from memory, and recomputed by `reference` below.
PUBLISHED = (
    6457827717110365317,
    3203168211198807973,
    9817491932198370423,
    4593380528125082431,
    16408922859458223821,
)
BITS = (1 << 64) - 1
HISTORIES = 1 << 18
DRAWS = 8


def reference(seed: int, count: int) -> list[int]:
    """SplitMix64 in whole numbers of Python, from the description in Steele, Lea, Flood (2014)."""
    found = []
    for step in range(1, count + 1):
        z = (seed + step * 0x9E3779B97F4A7C15) & BITS
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & BITS
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & BITS
        found.append(z ^ (z >> 31))
    return found


@jit_entry
def fill(seed, first, numbers):
    """Write uniform numbers [histories, draws] as the kernel draws them."""
    for history in range(numbers.shape[0]):
        rng = start(seed, first + np.uint64(history))
        for draw in range(numbers.shape[1]):
            rng = rng + STEP
            numbers[history, draw] = uniform(rng)


@pytest.fixture(scope="module")
def numbers():
    filled = np.empty((HISTORIES, DRAWS))
    fill(np.uint64(2026), np.uint64(0), filled)
    return filled


def test_published_sequence():
    assert reference(1234567, 5) == list(PUBLISHED)
    rng = start(np.uint64(1234567), np.uint64(0))
    for expected in PUBLISHED:
        rng = np.uint64((int(rng) + int(STEP)) & BITS)
        assert int(mix(rng)) == expected


def test_history_owns_its_stretch_of_the_sequence():
    # Design: history h starts 65,536 h steps into the sequence of its seed. Derived.
    counter = int(start(np.uint64(99), np.uint64(3)))
    jumped = (99 + 3 * 65536 * 0x9E3779B97F4A7C15) & BITS
    assert counter == jumped
    drawn = np.empty((1, 1000))
    fill(np.uint64(99), np.uint64(3), drawn)
    assert drawn[0].tolist() == [(bits >> 11) * 2.0**-53 for bits in reference(jumped, 1000)]


@pytest.mark.parametrize("history", [0, 7, (1 << 48) - 1])
@pytest.mark.parametrize("drawn", [0, 1, 65_536, 10**9])
def test_numbers_drawn_are_counted_by_the_counter_alone(history, drawn):
    # Design: 65,536 numbers a history; the step is odd and so has an inverse. Derived.
    counter = (int(start(np.uint64(5), np.uint64(history))) + drawn * int(STEP)) & BITS
    assert int(draws_of(np.uint64(5), np.uint64(history), np.uint64(counter))) == drawn


def test_a_history_that_draws_more_numbers_than_it_owns_is_given_up():
    # With the compiler off, a limit of 2 stands for 65,536: a photon draws one number at its
    # emission, one at a wall, and two more where it is sent back.
    code = (
        "import numpy as np\nfrom photonsim.kernel import history\n"
        "from photonsim.engine import sample_paths\nfrom tests.shipped import scene\n"
        "free = sample_paths(scene('a'), 50)\n"
        "history.MOST_DRAWS = np.uint64(2)\n"
        "held = sample_paths(scene('a'), 50)\n"
        "assert any(path.group == 'guard' for path in held)\n"
        "assert not any(path.group == 'guard' for path in free)\n"
        "assert all(one.fate == other.fate for one, other in zip(free, held, strict=True)\n"
        "           if other.group != 'guard')\n"
    )
    environment = os.environ | {"NUMBA_DISABLE_JIT": "1"}
    subprocess.run([sys.executable, "-c", code], env=environment, check=True)


def test_the_last_history_wraps_without_a_fuss():
    drawn = np.empty((2, 4))
    fill(np.uint64(BITS), np.uint64((1 << 48) - 1), drawn)
    assert ((drawn >= 0.0) & (drawn < 1.0)).all()
    assert not np.array_equal(drawn[0], drawn[1])


def test_uniform_numbers_are_multiples_of_the_last_bit(numbers):
    scaled = numbers * 2.0**53
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
    low = (numbers.ravel() * 2.0**53).astype(np.int64) & 255
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
