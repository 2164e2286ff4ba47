"""Aperture stop: the hole that decides."""

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.photon import GOES_ON, blocked


@jit
def through(program, layer, x, y):
    """Tell whether a point (mm) lies within the hole of a stop or the free diameter of a lens."""
    return x * x + y * y <= program.layer_real[layer, codes.RADIUS_SQUARED]


@jit
def cross(program, layer, wavelength, photon):
    """Return (fate, photon) of one that comes to the stop: through its hole or blocked."""
    if not through(program, layer, photon.x, photon.y):
        return blocked(layer, photon)
    return GOES_ON, photon
