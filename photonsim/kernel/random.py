"""Random numbers as a pure function of (seed, history, draw).

The generator is xoroshiro64* (D. Blackman and S. Vigna, ACM Trans. Math. Softw. 47, 36 (2021)): two
halves of 32 bits as a state, and numbers of 32 bits. A GPU computes in 32 bits: of one with 64 it
needs three times the instructions, and with 20 places that draw it was 10 % slower altogether.

History h begins with the number h of the sequence of SplitMix64 (G. L. Steele, D. Lea and C. H.
Flood, 'Fast splittable pseudorandom number generators', OOPSLA 2014) as its state, so no two
histories of a seed begin alike: that generator is a bijection of its counter, and the counters of
histories differ. Two could meet later on: of 10**14 histories of 30 draws each, one in 3,000 runs
into a stretch of another's numbers, at another place in its life. What places and aims a new photon
comes from here only in part: see digital_net.
"""

import numpy as np

from photonsim.kernel.compiler import constant, jit
from photonsim.kernel.numbers import is_single, typed

COUNTER_STEP = np.uint64(0x9E3779B97F4A7C15)
MULTIPLIER_1 = np.uint64(0xBF58476D1CE4E5B9)
MULTIPLIER_2 = np.uint64(0x94D049BB133111EB)
SHIFT_1 = np.uint64(30)
SHIFT_2 = np.uint64(27)
SHIFT_3 = np.uint64(31)
# The digits of pi behind the point: any number would do that is no seed.
OF_BLOCKS = np.uint64(0x243F6A8885A308D3)
HALF_OF_64 = np.uint64(32)
STAR = np.uint32(0x9E3779BB)
ROTATION_1 = np.uint32(26)
ROTATION_2 = np.uint32(13)
BACK_1 = np.uint32(32 - 26)
BACK_2 = np.uint32(32 - 13)
LIFT = np.uint32(9)
PER_32_BITS = constant(2.0**-32)
TO_24_BITS = np.uint32(8)
TO_53_OF_64 = np.uint64(11)
TO_24_OF_64 = np.uint64(40)
PER_53_BITS = constant(2.0**-53)
PER_24_BITS = constant(2.0**-24)


@jit
def mix(counter):
    """Return 64 random bits for a counter value: the output of SplitMix64."""
    bits = (counter ^ (counter >> SHIFT_1)) * MULTIPLIER_1
    bits = (bits ^ (bits >> SHIFT_2)) * MULTIPLIER_2
    return bits ^ (bits >> SHIFT_3)


@jit
def start(seed, history):
    """Return the state before the first draw of a history (all uint64)."""
    return mix(seed + COUNTER_STEP * (history + np.uint64(1)))


@jit
def apart(seed, number):
    """Return 64 random bits for a whole number (both uint64), of no history: a sequence apart."""
    return mix((seed ^ OF_BLOCKS) + COUNTER_STEP * (number + np.uint64(1)))


@jit
def next_state(rng):
    """Return the state (uint64) that follows another; the first half is the low one."""
    first, second = np.uint32(rng), np.uint32(rng >> HALF_OF_64)
    second = np.uint32(second ^ first)
    first = np.uint32((first << ROTATION_1) | (first >> BACK_1))
    first = np.uint32(first ^ second ^ np.uint32(second << LIFT))
    second = np.uint32((second << ROTATION_2) | (second >> BACK_2))
    return np.uint64(first) | (np.uint64(second) << HALF_OF_64)


@jit
def bits_of(rng):
    """Return the 32 random bits (uint32) that belong to a state.

    A draw is written `rng = next_state(rng)` and then `bits_of(rng)` or `uniform_as(x, rng)`.
    """
    return np.uint32(np.uint32(rng) * STAR)


@jit
def bits_of_two(rng):
    """Return (64 random bits, rng) after two draws."""
    rng = next_state(rng)
    leading = np.uint64(bits_of(rng)) << HALF_OF_64
    rng = next_state(rng)
    return leading | np.uint64(bits_of(rng)), rng


@jit
def uniform_as(like, rng):
    """Return the number in [0, 1) that belongs to a state, in the type of `like`.

    A multiple of 2**-32, or of 2**-24 in single precision: the leading bits of the same number.
    """
    if is_single(like):
        return typed(like, np.uint32(bits_of(rng) >> TO_24_BITS)) * PER_24_BITS
    return typed(like, bits_of(rng)) * PER_32_BITS


@jit
def fraction(like, bits):
    """Return 64 bits, read as a binary fraction in [0, 1), in the type of `like`.

    A multiple of 2**-53, or of 2**-24 in single precision: the leading bits of the same number.
    """
    if is_single(like):
        return typed(like, np.uint32(bits >> TO_24_OF_64)) * PER_24_BITS
    return typed(like, bits >> TO_53_OF_64) * PER_53_BITS
