"""Emitters: where a photon starts and where to, and emitter faces met by light that comes back."""

import math

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.digital_net import spread
from photonsim.kernel.guide import cell_in, cell_of, entry_of, steered
from photonsim.kernel.numbers import HALF, ONE, TWO, ZERO, typed, whole_below
from photonsim.kernel.random import bits_of_two, next_state, start, uniform_as
from photonsim.kernel.sampling import cosine_power, disc, lambertian, unit_circle


@jit
def pick(number, cumulative):
    """Return the first index whose cumulative share exceeds a number in [0, 1)."""
    choice = 0
    while choice < cumulative.shape[0] - 1 and number >= cumulative[choice]:
        choice += 1
    return choice


@jit
def drawn_for(program, seed, history, rng):
    """Return (group, across, up, first, second, rng): what is drawn to place and aim a photon."""
    group = np.uint32(0)
    if program.traits & codes.EMITTER_GROUPS:
        rng = next_state(rng)
        group = np.uint32(pick(uniform_as(program.panel_per_width, rng), program.emitter_shares))
    free, rng = bits_of_two(rng)
    numbers = spread(program.panel_per_width, seed, history, free)
    return group, numbers[0], numbers[1], numbers[2], numbers[3], rng


@jit
def emitted_into(program, seed, history):
    """Return the cell of directions (0..EMISSION_CELLS-1) that a history was emitted into.

    Found anew from its number for the few that ask: to carry it along would cost all of them.
    """
    if program.traits & codes.GUIDED:
        return cell_in(entry_of(program, seed, history))
    rng = start(seed, history)
    if program.traits & codes.WAVELENGTHS:
        rng = next_state(rng)
    _, _, _, first, second, _ = drawn_for(program, seed, history, rng)
    return cell_of(first, second)


@jit
def emit(program, seed, history, rng):
    """Return (group, x, y, u, v, w, rng) of a new photon; x and y in mm.

    Place and direction follow the net of the history's block, all else the draws from `rng` on. A
    group's emitters have equal flux. One number chooses the column and, by what is left of it, the
    place within: 32 bits are enough for both.
    """
    group, across, up, first, second, rng = drawn_for(program, seed, history, rng)
    if program.traits & codes.GUIDED:
        first, second = steered(program, seed, history, first, second)
    real, whole = program.emitter_real, program.emitter_whole
    first_x = real[group, codes.FIRST_X]
    across = across * typed(first_x, whole[group, codes.COLUMNS])
    up = up * typed(first_x, whole[group, codes.ROWS])
    column, row = whole_below(across), whole_below(up)
    x, y = across - column, up - row
    if program.traits & codes.ROUND_EMITTERS and whole[group, codes.FORM] == codes.DISC:
        x, y = disc(x, y)
    else:
        x, y = TWO * x - ONE, TWO * y - ONE
    x = first_x + column * real[group, codes.PITCH_X] + (x * real[group, codes.HALF_WIDTH])
    y = (
        real[group, codes.FIRST_Y]
        + row * real[group, codes.PITCH_Y]
        + (y * real[group, codes.HALF_HEIGHT])
    )
    root = real[group, codes.COSINE_ROOT]
    if program.traits & codes.MEASURED_LOBES and root == ZERO:
        u, v, w, rng = tabulated(program, group, first, next_state(rng))
    elif program.traits & codes.COSINE_POWERS and root != HALF:
        u, v, w = cosine_power(first, second, root)
    else:
        u, v, w = lambertian(first, second)
    return group, x, y, u, v, w, rng


@jit
def tabulated(program, group, first, rng):
    """Return (u, v, w, rng): a direction of a lobe from a table, cells of even intensity inside.

    The cell is found in one step, whatever their number (A. J. Walker, ACM Trans. Math. Softw. 3,
    253 (1977)): a random number, `first`, picks one, and what is left of it decides between that
    cell and its alias. `rng` is a fresh state; one more is used up.
    """
    table, whole = program.tables, program.emitter_whole
    polar_cells, azimuth_cells = whole[group, codes.POLAR_CELLS], whole[group, codes.AZIMUTH_CELLS]
    cosines = whole[group, codes.LOBE_FIRST]
    turns = cosines + polar_cells + 1
    kept = turns + azimuth_cells + 1
    cells = polar_cells * azimuth_cells
    place = first * typed(first, cells)
    cell = int(place)
    if place - typed(place, cell) >= table[kept + cell]:
        cell = int(table[kept + cells + cell])
    low = cosines + cell // azimuth_cells
    w = table[low] + uniform_as(first, rng) * (table[low + 1] - table[low])
    low = turns + cell % azimuth_cells
    rng = next_state(rng)
    cosine, sine = unit_circle(table[low] + uniform_as(first, rng) * (table[low + 1] - table[low]))
    radius = math.sqrt(max(ZERO, ONE - w * w))
    return radius * cosine, radius * sine, w, rng


@jit
def on_face(program, group, x, y):
    """Tell whether a point in the emitters' plane lies on one of the group's faces."""
    real, whole = program.emitter_real, program.emitter_whole
    x = x - real[group, codes.FIRST_X]
    y = y - real[group, codes.FIRST_Y]
    column = whole_below(x * real[group, codes.PER_PITCH_X] + HALF)
    row = whole_below(y * real[group, codes.PER_PITCH_Y] + HALF)
    if column < ZERO or row < ZERO:
        return False
    if column >= typed(x, whole[group, codes.COLUMNS]):
        return False
    if row >= typed(x, whole[group, codes.ROWS]):
        return False
    x = x - column * real[group, codes.PITCH_X]
    y = y - row * real[group, codes.PITCH_Y]
    half_width, half_height = real[group, codes.HALF_WIDTH], real[group, codes.HALF_HEIGHT]
    if program.traits & codes.ROUND_EMITTERS and whole[group, codes.FORM] == codes.DISC:
        return x * x + y * y <= half_width * half_width
    return abs(x) <= half_width and abs(y) <= half_height
