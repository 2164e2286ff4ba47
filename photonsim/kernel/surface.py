"""Opaque surfaces that reflect: walls, base, emitter faces, the panel's frame."""

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.numbers import ONE, ZERO
from photonsim.kernel.photon import GOES_ON, absorbed, aimed, drawn, lit
from photonsim.kernel.polarisation import image, weakened
from photonsim.kernel.random import next_state, uniform_as
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
def meet_level(program, layer, photon):
    """Return (fate, photon) of one that meets a surface across the axis, from either side."""
    real = program.layer_real
    rng = next_state(photon.rng)
    choice = choose(
        real[layer, codes.REFLECTANCE],
        real[layer, codes.SPECULAR_SHARE],
        uniform_as(photon.u, rng),
    )
    if choice == ABSORBS:
        return absorbed(layer, drawn(photon, rng))
    if choice == MIRRORS:
        photon = lit(photon, image(photon.light, -ONE))
        return GOES_ON, aimed(photon, photon.u, photon.v, -photon.w, rng)
    photon = lit(photon, weakened(photon.light, ZERO))
    rng = next_state(rng)
    first = uniform_as(photon.u, rng)
    rng = next_state(rng)
    u, v, upright = lambertian(first, uniform_as(photon.u, rng))
    return GOES_ON, aimed(photon, u, v, -upright if photon.w > ZERO else upright, rng)
