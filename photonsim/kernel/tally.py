"""Ranges of histories on a processor, counted by one thread each: what entries.py compiles."""

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit, jit_apart
from photonsim.kernel.counting import DEGREE_EDGES, DEGREE_GUESS, counted, counters, not_landed
from photonsim.kernel.emitters import emitted_into
from photonsim.kernel.history import begin, follow, note
from photonsim.kernel.numbers import short, unsigned
from photonsim.kernel.photon import GOES_ON, STOP
from photonsim.kernel.polarisation import natural, no_light
from photonsim.kernel.prefetch import prefetch
from photonsim.kernel.turns import at_end, go_on, has_met_panel, take_off


@jit
def add(array, place, amount):
    """Add to a place where nobody else adds; return what was there before."""
    before = array[place]
    array[place] = before + amount
    return before


@jit_apart
def give_up(lost, number):
    """Count a history given up; of all, the lowest numbers are kept, in whatever order they end."""
    place = min(lost[0] + 1, lost.shape[0])
    lost[0] += 1
    while place > 1 and lost[place - 1] > np.int64(number):
        place -= 1
        if place + 1 < lost.shape[0]:
            lost[place + 1] = lost[place]
    if place < lost.shape[0]:
        lost[place] = number


count_end, count_arrival, count_pixel, count_pupil, count_landing, count_spot = counters(
    jit, jit_apart, add, give_up, 0
)


@jit
def flat(array, place):
    """Return where a place stands in an array of five axes, counted in a row."""
    row = (place[0] * array.shape[1] + place[1]) * array.shape[2] + place[2]
    return np.uint64((row * array.shape[3] + place[3]) * array.shape[4] + place[4])


@jit
def trace_each(program, seed, first, count, row_shift, rows, maps, lost, flights, light, plates):
    """Trace histories as trace_range does.

    `light` is what they begin with, or None; `plates` is as in history.meet_layer.
    """
    first_row = first >> row_shift
    # A pixel's sums lie far off in memory, in one line of the cache or two: they are asked for, and
    # added to two arrivals later, at first nothing. So do a spot's bin and the sums of a place in
    # the stop: one landing later.
    landed = not_landed(program.panel_per_width)
    arrival = (unsigned(0), unsigned(0), short(0), short(0), 0, 0, 0, 0)
    arrival_before = arrival
    # Whichever history ends, the next of the range takes its place; of the last, one goes on alone.
    end, coming = first + np.uint64(count), first
    live = unsigned(min(count, flights.shape[0]))
    for k in range(live):
        take_off(program, seed, coming, light, plates, flights[k])
        coming += np.uint64(1)
    k = unsigned(0)
    while live > 0:
        flight = flights[k]
        fate, photon = go_on(program, light, plates, flight)
        if fate == GOES_ON:
            k = unsigned(k + 1 if k + 1 < live else 0)
            continue
        number, weight, wavelength = flight["number"], flight["weight"], flight["wavelength"]
        events, met_panel = flight["events"], has_met_panel(None, flight)
        at_panel, at_stop, straight = at_end(flight, photon)
        if coming < end:
            take_off(program, seed, coming, light, plates, flight)
            coming += np.uint64(1)
        else:
            live = unsigned(live - 1)
            flights[k] = flights[live]
        k = unsigned(k + 1 if k + 1 < live else 0)
        row = rows[(number >> row_shift) - first_row]
        count_end(row, row, lost, fate, events, number, weight)
        if met_panel:
            goes_on = short(1 if fate == STOP else 0)
            count_pixel(maps.panel, arrival_before)
            arrival_before = arrival
            arrival = count_arrival(
                program, row, row, maps, DEGREE_EDGES, DEGREE_GUESS, goes_on, weight, at_panel
            )
            pixel = (arrival[0] * maps.panel.shape[1] + arrival[1]) * maps.panel.shape[2]
            prefetch(maps.panel, pixel)
            prefetch(maps.panel, pixel + maps.panel.shape[2] - 1)
            if goes_on:
                cell = emitted_into(program, seed, number)
                passed = counted(weight, at_panel.light)
                stop_x, stop_y = count_pupil(program, maps, at_stop, cell, passed)
                if program.traits & codes.SCREEN:
                    count_spot(maps, landed)
                    landing = at_panel, stop_x, stop_y, straight, photon
                    landed = count_landing(program, row, maps, number, weight, wavelength, landing)
                    prefetch(maps.spots, flat(maps.spots, landed[1]))
                    prefetch(maps.stop_sums, flat(maps.stop_sums, (*landed[2], unsigned(0))))
    count_pixel(maps.panel, arrival_before)
    count_pixel(maps.panel, arrival)
    if program.traits & codes.SCREEN:
        count_spot(maps, landed)


def trace_range(program, seed, first, count, row_shift, rows, maps, lost, flights):
    """Trace histories first .. first + count - 1 and add them to the tallies.

    rows [batches, row length] int64: batches are the ranges of 2**row_shift histories that a number
    shifted right by row_shift counts, and row 0 is that of `first`; `maps` as tallies.map_shapes
    says. `lost` [1 + n] receives the number of histories given up and the first n of them. All are
    added to, an arrival under one of two lights: see tallies.LIGHT. `flights` is the room that
    flights.no_flights makes. `seed`, `first` and `row_shift` are uint64. The program has no guide:
    asked here once, the compiler leaves out all weights, which cost a lamp that collects much a
    fifth.
    """
    if program.traits & codes.GUIDED == 0:
        trace_each(program, seed, first, count, row_shift, rows, maps, lost, flights, None, None)


def trace_guided_range(program, seed, first, count, row_shift, rows, maps, lost, flights):
    """Trace a range of histories as trace_range does, with a guide."""
    if program.traits & codes.GUIDED:
        trace_each(program, seed, first, count, row_shift, rows, maps, lost, flights, None, None)


def tracers(light_of, plates):
    """Return (trace_range, trace_paths) for programs of one sort, guided or not.

    `light_of` makes what their light begins with, and `plates` is as in history.meet_layer.
    """

    def trace_range(program, seed, first, count, row_shift, rows, maps, lost, flights):
        light = light_of(program.panel_per_width)
        trace_each(program, seed, first, count, row_shift, rows, maps, lost, flights, light, plates)

    def trace_paths(program, seed, first, paths, outcomes):
        """Trace histories from `first` on, writing the points (mm) of each to one of `paths`.

        paths [n, EVENT_LIMIT + 2, 3]; outcomes [n, 2] int64 receive their fates and how many points
        there are.
        """
        for k in range(len(paths)):
            path = paths[k]
            light = light_of(program.panel_per_width)
            wavelength, gap, photon, at_part = begin(program, seed, first + np.uint64(k), light)
            note(path, 0, photon)
            end = follow(program, wavelength, gap, photon, short(0), False, at_part, path, plates)
            outcomes[k, 0], outcomes[k, 1] = end[0], min(end[1], codes.EVENT_LIMIT) + 1

    return trace_range, trace_paths


_, trace_paths = tracers(no_light, None)
trace_plate_range, trace_plate_paths = tracers(no_light, True)
trace_polarised_range, trace_polarised_paths = tracers(natural, True)
