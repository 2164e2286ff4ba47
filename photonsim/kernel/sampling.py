"""Points and directions from uniform random numbers; pure functions, numbers in, numbers out.

Directions are given by their cosines in a frame whose third axis is the surface normal.
"""

import math

import numpy as np

from photonsim.kernel.compiler import jit
from photonsim.kernel.numbers import FOUR, HALF, ONE, TWO, ZERO, is_single, typed

TWO_PI = 2 * math.pi

# Cosine and sine at the middles of so many parts of a turn, one after the other. Within a part
# |x| <= pi/256, and the polynomials below leave out less than 1e-17 (x**7/7!, x**8/8!).
PARTS = 256
MIDDLES = (np.arange(PARTS) + 0.5) / PARTS * TWO_PI
CIRCLE = np.stack([np.cos(MIDDLES), np.sin(MIDDLES)], axis=1).ravel()

# Taylor coefficients; in single precision, on |x| <= pi/4, what is left out is below 3e-8
# (x**11/11!, x**10/10!).
S3, S5, S7, S9 = -1 / 6, 1 / 120, -1 / 5040, 1 / 362880
C4, C6, C8 = 1 / 24, -1 / 720, 1 / 40320


@jit
def unit_circle(turn):
    """Return (cos, sin) of 2 pi turn, for turn in [0, 1).

    In double from a table and two short polynomials, with no choice on the way: a polynomial for
    an eighth of the circle takes longer and which eighth it is, no processor foresees.
    """
    if is_single(turn):
        return unit_circle_single(turn)
    place = turn * typed(turn, PARTS)
    part = np.uint32(np.int32(place))
    x = (place - typed(turn, part) - HALF) * typed(turn, TWO_PI / PARTS)
    q = x * x
    sine = x + x * (q * (typed(q, S3) + q * typed(q, S5)))
    versed = q * (HALF + q * (typed(q, -C4) + q * typed(q, -C6)))
    cos_middle, sin_middle = CIRCLE[part + part], CIRCLE[part + part + np.uint32(1)]
    return (
        cos_middle - (cos_middle * versed + sin_middle * sine),
        sin_middle - (sin_middle * versed - cos_middle * sine),
    )


@jit
def unit_circle_single(turn):
    """Return (cos, sin) of 2 pi turn, in single precision."""
    quarters = turn * FOUR
    quadrant = np.int32(quarters + HALF)
    x = (quarters - typed(turn, quadrant)) * typed(turn, TWO_PI / 4)
    q = x * x
    sine = x * (
        ONE + q * (typed(q, S3) + q * (typed(q, S5) + q * (typed(q, S7) + q * typed(q, S9))))
    )
    cosine = ONE - q * HALF + q * q * (typed(q, C4) + q * (typed(q, C6) + q * typed(q, C8)))
    if quadrant & 1:
        sine, cosine = cosine, -sine
    if quadrant & 2:
        sine, cosine = -sine, -cosine
    return cosine, sine


@jit
def lambertian(first, second):
    """Return direction cosines with intensity proportional to the cosine from the normal.

    Such directions fill the unit disc of their first two cosines evenly.
    """
    cosine, sine = unit_circle(second)
    radius = math.sqrt(first)
    return radius * cosine, radius * sine, math.sqrt(ONE - first)


@jit
def cosine_power(first, second, root):
    """Return direction cosines with intensity proportional to cos**m from the normal.

    `root` is 1/(m + 1): the flux beyond an angle t is cos(t)**(m + 1), so cos(t) is the root of a
    uniform number. A half is Lambertian and taken the short way.
    """
    if root == HALF:
        return lambertian(first, second)
    w = (ONE - first) ** root
    cosine, sine = unit_circle(second)
    radius = math.sqrt(max(ZERO, ONE - w * w))
    return radius * cosine, radius * sine, w


@jit
def disc(first, second):
    """Return a point that is evenly distributed over the unit disc."""
    cosine, sine = unit_circle(second)
    radius = math.sqrt(first)
    return radius * cosine, radius * sine


@jit
def gaussian_pair(first, second):
    """Return two independent normal deviates of unit variance (Box and Muller, 1958)."""
    cosine, sine = unit_circle(second)
    radius = math.sqrt(-TWO * math.log(ONE - first))
    return radius * cosine, radius * sine


@jit
def inverse_cumulative(number, table, first, count):
    """Return the value of a tabulated inverse distribution at `number` in [0, 1).

    The table holds `count` values at even steps of probability from 0 to 1, joined by lines.
    """
    place = number * typed(number, count - 1)
    step = int(place)
    low = table[first + step]
    return low + (place - typed(place, step)) * (table[first + step + 1] - low)
