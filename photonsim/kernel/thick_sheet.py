"""Thick sheets: light shifts sideways within a sheet, which scatters or bends it halfway."""

import math

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.light_plate import mirrored_in
from photonsim.kernel.numbers import HALF, ONE, ZERO, typed
from photonsim.kernel.photon import placed


@jit
def thickness_of(program, layer):
    """Return a sheet's thickness in mm, below 0 at the layer that is its screen side; 0 if thin."""
    if program.traits & codes.THICK_SHEETS and program.layer_whole[layer, codes.CUT]:
        return program.layer_real[layer, codes.SHEET_THICKNESS]
    return typed(program.panel_per_width, 0.0)


@jit
def folded(place, half):
    """Return (place, side) back within -half and half, side -1 if it was beyond.

    Once to and fro at the most: a sheet is wider than it is thick.
    """
    if abs(place) <= half:
        return place, ONE
    return min(max(math.copysign(half + half, place) - place, -half), half), -ONE


@jit
def halfway(program, layer, wavelength, photon):
    """Return a photon half a sheet's thickness T further on, at the face that it heads for.

    Within, its slope is s/sqrt(n**2 - s**2), s the sine outside (Snell's law). At the sheet's edges
    it is reflected, as all light is that has come in by a face of n >= sqrt 2.
    """
    thickness = program.layer_real[layer, codes.SHEET_THICKNESS]
    # Nearly all of a film with a coat is its base.
    base = program.layer_index_below[layer, wavelength]
    index = base if base > ONE else program.layer_index[layer, wavelength]
    u, v, w = photon.u, photon.v, photon.w
    through = (w > ZERO) == (thickness > ZERO)
    other = layer + 1 if thickness > ZERO else layer - 1
    way = HALF * abs(thickness) / math.sqrt(index * index - u * u - v * v)
    x, side_x = folded(photon.x + way * u, program.layer_half_x[layer])
    y, side_y = folded(photon.y + way * v, program.layer_half_y[layer])
    if side_x < ZERO:
        photon = mirrored_in(photon, 0)
    if side_y < ZERO:
        photon = mirrored_in(photon, 1)
    return placed(photon, x, y, program.layer_z[other if through else layer])
