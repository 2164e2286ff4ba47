"""Opaque surfaces that reflect: walls, base, emitter faces, the panel's frame."""

import numpy as np

from photonsim.kernel.compiler import jit
from photonsim.kernel.numbers import ZERO
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
def meet_level(reflectance, specular_share, u, v, w, rng):
    """Return (alive, u, v, w, rng) at a surface across the axis, whichever side is met."""
    rng = next_state(rng)
    choice = choose(reflectance, specular_share, uniform_as(u, rng))
    if choice == ABSORBS:
        return False, u, v, w, rng
    if choice == MIRRORS:
        return True, u, v, -w, rng
    rng = next_state(rng)
    first = uniform_as(u, rng)
    rng = next_state(rng)
    new_u, new_v, upright = lambertian(first, uniform_as(u, rng))
    return True, new_u, new_v, -upright if w > ZERO else upright, rng
