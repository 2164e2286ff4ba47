"""The panel: pixels inside an opaque frame. Its transmittance is a factor after the count."""

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.diffuser import scatter
from photonsim.kernel.numbers import ONE, ZERO, typed
from photonsim.kernel.photon import GOES_ON, absorbed, aimed, fate_at, lit
from photonsim.kernel.random import next_state, uniform_as

BESIDE = np.int32(0)
FRAME = np.int32(1)
PIXELS = np.int32(2)


@jit
def where(program, layer, x, y):
    """Return which part of the panel a point (mm) lies on: BESIDE, FRAME or PIXELS."""
    real = program.layer_real
    if abs(x) < real[layer, codes.PANEL_HALF_X] and abs(y) < real[layer, codes.PANEL_HALF_Y]:
        return PIXELS
    if abs(x) > program.layer_half_x[layer] or abs(y) > program.layer_half_y[layer]:
        return BESIDE
    return FRAME


@jit
def relative_transmittance(table, first, count, cos_in):
    """Return the tabulated transmittance relative to straight on; the table steps evenly in cosine.

    Entry 0 stands for grazing light (cosine 0), the last for light straight on (cosine 1).
    """
    place = cos_in * typed(cos_in, count - 1)
    step = min(int(place), count - 2)
    low = table[first + step]
    return low + (place - typed(place, step)) * (table[first + step + 1] - low)


@jit
def passes(program, layer, w, rng):
    """Return (alive, rng) after the angle table, for light inside the panel's face to the lamp."""
    whole = program.layer_whole
    count = whole[layer, codes.ANGLE_COUNT]
    if count == 0 or not program.traits & codes.PANEL_ANGLES:
        return True, rng
    rng = next_state(rng)
    passed = relative_transmittance(program.tables, whole[layer, codes.ANGLE_FIRST], count, abs(w))
    return uniform_as(w, rng) < passed, rng


@jit
def cross(program, layer, wavelength, photon):
    """Return (fate, photon) of one that crosses the pixels.

    The table belongs to the face towards the lamp and the scatter lies behind it, whichever way the
    light goes: a table at the face that is met first would not be reciprocal.
    """
    _, _, _, u, v, w, rng, light = photon
    upwards = w > ZERO
    if upwards:
        alive, rng = passes(program, layer, w, rng)
        if not alive:
            return absorbed(layer, photon)
    whole, real = program.layer_whole, program.layer_real
    if program.traits & codes.PANEL_SCATTER and real[layer, codes.PANEL_DIRECT] < ONE:
        # An anti-glare face scatters as a rough surface does: one that keeps the polarisation.
        light, u, v, w, rng = scatter(
            light,
            ONE,
            u,
            v,
            w,
            real[layer, codes.PANEL_SIGMA],
            real[layer, codes.PANEL_DIRECT],
            program.tables,
            whole[layer, codes.TABLE_FIRST],
            whole[layer, codes.TABLE_COUNT],
            rng,
        )
    if not upwards:
        alive, rng = passes(program, layer, w, rng)
        if not alive:
            return absorbed(layer, photon)
    fate = GOES_ON if w != ZERO else fate_at(layer, codes.ABSORBED)
    return fate, lit(aimed(photon, u, v, w, rng), light)
