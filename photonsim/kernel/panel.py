"""The panel: pixels inside an opaque frame. Its transmittance is a factor after the count.

A transmittance measured with unpolarised light holds the half that the panel's polariser takes. So
where the polariser's axis is known, light of Q along it counts 1 + Q at the pixels on average: with
the chance |Q| twice or, where Q is negative, not at all. What counts for nothing goes on all the
same, so that histories end alike whatever the axis.
"""

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.diffuser import scatter
from photonsim.kernel.numbers import ONE, ZERO, short, typed
from photonsim.kernel.photon import GOES_ON, absorbed, aimed, drawn, fate_at, lit
from photonsim.kernel.polarisation import Light, into_plane, out_of_plane
from photonsim.kernel.random import next_state, uniform_as
from photonsim.kernel.reflective_polariser import passed_along

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
def in_plastic(program, layer, wavelength, u, v, w):
    """Return (known, direction, index, axis) of light in the panel's polariser: see passed_along.

    The axis is not known where a scene does not tell it.
    """
    real, index = program.layer_real, program.layer_index[layer, wavelength]
    blocked = real[layer, codes.PANEL_BLOCKS_X], real[layer, codes.PANEL_BLOCKS_Y], ZERO
    inside, axis = passed_along(u, v, w, blocked, index)
    return blocked[0] != ZERO or blocked[1] != ZERO, inside, index, axis


@jit
def along_axis(program, layer, wavelength, photon, light):
    """Return Q along the axis of the panel's polariser; 0 where none is known."""
    none = typed(photon.u, 0.0)
    if light is None:
        return none
    u, v, w = photon.u, photon.v, photon.w
    known, inside, index, axis = in_plastic(program, layer, wavelength, u, v, w)
    return into_plane(light, inside, index, axis).q if known else none


@jit
def polarised(program, layer, wavelength, u, v, w, light):
    """Return the light that leaves the panel's polariser: along the axis, if that is known."""
    if light is None:
        return light
    known, inside, index, axis = in_plastic(program, layer, wavelength, u, v, w)
    passed = Light(typed(u, 1.0), typed(u, 0.0), typed(u, 0.0), light.counts)
    return out_of_plane(passed, inside, index, axis) if known else light


@jit
def weighed(program, layer, wavelength, photon, light):
    """Return a photon that comes to the pixels for the first time, with what it counts for."""
    if light is None:
        return photon
    q = along_axis(program, layer, wavelength, photon, light)
    if q == ZERO:
        return photon
    photon = drawn(photon, next_state(photon.rng))
    counts = short(1)
    if uniform_as(q, photon.rng) < abs(q):
        counts = short(2 if q > ZERO else 0)
    return lit(photon, Light(light.q, light.u, light.v, counts))


@jit
def crossed_again(program, layer, wavelength, photon):
    """Return (alive, photon) of one that comes to the pixels once more, from either side.

    The panel's transmittance is a factor after the count, which stands for one crossing; light that
    lenses send back crosses three times or more, and for these it is played.
    """
    photon = drawn(photon, next_state(photon.rng))
    kept = program.layer_real[layer, codes.PANEL_KEPT]
    kept = kept * (ONE + along_axis(program, layer, wavelength, photon, photon.light))
    return uniform_as(kept, photon.rng) < kept, photon


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
        light = polarised(program, layer, wavelength, u, v, w, light)
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
        light = polarised(program, layer, wavelength, u, v, w, light)
    fate = GOES_ON if w != ZERO else fate_at(layer, codes.ABSORBED)
    return fate, lit(aimed(photon, u, v, w, rng), light)
