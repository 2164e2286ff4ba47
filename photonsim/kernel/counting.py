"""Counting: what became of each photon is added to integer tallies, in any order the same.

One source for all targets. They differ in how a number is added where others add too, and in which
array the columns of arrivals stand; `counters` makes the functions for one of them.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.landing import is_odd, is_stray, offsets, ring_of, spot_bin, spot_level
from photonsim.kernel.numbers import HALF, ONE, ZERO, short, typed, unsigned
from photonsim.kernel.tallies import (
    CELLS,
    COLOUR_SUM,
    COLUMN,
    DIRECTION_BINS,
    PLANE_BAND,
    PLANE_BINS,
    POLAR_BINS,
    PROFILE_BINS,
    PUPIL_BINS,
    RING_SUM,
    ROW_FATES,
    STOP_BINS,
)
from photonsim.kernel.whole import bin_of, fixed, scale_of

ALL_CELLS = CELLS * CELLS
DIRECTION_SUMS, EVENTS = COLUMN["direction_sums"], COLUMN["events"]
SCREEN, COLOURS, RINGS = COLUMN["screen"], COLUMN["colours"], COLUMN["rings"]
COLOUR_STEP, RING_STEP = COLOUR_SUM.bins * ALL_CELLS, RING_SUM.bins * ALL_CELLS
RING_STRAY = RING_SUM.words.index("stray")

# The degree where each step of 1/1024 of a squared sine begins; at most one more begins within it.
GUESS_STEPS = 1024
DEGREE_EDGES = np.sin(np.radians(np.arange(1, POLAR_BINS + 1))) ** 2
DEGREE_GUESS = np.searchsorted(
    DEGREE_EDGES, np.arange(GUESS_STEPS + 1) / GUESS_STEPS, side="right"
).clip(0, POLAR_BINS - 1)


@jit
def degrees_floor(sine_squared, edges, guess):
    """Return the whole degrees (0..89) of an angle, from its squared sine and without arc sine.

    `edges` and `guess` are DEGREE_EDGES and DEGREE_GUESS, or copies nearer to the processor.
    """
    # Without a branch: nothing foretells it.
    degree = short(guess[np.int32(sine_squared * typed(sine_squared, GUESS_STEPS))])
    degree = short(degree + short(sine_squared >= edges[unsigned(degree)]))
    return min(degree, short(POLAR_BINS - 1))


@jit
def plane_bin(slope_cosine, upright, edges, guess):
    """Return the 2-degree bin of a direction projected into a plane, -90 to 90 degrees."""
    squared = slope_cosine * slope_cosine
    half = degrees_floor(squared / (squared + upright * upright), edges, guess) >> 1
    middle = PLANE_BINS // 2
    return middle + half if slope_cosine >= ZERO else middle - 1 - half


@jit
def counted(weight, light):
    """Return what a history of a weight counts for where its light is collected: see panel."""
    if light is None:
        return weight
    return short(weight * light.counts)


@jit
def not_landed(like):
    """Return what count_spot passes over, of the types of what count_landing returns."""
    nowhere, none = unsigned(0), fixed(typed(like, 0.0), ONE)
    spot = nowhere, nowhere, short(0), short(0), short(0)
    return short(0), spot, (nowhere, nowhere, nowhere, nowhere), (none, none, none, short(0))


class Counters(NamedTuple):
    """The functions of one target that add; see `counters`, where each is described."""

    end: Any
    arrival: Any
    pixel: Any
    pupil: Any
    landing: Any
    spot: Any


def counters(
    jit: Callable[..., Any], jit_apart: Callable[..., Any], add: Any, give_up: Any, first: int
) -> Counters:
    """Return the functions that count, compiled by `jit`, or `jit_apart` where few photons come.

    `add(array, place, amount)` adds where others may add at the same time, and returns what was
    there before; `give_up(lost, number)` keeps the number of a history. Ends and arrivals are
    counted in an array that begins with column `first` of a batch row; sums of a thread's own, the
    first columns, in one that nobody else touches.
    """
    cells, polar, fates = COLUMN["cells"] - first, COLUMN["polar"] - first, ROW_FATES - first
    squares = COLUMN["squares"] - first
    profile_x, profile_y = COLUMN["profile_x"] - first, COLUMN["profile_y"] - first
    plane_x, plane_y = COLUMN["plane_x"] - first, COLUMN["plane_y"] - first

    @jit
    def count_end(counts, own, lost, fate, events, number, weight):
        """Add the end of a history; keep the number of one given up.

        In this and all that follows `weight` is what the history counts for: see guide.weight_of.
        """
        add(counts, unsigned(fates + fate), weight)
        own[EVENTS] += events
        if fate == codes.FATE_GUARD:
            give_up(lost, number)

    @jit
    def count_directions(counts, edges, guess, goes_on, weight, photon):
        u, v, w = photon.u, photon.v, photon.w
        degree = degrees_floor(u * u + v * v, edges, guess)
        add(counts, unsigned(polar + POLAR_BINS * goes_on + degree), weight)
        if abs(v) < typed(v, PLANE_BAND):
            place = PLANE_BINS * goes_on + plane_bin(u, w, edges, guess)
            add(counts, unsigned(plane_x + place), weight)
        if abs(u) < typed(u, PLANE_BAND):
            place = PLANE_BINS * goes_on + plane_bin(v, w, edges, guess)
            add(counts, unsigned(plane_y + place), weight)

    @jit
    def count_place(program, counts, goes_on, weight, excess, across, up):
        cell = bin_of(up, CELLS) * CELLS + bin_of(across, CELLS) + ALL_CELLS * goes_on
        add(counts, unsigned(cells + cell), weight)
        if program.traits & (codes.GUIDED | codes.POLARISED):
            # The count itself is added to it later: see engine.rows.from_others.
            add(counts, unsigned(squares + cell), excess)
        light = PROFILE_BINS * goes_on
        add(counts, unsigned(profile_x + light + bin_of(across, PROFILE_BINS)), weight)
        add(counts, unsigned(profile_y + light + bin_of(up, PROFILE_BINS)), weight)

    @jit
    def count_arrival(program, counts, own, maps, edges, guess, goes_on, weight, photon):
        """Add a photon as it met the panel's pixels; `goes_on` is 1 if it then left by the stop.

        All but its pixel's own sums, which lie far off in memory: the arrival is returned for
        count_pixel to add them.
        """
        u, v = photon.u, photon.v
        across = photon.x * program.panel_per_width + HALF
        up = photon.y * program.panel_per_height + HALF
        i, j = bin_of(up, maps.panel.shape[0]), bin_of(across, maps.panel.shape[1])
        scale = scale_of(u, weight)
        whole_u, whole_v = fixed(u, scale), fixed(v, scale)
        whole_uu, whole_vv = fixed(u * u, scale), fixed(v * v, scale)
        own[DIRECTION_SUMS] += whole_u
        own[DIRECTION_SUMS + 1] += whole_v
        own[DIRECTION_SUMS + 2] += whole_uu
        own[DIRECTION_SUMS + 3] += whole_vv
        row, column = (
            bin_of((v + ONE) * HALF, DIRECTION_BINS),
            bin_of((u + ONE) * HALF, DIRECTION_BINS),
        )
        add(maps.directions, (row, column), weight)
        passed = counted(weight, photon.light) if goes_on else weight
        excess = passed * passed - passed
        count_place(program, counts, goes_on, passed, excess, across, up)
        count_directions(counts, edges, guess, goes_on, passed, photon)
        if passed != weight:
            # With what is collected, all that arrives counts by its weight: engine.every_arrival.
            rest, excess = weight - passed, weight * weight - weight - excess
            count_place(program, counts, short(0), rest, excess, across, up)
            count_directions(counts, edges, guess, short(0), rest, photon)
            add(maps.panel, (i, j, unsigned(codes.INCIDENT)), rest)
        return i, j, goes_on, passed, whole_u, whole_v, whole_uu, whole_vv

    @jit
    def count_pixel(panel, arrival):
        """Add an arrival, as count_arrival returns it, to the sums of its pixel."""
        i, j, goes_on, weight, whole_u, whole_v, whole_uu, whole_vv = arrival
        add(panel, (i, j, unsigned(codes.INCIDENT + goes_on)), weight)
        add(panel, (i, j, codes.SUM_U), whole_u)
        add(panel, (i, j, codes.SUM_V), whole_v)
        add(panel, (i, j, codes.SUM_UU), whole_uu)
        add(panel, (i, j, codes.SUM_VV), whole_vv)

    @jit
    def count_pupil(program, maps, at_stop, cell, weight):
        """Add a photon that went through the stop at (x, y) in mm; return that in 0..1.

        `cell` is that of directions which it was emitted into.
        """
        add(maps.emission, cell, weight)
        across = (at_stop[0] * program.stop_per_radius + ONE) * HALF
        up = (at_stop[1] * program.stop_per_radius + ONE) * HALF
        add(maps.pupil, (bin_of(up, PUPIL_BINS), bin_of(across, PUPIL_BINS)), weight)
        return across, up

    @jit
    def count_offsets(row, weight, cell, colour, ring, moments, d_x, d_y, e_x, e_y):
        whole_x, whole_y, whole_xx, whole_yy = moments
        scale = scale_of(d_x, weight)
        at = SCREEN + cell
        add(row, unsigned(at + ALL_CELLS * codes.SCREEN_DXX), whole_xx)
        add(row, unsigned(at + ALL_CELLS * codes.SCREEN_DXY), fixed(d_x * d_y, scale))
        add(row, unsigned(at + ALL_CELLS * codes.SCREEN_EX), fixed(e_x, scale))
        add(row, unsigned(at + ALL_CELLS * codes.SCREEN_EY), fixed(e_y, scale))
        add(row, unsigned(at + ALL_CELLS * codes.SCREEN_EE), fixed(e_x * e_x + e_y * e_y, scale))
        add(row, unsigned(at + ALL_CELLS * codes.SCREEN_DE), fixed(d_x * e_x + d_y * e_y, scale))
        if colour != codes.GREEN:
            at = COLOURS + colour * COLOUR_STEP + cell
            add(row, unsigned(at), weight)
            add(row, unsigned(at + ALL_CELLS), whole_x)
            add(row, unsigned(at + 2 * ALL_CELLS), whole_y)
        add(row, unsigned(ring), weight)
        add(row, unsigned(ring + ALL_CELLS), whole_x)
        add(row, unsigned(ring + 2 * ALL_CELLS), whole_y)
        add(row, unsigned(ring + 3 * ALL_CELLS), whole_xx + whole_yy)

    @jit_apart
    def count_landing(program, row, maps, number, weight, wavelength, landing):
        """Add a collected photon to the tallies of the screen.

        `number` is that of the history, `row` is the whole batch row. `landing` holds the photon at
        the panel, where (0..1) it crossed the square around the stop's hole, whether it went
        straight from there, and the photon at last. What glass has thrown back on its way, and what
        lands outside the spot's square, where no ray through the lenses alone could bring it, is
        stray light: counted, but no part of the blur. What follows from the sums over rings is left
        to engine.rows.from_others. The spot's bin and the place in the stop lie far off in memory:
        these are returned, with the weight and the sums to add, for count_spot.
        """
        at_panel, stop_x, stop_y, straight, photon = landing
        weight = counted(weight, at_panel.light)
        x, y = at_panel.x, at_panel.y
        d_x, d_y, e_x, e_y = offsets(program, x, y, photon)
        i = bin_of(y * program.panel_per_height + HALF, CELLS)
        j = bin_of(x * program.panel_per_width + HALF, CELLS)
        cell = i * CELLS + j
        per_mm = program.spot_per_mm[cell]
        ring = RINGS + ring_of(stop_x, stop_y) * RING_STEP + cell
        if not straight or is_stray(d_x, d_y, per_mm):
            add(row, unsigned(ring + ALL_CELLS * RING_STRAY), weight)
            return not_landed(d_x)
        colour, scale = program.colour_of[wavelength], scale_of(d_x, weight)
        firsts = fixed(d_x, scale), fixed(d_y, scale)
        moments = *firsts, fixed(d_x * d_x, scale), fixed(d_y * d_y, scale)
        count_offsets(row, weight, cell, colour, ring, moments, d_x, d_y, e_x, e_y)
        in_stop = i, j, bin_of(stop_y, STOP_BINS), bin_of(stop_x, STOP_BINS)
        odd = short(weight) if is_odd(number) else short(0)
        sums = *firsts, moments[2] + moments[3], odd
        level, fine = spot_level(d_x, d_y, per_mm)
        spot = i, j, level, spot_bin(d_y, fine), spot_bin(d_x, fine)
        return short(weight), spot, in_stop, sums

    @jit
    def count_spot(maps, landing):
        """Add a landing, as count_landing returns it, to its spot and its place in the stop."""
        weight, spot, (i, j, k, m), (whole_x, whole_y, squared, odd) = landing
        if weight != 0:
            add(maps.spots, spot, weight)
            add(maps.stop_sums, (i, j, k, m, 0), weight)
            add(maps.stop_sums, (i, j, k, m, 1), whole_x)
            add(maps.stop_sums, (i, j, k, m, 2), whole_y)
            add(maps.stop_sums, (i, j, k, m, 3), squared)
        if odd != 0:
            add(maps.stop_sums, (i, j, k, m, 4), odd)

    return Counters(count_end, count_arrival, count_pixel, count_pupil, count_landing, count_spot)
