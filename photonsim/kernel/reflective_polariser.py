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
from photonsim.kernel.photon import lit
from photonsim.kernel.polarisation import cross_product, image, into_plane, out_of_plane
from photonsim.kernel.surface import meet_sheet


@jit
def in_plastic(program, layer, wavelength, photon, column):
    """Return (direction, index, k × c) in a sheet's plastic, the direction times its index.

    The axis c that the sheet blocks stands in layer_real at `column` and the next.
    """
    real, index = program.layer_real, program.layer_index[layer, wavelength]
    u, v, w = photon.u, photon.v, photon.w
    inside = u, v, math.copysign(math.sqrt(index * index - u * u - v * v), w)
    blocked = real[layer, column], real[layer, column + 1], ZERO
    return inside, index, cross_product(inside, blocked)


@jit
def cross(program, layer, wavelength, photon):
    """Return (fate, photon) of one that meets a polariser of either kind."""
    real, upwards = program.layer_real, photon.w > ZERO
    inside, index, axis = in_plastic(program, layer, wavelength, photon, codes.POLARISER_X)
    photon = lit(photon, into_plane(photon.light, inside, index, axis))
    on, on_across = real[layer, codes.POLARISER_PASS], real[layer, codes.POLARISER_BLOCK]
    back = real[layer, codes.POLARISER_PASS_BACK]
    back_across = real[layer, codes.POLARISER_BLOCK_BACK]
    fate, photon = meet_sheet(
        layer,
        photon,
        (on, on_across, math.sqrt(on * on_across)),
        (back, back_across, math.sqrt(back * back_across)),
    )
    light = out_of_plane(photon.light, inside, index, axis)
    # What is turned back is a mirror image of what would go on.
    return fate, lit(photon, image(light, ONE if (photon.w > ZERO) == upwards else -ONE))
