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
from photonsim.kernel.photon import GOES_ON, absorbed, aimed, lit, number_for
from photonsim.kernel.polarisation import carried, image, weakened
from photonsim.kernel.sampling import disc, gaussian_pair, inverse_cumulative, unit_circle


@jit
def scatter(program, layer, photon, keeps):
    """Return a photon after scattering by a layer's lobe; the sign of w is kept.

    Of the lobe LOBE_SIGMA is the standard deviation in direction cosines (negative: opal),
    LOBE_DIRECT the share that is not scattered, and the table (see inverse_cumulative) holds the
    squared radius of the light that is given back. Of light that is scattered the share `keeps`
    keeps its state, and its axes turn with the ray by no more than they must.
    """
    real, whole = program.layer_real, program.layer_whole
    number, photon = number_for(photon)
    if number < real[layer, codes.LOBE_DIRECT]:
        return photon
    one, photon = number_for(photon)
    other, photon = number_for(photon)
    sigma = real[layer, codes.LOBE_SIGMA]
    if sigma < ZERO:
        u, v = disc(one, other)
    else:
        shift_u, shift_v = gaussian_pair(one, other)
        u, v = photon.u + sigma * shift_u, photon.v + sigma * shift_v
        if u * u + v * v >= ONE:
            first, count = whole[layer, codes.TABLE_FIRST], whole[layer, codes.TABLE_COUNT]
            number, photon = number_for(photon)
            radius = math.sqrt(inverse_cumulative(number, program.tables, first, count))
            number, photon = number_for(photon)
            cosine, sine = unit_circle(number)
            u, v = radius * cosine, radius * sine
    w = math.copysign(math.sqrt(max(ZERO, ONE - u * u - v * v)), photon.w)
    light = carried(weakened(photon.light, keeps), (photon.u, photon.v, photon.w), (u, v, w))
    return lit(aimed(photon, u, v, w, photon.rng), light)


@jit
def cross(program, layer, wavelength, photon):
    """Return (fate, photon) of one that meets the diffuser.

    Total transmittance and reflectance do not depend on the angle; reflected light gets the
    transmitted lobe, mirrored in the sheet.
    """
    real = program.layer_real
    transmittance = real[layer, codes.DIFFUSER_TRANSMITTANCE]
    choice, photon = number_for(photon)
    if choice >= transmittance + real[layer, codes.REFLECTANCE]:
        return absorbed(layer, photon)
    if choice >= transmittance:
        photon = lit(photon, image(photon.light, -ONE))
        photon = aimed(photon, photon.u, photon.v, -photon.w, photon.rng)
    return GOES_ON, scatter(program, layer, photon, real[layer, codes.DIFFUSER_KEEPS])
