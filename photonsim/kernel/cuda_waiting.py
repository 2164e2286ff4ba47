"""Photons put off: before film and the panel's pixels they wait until a warp of them has come.

The 32 threads of a warp execute one instruction at a time, and those whose photon needs another
stand by. Where 32 photons go through the same part together, 12 threads are busy on average instead
of 7. Every warp has room of its own for those that wait: films from the front, panels from behind.
"""

# mypy: disable-error-code="call-overload,call-arg,misc,arg-type,attr-defined,operator"
# numba.cuda's functions mean other things to the GPU's compiler than to Python.

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import cuda
from numba.core import config

from photonsim.kernel.numbers import short, unsigned
from photonsim.kernel.photon import Photon
from photonsim.kernel.polarisation import Light

WARP = 32
# At most 31 wait before film and 31 before the panel when a warp starts on 32 new photons.
ROOM = 3 * WARP
# What a warp does next.
FILM, PANEL, FRESH, DONE = (np.int32(task) for task in range(4))
# Places, directions, and of polarised light its state. How many layers and wavelengths there is
# room to tell apart.
REALS, STATE = 5, 3
MOST_KINDS = 256


class Waiting(NamedTuple):
    """The photons that wait in a block; a warp's are the ROOM from warp * ROOM on."""

    real: Any  # [REALS, warps * ROOM] x, y, u, v, w; [REALS + STATE, ...] with q, u, v of light
    rng: Any  # [warps * ROOM] uint64
    born: Any  # [warps * ROOM] int32: number of the history among those of its warp
    packed: Any  # [warps * ROOM] int32: layer, wavelength, events
    count: Any  # [2 * warps] int32: how many wait before film and panel


def bytes_per_warp(real_bytes: int, reals: int) -> int:
    """Return the shared memory that a warp's waiting photons take, each so many real numbers."""
    return ROOM * (reals * real_bytes + 8 + 4 + 4) + 2 * 4


@cuda.jit(device=True)
def sync_warp():
    """Let all threads of the warp come here. The simulator knows none: there, a block is one."""
    if config.ENABLE_CUDASIM:
        cuda.syncthreads()
    else:
        cuda.syncwarp()


@cuda.jit(device=True)
def next_task(waiting, warp, any_fresh):
    """Return (task, number of photons that wait for it): full warps before new photons."""
    films, panels = waiting.count[unsigned(2 * warp)], waiting.count[unsigned(2 * warp + 1)]
    if panels >= WARP:
        return PANEL, panels
    if films >= WARP:
        return FILM, films
    if any_fresh:
        return FRESH, short(0)
    if films > 0:
        return FILM, films
    return PANEL if panels > 0 else DONE, panels


@cuda.jit(device=True)
def place_of(warp, task, number):
    """Return where the photon stands that is the given number of those waiting for a task."""
    return unsigned(warp * ROOM + (number if task == FILM else ROOM - 1 - number))


@cuda.jit(device=True)
def put_light(real, place, light):
    """Keep the state of a waiting photon's light, if there is one."""
    if light is not None:
        real[REALS, place], real[REALS + 1, place] = light.q, light.u
        real[REALS + 2, place] = light.v


@cuda.jit(device=True)
def taken_light(real, place, light):
    """Return the state of a waiting photon's light; None where there is none."""
    if light is None:
        return light
    return Light(real[REALS, place], real[REALS + 1, place], real[REALS + 2, place], light.counts)


@cuda.jit(device=True)
def put_off(waiting, warp, task, layer, wavelength, events, born, photon):
    """Let a photon wait before a layer."""
    number = cuda.atomic.add(waiting.count, unsigned(2 * warp + task), 1)
    place = place_of(warp, task, number)
    waiting.real[0, place], waiting.real[1, place] = photon.x, photon.y
    waiting.real[2, place], waiting.real[3, place] = photon.u, photon.v
    waiting.real[4, place] = photon.w
    put_light(waiting.real, place, photon.light)
    waiting.rng[place] = photon.rng
    waiting.born[place] = born
    waiting.packed[place] = short(layer | wavelength << 8 | events << 16)


@cuda.jit(device=True)
def take_up(waiting, place, layer_z, light):
    """Return (layer, wavelength, events, born, photon) of one that waits before a layer.

    `light` is what photons begin with; before the panel each counts as it did then.
    """
    packed = waiting.packed[place]
    layer = unsigned(packed & 255)
    photon = Photon(
        waiting.real[0, place],
        waiting.real[1, place],
        layer_z[layer],
        waiting.real[2, place],
        waiting.real[3, place],
        waiting.real[4, place],
        waiting.rng[place],
        taken_light(waiting.real, place, light),
    )
    return layer, short((packed >> 8) & 255), short(packed >> 16), waiting.born[place], photon
