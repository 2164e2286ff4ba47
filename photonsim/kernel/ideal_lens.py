"""Ideal lens: a thin phase element that kicks the direction cosines and keeps the place.

For the conjugates a (lamp side) and b (screen side), p' = p - x (1/sqrt(r**2 + a**2)
+ 1/sqrt(r**2 + b**2)), where a term is negative for a virtual point and absent for one at infinity:
the axis point at a is imaged to b without aberration. The kick is the gradient of a phase that
depends on r alone, so étendue is conserved exactly at any angle, which bending slopes does not do.
(Derived from the eikonal of two point sources; see Born and Wolf, Principles of Optics, ch. 4.)
"""

import math

from photonsim.kernel import codes
from photonsim.kernel.aperture_stop import through
from photonsim.kernel.compiler import jit
from photonsim.kernel.numbers import ONE, ZERO
from photonsim.kernel.photon import GOES_ON, absorbed, aimed, blocked, drawn, lit
from photonsim.kernel.polarisation import carried
from photonsim.kernel.random import next_state, uniform_as


@jit
def pull(r_squared, conjugate):
    """Return 1/sqrt(r**2 + conjugate**2) with the conjugate's sign; 0 stands for infinity."""
    if conjugate == ZERO:
        return ZERO
    return math.copysign(ONE / math.sqrt(r_squared + conjugate * conjugate), conjugate)


@jit
def cross(program, layer, wavelength, photon):
    """Return (fate, photon): absorbed where the kick asks for more than a right angle.

    A lens before the panel keeps the share LENS_KEPT of the light; for one behind the panel that
    is a factor on the result instead and LENS_KEPT is 1.
    """
    x, y = photon.x, photon.y
    if not through(program, layer, x, y):
        return blocked(layer, photon)
    real = program.layer_real
    if real[layer, codes.LENS_KEPT] < ONE:
        photon = drawn(photon, next_state(photon.rng))
        if uniform_as(x, photon.rng) >= real[layer, codes.LENS_KEPT]:
            return absorbed(layer, photon)
    r_squared = x * x + y * y
    kick = pull(r_squared, real[layer, codes.LENS_NEAR]) + pull(
        r_squared, real[layer, codes.LENS_FAR]
    )
    u, v = photon.u - kick * x, photon.v - kick * y
    left = ONE - u * u - v * v
    if left <= ZERO:
        return absorbed(layer, photon)
    w = math.copysign(math.sqrt(left), photon.w)
    light = carried(photon.light, (photon.u, photon.v, photon.w), (u, v, w))
    return GOES_ON, lit(aimed(photon, u, v, w, photon.rng), light)
