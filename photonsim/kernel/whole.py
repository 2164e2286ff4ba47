"""Real numbers made whole, so that sums of them do not depend on the order of adding."""

import math

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.numbers import HALF


@jit
def fixed(value):
    """Return a direction cosine as a whole number of 2**-20, rounded to nearest."""
    return math.floor(value * codes.DIRECTION_SCALE + HALF)


@jit
def bin_of(fraction, bins):
    """Return the bin (0..bins-1) of a fraction in 0..1."""
    return min(int(fraction * bins), bins - 1)
