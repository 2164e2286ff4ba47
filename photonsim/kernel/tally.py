"""Counting: what became of each photon is added to integer tallies, in any order the same."""

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit, jit_entry
from photonsim.kernel.history import begin, follow, note
from photonsim.kernel.landing import count_landing, is_odd
from photonsim.kernel.numbers import HALF, ONE, ZERO, short, typed
from photonsim.kernel.prefetch import prefetch
from photonsim.kernel.whole import bin_of, fixed

# First degree to try for a squared sine, in steps of 1/1024: from there at most two comparisons.
GUESS_STEPS = 1024
DEGREE_EDGES = np.sin(np.radians(np.arange(1, codes.POLAR_BINS + 1))) ** 2
DEGREE_GUESS = np.searchsorted(
    DEGREE_EDGES, np.arange(GUESS_STEPS + 1) / GUESS_STEPS, side="right"
).clip(0, codes.POLAR_BINS - 1)


@jit
def degrees_floor(sine_squared, edges, guess):
    """Return the whole degrees (0..89) of an angle, from its squared sine and without arc sine.

    `edges` and `guess` are DEGREE_EDGES and DEGREE_GUESS, or copies nearer to the processor.
    """
    degree = np.int64(guess[np.int32(sine_squared * typed(sine_squared, GUESS_STEPS))])
    while degree < codes.POLAR_BINS - 1 and sine_squared >= edges[degree]:
        degree += 1
    return degree


@jit
def plane_bin(slope_cosine, upright, edges, guess):
    """Return the 2-degree bin of a direction projected into a plane, -90 to 90 degrees."""
    squared = slope_cosine * slope_cosine
    half = degrees_floor(squared / (squared + upright * upright), edges, guess) >> 1
    middle = codes.PLANE_BINS // 2
    return middle + half if slope_cosine >= ZERO else middle - 1 - half


@jit
def count_directions(row, collected, u, v, w):
    """Add an arrival at the panel to the angular tallies of a batch row."""
    edges, guess = DEGREE_EDGES, DEGREE_GUESS
    polar = degrees_floor(u * u + v * v, edges, guess)
    row[codes.ROW_POLAR + codes.POLAR_BINS * collected + polar] += 1
    if abs(v) < typed(v, codes.PLANE_BAND):
        row[codes.ROW_PLANE_X + codes.PLANE_BINS * collected + plane_bin(u, w, edges, guess)] += 1
    if abs(u) < typed(u, codes.PLANE_BAND):
        row[codes.ROW_PLANE_Y + codes.PLANE_BINS * collected + plane_bin(v, w, edges, guess)] += 1


@jit
def count_place(row, collected, across, up):
    """Add an arrival at panel fractions (across, up) to the coarse maps of a batch row."""
    cell = bin_of(up, codes.CELLS) * codes.CELLS + bin_of(across, codes.CELLS)
    row[codes.ROW_CELLS + codes.CELLS * codes.CELLS * collected + cell] += 1
    bins = codes.PROFILE_BINS
    row[codes.ROW_PROFILE_X + bins * collected + bin_of(across, bins)] += 1
    row[codes.ROW_PROFILE_Y + bins * collected + bin_of(up, bins)] += 1


@jit
def count_pixel(panel_sums, arrival):
    """Add an arrival, as count_arrival returns it, to the sums of its pixel."""
    i, j, is_collected, whole_u, whole_v, whole_uu, whole_vv = arrival
    panel_sums[i, j, codes.INCIDENT] += 1
    panel_sums[i, j, codes.COLLECTED] += is_collected
    panel_sums[i, j, codes.SUM_U] += whole_u
    panel_sums[i, j, codes.SUM_V] += whole_v
    panel_sums[i, j, codes.SUM_UU] += whole_uu
    panel_sums[i, j, codes.SUM_VV] += whole_vv


@jit
def count_arrival(program, panel_sums, directions, row, is_collected, photon):
    """Add a photon as it met the panel's pixels.

    All but its pixel's own sums, which lie far off in memory: those are asked for, and the arrival
    is returned for count_pixel to add when they have come.
    """
    u, v, w = photon.u, photon.v, photon.w
    across = photon.x * program.panel_per_width + HALF
    up = photon.y * program.panel_per_height + HALF
    i, j = bin_of(up, panel_sums.shape[0]), bin_of(across, panel_sums.shape[1])
    prefetch(panel_sums, (i * panel_sums.shape[1] + j) * codes.PANEL_SUMS)
    whole_u, whole_v = fixed(u), fixed(v)
    whole_uu, whole_vv = fixed(u * u), fixed(v * v)
    row[codes.ROW_INCIDENT] += 1
    row[codes.ROW_SUMS] += whole_u
    row[codes.ROW_SUMS + 1] += whole_v
    row[codes.ROW_SUMS + 2] += whole_uu
    row[codes.ROW_SUMS + 3] += whole_vv
    bins = codes.DIRECTION_BINS
    directions[bin_of((v + ONE) * HALF, bins), bin_of((u + ONE) * HALF, bins)] += 1
    count_place(row, 0, across, up)
    count_directions(row, 0, u, v, w)
    if is_collected:
        row[codes.ROW_COLLECTED] += 1
        count_place(row, 1, across, up)
        count_directions(row, 1, u, v, w)
    return i, j, int(is_collected), whole_u, whole_v, whole_uu, whole_vv


@jit_entry
def trace_range(
    program,
    seed,
    first,
    count,
    row_shift,
    rows,
    panel_sums,
    directions,
    pupil,
    lost,
    spots,
    stop_sums,
):
    """Trace histories first .. first + count - 1 and add them to the tallies.

    rows [batches, row length] int64: batches are the ranges of 2**row_shift histories that a number
    shifted right by row_shift counts, and row 0 is that of `first`; panel_sums
    [rows, columns, PANEL_SUMS], directions [DIRECTION_BINS, DIRECTION_BINS] over the direction
    cosines (v, u), pupil [PUPIL_BINS, PUPIL_BINS] over the hole of the stop (y, x), all int64.
    `lost` [1 + n] receives the number of histories given up and the first n of them. `spots` and
    `stop_sums` are those of landing.count_landing. All are added to. `seed`, `first` and
    `row_shift` are uint64.
    """
    first_row = first >> row_shift
    any_waits = False
    waiting = (0, 0, 0, 0, 0, 0, 0)
    for done in range(count):
        number = first + np.uint64(done)
        wavelength, gap, photon = begin(program, seed, number)
        fate, events, met_panel, at_panel, at_stop, photon, _ = follow(
            program, wavelength, gap, photon, short(0), False, False, None
        )
        row = rows[np.int64((number >> row_shift) - first_row)]
        row[codes.ROW_FATES + fate] += 1
        row[codes.ROW_EVENTS] += events
        if met_panel:
            is_collected = fate == codes.FATE_STOP
            if any_waits:
                count_pixel(panel_sums, waiting)
            waiting = count_arrival(program, panel_sums, directions, row, is_collected, at_panel)
            any_waits = True
            if is_collected:
                stop_x = (at_stop[0] * program.stop_per_radius + ONE) * HALF
                stop_y = (at_stop[1] * program.stop_per_radius + ONE) * HALF
                pupil[bin_of(stop_y, pupil.shape[0]), bin_of(stop_x, pupil.shape[1])] += 1
                if program.traits & codes.SCREEN:
                    odd = is_odd(number)
                    count_landing(
                        program, row, spots, stop_sums, odd, wavelength, at_panel, stop_x, stop_y,
                        photon,
                    )  # fmt: skip
        if fate == codes.FATE_GUARD:
            lost[0] += 1
            if lost[0] < lost.shape[0]:
                lost[lost[0]] = number
    if any_waits:
        count_pixel(panel_sums, waiting)


@jit_entry
def trace_path(program, seed, number, path):
    """Trace one history, writing its points (mm) to path [EVENT_LIMIT + 2, 3].

    Returns (fate, points).
    """
    wavelength, gap, photon = begin(program, seed, number)
    note(path, 0, photon)
    outcome = follow(program, wavelength, gap, photon, short(0), False, False, path)
    return outcome[0], min(outcome[1], codes.EVENT_LIMIT) + 1
