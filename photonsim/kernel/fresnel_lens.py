"""Fresnel lens: a flat face and, at each radius, the facet that is cut there.

Grooves are far finer than everything else, so light leaves the sheet where it came in and meets any
part of a groove: the share that strikes a groove's upright wall instead of its facet follows from
the slopes alone and is lost, as is light reflected inside the sheet; in truth both are spread over
wide angles. What a flat face reflects from outside goes on as from a mirror.
"""

import math

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.fresnel import reflectance
from photonsim.kernel.numbers import ONE, ZERO, typed
from photonsim.kernel.random import next_state, uniform_as


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
def wall_loss(tangent, inside, outside):
    """Return the share of light that strikes upright groove walls at a facet of tilt tan a > 0.

    `inside` and `outside` are slopes dr/dz (outwards positive) in the sheet and in the air, along
    the way from sheet to air. In the sheet, light that goes inwards at the slope t meets the wall
    of its own tooth with the share t tan a. The rest lights the facet evenly, and of the facet's
    width the next tooth's wall hides the part s tan a / (1 + s tan a) where light leaves outwards
    at the slope s. Derived from a tooth of pitch 1 and height tan a.
    """
    lit = max(ONE + inside * tangent, ZERO)
    loss = max(ONE - lit, ZERO)
    if outside > ZERO:
        loss = loss + lit * outside * tangent / (ONE + outside * tangent)
    return min(loss, ONE)


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
    """Return (alive, u, v, w, rng) of a photon that meets the sheet, from either side.

    Inside, `upright` counts from the side of entry, so that it is positive throughout.
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
    side = ONE if w > ZERO else -ONE
    along, across, upright = u * c + v * s, v * c - u * s, abs(w)
    from_flat = (w > ZERO) == (program.layer_real[layer, codes.GROOVES_SIDE] > ZERO)
    if from_flat:
        back, along, across, upright = refract(along, across, upright, ZERO, ONE, ONE / index)
        rng = next_state(rng)
        if uniform_as(u, rng) < back:
            return True, u, v, -w, rng
        inside = along / upright
        back, along, across, upright = refract(along, across, upright, sine, cosine, index)
        if back >= ONE or upright <= ZERO:
            return False, u, v, w, rng
        outside = along / upright
        kept = ONE - back
    else:
        outside = -along / upright
        # The facet's normal, seen along the light, leans inwards.
        back, along, across, upright = refract(along, across, upright, -sine, cosine, ONE / index)
        if back >= ONE or upright <= ZERO:
            return False, u, v, w, rng
        inside = -along / upright
        kept = ONE - back
        back, along, across, upright = refract(along, across, upright, ZERO, ONE, index)
        kept = kept * (ONE - back)
    rng = next_state(rng)
    if uniform_as(u, rng) >= kept * (ONE - wall_loss(tangent, inside, outside)):
        return False, u, v, w, rng
    return True, along * c - across * s, along * s + across * c, upright * side, rng
