"""The same histories on a GPU, counted by many threads at once.

A block of threads works on the histories of one batch. Its arrivals and ends are counted in the
block's shared memory, in 32 bits, and join the batch's row once, when the block ends; panel pixels,
directions and pupil are too many for that and are added to directly.
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
from photonsim.kernel.counting import DEGREE_EDGES, DEGREE_GUESS, counted, counters
from photonsim.kernel.cuda_waiting import (
    DONE,
    FILM,
    FRESH,
    MOST_KINDS,
    PANEL,
    REALS,
    ROOM,
    STATE,
    WARP,
    Waiting,
    bytes_per_warp,
    next_task,
    place_of,
    put_off,
    sync_warp,
    take_up,
)
from photonsim.kernel.emitters import emitted_into
from photonsim.kernel.guide import weight_of
from photonsim.kernel.history import begin, follow
from photonsim.kernel.kept_kernels import KeptKernels
from photonsim.kernel.numbers import ZERO, short, unsigned
from photonsim.kernel.photon import STOP, WAITS
from photonsim.kernel.polarisation import natural, no_light
from photonsim.kernel.tallies import FIRST_ARRIVAL, MOST_DOUBLINGS, OWN_COLUMNS, ROW_FATES

SINGLE, DOUBLE = numba.float32, numba.float64
UINT8, INT32, INT64, UINT64 = numba.uint8, numba.int32, numba.int64, numba.uint64
GUESSES, EDGES = len(DEGREE_GUESS), len(DEGREE_EDGES)
# Fewer registers let more warps hide each other's waiting, but what does not fit goes to memory. 48
# were 5 % slower in single precision, on the mean of four lamps, and 12 % in double.
MOST_REGISTERS = {SINGLE: 64, DOUBLE: 80}
# All that is declared here for a block may not take more shared memory; 1 kB is the compiler's.
MOST_SHARED = 47 * 1024
# In so many rounds none of a thread's own sums grows beyond 32 bits; with a guide in fewer.
ROUNDS_KEPT = 1024
# Small launches, at the start of a run, are no mistake.
config.CUDA_LOW_OCCUPANCY_WARNINGS = 0
device = cuda.jit(device=True)
# No `range` with a step from here on: it may be 0, and the way out for that case hid from the
# compiler that a program's traits are constant, so that it left nothing out.


@device
def copy_list(target, source):
    """Copy a one-dimensional array, every thread of the block its share."""
    i = cuda.threadIdx.x
    while i < source.shape[0]:
        target[i] = source[i]
        i += cuda.blockDim.x


@device
def copy_table(target, source):
    """Copy a two-dimensional array to the first rows of another of the same width."""
    width = target.shape[1]
    i = cuda.threadIdx.x
    while i < source.shape[0] * width:
        target[i // width, i % width] = source[i // width, i % width]
        i += cuda.blockDim.x


@device
def history_of(first, step, born):
    """Return the number of the history that was born as number `born` of a warp."""
    return first + step * np.uint64(born // WARP) + np.uint64(born % WARP)


@device
def add(array, place, amount):
    """Add to a place where others add at the same time; return what was there before."""
    return cuda.atomic.add(array, place, amount)


@device
def give_up(lost, number):
    """Count a history given up, and keep its number if there is room."""
    place = add(lost, 0, 1) + 1
    if place < lost.shape[0]:
        lost[place] = number


count_end, count_arrival, count_pixel, count_pupil, count_landing, count_spot = counters(
    device, device, add, give_up, FIRST_ARRIVAL
)


@device
def hand_over(row, own):
    """Add a thread's own sums to the row and start them afresh."""
    for column in range(OWN_COLUMNS):
        cuda.atomic.add(row, column, np.int64(own[column]))
        own[column] = 0


@device
def hand_over_counts(row, counts):
    """Add what the block has counted to the row, every thread its share."""
    i = cuda.threadIdx.x
    while i < row.shape[0] - FIRST_ARRIVAL:
        if counts[i] != 0:
            cuda.atomic.add(row, FIRST_ARRIVAL + i, np.int64(counts[i]))
        i += cuda.blockDim.x


@device
def count(program, edges, guess, counts, own, row, maps, wavelength, goes_on, seed, history):
    """Count an arrival; `history` is its number, weight and what it was on its way and at last."""
    number, weight, at_panel, at_stop, straight, photon = history
    arrival = count_arrival(program, counts, own, maps, edges, guess, goes_on, weight, at_panel)
    count_pixel(maps.panel, arrival)
    if goes_on:
        cell = emitted_into(program, seed, number)
        passed = counted(weight, at_panel.light)
        stop_x, stop_y = count_pupil(program, maps, at_stop, cell, passed)
        if program.traits & codes.SCREEN:
            landing = at_panel, stop_x, stop_y, straight, photon
            landed = count_landing(program, row, maps, number, weight, wavelength, landing)
            count_spot(maps, landed)


def brings_near(
    program_type: Any, layers: int, groups: int, wavelengths: int, real: Any, traits: int
) -> Any:
    """Return the function that copies a program to the block's shared memory.

    In arrays whose sizes are known when compiling: finding a place in arrays of unknown size took
    most of the instructions. Each array has a line of its own, by which the simulator tells them
    apart.
    """
    layer_reals, layer_wholes = (layers, codes.LAYER_REALS), (layers, codes.LAYER_WHOLES)
    emitter_reals, emitter_wholes = (groups, codes.EMITTER_REALS), (groups, codes.EMITTER_WHOLES)
    wall_entries = codes.WALL_ENTRIES
    layer_indices = (layers, wavelengths)

    @device
    def near(far):
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
        return program_type(
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
            far.guide,
            traits,
        )

    return near


@cache
def kernel_for(
    program_type: Any, layers: int, groups: int, wavelengths: int, real: Any, traits: int
) -> Any:
    """Return (CUDA kernel, threads a block) for so many layers and emitter groups at most.

    `program_type` is the named tuple of the program, `real` SINGLE or DOUBLE, `traits` those of the
    program (see codes): code for what is not there is left out.
    """
    near = brings_near(program_type, layers, groups, wavelengths, real, traits)
    columns = ROW_FATES - FIRST_ARRIVAL + codes.layer_fate(layers, 0)
    reals = REALS + STATE if traits & codes.POLARISED else REALS
    real_bytes = 4 if real == SINGLE else 8
    fitting = warps_that_fit(layers, groups, wavelengths, columns, real_bytes, reals)
    light_of = natural if traits & codes.POLARISED else no_light
    # The simulator knows neither warps (there, a block is one) nor limits.
    warps = 1 if config.ENABLE_CUDASIM else fitting
    limits = {} if config.ENABLE_CUDASIM else {"max_registers": MOST_REGISTERS[real]}
    threads, places, counters = warps * WARP, warps * ROOM, 2 * warps
    own_sums, held_reals = (threads, OWN_COLUMNS), (reals, places)
    rounds_kept = ROUNDS_KEPT >> MOST_DOUBLINGS if traits & codes.GUIDED else ROUNDS_KEPT
    may_wait = max(layers, wavelengths) <= MOST_KINDS

    @cuda.jit(fastmath=real == SINGLE, **limits)
    def trace_block(far, far_edges, far_guess, seed, first, end, row_shift, rows, maps, lost):
        program = near(far)
        light = light_of(far.panel_per_width)
        edges = cuda.shared.array(EDGES, real)
        guess = cuda.shared.array(GUESSES, UINT8)
        copy_list(edges, far_edges)
        copy_list(guess, far_guess)
        counts = cuda.shared.array(columns, INT32)
        every_own = cuda.shared.array(own_sums, INT32)
        waiting = Waiting(
            cuda.shared.array(held_reals, real),
            cuda.shared.array(places, UINT64),
            cuda.shared.array(places, INT32),
            cuda.shared.array(places, INT32),
            cuda.shared.array(counters, INT32),
        )
        me = cuda.threadIdx.x
        own = every_own[me]
        i = me
        while i < columns:
            counts[i] = 0
            i += cuda.blockDim.x
        for k in range(OWN_COLUMNS):
            own[k] = 0
        if me < counters:
            waiting.count[me] = 0
        cuda.syncthreads()
        row = rows[unsigned(cuda.blockIdx.y)]
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
            if rounds % rounds_kept == 0:
                hand_over(row, own)
            task, there = next_task(waiting, warp, my_first + step * np.uint64(births) < stop)
            if task == DONE:
                break
            sync_warp()
            left = max(there - WARP, 0)
            again = task != FRESH
            if task == FRESH:
                born = short(births * WARP + lane)
                number = history_of(my_first, step, born)
                births = short(births + 1)
                busy = number < stop
                if busy:
                    wavelength, gap, photon, again = begin(program, seed, number, light)
                    events = short(0)
            else:
                busy = lane < there - left
                if lane == 0:
                    waiting.count[unsigned(2 * warp + task)] = left
                if busy:
                    layer, wavelength, events, born, photon = take_up(
                        waiting, place_of(warp, task, left + lane), program.layer_z, light
                    )
                    gap = unsigned(layer - 1 if photon.w > ZERO else layer)
            if busy:
                waits = may_wait and task != PANEL
                fate, events, met_panel, at_panel, at_stop, straight, photon, gap = follow(
                    program, wavelength, gap, photon, events, waits, again, None, True
                )
            # The places of those taken up are free now.
            sync_warp()
            if busy and fate == WAITS:
                layer = unsigned(gap if photon.w > ZERO else gap + 1)
                task = PANEL if program.layer_kind[layer] == codes.PANEL else FILM
                put_off(waiting, warp, task, layer, wavelength, events - 1, born, photon)
            elif busy:
                number = history_of(my_first, step, born)
                weight = weight_of(program, seed, number)
                count_end(counts, own, lost, fate, events, number, weight)
                if met_panel:
                    goes_on = unsigned(1 if fate == STOP else 0)
                    history = number, weight, at_panel, at_stop, straight, photon
                    count(
                        program,
                        edges,
                        guess,
                        counts,
                        own,
                        row,
                        maps,
                        wavelength,
                        goes_on,
                        seed,
                        history,
                    )
        hand_over(row, own)
        cuda.syncthreads()
        hand_over_counts(row, counts)

    if not config.ENABLE_CUDASIM:
        sizes = layers, groups, wavelengths, traits
        trace_block._cache = KeptKernels(*program_type._fields, real, *sizes)
    return trace_block, threads


def warps_that_fit(
    layers: int, groups: int, wavelengths: int, columns: int, real_bytes: int, held: int = REALS
) -> int:
    """Return how many warps of a block there is shared memory for: 8, 6, 4, 2 or 1.

    `held` real numbers are kept of each photon that waits.
    """
    reals = layers * (3 + codes.LAYER_REALS + 2 * wavelengths) + codes.WALL_ENTRIES + EDGES
    reals += groups * codes.EMITTER_REALS
    wholes = layers * (2 + codes.LAYER_WHOLES) + groups * codes.EMITTER_WHOLES + columns
    left = MOST_SHARED - real_bytes * reals - 4 * wholes - GUESSES
    each = bytes_per_warp(real_bytes, held) + 4 * OWN_COLUMNS * WARP
    return max(warps for warps in (1, 2, 4, 6, 8) if warps == 1 or warps * each <= left)
