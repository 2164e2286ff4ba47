"""Real lens: each spherical or conic face is met exactly where it is and refracts by Snell's law.

A face is a layer of its own, at the plane through its vertex: the way to it along the ray may be
negative. What a face reflects goes on as light like any other, so ghosts are part of the result.
"""

import math

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.fresnel import meet, meet_beyond_critical
from photonsim.kernel.numbers import ONE, ZERO
from photonsim.kernel.photon import GOES_ON, Photon, blocked, fate_at
from photonsim.kernel.polarisation import cross_product, image, into_plane, out_of_plane
from photonsim.kernel.random import next_state, uniform_as


@jit
def reach(curvature, conic, x, y, u, v, w):
    """Return (hit, distance) from a point (x, y) of the vertex plane to a conic face.

    The face is c (r**2 + (1 + k) z**2) = 2 z; of its two intersections the one near the vertex is
    wanted, so the quadratic is solved in the form that has no cancellation there (W. J. Smith,
    Modern Optical Engineering, chapter on ray tracing). `hit` is False where the ray passes by.
    """
    square = curvature * (ONE + conic * w * w)
    half = curvature * (x * u + y * v) - w
    rest = curvature * (x * x + y * y)
    root = half * half - square * rest
    if root < ZERO:
        return False, ZERO
    return True, rest / (math.copysign(math.sqrt(root), w) - half)


@jit
def normal(curvature, conic, x, y, sag):
    """Return the unit normal (a, b, c) of a conic face at (x, y) and `sag` from its vertex plane.

    Towards the screen; from the gradient of c (r**2 + (1 + k) z**2) - 2 z, whose squared length is
    4 (1 - c**2 k r**2): of a sphere it has unit length as it stands.
    """
    n_x, n_y, n_z = -curvature * x, -curvature * y, ONE - (ONE + conic) * curvature * sag
    if conic == ZERO:
        return n_x, n_y, n_z
    scale = ONE / math.sqrt(ONE - curvature * curvature * conic * (x * x + y * y))
    return n_x * scale, n_y * scale, n_z * scale


@jit
def cross(program, layer, wavelength, photon):
    """Return (fate, photon) of one that comes to a face's vertex plane.

    Refraction d' = (n d + (n' cos t - n cos i) N) / n' for a normal N along the light (Glassner, An
    Introduction to Ray Tracing, ch. 2); which of reflection and refraction happens is played.
    A coated face reflects its own share instead of Fresnel's, but all beyond the critical angle; of
    polarised light it keeps the state, and what it reflects leaves as from a mirror.
    """
    x, y, z, u, v, w, rng, light = photon
    real = program.layer_real
    # Most light comes to an objective's first face far beyond its rim: no surface is sought for it.
    most = real[layer, codes.FACE_RADIUS] * abs(w) + real[layer, codes.FACE_SAG]
    if (x * x + y * y) * w * w > most * most:
        return blocked(layer, photon)
    curvature, conic = real[layer, codes.FACE_CURVATURE], real[layer, codes.FACE_CONIC]
    hit, distance = reach(curvature, conic, x, y, u, v, w)
    sag = distance * w
    x, y, z = x + distance * u, y + distance * v, z + sag
    if not hit or x * x + y * y > real[layer, codes.RADIUS_SQUARED]:
        return blocked(layer, Photon(x, y, z, u, v, w, rng, light))
    n_x, n_y, n_z = normal(curvature, conic, x, y, sag)
    before = program.layer_index_below[layer, wavelength]
    behind = program.layer_index[layer, wavelength]
    if w < ZERO:
        n_x, n_y, n_z, before, behind = -n_x, -n_y, -n_z, behind, before
    cos_in = u * n_x + v * n_y + w * n_z
    if cos_in <= ZERO:
        # So steep a ray meets the face from within its far side: only beyond the rim in truth.
        return blocked(layer, Photon(x, y, z, u, v, w, rng, light))
    along = before * cos_in
    squared = along * along + (behind - before) * (behind + before)
    beyond = math.sqrt(max(squared, ZERO))
    rng = next_state(rng)
    number = uniform_as(u, rng)
    ratio = behind / before
    axis = cross_product((n_x, n_y, n_z), (u, v, w))
    light = into_plane(light, (u, v, w), ONE, axis)
    reflected = squared <= ZERO
    if reflected:
        light = meet_beyond_critical(light, along, -squared, ratio * ratio)
    else:
        coating = real[layer, codes.FACE_COATING]
        if coating >= ZERO:
            reflected = number < coating
            light = image(light, -ONE if reflected else ONE)
        else:
            reflected, light = meet(light, along, beyond, ratio * ratio, number)
    if reflected:
        twice = cos_in + cos_in
        new_w = w - twice * n_z
        goes_on = new_w * w < ZERO
        u, v, w = u - twice * n_x, v - twice * n_y, new_w
    else:
        shrink, bend = before / behind, (beyond - along) / behind
        new_w = shrink * w + bend * n_z
        goes_on = new_w * w > ZERO
        u, v, w = shrink * u + bend * n_x, shrink * v + bend * n_y, new_w
    light = out_of_plane(light, (u, v, w), ONE, axis)
    # A ray that a face sends along itself, not back or through, ends in the mount.
    fate = GOES_ON if goes_on else fate_at(layer, codes.BLOCKED)
    return fate, Photon(x, y, z, u, v, w, rng, light)
