"""Surfaces that reflect: walls, base, emitter faces, the frame; and sheets that pass a share."""

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.numbers import ONE, ZERO
from photonsim.kernel.photon import GOES_ON, absorbed, aimed, lit, number_for
from photonsim.kernel.polarisation import diattenuated, image, share, weakened
from photonsim.kernel.sampling import lambertian

ABSORBS = np.int32(0)
MIRRORS = np.int32(1)
SCATTERS = np.int32(2)


@jit
def choose(reflectance, specular_share, number):
    """Return what a surface of reflectance R, the share s of it a mirror's, does to a photon."""
    if number >= reflectance:
        return ABSORBS
    return MIRRORS if number < reflectance * specular_share else SCATTERS


@jit
def scattered(photon):
    """Return (a, b, upright, photon): a Lambertian direction, and the photon without its state."""
    first, photon = number_for(photon)
    second, photon = number_for(photon)
    a, b, upright = lambertian(first, second)
    return a, b, upright, lit(photon, weakened(photon.light, ZERO))


@jit
def meet_level(program, layer, photon):
    """Return (fate, photon) of one that meets a surface across the axis, from either side."""
    real = program.layer_real
    number, photon = number_for(photon)
    choice = choose(real[layer, codes.REFLECTANCE], real[layer, codes.SPECULAR_SHARE], number)
    if choice == ABSORBS:
        return absorbed(layer, photon)
    if choice == MIRRORS:
        photon = lit(photon, image(photon.light, -ONE))
        return GOES_ON, aimed(photon, photon.u, photon.v, -photon.w, photon.rng)
    u, v, upright, photon = scattered(photon)
    return GOES_ON, aimed(photon, u, v, -upright if photon.w > ZERO else upright, photon.rng)


@jit
def meet_sheet(layer, photon, on, back):
    """Return (fate, photon) of one of which a sheet lets a share go on and turns another back.

    Each is (s, p, mixed): the shares of both polarisations, and the factor of U and V.
    """
    light = photon.light
    number, photon = number_for(photon)
    passing = share(light, on[0], on[1])
    if number < passing:
        return GOES_ON, lit(photon, diattenuated(light, on[0], on[1], on[2]))
    if number < passing + share(light, back[0], back[1]):
        photon = lit(photon, diattenuated(light, back[0], back[1], back[2]))
        return GOES_ON, aimed(photon, photon.u, photon.v, -photon.w, photon.rng)
    return absorbed(layer, photon)
