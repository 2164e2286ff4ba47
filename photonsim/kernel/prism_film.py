"""Prism film: the real cross-section, traced in three dimensions; gain and recycling emerge.

A ridge is a triangle of material, the groove beside it the same triangle of air upside down, so
one frame serves both: `a` runs across the ridges and `c` from the triangle's open base to its apex.
Half the pitch is the unit of length: the pitch is far below everything else, so a ray meets the
pattern at a random phase and leaves the film where it came in.

The frame is turned over whenever that brings the facet ahead to the right, so there is only one
facet, and a ray that leaves it can do two things: pass the far corner of the base on one side, and
meet the other facet, or on the other, and leave through the base. A flattened tip cuts the ridge at
the height 1 - tip of its full one; the groove is then a smaller triangle of the same shape.

The ridges may be a coat on a base of another index: between their level and the flat side lies then
one more face, and light goes to and fro in the base until it leaves it for the ridges or for air.

Directions are direction cosines times the index of the medium: what lies along a face, and all that
runs along the ridges, then stays as it is, and only the part along the face's normal changes.
"""

import math

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.fresnel import meet, meet_beyond_critical
from photonsim.kernel.numbers import ONE, TWO, ZERO
from photonsim.kernel.photon import GOES_ON, GUARD, aimed, fate_at, lit
from photonsim.kernel.polarisation import image, into_plane, out_of_plane
from photonsim.kernel.random import next_state, uniform_as

# 64 passes left 1 in 10**6 of Lambertian light in an ordinary film of 90 degrees, and 4 in 1000 in
# the slowest leak that a scene can describe (140 degrees, n = 2.5, 90 % flat); 512 left none there.
# A pass is seldom more than four facets.
FACET_LIMIT = 8192

FACET = np.int32(0)
FLAT = np.int32(1)
TIP = np.int32(2)
OPEN = np.int32(3)

LEFT = np.int32(1)
COATED = np.int32(2)
ABSORBED = np.int32(0)
GIVEN_UP = np.int32(-1)


@jit
def into_triangle(place, d_a, d_c, half_base, cosine, sine):
    """Return (c, d_a, turned) where a ray through the base at `place` meets the facet ahead.

    `turned` is -1 where the frame was turned over to bring that facet to the right, otherwise 1.
    """
    # Not a question: the processor would guess the answer wrong at every fourth film.
    turned = math.copysign(ONE, d_a * half_base * cosine + d_c * place * sine)
    place, d_a = turned * place, turned * d_a
    return d_c * cosine * (half_base - place) / (d_a * cosine + d_c * sine), d_a, turned


@jit
def from_tip(place, d_a, d_c, tip_height, cosine, sine):
    """Return (face, c, d_a, turned) of what a ray meets that goes down from a flat tip."""
    turned = ONE if d_a > ZERO else -ONE
    place, d_a = turned * place, turned * d_a
    if d_a * tip_height <= (place - ONE) * d_c:
        return OPEN, ZERO, d_a, turned
    way = ((ONE - place) * cosine - tip_height * sine) / (d_a * cosine + d_c * sine)
    return FACET, tip_height + max(way, ZERO) * d_c, d_a, turned


@jit
def meet_face(light, normal, inside, step, square, rng):
    """Return (light, normal, inside, rng) after a face: the part of the direction along its normal.

    `normal` > 0 is that part before; below 0 afterwards it has been reflected. With directions
    scaled by the index it becomes sqrt(normal**2 + n'**2 - n**2), or is reflected where that is not
    real. `inside` is the denser of both sides, `square` the ratio of the squared indices, above 1,
    and `step` the difference of these. `light` stands in the plane of incidence.
    """
    squared = normal * normal
    ratio = ONE / square if inside else square
    if inside and squared <= step:
        return meet_beyond_critical(light, normal, step - squared, ratio), -normal, True, rng
    rng = next_state(rng)
    beyond = math.sqrt(squared - step if inside else squared + step)
    reflected, light = meet(light, normal, beyond, ratio, uniform_as(normal, rng))
    if reflected:
        return light, -normal, inside, rng
    return light, beyond, not inside, rng


@jit
def crosses(kept, like, rng):
    """Return (alive, rng) of light that crosses the substrate; only a loss draws a number."""
    if kept >= ONE:
        return True, rng
    rng = next_state(rng)
    return uniform_as(like, rng) < kept, rng


@jit
def through_base(light, normal, in_coat, base, index, kept, rng):
    """Return (outcome, light, normal, rng) of light that meets a base, of the index `base`.

    It comes from air to the flat side or, `in_coat`, from the ridges to the coat that they are part
    of, of `index`. Outcome: LEFT for air, COATED by the ridges again, ABSORBED (the share `kept` of
    one crossing survives), or GIVEN_UP. Both faces are level: `normal` counts positive towards
    each, and all else of the direction stays as it is.
    """
    at_coat, above = in_coat, in_coat
    for _ in range(FACET_LIMIT):
        below, beyond = base if at_coat else ONE, index if at_coat else base
        rises = beyond >= below
        dense, rare = max(below, beyond), min(below, beyond)
        step, square = dense * dense - rare * rare, (dense * dense) / (rare * rare)
        light, normal, inside, rng = meet_face(light, normal, above == rises, step, square, rng)
        normal = abs(normal)
        if (inside == rises) == at_coat:
            return COATED if at_coat else LEFT, light, normal, rng
        alive, rng = crosses(kept, normal, rng)
        if not alive:
            return ABSORBED, light, normal, rng
        above, at_coat = at_coat, not at_coat
    return GIVEN_UP, light, normal, rng


@jit
def through_film(light, d_a, d_b, d_c, cosine, sine, tip, kept, index, base, rng):
    """Return (outcome, light, d_a, d_b, d_c, rng) of light that meets the film from air.

    d_c > 0 comes to the flat face, d_c < 0 to the ridges. Outcome: LEFT the film, ABSORBED in the
    substrate (the share `kept` of one crossing survives), GIVEN_UP after FACET_LIMIT facets.
    `index` is that of the ridges, and `base` that of the substrate, 1 where both are one.
    `cosine` and `sine` are of half the apex angle; the right facet's outward normal is
    (cosine, sine) in (a, c). Within the substrate the ray forgets its phase: it is several pitches
    thick. Towards a level face, flat side or tip, `d_c` counts positive. `light` keeps to the level
    frame of (a, b, c) as the film lies, ridges up.
    """
    square = index * index
    step = square - ONE
    groove = ONE - tip
    tip_height = groove * cosine / sine
    face, inside, turned, a, c = FLAT, False, ONE, ZERO, ZERO
    if d_c < ZERO:
        rng = next_state(rng)
        a = TWO * uniform_as(d_a, rng) - ONE
        face, d_c = TIP, -d_c
        if abs(a) >= tip:
            face = FACET
            a = a - tip if a > ZERO else a + tip
            c, d_a, turned = into_triangle(a, d_a, d_c, groove, cosine, sine)
    for _ in range(FACET_LIMIT):
        was_inside, normal = inside, d_c
        # Turned over or upside down, but not both, the frame is its own mirror image.
        image_b = turned * d_b if inside else -turned * d_b
        axis = -sine * image_b, sine * d_a - cosine * d_c, cosine * image_b
        if face == FACET:
            normal = d_a * cosine + d_c * sine
            light = into_plane(light, (d_a, image_b, d_c), index if inside else ONE, axis)
        # Faces of all three kinds meet here, so that threads of a GPU do it together.
        if face == FLAT and base > ONE:
            outcome, light, after, rng = through_base(light, d_c, inside, base, index, kept, rng)
            if outcome != COATED:
                return outcome, light, turned * d_a, d_b, -after, rng
            inside = True
        else:
            light, after, inside, rng = meet_face(light, normal, inside, step, square, rng)
        if face == FACET:
            bend = after - normal
            d_a, d_c = d_a + bend * cosine, d_c + bend * sine
            light = out_of_plane(light, (d_a, image_b, d_c), index if inside else ONE, axis)
            if inside != was_inside:
                # Into the neighbour, which stands on its head.
                c, d_a, d_c, turned, after = tip_height - c, -d_a, -d_c, -turned, -after
            width = TWO * cosine * (ONE if inside else groove)
            face = OPEN
            if d_c * width > c * after:
                way = (width - TWO * c * sine) / (d_c * sine - d_a * cosine)
                rise = way * d_c
                if tip > ZERO and inside and c + rise > tip_height:
                    face = TIP
                    a = ONE - c * sine / cosine + d_a * (tip_height - c) / d_c
                else:
                    face = FACET
                    c = min(max(c + rise, ZERO), tip_height)
                    d_a, turned = -d_a, -turned
        elif face == FLAT:
            d_c = abs(after)
            if not inside:
                return LEFT, light, turned * d_a, d_b, -d_c, rng
            alive, rng = crosses(ONE if base > ONE else kept, d_a, rng)
            if not alive:
                return ABSORBED, light, d_a, d_b, d_c, rng
            rng = next_state(rng)
            a = TWO * uniform_as(d_a, rng) - ONE
            c, d_a, over = into_triangle(a, d_a, d_c, ONE, cosine, sine)
            turned = turned * over
            face = FACET
            if tip > ZERO and c > tip_height:
                face = TIP
                a = over * a + d_a * tip_height / d_c
        else:
            d_c = -abs(after)
            if not inside:
                return LEFT, light, turned * d_a, d_b, -d_c, rng
            face, c, d_a, over = from_tip(a, d_a, d_c, tip_height, cosine, sine)
            turned = turned * over
        if face == OPEN:
            if not inside:
                return LEFT, light, turned * d_a, d_b, -d_c, rng
            alive, rng = crosses(ONE if base > ONE else kept, d_a, rng)
            if not alive:
                return ABSORBED, light, d_a, d_b, d_c, rng
            face, d_c = FLAT, -d_c
    return GIVEN_UP, light, d_a, d_b, d_c, rng


@jit
def cross(program, layer, wavelength, photon):
    """Return (fate, photon) of one that meets the film; see through_film."""
    u, v = photon.u, photon.v
    real = program.layer_real
    cos_along, sin_along = real[layer, codes.FILM_COS_ALONG], real[layer, codes.FILM_SIN_ALONG]
    to_ridges = real[layer, codes.FILM_SIDE]
    # Across, along and away from the lamp are a left-handed frame.
    outcome, light, across, along, away, rng = through_film(
        image(photon.light, -to_ridges),
        v * cos_along - u * sin_along,
        u * cos_along + v * sin_along,
        photon.w * to_ridges,
        real[layer, codes.FILM_COS_HALF_APEX],
        real[layer, codes.FILM_SIN_HALF_APEX],
        real[layer, codes.FILM_TIP] if program.traits & codes.FLAT_TIPS else ZERO,
        real[layer, codes.FILM_KEPT] if program.traits & codes.ABSORBING_FILM else ONE,
        program.layer_index[layer, wavelength],
        program.layer_index_below[layer, wavelength] if program.traits & codes.COATED_FILM else ONE,
        photon.rng,
    )
    u = along * cos_along - across * sin_along
    v = along * sin_along + across * cos_along
    photon = lit(aimed(photon, u, v, away * to_ridges, rng), image(light, -to_ridges))
    if outcome == GIVEN_UP:
        return GUARD, photon
    return GOES_ON if outcome == LEFT else fate_at(layer, codes.ABSORBED), photon
