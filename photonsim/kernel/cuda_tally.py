"""The same histories on a GPU, counted by many threads at once.

A block of threads works on the histories of one batch. What they add to the batch's row is counted
in the block's shared memory, in 32 bits, and joins the 64-bit tallies once, when the block ends;
panel pixels, directions and pupil are too many for that and are added to directly. An arrival is
counted once, among those that go on through the stop or among those that do not:
`engine.cuda.in_usual_form` makes arrivals and collected of these.
"""

# mypy: disable-error-code="call-overload,call-arg,misc,arg-type,attr-defined"
# numba.cuda's functions mean other things to the GPU's compiler than to Python.

from __future__ import annotations

from functools import cache
from typing import Any

import numba
import numpy as np
from numba import cuda
from numba.core import config

from photonsim.kernel import codes
from photonsim.kernel.history import trace_history
from photonsim.kernel.numbers import HALF, ONE, typed
from photonsim.kernel.tally import (
    DEGREE_EDGES,
    DEGREE_GUESS,
    bin_of,
    degrees_floor,
    fixed,
    plane_bin,
)

SINGLE, DOUBLE = numba.float32, numba.float64
INT32, INT64 = numba.int32, numba.int64
GUESSES, EDGES = len(DEGREE_GUESS), len(DEGREE_EDGES)
THREADS = 256
# Fewer registers let more warps hide each other's waiting: on an H100 88 gave 4.1 thousand million
# histories a second in single precision, 64 5.2 and 48 5.3; in double 124 gave 1.2 and 64 1.4.
MOST_REGISTERS = {SINGLE: 48, DOUBLE: 64}
# A thread's own sums: events, then u, v, uu, vv of its arrivals.
OWN_SUMS = (5, THREADS)


@cuda.jit(device=True)
def copy_list(target, source):
    """Copy a one-dimensional array, every thread of the block its share."""
    for i in range(cuda.threadIdx.x, source.shape[0], cuda.blockDim.x):
        target[i] = source[i]


@cuda.jit(device=True)
def copy_table(target, source):
    """Copy a two-dimensional array to the first rows of another of the same width."""
    width = target.shape[1]
    for i in range(cuda.threadIdx.x, source.shape[0] * width, cuda.blockDim.x):
        target[i // width, i % width] = source[i // width, i % width]


@cuda.jit(device=True)
def count_directions(counts, edges, guess, goes_on, u, v, w):
    """Add an arrival to the angular tallies of the block; as tally.count_directions."""
    degree = degrees_floor(u * u + v * v, edges, guess)
    cuda.atomic.add(counts, codes.ROW_POLAR + codes.POLAR_BINS * goes_on + degree, 1)
    if abs(v) < typed(v, codes.PLANE_BAND):
        place = codes.PLANE_BINS * goes_on + plane_bin(u, w, edges, guess)
        cuda.atomic.add(counts, codes.ROW_PLANE_X + place, 1)
    if abs(u) < typed(u, codes.PLANE_BAND):
        place = codes.PLANE_BINS * goes_on + plane_bin(v, w, edges, guess)
        cuda.atomic.add(counts, codes.ROW_PLANE_Y + place, 1)


@cuda.jit(device=True)
def count_place(counts, goes_on, across, up):
    """Add an arrival to the coarse maps of the block; as tally.count_place."""
    cell = bin_of(up, codes.CELLS) * codes.CELLS + bin_of(across, codes.CELLS)
    cuda.atomic.add(counts, codes.ROW_CELLS + codes.CELLS * codes.CELLS * goes_on + cell, 1)
    bins = codes.PROFILE_BINS
    cuda.atomic.add(counts, codes.ROW_PROFILE_X + bins * goes_on + bin_of(across, bins), 1)
    cuda.atomic.add(counts, codes.ROW_PROFILE_Y + bins * goes_on + bin_of(up, bins), 1)


@cuda.jit(device=True)
def count_arrival(panel_sums, directions, own, across, up, goes_on, u, v):
    """Add an arrival to the tallies of the whole GPU and to the thread's own sums."""
    i, j = bin_of(up, panel_sums.shape[0]), bin_of(across, panel_sums.shape[1])
    whole_u, whole_v = fixed(u), fixed(v)
    whole_uu, whole_vv = fixed(u * u), fixed(v * v)
    cuda.atomic.add(panel_sums, (i, j, codes.INCIDENT + goes_on), 1)
    cuda.atomic.add(panel_sums, (i, j, codes.SUM_U), whole_u)
    cuda.atomic.add(panel_sums, (i, j, codes.SUM_V), whole_v)
    cuda.atomic.add(panel_sums, (i, j, codes.SUM_UU), whole_uu)
    cuda.atomic.add(panel_sums, (i, j, codes.SUM_VV), whole_vv)
    me = cuda.threadIdx.x
    own[1, me] += whole_u
    own[2, me] += whole_v
    own[3, me] += whole_uu
    own[4, me] += whole_vv
    bins = codes.DIRECTION_BINS
    i, j = bin_of((v + ONE) * HALF, bins), bin_of((u + ONE) * HALF, bins)
    cuda.atomic.add(directions, (i, j), 1)


@cuda.jit(device=True)
def count_pupil(pupil, across, up):
    """Add a photon that went through the stop at fractions (across, up) of the square around it."""
    cuda.atomic.add(pupil, (bin_of(up, pupil.shape[0]), bin_of(across, pupil.shape[1])), 1)


@cuda.jit(device=True)
def count_lost(lost, number):
    """Keep the number of a history that was given up, if there is room."""
    place = cuda.atomic.add(lost, 0, 1) + 1
    if place < lost.shape[0]:
        lost[place] = number


@cache
def kernel_for(program_type: Any, layers: int, groups: int, real: Any) -> Any:
    """Return the CUDA kernel for programs of at most so many layers and emitter groups.

    The program is copied to shared memory in arrays whose sizes are known when compiling: finding a
    place in arrays of unknown size took most of the instructions. `program_type` is the named tuple
    of the program, `real` SINGLE or DOUBLE.
    """
    columns = codes.ROW_FATES + codes.layer_fate(layers, 0)
    layer_reals, layer_wholes = (layers, codes.LAYER_REALS), (layers, codes.LAYER_WHOLES)
    emitter_reals, emitter_wholes = (groups, codes.EMITTER_REALS), (groups, codes.EMITTER_WHOLES)
    wall_entries = codes.WALL_ENTRIES

    # The simulator knows no such limits.
    limits = {} if config.ENABLE_CUDASIM else {"max_registers": MOST_REGISTERS[real]}

    @cuda.jit(fastmath=real == SINGLE, **limits)
    def trace_block(
        far, edges, guess, seed, first, end, row_shift, rows, panel_sums, directions, pupil, lost
    ):
        layer_kind = cuda.shared.array(layers, INT32)
        layer_z = cuda.shared.array(layers, real)
        layer_half_x = cuda.shared.array(layers, real)
        layer_half_y = cuda.shared.array(layers, real)
        layer_real = cuda.shared.array(layer_reals, real)
        layer_whole = cuda.shared.array(layer_wholes, INT32)
        gap_side = cuda.shared.array(layers, INT32)
        walls = cuda.shared.array(wall_entries, real)
        emitter_real = cuda.shared.array(emitter_reals, real)
        emitter_whole = cuda.shared.array(emitter_wholes, INT32)
        near_edges = cuda.shared.array(EDGES, real)
        near_guess = cuda.shared.array(GUESSES, INT32)
        counts = cuda.shared.array(columns, INT32)
        copy_list(layer_kind, far.layer_kind)
        copy_list(layer_z, far.layer_z)
        copy_list(layer_half_x, far.layer_half_x)
        copy_list(layer_half_y, far.layer_half_y)
        copy_table(layer_real, far.layer_real)
        copy_table(layer_whole, far.layer_whole)
        copy_list(gap_side, far.gap_side)
        copy_list(walls, far.walls)
        copy_table(emitter_real, far.emitter_real)
        copy_table(emitter_whole, far.emitter_whole)
        copy_list(near_edges, edges)
        copy_list(near_guess, guess)
        own = cuda.shared.array(OWN_SUMS, INT64)
        me = cuda.threadIdx.x
        for i in range(me, columns, cuda.blockDim.x):
            counts[i] = 0
        for k in range(5):
            own[k, me] = 0
        cuda.syncthreads()
        program = program_type(
            layer_kind,
            layer_z,
            layer_half_x,
            layer_half_y,
            layer_real,
            layer_whole,
            far.layer_index,
            gap_side,
            walls,
            far.emitter_shares,
            emitter_real,
            emitter_whole,
            far.wavelength_shares,
            far.strip_edges,
            far.tables,
            far.panel_layer,
            far.panel_per_width,
            far.panel_per_height,
            far.stop_per_radius,
        )
        batch = (first >> row_shift) + np.uint64(cuda.blockIdx.y)
        begin = max(first, batch << row_shift)
        stop = min(end, (batch + np.uint64(1)) << row_shift)
        step = np.uint64(cuda.gridDim.x * cuda.blockDim.x)
        number = begin + np.uint64(cuda.blockIdx.x * cuda.blockDim.x + me)
        while number < stop:
            fate, events, met_panel, x_panel, y_panel, u, v, w, x, y = trace_history(
                program, seed, number, None
            )
            cuda.atomic.add(counts, codes.ROW_FATES + fate, 1)
            own[0, me] += events
            if met_panel:
                goes_on = 1 if fate == codes.FATE_STOP else 0
                across = x_panel * program.panel_per_width + HALF
                up = y_panel * program.panel_per_height + HALF
                count_arrival(panel_sums, directions, own, across, up, goes_on, u, v)
                count_place(counts, goes_on, across, up)
                count_directions(counts, near_edges, near_guess, goes_on, u, v, w)
                if goes_on:
                    count_pupil(
                        pupil,
                        (x * program.stop_per_radius + ONE) * HALF,
                        (y * program.stop_per_radius + ONE) * HALF,
                    )
            if fate == codes.FATE_GUARD:
                count_lost(lost, number)
            number += step
        row = cuda.blockIdx.y
        cuda.atomic.add(rows, (row, codes.ROW_EVENTS), own[0, me])
        for k in range(4):
            cuda.atomic.add(rows, (row, codes.ROW_SUMS + k), own[1 + k, me])
        cuda.syncthreads()
        for i in range(me, rows.shape[1], cuda.blockDim.x):
            if counts[i] != 0:
                cuda.atomic.add(rows, (row, i), np.int64(counts[i]))

    return trace_block
