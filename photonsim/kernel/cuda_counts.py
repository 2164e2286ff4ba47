"""What a GPU's threads count, added by many at once; the sums are those of kernel.tally.

Indices are unsigned: of a signed one numba asks whether it counts from the end, in 64 bits.
"""

# mypy: disable-error-code="call-overload,call-arg,misc,arg-type,attr-defined,operator"
# numba.cuda's functions mean other things to the GPU's compiler than to Python.

import numpy as np
from numba import cuda

from photonsim.kernel import codes
from photonsim.kernel.landing import spot_bin, spot_level
from photonsim.kernel.numbers import HALF, ONE, typed, unsigned
from photonsim.kernel.tally import degrees_floor, plane_bin
from photonsim.kernel.whole import bin_of, fixed


@cuda.jit(device=True)
def count_directions(counts, edges, guess, goes_on, u, v, w):
    """Add an arrival to the angular tallies of the block; as tally.count_directions."""
    degree = degrees_floor(u * u + v * v, edges, guess)
    cuda.atomic.add(counts, unsigned(codes.ROW_POLAR + codes.POLAR_BINS * goes_on + degree), 1)
    if abs(v) < typed(v, codes.PLANE_BAND):
        place = codes.PLANE_BINS * goes_on + plane_bin(u, w, edges, guess)
        cuda.atomic.add(counts, unsigned(codes.ROW_PLANE_X + place), 1)
    if abs(u) < typed(u, codes.PLANE_BAND):
        place = codes.PLANE_BINS * goes_on + plane_bin(v, w, edges, guess)
        cuda.atomic.add(counts, unsigned(codes.ROW_PLANE_Y + place), 1)


@cuda.jit(device=True)
def count_place(counts, goes_on, across, up):
    """Add an arrival to the coarse maps of the block; as tally.count_place."""
    cell = bin_of(up, codes.CELLS) * codes.CELLS + bin_of(across, codes.CELLS)
    first = codes.ROW_CELLS + codes.CELLS * codes.CELLS * goes_on
    cuda.atomic.add(counts, unsigned(first + cell), 1)
    bins = codes.PROFILE_BINS
    cuda.atomic.add(
        counts, unsigned(codes.ROW_PROFILE_X + bins * goes_on + bin_of(across, bins)), 1
    )
    cuda.atomic.add(counts, unsigned(codes.ROW_PROFILE_Y + bins * goes_on + bin_of(up, bins)), 1)


@cuda.jit(device=True)
def count_arrival(panel_sums, directions, own, across, up, goes_on, u, v):
    """Add an arrival to the tallies of the whole GPU and to the thread's own sums."""
    i, j = bin_of(up, panel_sums.shape[0]), bin_of(across, panel_sums.shape[1])
    whole_u, whole_v = fixed(u), fixed(v)
    whole_uu, whole_vv = fixed(u * u), fixed(v * v)
    cuda.atomic.add(panel_sums, (i, j, unsigned(codes.INCIDENT + goes_on)), 1)
    cuda.atomic.add(panel_sums, (i, j, codes.SUM_U), whole_u)
    cuda.atomic.add(panel_sums, (i, j, codes.SUM_V), whole_v)
    cuda.atomic.add(panel_sums, (i, j, codes.SUM_UU), whole_uu)
    cuda.atomic.add(panel_sums, (i, j, codes.SUM_VV), whole_vv)
    me = unsigned(cuda.threadIdx.x)
    own[0, me] += whole_u
    own[1, me] += whole_v
    own[2, me] += whole_uu
    own[3, me] += whole_vv
    bins = codes.DIRECTION_BINS
    i, j = bin_of((v + ONE) * HALF, bins), bin_of((u + ONE) * HALF, bins)
    cuda.atomic.add(directions, (i, j), 1)


@cuda.jit(device=True)
def count_pupil(pupil, across, up):
    """Add a photon that went through the stop at fractions (across, up) of the square around it."""
    cuda.atomic.add(pupil, (bin_of(up, pupil.shape[0]), bin_of(across, pupil.shape[1])), 1)


@cuda.jit(device=True)
def count_stray(rows, row, ring, i, j):
    """Add stray light from cell (i, j) of the panel to a batch row."""
    step = codes.CELLS * codes.CELLS
    column = unsigned(codes.ROW_SCREEN + step * codes.SCREEN_STRAY + i * codes.CELLS + j)
    cuda.atomic.add(rows, (row, column), 1)
    at = codes.ROW_RINGS + ring * codes.RING_SUMS * step + i * codes.CELLS + j
    cuda.atomic.add(rows, (row, unsigned(at + step * codes.RING_STRAY)), 1)


@cuda.jit(device=True)
def count_offsets(rows, row, colour, ring, i, j, d_x, d_y, e_x, e_y):
    """Add a landing from cell (i, j) to a batch row; as landing.add_screen_sums and beyond."""
    step = codes.CELLS * codes.CELLS
    whole_x, whole_y = fixed(d_x), fixed(d_y)
    at = codes.ROW_SCREEN + i * codes.CELLS + j
    cuda.atomic.add(rows, (row, unsigned(at + step * codes.SCREEN_COUNT)), 1)
    cuda.atomic.add(rows, (row, unsigned(at + step * codes.SCREEN_DX)), whole_x)
    cuda.atomic.add(rows, (row, unsigned(at + step * codes.SCREEN_DY)), whole_y)
    cuda.atomic.add(rows, (row, unsigned(at + step * codes.SCREEN_DXX)), fixed(d_x * d_x))
    cuda.atomic.add(rows, (row, unsigned(at + step * codes.SCREEN_DYY)), fixed(d_y * d_y))
    cuda.atomic.add(rows, (row, unsigned(at + step * codes.SCREEN_DXY)), fixed(d_x * d_y))
    cuda.atomic.add(rows, (row, unsigned(at + step * codes.SCREEN_EX)), fixed(e_x))
    cuda.atomic.add(rows, (row, unsigned(at + step * codes.SCREEN_EY)), fixed(e_y))
    cuda.atomic.add(
        rows, (row, unsigned(at + step * codes.SCREEN_EE)), fixed(e_x * e_x + e_y * e_y)
    )
    cuda.atomic.add(
        rows, (row, unsigned(at + step * codes.SCREEN_DE)), fixed(d_x * e_x + d_y * e_y)
    )
    at = codes.ROW_COLOURS + colour * codes.COLOUR_SUMS * step + i * codes.CELLS + j
    cuda.atomic.add(rows, (row, unsigned(at)), 1)
    cuda.atomic.add(rows, (row, unsigned(at + step)), whole_x)
    cuda.atomic.add(rows, (row, unsigned(at + 2 * step)), whole_y)
    at = codes.ROW_RINGS + ring * codes.RING_SUMS * step + i * codes.CELLS + j
    cuda.atomic.add(rows, (row, unsigned(at)), 1)
    cuda.atomic.add(rows, (row, unsigned(at + step)), whole_x)
    cuda.atomic.add(rows, (row, unsigned(at + 2 * step)), whole_y)
    cuda.atomic.add(rows, (row, unsigned(at + 3 * step)), fixed(d_x * d_x + d_y * d_y))


@cuda.jit(device=True)
def count_spot(spots, stop_sums, odd, per_mm, i, j, d_x, d_y, stop_x, stop_y):
    """Add a landing from cell (i, j) to the maps of the screen; see landing.count_landing."""
    level, fine = spot_level(d_x, d_y, per_mm)
    cuda.atomic.add(spots, (i, j, level, spot_bin(d_y, fine), spot_bin(d_x, fine)), 1)
    k, m = bin_of(stop_y, codes.STOP_BINS), bin_of(stop_x, codes.STOP_BINS)
    cuda.atomic.add(stop_sums, (i, j, k, m, 0), 1)
    cuda.atomic.add(stop_sums, (i, j, k, m, 1), fixed(d_x))
    cuda.atomic.add(stop_sums, (i, j, k, m, 2), fixed(d_y))
    cuda.atomic.add(stop_sums, (i, j, k, m, 3), fixed(d_x * d_x + d_y * d_y))
    cuda.atomic.add(stop_sums, (i, j, k, m, 4), odd)


@cuda.jit(device=True)
def count_lost(lost, number):
    """Keep the number of a history that was given up, if there is room."""
    place = cuda.atomic.add(lost, 0, 1) + 1
    if place < lost.shape[0]:
        lost[place] = number


@cuda.jit(device=True)
def hand_over(rows, row, own):
    """Add a thread's own sums to the row and start them afresh."""
    me = cuda.threadIdx.x
    for k in range(5):
        column = codes.ROW_EVENTS if k == 4 else codes.ROW_SUMS + k
        cuda.atomic.add(rows, (row, column), np.int64(own[k, me]))
        own[k, me] = 0
