"""Rays, unpolarised or of any state, that meet the layers of a part until they have left it."""

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.entry import jit_entry
from photonsim.kernel.history import meet_layer
from photonsim.kernel.numbers import short
from photonsim.kernel.photon import GOES_ON, Photon, placed
from photonsim.kernel.polarisation import Light
from photonsim.kernel.random import start


@jit
def until_left(program, first, last, photon):
    """Return (fate, photon) of one that has left a part's layers; ways to them may be negative."""
    layer = first if photon.w > 0.0 else last
    fate, faces = GOES_ON, 0
    while fate == GOES_ON and first <= layer <= last:
        way = (program.layer_z[layer] - photon.z) / photon.w
        photon = placed(
            photon,
            photon.x + way * photon.u,
            photon.y + way * photon.v,
            photon.z + way * photon.w,
        )
        kind = program.layer_kind[layer]
        fate, photon = meet_layer(program, layer, kind, 0, photon, False, True)
        layer = layer + 1 if photon.w > 0.0 else layer - 1
        faces += 1
        if faces > codes.EVENT_LIMIT:
            fate = np.int32(codes.FATE_GUARD)
    return fate, photon


@jit_entry
def meet_many(program, first, last, places, rays, seed, fates):
    """Let rays [n, 3] from places [n, 3] meet the layers of a part until they have left it.

    rays and fates [n] receive what became of them.
    """
    for number in range(rays.shape[0]):
        rng = start(seed, np.uint64(number))
        x, y, z = places[number, 0], places[number, 1], places[number, 2]
        u, v, w = rays[number, 0], rays[number, 1], rays[number, 2]
        photon = Photon(x, y, z, u, v, w, rng, None)
        fates[number], photon = until_left(program, first, last, photon)
        rays[number, 0], rays[number, 1], rays[number, 2] = photon.u, photon.v, photon.w


@jit_entry
def meet_many_polarised(program, first, last, places, rays, states, seed, fates):
    """The same for polarised rays: states [n, 3], Q, U and V, receive theirs."""
    for number in range(rays.shape[0]):
        rng = start(seed, np.uint64(number))
        x, y, z = places[number, 0], places[number, 1], places[number, 2]
        u, v, w = rays[number, 0], rays[number, 1], rays[number, 2]
        light = Light(states[number, 0], states[number, 1], states[number, 2], short(1))
        photon = Photon(x, y, z, u, v, w, rng, light)
        fates[number], photon = until_left(program, first, last, photon)
        rays[number, 0], rays[number, 1], rays[number, 2] = photon.u, photon.v, photon.w
        light = photon.light
        states[number, 0], states[number, 1], states[number, 2] = light.q, light.u, light.v


def sent(program, layers, places, rays, seed=1):
    """Return (fates, rays) of unpolarised light behind a part."""
    if program.traits & codes.POLARISED:
        return sent_polarised(program, layers, places, rays, np.zeros_like(rays), seed)[:2]
    out, fates = rays.copy(), np.empty(len(rays), dtype=np.int64)
    meet_many(program, *layers, places, out, np.uint64(seed), fates)
    return fates, out


def sent_polarised(program, layers, places, rays, states, seed=1):
    """Return (fates, rays, states) of polarised light behind a part."""
    out, lights, fates = rays.copy(), states.copy(), np.empty(len(rays), dtype=np.int64)
    meet_many_polarised(program, *layers, places, out, lights, np.uint64(seed), fates)
    return fates, out, lights
