"""Polarisers: sheets that part light by the direction of its field, and pass or turn back each.

A sheet blocks the field along an axis c of its own, as seen across the ray: what it passes lies
along e = k × c, k the direction in the sheet's plastic (P. Yeh and C. Gu, Optics of Liquid Crystal
Displays: from memory). Projecting the pass axis instead would give another direction off the planes
of symmetry, and taking k in air would let ten times too much slanting light through crossed sheets.
In the frame (e, k × e) a sheet does to light what a face does in its plane of incidence: of U and V
it keeps the root of both shares, and turns them round with what it sends back, as a mirror does.
"""

import math

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.numbers import ONE, ZERO
from photonsim.kernel.photon import GOES_ON, GUARD, absorbed, aimed, drawn, lit
from photonsim.kernel.polarisation import (
    cross_product,
    diattenuated,
    image,
    into_plane,
    out_of_plane,
    share,
)
from photonsim.kernel.random import next_state, uniform_as


@jit
def passed_along(u, v, w, blocked, index):
    """Return (direction, axis): that of light in a sheet's plastic, scaled by its index, and k × c.

    (u, v, w) is the direction in air and `blocked` the axis c that the sheet blocks.
    """
    inside = u, v, math.copysign(math.sqrt(index * index - u * u - v * v), w)
    return inside, cross_product(inside, blocked)


@jit
def cross(program, layer, wavelength, photon):
    """Return (fate, photon) of one that meets a polariser of either kind."""
    return meet(program, layer, wavelength, photon, photon.light)


@jit
def meet(program, layer, wavelength, photon, light):
    """Return (fate, photon) as `cross` does; only programs without polarisers have no light."""
    if light is None:
        return GUARD, photon
    real, index = program.layer_real, program.layer_index[layer, wavelength]
    blocked = real[layer, codes.POLARISER_X], real[layer, codes.POLARISER_Y], ZERO
    inside, axis = passed_along(photon.u, photon.v, photon.w, blocked, index)
    light = into_plane(light, inside, index, axis)
    on, on_across = real[layer, codes.POLARISER_PASS], real[layer, codes.POLARISER_BLOCK]
    back, back_across = (
        real[layer, codes.POLARISER_PASS_BACK],
        real[layer, codes.POLARISER_BLOCK_BACK],
    )
    through = share(light, on, on_across)
    photon = drawn(photon, next_state(photon.rng))
    choice = uniform_as(photon.u, photon.rng)
    if choice < through:
        light = diattenuated(light, on, on_across, math.sqrt(on * on_across))
        return GOES_ON, lit(photon, out_of_plane(light, inside, index, axis))
    if choice < through + share(light, back, back_across):
        light = diattenuated(light, back, back_across, math.sqrt(back * back_across))
        photon = aimed(photon, photon.u, photon.v, -photon.w, photon.rng)
        inside, axis = passed_along(photon.u, photon.v, photon.w, blocked, index)
        return GOES_ON, lit(photon, out_of_plane(image(light, -ONE), inside, index, axis))
    return absorbed(layer, photon)
