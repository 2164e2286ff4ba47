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
from photonsim.kernel.history import GUARD, STOP, WAITS, begin, follow
from photonsim.kernel.landing import is_stray, offsets, spot_bin
from photonsim.kernel.numbers import HALF, ONE, ZERO, short, typed, unsigned
from photonsim.kernel.random import DRAWS_SHIFT, PER_STEP
from photonsim.kernel.tally import (
    DEGREE_EDGES,
    DEGREE_GUESS,
    degrees_floor,
    plane_bin,
)
from photonsim.kernel.whole import bin_of, fixed

SINGLE, DOUBLE = numba.float32, numba.float64
UINT8, INT32, INT64, UINT64 = numba.uint8, numba.int32, numba.int64, numba.uint64
GUESSES, EDGES = len(DEGREE_GUESS), len(DEGREE_EDGES)
# Threads that do everything at the same time, and how many there are of these in a block.
WARP = 32
WARPS = 1 if config.ENABLE_CUDASIM else 8
THREADS = WARPS * WARP
# What waits before film and panel in a warp's room: at most 31 from before, in either, and 32 more.
ROOM = 3 * WARP
PLACES = WARPS * ROOM
COUNTERS = 2 * WARPS
FILM, PANEL, FRESH, DONE = (np.int32(kind) for kind in range(4))
# Fewer registers let more warps hide each other's waiting: on an H100 64 gave 5.72 thousand million
# histories a second in single precision, 48 5.82 and 40 5.62; in double 64 gave 1.53 and 48 1.60.
MOST_REGISTERS = 48
# A thread's own sums: u, v, uu, vv of its arrivals, then events; none of them can grow beyond
# 32 bits in so many rounds.
ROUNDS_KEPT = 1024
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
def count_stray(rows, row, i, j):
    """Add stray light from cell (i, j) of the panel to a batch row."""
    step = codes.CELLS * codes.CELLS
    column = unsigned(codes.ROW_SCREEN + step * codes.SCREEN_STRAY + i * codes.CELLS + j)
    cuda.atomic.add(rows, (row, column), 1)


@cuda.jit(device=True)
def count_offsets(rows, row, colour, i, j, d_x, d_y, e_x, e_y):
    """Add a landing from cell (i, j) to a batch row; as landing.add_screen_sums, and colours."""
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


@cuda.jit(device=True)
def count_spot(spots, stop_sums, per_mm, i, j, d_x, d_y, stop_x, stop_y):
    """Add a landing from cell (i, j) to the maps of the screen; see landing.count_landing."""
    cuda.atomic.add(spots, (i, j, spot_bin(d_y, per_mm), spot_bin(d_x, per_mm)), 1)
    k, m = bin_of(stop_y, codes.STOP_BINS), bin_of(stop_x, codes.STOP_BINS)
    cuda.atomic.add(stop_sums, (i, j, k, m, 0), 1)
    cuda.atomic.add(stop_sums, (i, j, k, m, 1), fixed(d_x))
    cuda.atomic.add(stop_sums, (i, j, k, m, 2), fixed(d_y))
    cuda.atomic.add(stop_sums, (i, j, k, m, 3), fixed(d_x * d_x + d_y * d_y))


@cuda.jit(device=True)
def count_lost(lost, number):
    """Keep the number of a history that was given up, if there is room."""
    place = cuda.atomic.add(lost, 0, 1) + 1
    if place < lost.shape[0]:
        lost[place] = number


@cuda.jit(device=True)
def sync_warp():
    """Wait for all threads of the warp. The simulator knows no warps: there, a block is one."""
    if config.ENABLE_CUDASIM:
        cuda.syncthreads()
    else:
        cuda.syncwarp()


@cuda.jit(device=True)
def hand_over(rows, row, own):
    """Add a thread's own sums to the row and start them afresh."""
    me = cuda.threadIdx.x
    for k in range(5):
        column = codes.ROW_EVENTS if k == 4 else codes.ROW_SUMS + k
        cuda.atomic.add(rows, (row, column), np.int64(own[k, me]))
        own[k, me] = 0


@cuda.jit(device=True)
def choose(films, panels, fresh):
    """Return what a warp does next: panel or film if enough photons wait, else new ones, or -1."""
    if panels >= WARP:
        return PANEL
    if films >= WARP:
        return FILM
    if fresh:
        return FRESH
    if films > 0:
        return FILM
    return PANEL if panels > 0 else DONE


@cuda.jit(device=True)
def slot_of(warp, kind, place):
    """Return where the photon number `place` that waits of a kind stands; panels from behind."""
    return unsigned(warp * ROOM + (place if kind == FILM else ROOM - 1 - place))


@cache
def kernel_for(
    program_type: Any, layers: int, groups: int, wavelengths: int, real: Any, traits: int
) -> Any:
    """Return the CUDA kernel for programs of so many layers and emitter groups at most.

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
    held_reals = (5, PLACES)

    # The simulator knows no such limits.
    limits = {} if config.ENABLE_CUDASIM else {"max_registers": MOST_REGISTERS}

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
        own = cuda.shared.array(OWN_SUMS, INT32)
        held = cuda.shared.array(held_reals, real)
        held_rng = cuda.shared.array(PLACES, UINT64)
        held_whole = cuda.shared.array(PLACES, INT32)
        waiting = cuda.shared.array(COUNTERS, INT32)
        me = cuda.threadIdx.x
        for i in range(me, columns, cuda.blockDim.x):
            counts[i] = 0
        for k in range(5):
            own[k, me] = 0
        if me < COUNTERS:
            waiting[me] = 0
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
            far.panel_layer,
            far.stop_layer,
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
        warp, lane = unsigned(me) // unsigned(WARP), unsigned(me) % unsigned(WARP)
        my_films, my_panels = unsigned(2 * warp), unsigned(2 * warp + 1)
        # The number of the first thread of this warp: the same for all 32.
        next_number = origin + np.uint64(cuda.blockIdx.x * cuda.blockDim.x + warp * WARP)
        rounds = 0
        while True:
            sync_warp()
            rounds += 1
            if rounds % ROUNDS_KEPT == 0:
                hand_over(rows, row, own)
            films, panels = waiting[my_films], waiting[my_panels]
            kind = choose(films, panels, next_number < stop)
            if kind == DONE:
                break
            sync_warp()
            number = next_number + np.uint64(lane)
            busy = True
            if kind == FRESH:
                next_number += step
                busy = number < stop
            else:
                there = films if kind == FILM else panels
                left = max(there - WARP, 0)
                busy = lane < there - left
                if lane == 0:
                    waiting[unsigned(2 * warp + kind)] = left
            if busy:
                wavelength, gap, events, again = short(0), unsigned(0), short(0), False
                if kind == FRESH:
                    wavelength, gap, x, y, z, u, v, w, rng = begin(program, seed, number)
                else:
                    slot = slot_of(warp, kind, left + lane)
                    x, y = held[0, slot], held[1, slot]
                    u, v, w = held[2, slot], held[3, slot], held[4, slot]
                    rng, packed = held_rng[slot], held_whole[slot]
                    number = ((rng - seed) * PER_STEP) >> DRAWS_SHIFT
                    layer = unsigned(packed & 255)
                    wavelength = short((packed >> 8) & 255)
                    events = short(packed >> 16)
                    z = program.layer_z[layer]
                    gap = unsigned(layer - 1 if w > ZERO else layer)
                    again = True
                fate, events, wavelength, met_panel, panel_ray, stop_place, last_ray, place = (
                    follow(
                        program,
                        seed,
                        number,
                        wavelength,
                        gap,
                        x,
                        y,
                        z,
                        u,
                        v,
                        w,
                        rng,
                        events,
                        kind != PANEL,
                        again,
                        None,
                    )
                )
            # Those read above are free now.
            sync_warp()
            if busy and fate == WAITS:
                x, y, z, u, v, w = last_ray
                gap, rng = place
                layer = np.int32(gap if w > ZERO else gap + 1)
                kind = PANEL if layer == program.panel_layer else FILM
                slot = slot_of(warp, kind, cuda.atomic.add(waiting, unsigned(2 * warp + kind), 1))
                held[0, slot], held[1, slot] = x, y
                held[2, slot], held[3, slot], held[4, slot] = u, v, w
                held_rng[slot] = rng
                held_whole[slot] = np.int32(layer | wavelength << 8 | (events - 1) << 16)
            elif busy:
                cuda.atomic.add(counts, unsigned(codes.ROW_SCREEN + fate), 1)
                own[4, me] += events
                if met_panel:
                    goes_on = unsigned(1 if fate == STOP else 0)
                    x, y, u, v, w = panel_ray
                    across = x * program.panel_per_width + HALF
                    up = y * program.panel_per_height + HALF
                    count_arrival(panel_sums, directions, own, across, up, goes_on, u, v)
                    count_place(counts, goes_on, across, up)
                    count_directions(counts, near_edges, near_guess, goes_on, u, v, w)
                    if goes_on:
                        stop_x = (stop_place[0] * program.stop_per_radius + ONE) * HALF
                        stop_y = (stop_place[1] * program.stop_per_radius + ONE) * HALF
                        count_pupil(pupil, stop_x, stop_y)
                        if program.traits & codes.SCREEN:
                            d_x, d_y, e_x, e_y = offsets(program, x, y, last_ray)
                            i, j = bin_of(up, codes.CELLS), bin_of(across, codes.CELLS)
                            per_mm = program.spot_per_mm[i * codes.CELLS + j]
                            colour = program.colour_of[wavelength]
                            if is_stray(d_x, d_y, per_mm):
                                count_stray(rows, row, i, j)
                            else:
                                count_offsets(rows, row, colour, i, j, d_x, d_y, e_x, e_y)
                                count_spot(spots, stop_sums, per_mm, i, j, d_x, d_y, stop_x, stop_y)
                if fate == GUARD:
                    count_lost(lost, number)
        hand_over(rows, row, own)
        cuda.syncthreads()
        skipped = codes.ROW_FATES - codes.ROW_SCREEN
        for i in range(me, rows.shape[1] - skipped, cuda.blockDim.x):
            if counts[i] != 0:
                column = i if i < codes.ROW_SCREEN else i + skipped
                cuda.atomic.add(rows, (row, column), np.int64(counts[i]))

    return trace_block
