"""Points and directions from uniform random numbers; pure functions, numbers in, numbers out.

Directions are given by their cosines in a frame whose third axis is the surface normal.
"""

import math

from photonsim.kernel.compiler import jit
from photonsim.kernel.numbers import HALF, ONE, QUARTER, TWO, ZERO, is_single, typed

TWO_PI = 2 * math.pi

# Taylor coefficients; on |x| <= pi/2 what is left out is below 3e-16 (x**21/21!, x**22/22!), in
# single precision, with the first rows alone, below 6e-8 (x**13/13!, x**14/14!).
S3, S5, S7, S9, S11 = -1 / 6, 1 / 120, -1 / 5040, 1 / 362880, -1 / 39916800
S13, S15, S17, S19 = (
    sign / math.factorial(n) for sign, n in ((1, 13), (-1, 15), (1, 17), (-1, 19))
)
C4, C6, C8, C10, C12 = 1 / 24, -1 / 720, 1 / 40320, -1 / 3628800, 1 / 479001600
C14, C16, C18, C20 = (
    sign / math.factorial(n) for sign, n in ((-1, 14), (1, 16), (-1, 18), (1, 20))
)


@jit
def unit_circle(turn):
    """Return (cos, sin) of 2 pi turn, for turn in [0, 1).

    Two polynomials on half the circle, the other half by a sign. On an eighth they would be
    shorter, but which eighth it is no processor foresees, and to guess wrong costs more. The terms
    are added in pairs, and pairs of pairs, so that one sum need not wait for another.
    """
    across = turn - HALF
    x = (abs(across) - QUARTER) * typed(turn, TWO_PI)
    q = x * x
    q2 = q * q
    q4 = q2 * q2
    sine, cosine = typed(q, S11), typed(q, C12)
    if not is_single(q):
        sine = typed(q, (S11 + q * S13) + q2 * (S15 + q * S17 + q2 * S19))
        cosine = typed(q, (C12 + q * C14) + q2 * (C16 + q * C18 + q2 * C20))
    low = (typed(q, S3) + q * typed(q, S5)) + q2 * (typed(q, S7) + q * typed(q, S9))
    sine = x + x * (q * (low + q4 * sine))
    low = (typed(q, C4) + q * typed(q, C6)) + q2 * (typed(q, C8) + q * typed(q, C10))
    cosine = ONE - q * HALF + q2 * (low + q4 * cosine)
    return sine, -math.copysign(cosine, across)


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
    uniform number. Of a half, Lambertian light, `lambertian` makes the same in less time.
    """
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
