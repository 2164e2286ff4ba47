"""The same histories on a GPU, counted by many threads at once.

A block of threads works on the histories of one batch. What every photon or every arrival adds to
the batch's row is counted in the block's shared memory, in 32 bits, or in a thread's registers, and
joins the 64-bit tallies once, when the block ends; panel pixels, directions and pupil are too many
for that and are added to directly. An arrival is counted once, among those that go on through the
stop or among those that do not: `joined` in the engine makes arrivals and collected out of these.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numba
import numpy as np
from numba import cuda

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
INT32 = numba.int32
GUESSES, EDGES = len(DEGREE_GUESS), len(DEGREE_EDGES)


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

    @cuda.jit(device=True)
    def copy_1(target, source):
        for i in range(cuda.threadIdx.x, source.shape[0], cuda.blockDim.x):
            target[i] = source[i]

    @cuda.jit(device=True)
    def copy_2(target, source):
        width = target.shape[1]
        for i in range(cuda.threadIdx.x, source.shape[0] * width, cuda.blockDim.x):
            target[i // width, i % width] = source[i // width, i % width]

    @cuda.jit(fastmath=True)
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
        near_guess = cuda.shared.array(GUESSES, numba.uint8)
        counts = cuda.shared.array(columns, INT32)
        copy_1(layer_kind, far.layer_kind)
        copy_1(layer_z, far.layer_z)
        copy_1(layer_half_x, far.layer_half_x)
        copy_1(layer_half_y, far.layer_half_y)
        copy_2(layer_real, far.layer_real)
        copy_2(layer_whole, far.layer_whole)
        copy_1(gap_side, far.gap_side)
        copy_1(walls, far.walls)
        copy_2(emitter_real, far.emitter_real)
        copy_2(emitter_whole, far.emitter_whole)
        copy_1(near_edges, edges)
        copy_1(near_guess, guess)
        for i in range(cuda.threadIdx.x, columns, cuda.blockDim.x):
            counts[i] = 0
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
        number = begin + np.uint64(cuda.blockIdx.x * cuda.blockDim.x + cuda.threadIdx.x)
        all_events = np.int64(0)
        arrivals, collected = np.int64(0), np.int64(0)
        sum_u, sum_v, sum_uu, sum_vv = np.int64(0), np.int64(0), np.int64(0), np.int64(0)
        while number < stop:
            fate, events, met_panel, x_panel, y_panel, u, v, w, x, y = trace_history(
                program, seed, number, None
            )
            cuda.atomic.add(counts, codes.ROW_FATES + fate, 1)
            all_events += events
            if met_panel:
                goes_on = 1 if fate == codes.FATE_STOP else 0
                across = x_panel * program.panel_per_width + HALF
                up = y_panel * program.panel_per_height + HALF
                i, j = bin_of(up, panel_sums.shape[0]), bin_of(across, panel_sums.shape[1])
                whole_u, whole_v = fixed(u), fixed(v)
                whole_uu, whole_vv = fixed(u * u), fixed(v * v)
                cuda.atomic.add(panel_sums, (i, j, codes.INCIDENT + goes_on), 1)
                cuda.atomic.add(panel_sums, (i, j, codes.SUM_U), whole_u)
                cuda.atomic.add(panel_sums, (i, j, codes.SUM_V), whole_v)
                cuda.atomic.add(panel_sums, (i, j, codes.SUM_UU), whole_uu)
                cuda.atomic.add(panel_sums, (i, j, codes.SUM_VV), whole_vv)
                arrivals += 1
                collected += goes_on
                sum_u += whole_u
                sum_v += whole_v
                sum_uu += whole_uu
                sum_vv += whole_vv
                bins = codes.DIRECTION_BINS
                cuda.atomic.add(
                    directions, (bin_of((v + ONE) * HALF, bins), bin_of((u + ONE) * HALF, bins)), 1
                )
                cell = bin_of(up, codes.CELLS) * codes.CELLS + bin_of(across, codes.CELLS)
                cuda.atomic.add(
                    counts, codes.ROW_CELLS + codes.CELLS * codes.CELLS * goes_on + cell, 1
                )
                bins = codes.PROFILE_BINS
                place = codes.ROW_PROFILE_X + bins * goes_on + bin_of(across, bins)
                cuda.atomic.add(counts, place, 1)
                place = codes.ROW_PROFILE_Y + bins * goes_on + bin_of(up, bins)
                cuda.atomic.add(counts, place, 1)
                degree = degrees_floor(u * u + v * v, near_edges, near_guess)
                cuda.atomic.add(counts, codes.ROW_POLAR + codes.POLAR_BINS * goes_on + degree, 1)
                if abs(v) < typed(v, codes.PLANE_BAND):
                    place = plane_bin(u, w, near_edges, near_guess)
                    place += codes.ROW_PLANE_X + codes.PLANE_BINS * goes_on
                    cuda.atomic.add(counts, place, 1)
                if abs(u) < typed(u, codes.PLANE_BAND):
                    place = plane_bin(v, w, near_edges, near_guess)
                    place += codes.ROW_PLANE_Y + codes.PLANE_BINS * goes_on
                    cuda.atomic.add(counts, place, 1)
                if goes_on:
                    i = bin_of((y * program.stop_per_radius + ONE) * HALF, pupil.shape[0])
                    j = bin_of((x * program.stop_per_radius + ONE) * HALF, pupil.shape[1])
                    cuda.atomic.add(pupil, (i, j), 1)
            if fate == codes.FATE_GUARD:
                place = cuda.atomic.add(lost, 0, 1) + 1
                if place < lost.shape[0]:
                    lost[place] = number
            number += step
        row = cuda.blockIdx.y
        cuda.atomic.add(rows, (row, codes.ROW_EVENTS), all_events)
        cuda.atomic.add(rows, (row, codes.ROW_INCIDENT), arrivals)
        cuda.atomic.add(rows, (row, codes.ROW_COLLECTED), collected)
        cuda.atomic.add(rows, (row, codes.ROW_SUMS), sum_u)
        cuda.atomic.add(rows, (row, codes.ROW_SUMS + 1), sum_v)
        cuda.atomic.add(rows, (row, codes.ROW_SUMS + 2), sum_uu)
        cuda.atomic.add(rows, (row, codes.ROW_SUMS + 3), sum_vv)
        cuda.syncthreads()
        for i in range(cuda.threadIdx.x, rows.shape[1], cuda.blockDim.x):
            if counts[i] != 0:
                cuda.atomic.add(rows, (row, i), np.int64(counts[i]))

    return trace_block
