"""Aperture stop: the hole that decides."""

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit


@jit
def through(program, layer, x, y):
    """Tell whether a point (mm) lies within the hole of a stop or the free diameter of a lens."""
    return x * x + y * y <= program.layer_real[layer, codes.RADIUS_SQUARED]
