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
from photonsim.kernel.photon import GOES_ON, absorbed, lit, number_for
from photonsim.kernel.polarisation import Light, into_plane, out_of_plane
from photonsim.kernel.reflective_polariser import in_plastic

BESIDE = np.int32(0)
FRAME = np.int32(1)
PIXELS = np.int32(2)


@jit
def where(program, layer, x, y):
    """Return which part of the panel a point (mm) lies on: BESIDE, FRAME or PIXELS."""
    real = program.layer_real
    beyond_x = abs(x) - real[layer, codes.PANEL_HALF_X]
    beyond_y = abs(y) - real[layer, codes.PANEL_HALF_Y]
    # One question, as in housing.within.
    if max(beyond_x, beyond_y) < ZERO:
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
def passes(program, layer, wavelength, photon):
    """Return (alive, photon) after the face to the lamp: its angle table, and its polariser."""
    whole = program.layer_whole
    alive, count = True, whole[layer, codes.ANGLE_COUNT]
    if count > 0 and program.traits & codes.PANEL_ANGLES:
        number, photon = number_for(photon)
        first, cosine = whole[layer, codes.ANGLE_FIRST], abs(photon.w)
        alive = number < relative_transmittance(program.tables, first, count, cosine)
    light = polarised(program, layer, wavelength, photon, photon.light)
    return alive, lit(photon, light)


@jit
def knows_axis(program, layer):
    """Tell whether a scene tells the axis of the panel's polariser."""
    real = program.layer_real
    return real[layer, codes.PANEL_BLOCKS_X] != ZERO or real[layer, codes.PANEL_BLOCKS_Y] != ZERO


@jit
def polarised(program, layer, wavelength, photon, light):
    """Return the light that leaves the panel's polariser: along the axis, if that is known."""
    if light is None or not knows_axis(program, layer):
        return light
    inside, index, axis = in_plastic(program, layer, wavelength, photon, codes.PANEL_BLOCKS_X)
    none = typed(photon.u, 0.0)
    passed = Light(typed(photon.u, 1.0), none, none, light.counts)
    return out_of_plane(passed, inside, index, axis)


@jit
def along_axis(program, layer, wavelength, photon, light):
    """Return Q along the axis of the panel's polariser; 0 where none is known."""
    if light is None or not knows_axis(program, layer):
        return typed(photon.u, 0.0)
    inside, index, axis = in_plastic(program, layer, wavelength, photon, codes.PANEL_BLOCKS_X)
    return into_plane(light, inside, index, axis).q


@jit
def reach_pixels(program, layer, wavelength, photon, light, again):
    """Return (alive, photon) of one that comes to the pixels, with what it counts for.

    The panel's transmittance is a factor after the count, which stands for one crossing; light that
    lenses send back comes `again`, crosses three times or more, and for these it is played.
    """
    q = along_axis(program, layer, wavelength, photon, light)
    if again:
        number, photon = number_for(photon)
        return number < program.layer_real[layer, codes.PANEL_KEPT] * (ONE + q), photon
    if light is None or q == ZERO:
        return True, photon
    number, photon = number_for(photon)
    counts = short(1)
    if number < abs(q):
        counts = short(2 if q > ZERO else 0)
    return True, lit(photon, Light(light.q, light.u, light.v, counts))


@jit
def cross(program, layer, wavelength, photon):
    """Return (fate, photon) of one that crosses the pixels.

    The table belongs to the face towards the lamp and the scatter lies behind it, whichever way the
    light goes: a table at the face that is met first would not be reciprocal.
    """
    alive, upwards = True, photon.w > ZERO
    scatters = program.traits & codes.PANEL_SCATTER
    if upwards or not scatters:
        alive, photon = passes(program, layer, wavelength, photon)
    if scatters:
        if alive and program.layer_real[layer, codes.LOBE_DIRECT] < ONE:
            # An anti-glare face scatters as a rough surface does: one that keeps the polarisation.
            photon = scatter(program, layer, photon, ONE)
        if not upwards:
            alive, photon = passes(program, layer, wavelength, photon)
    if alive and photon.w != ZERO:
        return GOES_ON, photon
    return absorbed(layer, photon)
