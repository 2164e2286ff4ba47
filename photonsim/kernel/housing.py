"""The housing: four walls, plane and perhaps tapered, that meet light from inside."""

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.numbers import FAR, ONE, TWO, ZERO
from photonsim.kernel.photon import aimed, lit
from photonsim.kernel.polarisation import image, mirrored
from photonsim.kernel.random import next_state, uniform_as
from photonsim.kernel.surface import MIRRORS, choose, scattered

NOWHERE = np.int32(0)
PLUS_X = np.int32(1)
MINUS_X = np.int32(2)
PLUS_Y = np.int32(3)
MINUS_Y = np.int32(4)


@jit
def within(walls, x, y, z):
    """Tell whether a point lies inside the housing's opening at its height."""
    widening = walls[codes.WALL_TAN] * z
    beyond_x = abs(x) - (walls[codes.WALL_HALF_X] + widening)
    beyond_y = abs(y) - (walls[codes.WALL_HALF_Y] + widening)
    # One question, for a processor that can't foresee the answer: it guesses wrong less often.
    return max(beyond_x, beyond_y) <= ZERO


@jit
def next_wall(walls, photon):
    """Return (wall, distance in mm) where a photon from inside meets the walls first.

    The wall at +x is the plane x = X + z tan(taper). NOWHERE if the ray never meets one.
    """
    x, y, z, u, v, w, _, _ = photon
    widening = walls[codes.WALL_TAN] * w
    half_x = walls[codes.WALL_HALF_X] + walls[codes.WALL_TAN] * z
    half_y = walls[codes.WALL_HALF_Y] + walls[codes.WALL_TAN] * z
    side = NOWHERE
    nearest = FAR
    if u > widening:
        nearest, side = (half_x - x) / (u - widening), PLUS_X
    # Both of a pair lie ahead of a ray that runs along the axis to where the housing narrows.
    if -u > widening:
        distance = (half_x + x) / (-u - widening)
        if distance < nearest:
            nearest, side = distance, MINUS_X
    if v > widening:
        distance = (half_y - y) / (v - widening)
        if distance < nearest:
            nearest, side = distance, PLUS_Y
    if -v > widening:
        distance = (half_y + y) / (-v - widening)
        if distance < nearest:
            nearest, side = distance, MINUS_Y
    return side, max(nearest, ZERO)


@jit
def choose_at_wall(walls, like, rng):
    """Return (choice, rng): what a wall does to a photon; all four are of one kind."""
    rng = next_state(rng)
    reflectance, specular_share = walls[codes.WALL_REFLECTANCE], walls[codes.WALL_SPECULAR_SHARE]
    return choose(reflectance, specular_share, uniform_as(like, rng)), rng


@jit
def turn_back(walls, side, choice, photon):
    """Return a photon after a wall that mirrors or scatters; see choose_at_wall.

    The wall at +x has the inward normal (-cos t, 0, sin t) and the tangents (0, 1, 0) and
    (sin t, 0, cos t), t the taper; the others follow by symmetry.
    """
    u, v, w = photon.u, photon.v, photon.w
    across, along = (u, v) if side <= MINUS_X else (v, u)
    outwards = side == PLUS_X or side == PLUS_Y
    if not outwards:
        across = -across
    cosine, sine = walls[codes.WALL_COS], walls[codes.WALL_SIN]
    if choice == MIRRORS:
        before = across, along, w
        twice = TWO * (w * sine - across * cosine)
        across, w = across + twice * cosine, w - twice * sine
        # The frame of a wall at -x or +y is the room's mirror image.
        hand = ONE if (side <= MINUS_X) == outwards else -ONE
        light = image(photon.light, hand)
        light = mirrored(light, before, (across, along, w), (-cosine, ZERO, sine))
        photon = lit(photon, image(light, hand))
    else:
        along, rising, normal, photon = scattered(photon)
        across, w = rising * sine - normal * cosine, rising * cosine + normal * sine
    if not outwards:
        across = -across
    if side <= MINUS_X:
        return aimed(photon, across, along, w, photon.rng)
    return aimed(photon, along, across, w, photon.rng)
