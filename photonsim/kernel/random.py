"""Random numbers as a pure function of (seed, history, draw).

The generator is SplitMix64 (Steele, Lea, Flood, 'Fast splittable pseudorandom number generators',
OOPSLA 2014): a counter that grows by a fixed odd step, and a mixing function that is a bijection
of 64 bits. History h owns the 65,536 counter values from h * 65,536 on, so no two histories below
2**48 ever share a number, and history 0 of a seed is the published sequence of that seed. What
places and aims a new photon comes from here only in part: see digital_net.
"""

import numpy as np

from photonsim.kernel.compiler import constant, jit
from photonsim.kernel.numbers import is_single, typed

STEP = np.uint64(0x9E3779B97F4A7C15)
MULTIPLIER_1 = np.uint64(0xBF58476D1CE4E5B9)
MULTIPLIER_2 = np.uint64(0x94D049BB133111EB)
SHIFT_1 = np.uint64(30)
SHIFT_2 = np.uint64(27)
SHIFT_3 = np.uint64(31)
DRAWS_SHIFT = np.uint64(16)
MOST_DRAWS = np.uint64(1 << 16)
# The step is odd, so it has an inverse modulo 2**64: their product is 1.
PER_STEP = np.uint64(pow(int(STEP), -1, 1 << 64))
TO_53_BITS = np.uint64(11)
PER_53_BITS = constant(2.0**-53)
TO_24_BITS = np.uint64(40)
PER_24_BITS = constant(2.0**-24)


@jit
def start(seed, history):
    """Return the counter before the first draw of a history (all uint64)."""
    return seed + STEP * (history << DRAWS_SHIFT)


@jit
def draws_of(seed, history, counter):
    """Return how many numbers a history has drawn when its counter stands there (all uint64)."""
    return (counter - start(seed, history)) * PER_STEP


@jit
def mix(counter):
    """Return 64 random bits for a counter value."""
    bits = (counter ^ (counter >> SHIFT_1)) * MULTIPLIER_1
    bits = (bits ^ (bits >> SHIFT_2)) * MULTIPLIER_2
    return bits ^ (bits >> SHIFT_3)


@jit
def uniform(counter):
    """Return a number in [0, 1) for a counter value, in double: a multiple of 2**-53."""
    return np.float64(mix(counter) >> TO_53_BITS) * PER_53_BITS


@jit
def fraction(like, bits):
    """Return 64 bits, read as a binary fraction in [0, 1), in the type of `like`.

    A multiple of 2**-53, or of 2**-24 in single precision: the leading bits of the same number.
    """
    if is_single(like):
        return typed(like, np.uint32(bits >> TO_24_BITS)) * PER_24_BITS
    return typed(like, bits >> TO_53_BITS) * PER_53_BITS


@jit
def uniform_as(like, counter):
    """Return a number in [0, 1) for a counter value, in the type of `like`.

    A draw is written `rng = rng + STEP` and then `uniform_as(x, rng)`.
    """
    return fraction(like, mix(counter))
