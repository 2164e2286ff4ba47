"""A photon on its way, and what can become of it where it meets a part."""

from typing import Any, NamedTuple

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.numbers import short
from photonsim.kernel.random import next_state, uniform_as


class Photon(NamedTuple):
    """Place in mm, unit direction, the state of its random numbers, and that of its light.

    Real numbers are of the precision at work, as whoever makes a photon gives them.
    """

    x: Any
    y: Any
    z: Any
    u: Any
    v: Any
    w: Any
    rng: Any  # uint64
    light: Any  # polarisation.Light; None in a program without polarisers


GOES_ON = np.int32(-1)
# Put off before a part that takes long, until enough photons have come: see cuda_waiting.
WAITS = np.int32(-2)
GUARD = np.int32(codes.FATE_GUARD)
SIDEWAYS = np.int32(codes.FATE_SIDEWAYS)
WALLS = np.int32(codes.FATE_WALLS)
STOP = np.int32(codes.FATE_STOP)


@jit
def fate_at(layer, how):
    """Return the fate ABSORBED, BLOCKED, PASSED_BY or GROOVE_WALLS at a layer."""
    return short(codes.FATE_LAYERS + codes.FATES_PER_LAYER * layer + how)


@jit
def absorbed(layer, photon):
    """Return (fate, photon) of one that a layer has absorbed."""
    return fate_at(layer, codes.ABSORBED), photon


@jit
def blocked(layer, photon):
    """Return (fate, photon) of one that a layer's rim has stopped."""
    return fate_at(layer, codes.BLOCKED), photon


@jit
def passed_by(layer, photon):
    """Return (fate, photon) of one that has escaped beside a layer."""
    return fate_at(layer, codes.PASSED_BY), photon


@jit
def placed(photon, x, y, z):
    """Return a photon at another place."""
    return Photon(x, y, z, photon.u, photon.v, photon.w, photon.rng, photon.light)


@jit
def aimed(photon, u, v, w, rng):
    """Return a photon with another direction and state of its random numbers."""
    return Photon(photon.x, photon.y, photon.z, u, v, w, rng, photon.light)


@jit
def drawn(photon, rng):
    """Return a photon with another state of its random numbers."""
    return aimed(photon, photon.u, photon.v, photon.w, rng)


@jit
def number_for(photon):
    """Return (a random number in [0, 1), the photon after it was drawn)."""
    rng = next_state(photon.rng)
    return uniform_as(photon.u, rng), drawn(photon, rng)


@jit
def lit(photon, light):
    """Return a photon with another state of its light."""
    x, y, z, u, v, w, rng, _ = photon
    return Photon(x, y, z, u, v, w, rng, light)
