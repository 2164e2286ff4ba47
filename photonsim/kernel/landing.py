"""The screen: where light lands, relative to the chief ray of the panel point it comes from."""

import math

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit, jit_apart
from photonsim.kernel.digital_net import BLOCK_SHIFT
from photonsim.kernel.numbers import HALF, ONE, typed
from photonsim.kernel.whole import bin_of, fixed

SPOT_HALF = codes.SPOT_BINS // 2
QUARTER = codes.SPOT_BINS // 4


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
    return min(np.int32(offset * per_mm + typed(offset, SPOT_HALF)), np.int32(codes.SPOT_BINS - 1))


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
    while level < codes.SPOT_LEVELS - 1 and reach < typed(reach, QUARTER):
        level += np.int32(1)
        reach += reach
        per_mm += per_mm
    return level, per_mm


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
    return min(np.int32(radius * typed(radius, codes.RINGS)), np.int32(codes.RINGS - 1))


@jit
def is_odd(number):
    """Tell whether a history lies in an odd block of the emission's net: blocks are independent."""
    return int((number >> BLOCK_SHIFT) & np.uint64(1))


@jit
def add_screen_sums(row, cell, d_x, d_y, e_x, e_y):
    """Add offsets and slopes (both in mm) to the sums of a cell."""
    step = codes.CELLS * codes.CELLS
    at = codes.ROW_SCREEN + cell
    row[at + step * codes.SCREEN_COUNT] += 1
    row[at + step * codes.SCREEN_DX] += fixed(d_x)
    row[at + step * codes.SCREEN_DY] += fixed(d_y)
    row[at + step * codes.SCREEN_DXX] += fixed(d_x * d_x)
    row[at + step * codes.SCREEN_DYY] += fixed(d_y * d_y)
    row[at + step * codes.SCREEN_DXY] += fixed(d_x * d_y)
    row[at + step * codes.SCREEN_EX] += fixed(e_x)
    row[at + step * codes.SCREEN_EY] += fixed(e_y)
    row[at + step * codes.SCREEN_EE] += fixed(e_x * e_x + e_y * e_y)
    row[at + step * codes.SCREEN_DE] += fixed(d_x * e_x + d_y * e_y)


@jit_apart
def count_landing(
    program, row, spots, stop_sums, odd, wavelength, at_panel, stop_x, stop_y, photon
):
    """Add a collected photon to the tallies of the screen: `at_panel`, and at the train's end.

    `odd` is 1 in odd blocks of histories, `stop_x` and `stop_y` (0..1) tell where it crossed the
    square around the stop's hole. Added to are the batch row, `spots`
    [CELLS, CELLS, SPOT_LEVELS, SPOT_BINS, SPOT_BINS] and `stop_sums`
    [CELLS, CELLS, STOP_BINS, STOP_BINS, STOP_SUMS], rows along y first. What lands outside the
    spot's square, where no ray through the lenses alone could bring it, is stray light: counted,
    but no part of the blur.
    """
    x, y = at_panel.x, at_panel.y
    d_x, d_y, e_x, e_y = offsets(program, x, y, photon)
    i = bin_of(y * program.panel_per_height + HALF, codes.CELLS)
    j = bin_of(x * program.panel_per_width + HALF, codes.CELLS)
    cell = i * codes.CELLS + j
    step = codes.CELLS * codes.CELLS
    per_mm = program.spot_per_mm[cell]
    ring = codes.ROW_RINGS + ring_of(stop_x, stop_y) * codes.RING_SUMS * step + cell
    if is_stray(d_x, d_y, per_mm):
        row[ring + codes.RING_STRAY * step] += 1
        row[codes.ROW_SCREEN + step * codes.SCREEN_STRAY + cell] += 1
        return
    add_screen_sums(row, cell, d_x, d_y, e_x, e_y)
    at = codes.ROW_COLOURS + program.colour_of[wavelength] * codes.COLOUR_SUMS * step + cell
    row[at] += 1
    row[at + step] += fixed(d_x)
    row[at + 2 * step] += fixed(d_y)
    level, fine = spot_level(d_x, d_y, per_mm)
    spots[i, j, level, spot_bin(d_y, fine), spot_bin(d_x, fine)] += 1
    whole_x, whole_y, squared = fixed(d_x), fixed(d_y), fixed(d_x * d_x + d_y * d_y)
    row[ring] += 1
    row[ring + step] += whole_x
    row[ring + 2 * step] += whole_y
    row[ring + 3 * step] += squared
    hole = stop_sums[i, j, bin_of(stop_y, codes.STOP_BINS), bin_of(stop_x, codes.STOP_BINS)]
    hole[0] += 1
    hole[1] += whole_x
    hole[2] += whole_y
    hole[3] += squared
    hole[4] += odd
