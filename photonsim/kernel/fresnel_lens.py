"""Fresnel lens: a flat face and, at each radius, the groove that is cut there.

Grooves are far finer than everything else, so light leaves the sheet where it came in and meets any
part of a groove: what it meets follows from slopes alone. Light is lost that meets a groove's steep
wall (draft face) or rounded tip, and so is what the sheet reflects, but for the flat face's outer
side, which is a mirror; in truth all that is spread over wide angles.

The groove, derived on paper: pitch 1, facet z = t (f - r) from its tip at r = 0 to its foot at
r = f, then the wall of the next tooth, r = f + g z up to r = 1; g is the tangent of the draft, and
f (1 + t g) = 1. All light within the sheet goes along dr/dz = p, all light in the air along s.
- A tooth's own wall hides from the sheet what of its facet lies nearer to the tip than
  f - 1/(1 + t max(p, g)).
- The next tooth hides from the air what lies beyond 1/(1 + t max(s, g)).
- One pitch holds 1 + t p widths of the facet as seen along p, and 1 + t s as seen along s.
So the facet's clear width o between the two limits is the same both ways, and what comes to it is
o (1 + t p) of the light from the sheet and o (1 + t s) of the light from the air: with n**2 for the
radiance and Snell's law this is Helmholtz's reciprocity.
"""

import math

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.fresnel import reflectance
from photonsim.kernel.numbers import ONE, ZERO, typed
from photonsim.kernel.random import next_state, uniform_as

LOST_IN_REFLECTIONS = np.int32(0)
GOES_ON = np.int32(1)
AT_GROOVE_WALLS = np.int32(2)


@jit
def facet_tangent(program, layer, radius):
    """Return the tangent of the facet's tilt at a radius, from a table even in radius."""
    whole = program.layer_whole
    first, count = whole[layer, codes.TABLE_FIRST], whole[layer, codes.TABLE_COUNT]
    place = min(
        radius * program.layer_real[layer, codes.GROOVES_PER_STEP], typed(radius, count - 1)
    )
    step = min(int(place), count - 2)
    low = program.tables[first + step]
    return low + (place - typed(place, step)) * (program.tables[first + step + 1] - low)


@jit
def clear_width(tangent, draft, along, upright):
    """Return 1/(1 + t max(slope, g)): how much of a facet its wall leaves free along a slope dr/dz.

    Counted from the tip in the air, from the foot in the sheet. Light that a facet has bent along
    the sheet or back into the grooves, `upright` <= 0, will meet a wall: nothing is free for it.
    """
    if upright <= ZERO:
        return ZERO
    return ONE / (ONE + tangent * max(along / upright, draft))


@jit
def refract(along, across, upright, n_along, n_upright, eta):
    """Return (share reflected, along, across, upright) behind a face whose normal has two parts.

    The direction is given by radial, tangential and axial cosines; the normal lies in the plane of
    the first and last, on the side that light leaves to.
    """
    cos_in = along * n_along + upright * n_upright
    if cos_in <= ZERO:
        return ONE, along, across, upright
    share, cos_out = reflectance(cos_in, eta)
    bend = cos_out - eta * cos_in
    return share, eta * along + bend * n_along, eta * across, eta * upright + bend * n_upright


@jit
def cross(program, layer, wavelength, x, y, u, v, w, rng):
    """Return (outcome, u, v, w, rng) of a photon that meets the sheet, from either side.

    Outcome: GOES_ON, LOST_IN_REFLECTIONS or AT_GROOVE_WALLS (and tips). Inside, `upright` counts
    from the side of entry, so that it is positive while light goes on. `first` and `last` are the
    ends of what is clear of the facet, from its tip: towards the sheet and towards the air.
    """
    index = program.layer_index[layer, wavelength]
    radius = math.sqrt(x * x + y * y)
    if radius > ZERO:
        c, s = x / radius, y / radius
    else:
        c, s = ONE, ZERO
    tangent = facet_tangent(program, layer, radius)
    # Facets that fall inwards are those of a converging lens seen with the radius turned round.
    if tangent < ZERO:
        tangent, c, s = -tangent, -c, -s
    cosine = ONE / math.sqrt(ONE + tangent * tangent)
    sine = tangent * cosine
    draft = program.layer_real[layer, codes.GROOVES_DRAFT]
    facet = clear_width(tangent, draft, draft, ONE)
    tip = program.layer_real[layer, codes.GROOVES_TIP] * facet
    side = ONE if w > ZERO else -ONE
    along, across, upright = u * c + v * s, v * c - u * s, abs(w)
    from_flat = (w > ZERO) == (program.layer_real[layer, codes.GROOVES_SIDE] > ZERO)
    if from_flat:
        back, along, across, upright = refract(along, across, upright, ZERO, ONE, ONE / index)
        rng = next_state(rng)
        if uniform_as(u, rng) < back:
            return GOES_ON, u, v, -w, rng
        width = max(ONE + along / upright * tangent, ZERO)
        first = max(facet - clear_width(tangent, draft, along, upright), tip)
        back, along, across, upright = refract(along, across, upright, sine, cosine, index)
        last = clear_width(tangent, draft, along, upright)
        passed = width * max(last - first, ZERO) * (ONE - back)
        reflected = width * (facet - first) * back
    else:
        width = max(ONE - along / upright * tangent, ZERO)
        last = clear_width(tangent, draft, -along, upright)
        # The facet's normal, seen along the light, leans inwards.
        back, along, across, upright = refract(along, across, upright, -sine, cosine, ONE / index)
        first = max(facet - clear_width(tangent, draft, -along, upright), tip)
        entered = width * max(last - first, ZERO) * (ONE - back)
        reflected = width * max(last - tip, ZERO) * back
        back, along, across, upright = refract(along, across, upright, ZERO, ONE, index)
        passed = entered * (ONE - back)
        reflected = reflected + entered * back
    rng = next_state(rng)
    choice = uniform_as(u, rng)
    if choice < passed:
        return GOES_ON, along * c - across * s, along * s + across * c, upright * side, rng
    lost = LOST_IN_REFLECTIONS if choice < passed + reflected else AT_GROOVE_WALLS
    return lost, u, v, w, rng
