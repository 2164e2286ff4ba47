"""The screen: where light lands, relative to the chief ray of the panel point it comes from."""

import math

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.digital_net import BLOCK_SHIFT
from photonsim.kernel.numbers import ONE, typed
from photonsim.kernel.tallies import RINGS, SPOT_BINS, SPOT_LEVELS

SPOT_HALF = SPOT_BINS // 2
QUARTER = SPOT_BINS // 4


@jit
def chief(screen, first, squared):
    """Return a polynomial of SCREEN_TERMS terms in the squared distance from the axis (mm**2)."""
    return screen[first] + squared * (
        screen[first + 1] + squared * (screen[first + 2] + squared * screen[first + 3])
    )


@jit
def bounded(value):
    """Return a length in mm, held within FARTHEST_MM so that sums cannot overflow."""
    farthest = typed(value, codes.FARTHEST_MM)
    return min(max(value, -farthest), farthest)


@jit
def spot_bin(offset, per_mm):
    """Return the spot bin (0..SPOT_BINS-1) of an offset in mm within a square of the spot."""
    return min(np.int32(offset * per_mm + typed(offset, SPOT_HALF)), np.int32(SPOT_BINS - 1))


@jit
def offsets(program, x, y, photon):
    """Return (d_x, d_y, e_x, e_y) in mm: offsets and slopes of light from panel point (x, y).

    Relative to the chief ray and on the panel's scale; the photon is at the end of the train.
    """
    screen = program.screen
    slope_x, slope_y = photon.u / photon.w, photon.v / photon.w
    way = screen[codes.SCREEN_Z] - photon.z
    squared = x * x + y * y
    place = chief(screen, codes.SCREEN_PLACE, squared)
    slope = chief(screen, codes.SCREEN_SLOPE, squared)
    shrink, throw = screen[codes.SCREEN_PER_MAGNIFICATION], screen[codes.SCREEN_THROW]
    d_x = (photon.x + way * slope_x) * shrink - x * place
    d_y = (photon.y + way * slope_y) * shrink - y * place
    e_x = bounded(slope_x * throw - x * slope)
    e_y = bounded(slope_y * throw - y * slope)
    return d_x, d_y, e_x, e_y


@jit
def spot_level(d_x, d_y, per_mm):
    """Return (level, bins per mm) of the smallest square of the spot that holds offsets in mm."""
    reach = max(abs(d_x), abs(d_y)) * per_mm
    level = np.int32(0)
    # Without a branch: nothing foretells it.
    for k in range(SPOT_LEVELS - 1):
        level += np.int32(reach * typed(reach, 1 << k) < typed(reach, QUARTER))
    return level, per_mm * typed(per_mm, np.int32(1) << level)


@jit
def is_stray(d_x, d_y, per_mm):
    """Tell whether offsets in mm lie outside the spot's square."""
    half = typed(d_x, SPOT_HALF)
    return abs(d_x) * per_mm >= half or abs(d_y) * per_mm >= half


@jit
def ring_of(stop_x, stop_y):
    """Return the ring of the stop (0..RINGS-1) for fractions of the square around its hole."""
    x, y = stop_x + stop_x - ONE, stop_y + stop_y - ONE
    radius = math.sqrt(x * x + y * y)
    return min(np.int32(radius * typed(radius, RINGS)), np.int32(RINGS - 1))


@jit
def is_odd(number):
    """Tell whether a history lies in an odd block of the emission's net: blocks are independent."""
    return int((number >> BLOCK_SHIFT) & np.uint64(1))
