"""Real lens: each spherical or conic face is met exactly where it is and refracts by Snell's law.

A face is a layer of its own, at the plane through its vertex: the way to it along the ray may be
negative. What a face reflects goes on as light like any other, so ghosts are part of the result.
"""

import math

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.fresnel import reflectance
from photonsim.kernel.numbers import ONE, ZERO
from photonsim.kernel.random import STEP, uniform_as

LOST_AT_RIM = 0
GOES_ON = 1


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
def normal(curvature, conic, x, y):
    """Return the unit normal (a, b, c) of a conic face at (x, y), towards the screen.

    From the gradient of c (r**2 + (1 + k) z**2) - 2 z, whose squared length is 1 - c**2 k r**2.
    """
    r_squared = x * x + y * y
    scale = ONE / math.sqrt(ONE - curvature * curvature * conic * r_squared)
    along = math.sqrt(max(ONE - (ONE + conic) * curvature * curvature * r_squared, ZERO))
    return -curvature * x * scale, -curvature * y * scale, along * scale


@jit
def cross(program, layer, wavelength, x, y, z, u, v, w, rng):
    """Return (outcome, x, y, z, u, v, w, rng) of a photon that comes to a face's vertex plane.

    Refraction d' = eta d + (eta cos i - cos t) n for a normal n against the light (Glassner, An
    Introduction to Ray Tracing, ch. 2); which of reflection and refraction happens is played.
    A coated face reflects its own share instead of Fresnel's, but all beyond the critical angle.
    """
    real = program.layer_real
    curvature, conic = real[layer, codes.FACE_CURVATURE], real[layer, codes.FACE_CONIC]
    most = real[layer, codes.FACE_SAG] + real[layer, codes.FACE_RADIUS] * abs(w)
    if (x * x + y * y) * w * w > most * most:
        return LOST_AT_RIM, x, y, z, u, v, w, rng
    hit, distance = reach(curvature, conic, x, y, u, v, w)
    x, y, z = x + distance * u, y + distance * v, z + distance * w
    if not hit or x * x + y * y > real[layer, codes.RADIUS_SQUARED]:
        return LOST_AT_RIM, x, y, z, u, v, w, rng
    n_x, n_y, n_z = normal(curvature, conic, x, y)
    before = program.layer_index_below[layer, wavelength]
    behind = program.layer_index[layer, wavelength]
    eta = before / behind
    if w > ZERO:
        n_x, n_y, n_z = -n_x, -n_y, -n_z
    else:
        eta = behind / before
    cos_in = -(u * n_x + v * n_y + w * n_z)
    if cos_in <= ZERO:
        # So steep a ray meets the face from within its far side: only beyond the rim in truth.
        return LOST_AT_RIM, x, y, z, u, v, w, rng
    share, cos_out = reflectance(cos_in, eta)
    if share < ONE and real[layer, codes.FACE_COATING] >= ZERO:
        share = real[layer, codes.FACE_COATING]
    rng = rng + STEP
    if uniform_as(u, rng) < share:
        twice = cos_in + cos_in
        new_w = w + twice * n_z
        goes_on = new_w * w < ZERO
        u, v, w = u + twice * n_x, v + twice * n_y, new_w
    else:
        bend = eta * cos_in - cos_out
        new_w = eta * w + bend * n_z
        goes_on = new_w * w > ZERO
        u, v, w = eta * u + bend * n_x, eta * v + bend * n_y, new_w
    # A ray that a face sends along itself, not back or through, ends in the mount.
    return GOES_ON if goes_on else LOST_AT_RIM, x, y, z, u, v, w, rng
