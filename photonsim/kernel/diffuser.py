"""Diffuser: scatter that is shift-invariant in direction cosines, hence reciprocal.

With p = (u, v) the direction cosines in the plane of the sheet, light that arrives at p leaves at
p + d, d normal with standard deviation sigma in each axis. The density depends on the difference
alone, so f(i, o) = f(o, i). Where p + d falls outside the unit disc there is no such direction; the
share 1 - G(p) that is lost so is given back with the density (1 - G(p')) / integral(1 - G), which
makes the added term (1 - G(p)) (1 - G(p')) / integral(1 - G): symmetric too, and energy is kept.
(Derived; the construction is known for rough surfaces as the multiple-scatter compensation of
Kulla and Conty, SIGGRAPH course 2017: from memory.) 'Opal' is the limit of infinite sigma.
"""

import math

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.numbers import ONE, ZERO
from photonsim.kernel.photon import GOES_ON, absorbed, aimed, drawn, lit
from photonsim.kernel.polarisation import carried, image, weakened
from photonsim.kernel.random import next_state, uniform_as
from photonsim.kernel.sampling import disc, gaussian_pair, inverse_cumulative, unit_circle


@jit
def scatter(light, keeps, u, v, w, sigma, direct, table, first, count, rng):
    """Return (light, u, v, w, rng) after scattering; the sign of w is kept.

    `sigma` is the lobe's standard deviation in direction cosines (negative: opal), `direct` the
    share that is not scattered, and the table (see inverse_cumulative) holds the squared radius of
    the light that is given back. Of light that is scattered the share `keeps` keeps its state, and
    its axes turn with the ray by no more than they must.
    """
    rng = next_state(rng)
    if uniform_as(u, rng) < direct:
        return light, u, v, w, rng
    before = u, v, w
    rng = next_state(rng)
    one = uniform_as(u, rng)
    rng = next_state(rng)
    other = uniform_as(u, rng)
    if sigma < ZERO:
        u, v = disc(one, other)
    else:
        shift_u, shift_v = gaussian_pair(one, other)
        u, v = u + sigma * shift_u, v + sigma * shift_v
        if u * u + v * v >= ONE:
            rng = next_state(rng)
            radius = math.sqrt(inverse_cumulative(uniform_as(u, rng), table, first, count))
            rng = next_state(rng)
            cosine, sine = unit_circle(uniform_as(u, rng))
            u, v = radius * cosine, radius * sine
    w = math.copysign(math.sqrt(max(ZERO, ONE - u * u - v * v)), w)
    return carried(weakened(light, keeps), before, (u, v, w)), u, v, w, rng


@jit
def cross(program, layer, wavelength, photon):
    """Return (fate, photon) of one that meets the diffuser.

    Total transmittance and reflectance do not depend on the angle; reflected light gets the
    transmitted lobe, mirrored in the sheet.
    """
    real = program.layer_real
    transmittance = real[layer, codes.DIFFUSER_TRANSMITTANCE]
    rng = next_state(photon.rng)
    choice = uniform_as(photon.u, rng)
    if choice >= transmittance + real[layer, codes.REFLECTANCE]:
        return absorbed(layer, drawn(photon, rng))
    way = -ONE if choice >= transmittance else ONE
    light, u, v, w, rng = scatter(
        image(photon.light, way),
        real[layer, codes.DIFFUSER_KEEPS],
        photon.u,
        photon.v,
        way * photon.w,
        real[layer, codes.DIFFUSER_SIGMA],
        real[layer, codes.DIFFUSER_DIRECT],
        program.tables,
        program.layer_whole[layer, codes.TABLE_FIRST],
        program.layer_whole[layer, codes.TABLE_COUNT],
        rng,
    )
    return GOES_ON, lit(aimed(photon, u, v, w, rng), light)
