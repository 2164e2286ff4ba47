"""The same histories on a GPU, counted by many threads at once.

A block of threads works on the histories of one batch. What they add to the batch's row is counted
in the block's shared memory, in 32 bits, and joins the 64-bit tallies once, when the block ends;
panel pixels, directions and pupil are too many for that and are added to directly. An arrival is
counted once, among those that go on through the stop or among those that do not:
`engine.cuda.in_usual_form` makes arrivals and collected of these.
"""

# mypy: disable-error-code="call-overload,call-arg,misc,arg-type,attr-defined,operator"
# numba.cuda's functions mean other things to the GPU's compiler than to Python.

from __future__ import annotations

from functools import cache
from typing import Any

import numba
import numpy as np
from numba import cuda
from numba.core import config

from photonsim.kernel import codes
from photonsim.kernel.cuda_counts import (
    count_arrival,
    count_directions,
    count_lost,
    count_offsets,
    count_place,
    count_pupil,
    count_spot,
    count_stray,
    hand_over,
)
from photonsim.kernel.cuda_waiting import (
    DONE,
    FILM,
    FRESH,
    MOST_KINDS,
    PANEL,
    REALS,
    ROOM,
    WARP,
    Waiting,
    bytes_per_warp,
    next_task,
    place_of,
    put_off,
    sync_warp,
    take_up,
)
from photonsim.kernel.history import begin, follow
from photonsim.kernel.landing import is_odd, is_stray, offsets, ring_of
from photonsim.kernel.numbers import HALF, ONE, ZERO, short, unsigned
from photonsim.kernel.photon import GUARD, STOP, WAITS
from photonsim.kernel.tally import (
    DEGREE_EDGES,
    DEGREE_GUESS,
)
from photonsim.kernel.whole import bin_of

SINGLE, DOUBLE = numba.float32, numba.float64
UINT8, INT32, INT64, UINT64 = numba.uint8, numba.int32, numba.int64, numba.uint64
GUESSES, EDGES = len(DEGREE_GUESS), len(DEGREE_EDGES)
# Fewer registers let more warps hide each other's waiting, but what does not fit goes to memory.
MOST_REGISTERS = 64
# All that is declared here for a block may not take more shared memory; 1 kB is the compiler's.
MOST_SHARED = 47 * 1024
# A thread's own sums: u, v, uu, vv of its arrivals, then events. In so many rounds none of them
# grows beyond 32 bits.
OWN_SUMS = 5
ROUNDS_KEPT = 1024


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
def history_of(first, step, born):
    """Return the number of the history that was born as number `born` of a warp."""
    return first + step * np.uint64(born // WARP) + np.uint64(born % WARP)


@cache
def kernel_for(
    program_type: Any, layers: int, groups: int, wavelengths: int, real: Any, traits: int
) -> Any:
    """Return (CUDA kernel, threads a block) for so many layers and emitter groups at most.

    The program is copied to shared memory in arrays whose sizes are known when compiling: finding a
    place in arrays of unknown size took most of the instructions. `program_type` is the named tuple
    of the program, `real` SINGLE or DOUBLE, `traits` those of the program (see codes): code for
    what is not there is left out.
    """
    # The screen's sums, seldom and in 64 bits, join the rows directly; here fates come next.
    columns = codes.ROW_SCREEN + codes.layer_fate(layers, 0)
    layer_reals, layer_wholes = (layers, codes.LAYER_REALS), (layers, codes.LAYER_WHOLES)
    emitter_reals, emitter_wholes = (groups, codes.EMITTER_REALS), (groups, codes.EMITTER_WHOLES)
    wall_entries = codes.WALL_ENTRIES
    layer_indices = (layers, wavelengths)
    fitting = warps_that_fit(layers, groups, wavelengths, columns, 4 if real == SINGLE else 8)
    # The simulator knows neither warps (there, a block is one) nor limits.
    warps = 1 if config.ENABLE_CUDASIM else fitting
    limits = {} if config.ENABLE_CUDASIM else {"max_registers": MOST_REGISTERS}
    threads, places, counters = warps * WARP, warps * ROOM, 2 * warps
    own_sums, held_reals = (OWN_SUMS, threads), (REALS, places)
    may_wait = max(layers, wavelengths) <= MOST_KINDS

    @cuda.jit(fastmath=real == SINGLE, **limits)
    def trace_block(
        far,
        edges,
        guess,
        seed,
        first,
        end,
        row_shift,
        rows,
        panel_sums,
        directions,
        pupil,
        lost,
        spots,
        stop_sums,
    ):
        layer_kind = cuda.shared.array(layers, INT32)
        layer_z = cuda.shared.array(layers, real)
        layer_half_x = cuda.shared.array(layers, real)
        layer_half_y = cuda.shared.array(layers, real)
        layer_real = cuda.shared.array(layer_reals, real)
        layer_whole = cuda.shared.array(layer_wholes, INT32)
        layer_index = cuda.shared.array(layer_indices, real)
        layer_index_below = cuda.shared.array(layer_indices, real)
        gap_side = cuda.shared.array(layers, INT32)
        walls = cuda.shared.array(wall_entries, real)
        emitter_real = cuda.shared.array(emitter_reals, real)
        emitter_whole = cuda.shared.array(emitter_wholes, INT32)
        near_edges = cuda.shared.array(EDGES, real)
        near_guess = cuda.shared.array(GUESSES, UINT8)
        counts = cuda.shared.array(columns, INT32)
        copy_list(layer_kind, far.layer_kind)
        copy_list(layer_z, far.layer_z)
        copy_list(layer_half_x, far.layer_half_x)
        copy_list(layer_half_y, far.layer_half_y)
        copy_table(layer_real, far.layer_real)
        copy_table(layer_whole, far.layer_whole)
        copy_table(layer_index, far.layer_index)
        copy_table(layer_index_below, far.layer_index_below)
        copy_list(gap_side, far.gap_side)
        copy_list(walls, far.walls)
        copy_table(emitter_real, far.emitter_real)
        copy_table(emitter_whole, far.emitter_whole)
        copy_list(near_edges, edges)
        copy_list(near_guess, guess)
        own = cuda.shared.array(own_sums, INT32)
        waiting = Waiting(
            cuda.shared.array(held_reals, real),
            cuda.shared.array(places, UINT64),
            cuda.shared.array(places, INT32),
            cuda.shared.array(places, INT32),
            cuda.shared.array(counters, INT32),
        )
        me = cuda.threadIdx.x
        for i in range(me, columns, cuda.blockDim.x):
            counts[i] = 0
        for k in range(OWN_SUMS):
            own[k, me] = 0
        if me < counters:
            waiting.count[me] = 0
        cuda.syncthreads()
        program = program_type(
            layer_kind,
            layer_z,
            layer_half_x,
            layer_half_y,
            layer_real,
            layer_whole,
            layer_index,
            layer_index_below,
            gap_side,
            walls,
            far.emitter_shares,
            emitter_real,
            emitter_whole,
            far.wavelength_shares,
            far.strip_edges,
            far.tables,
            far.panel_per_width,
            far.panel_per_height,
            far.stop_per_radius,
            far.screen,
            far.spot_per_mm,
            far.colour_of,
            traits,
        )
        row = unsigned(cuda.blockIdx.y)
        batch = (first >> row_shift) + np.uint64(cuda.blockIdx.y)
        origin = max(first, batch << row_shift)
        stop = min(end, (batch + np.uint64(1)) << row_shift)
        step = np.uint64(cuda.gridDim.x * cuda.blockDim.x)
        warp, lane = short(me // WARP), short(me % WARP)
        # Histories are born 32 at a time, and known by their number among those of the warp.
        my_first = origin + np.uint64(cuda.blockIdx.x * cuda.blockDim.x + warp * WARP)
        births, rounds = short(0), short(0)
        while True:
            sync_warp()
            rounds = short(rounds + 1)
            if rounds % ROUNDS_KEPT == 0:
                hand_over(rows, row, own)
            task, there = next_task(waiting, warp, my_first + step * np.uint64(births) < stop)
            if task == DONE:
                break
            sync_warp()
            left = max(there - WARP, 0)
            if task == FRESH:
                born = short(births * WARP + lane)
                number = history_of(my_first, step, born)
                births = short(births + 1)
                busy = number < stop
                if busy:
                    wavelength, gap, photon = begin(program, seed, number)
                    events = short(0)
            else:
                busy = lane < there - left
                if lane == 0:
                    waiting.count[unsigned(2 * warp + task)] = left
                if busy:
                    layer, wavelength, events, born, photon = take_up(
                        waiting, place_of(warp, task, left + lane), program.layer_z
                    )
                    gap = unsigned(layer - 1 if photon.w > ZERO else layer)
            if busy:
                again, waits = task != FRESH, may_wait and task != PANEL
                fate, events, met_panel, at_panel, at_stop, photon, gap = follow(
                    program, wavelength, gap, photon, events, waits, again, None
                )
            # The places of those taken up are free now.
            sync_warp()
            if busy and fate == WAITS:
                layer = unsigned(gap if photon.w > ZERO else gap + 1)
                task = PANEL if program.layer_kind[layer] == codes.PANEL else FILM
                put_off(waiting, warp, task, layer, wavelength, events - 1, born, photon)
            elif busy:
                cuda.atomic.add(counts, unsigned(codes.ROW_SCREEN + fate), 1)
                own[4, me] += events
                if met_panel:
                    goes_on = unsigned(1 if fate == STOP else 0)
                    x, y, u, v, w = at_panel.x, at_panel.y, at_panel.u, at_panel.v, at_panel.w
                    across = x * program.panel_per_width + HALF
                    up = y * program.panel_per_height + HALF
                    count_arrival(panel_sums, directions, own, across, up, goes_on, u, v)
                    count_place(counts, goes_on, across, up)
                    count_directions(counts, near_edges, near_guess, goes_on, u, v, w)
                    if goes_on:
                        stop_x = (at_stop[0] * program.stop_per_radius + ONE) * HALF
                        stop_y = (at_stop[1] * program.stop_per_radius + ONE) * HALF
                        count_pupil(pupil, stop_x, stop_y)
                        if program.traits & codes.SCREEN:
                            d_x, d_y, e_x, e_y = offsets(program, x, y, photon)
                            i, j = bin_of(up, codes.CELLS), bin_of(across, codes.CELLS)
                            per_mm = program.spot_per_mm[i * codes.CELLS + j]
                            colour = program.colour_of[wavelength]
                            ring = ring_of(stop_x, stop_y)
                            if is_stray(d_x, d_y, per_mm):
                                count_stray(rows, row, ring, i, j)
                            else:
                                count_offsets(rows, row, colour, ring, i, j, d_x, d_y, e_x, e_y)
                                odd = is_odd(history_of(my_first, step, born))
                                count_spot(
                                    spots, stop_sums, odd, per_mm, i, j, d_x, d_y, stop_x, stop_y
                                )
                if fate == GUARD:
                    count_lost(lost, history_of(my_first, step, born))
        hand_over(rows, row, own)
        cuda.syncthreads()
        skipped = codes.ROW_FATES - codes.ROW_SCREEN
        for i in range(me, rows.shape[1] - skipped, cuda.blockDim.x):
            if counts[i] != 0:
                column = i if i < codes.ROW_SCREEN else i + skipped
                cuda.atomic.add(rows, (row, column), np.int64(counts[i]))

    return trace_block, threads


def warps_that_fit(
    layers: int, groups: int, wavelengths: int, columns: int, real_bytes: int
) -> int:
    """Return how many warps of a block there is shared memory for: 8, 4, 2 or 1."""
    reals = layers * (3 + codes.LAYER_REALS + 2 * wavelengths) + codes.WALL_ENTRIES + EDGES
    reals += groups * codes.EMITTER_REALS
    wholes = layers * (2 + codes.LAYER_WHOLES) + groups * codes.EMITTER_WHOLES + columns
    left = MOST_SHARED - real_bytes * reals - 4 * wholes - GUESSES
    each = bytes_per_warp(real_bytes) + 4 * OWN_SUMS * WARP
    return max(warps for warps in (1, 2, 4, 8) if warps == 1 or warps * each <= left)
