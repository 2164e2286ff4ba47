"""Real numbers made whole, so that sums of them do not depend on the order of adding."""

import math

import numpy as np

from photonsim.kernel.compiler import constant, jit
from photonsim.kernel.numbers import HALF, typed, unsigned
from photonsim.kernel.tallies import DIRECTION_SCALE

SCALE = constant(float(DIRECTION_SCALE))


@jit
def scale_of(like, weight):
    """Return what a direction cosine or a length is multiplied by, of so heavy a history."""
    return SCALE * typed(like, weight)


@jit
def fixed(value, scale):
    """Return a direction cosine as a whole number of 2**-20, rounded to nearest, times a weight.

    Processors multiply several real numbers at a time, whole ones one by one: hence the scale.
    """
    return math.floor(value * scale + HALF)


@jit
def bin_of(fraction, bins):
    """Return the bin (0..bins-1) of a fraction in 0..1."""
    return unsigned(min(np.int32(fraction * typed(fraction, bins)), np.int32(bins - 1)))
