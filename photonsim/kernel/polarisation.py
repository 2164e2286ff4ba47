"""Polarised light: Stokes parameters, the frames they stand in, and what faces do to them.

With the intensity I as the unit, Q = |Es|**2 - |Ep|**2 and U + iV = 2 Es Ep*, where the axes s and
p = k x s go with the ray. On its way between parts a photon's are those of the level frame: s is
horizontal, along z x k, and no frame need be carried since the direction tells it. For all faces
that lie across the axis it is the plane of incidence; for others the light is turned into that
plane and, once it has its new direction, back: s, along N x k, is the same vector before and after
(Born and Wolf, Principles of Optics, sections 1.5 and 10.9: from memory).

A mirror image of a frame, one axis turned round or two exchanged, has U and V of the other sign.
Programs without polarisers have no such light: of None all functions make None. They return what
they were given, since the compiler must find one type, and leaves out what follows.
"""

from typing import Any, NamedTuple

from photonsim.kernel.compiler import jit
from photonsim.kernel.numbers import HALF, ONE, ZERO, short, typed


class Light(NamedTuple):
    """Stokes parameters over the intensity, and what the photon counts for behind the panel."""

    q: Any
    u: Any
    v: Any
    counts: Any  # int32


@jit
def natural(like):
    """Return unpolarised light of a photon that counts once, in the type of `like`."""
    none = typed(like, ZERO)
    return Light(none, none, none, short(1))


@jit
def no_light(like):
    """Return what photons of a program without polarisers carry."""


@jit
def weakened(light, kept):
    """Return light of which the share `kept` keeps its state and the rest is unpolarised."""
    if light is None:
        return light
    return Light(kept * light.q, kept * light.u, kept * light.v, light.counts)


@jit
def image(light, hand):
    """Return light in a frame's mirror image where `hand` is -1, as it was where it is 1.

    An ideal mirror does the same to light in the plane of incidence.
    """
    if light is None:
        return light
    return Light(light.q, hand * light.u, hand * light.v, light.counts)


@jit
def share(light, s, p):
    """Return the share of light that goes where `s` and `p` of its two polarisations go."""
    if light is None:
        return HALF * (s + p)
    return HALF * ((s + p) + (s - p) * light.q)


@jit
def diattenuated(light, s, p, mixed):
    """Return the state of the `share` of light that an outcome keeps of s and p.

    `mixed` is the factor of U and V: of amplitudes a and b, a**2, b**2 and a b; for all three a
    common factor may be left out.
    """
    if light is None:
        return light
    per = ONE / share(light, s, p)
    q = HALF * ((s - p) + (s + p) * light.q)
    mixed = mixed * per
    return Light(q * per, mixed * light.u, mixed * light.v, light.counts)


@jit
def cross_product(a, b):
    """Return the vector a x b."""
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


@jit
def turn(direction, length, axis):
    """Return (cos 2t, sin 2t), t the angle from the level frame, s towards p, to s along `axis`.

    `length` is that of `direction`; the axis lies across it. With A = axis . (z x k) and
    B = axis . (k x (z x k))/|k| = |k| axis_z, tan t = B/A. Straight along z, s is (0, 1, 0), as of
    light that leans a little towards x. The angle is 0 where the axis vanishes: straight on.
    """
    u, v, w = direction
    along, across = axis[1] * u - axis[0] * v, length * axis[2]
    if u == ZERO and v == ZERO:
        along, across = axis[1], (-axis[0] if w > ZERO else axis[0])
    square = along * along + across * across
    if square == ZERO:
        return typed(square, ONE), square
    return (along * along - across * across) / square, (along + along) * across / square


@jit
def into_plane(light, direction, length, axis):
    """Return light of the level frame in that whose s lies along an axis; see `turn`."""
    if light is None:
        return light
    cosine, sine = turn(direction, length, axis)
    q = cosine * light.q + sine * light.u
    return Light(q, cosine * light.u - sine * light.q, light.v, light.counts)


@jit
def out_of_plane(light, direction, length, axis):
    """Return light, given in the frame whose s lies along an axis, in the level frame.

    It is turned back: as its mirror image would be turned on.
    """
    return image(into_plane(image(light, -ONE), direction, length, axis), -ONE)


@jit
def carried(light, before, after):
    """Return light after the least turn that takes one unit direction to another."""
    axis = cross_product(before, after)
    return out_of_plane(into_plane(light, before, ONE, axis), after, ONE, axis)


@jit
def mirrored(light, before, after, normal):
    """Return light that an ideal mirror has turned from one unit direction to another."""
    axis = cross_product(normal, before)
    light = image(into_plane(light, before, ONE, axis), -ONE)
    return out_of_plane(light, after, ONE, axis)
