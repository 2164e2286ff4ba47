"""Prism film: the real cross-section, traced in three dimensions; gain and recycling emerge.

A ridge is a triangle of material, the groove beside it the same triangle of air upside down, so one
function walks both. In either, `a` runs across the ridges and `c` from the triangle's open base to
its apex; `b` runs along the ridges and never changes within a medium. Half the pitch is the unit of
length: the pitch is far below everything else, so a ray meets the pattern at a random phase and
leaves the film where it came in. A flattened tip cuts the ridge at the height 1 - tip of its full
one; the groove is then a smaller triangle of the same shape.
"""

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.fresnel import reflectance
from photonsim.kernel.numbers import FAR, ONE, TWO, ZERO
from photonsim.kernel.random import STEP, uniform_as

FACET_LIMIT = 64
# 64 passes left 1 in 10**6 of Lambertian light in an ordinary film of 90 degrees, and 4 in 1000 in
# the slowest leak that a scene can describe (140 degrees, n = 2.5, 90 % flat); 512 left none there.
PASS_LIMIT = 4096

BASE_SIDE = 0
RIGHT = 1
LEFT = 2
TIP = 3


@jit
def next_side(a, c, d_a, d_c, cosine, sine, half_base, tip_height):
    """Return (side, distance) where a ray inside a triangle meets its boundary next.

    `cosine` and `sine` are of half the apex angle; the right facet's outward normal is
    (cosine, sine) in (a, c). `tip_height` is the height of a flat tip (above the apex: none).
    The distance is in units of half the pitch over the unit direction (d_a, d_b, d_c).
    """
    side = BASE_SIDE
    nearest = -c / d_c if d_c < ZERO else FAR
    speed = d_a * cosine + d_c * sine
    if speed > ZERO:
        distance = ((half_base - a) * cosine - c * sine) / speed
        if distance < nearest:
            nearest, side = distance, RIGHT
    speed = d_c * sine - d_a * cosine
    if speed > ZERO:
        distance = ((half_base + a) * cosine - c * sine) / speed
        if distance < nearest:
            nearest, side = distance, LEFT
    if d_c > ZERO:
        distance = (tip_height - c) / d_c
        if distance < nearest:
            nearest, side = distance, TIP
    return side, max(nearest, ZERO)


@jit
def through_ridges(d_a, d_b, d_c, inside, cosine, sine, tip, index, rng):
    """Walk the ridged layer from where it was entered to where it is left.

    Enters from the substrate (`inside`, d_c > 0) or from the air above (d_c < 0, towards the
    substrate). Returns (ok, inside, d_a, d_b, d_c, rng), d_c positive away from the substrate.
    """
    rng = rng + STEP
    place = TWO * uniform_as(d_a, rng) - ONE
    groove = ONE - tip
    tip_height = groove * cosine / sine
    no_tip = TWO * cosine / sine
    half_base, ceiling = ONE, tip_height if tip > ZERO else no_tip
    side, a, c, distance = BASE_SIDE, place, ZERO, ZERO
    if not inside:
        if abs(place) < tip:
            # Straight on to a flat tip: at the very edge of a ridge, on its upper side.
            side, a, c, d_c, inside = TIP, place, ZERO, -d_c, False
        else:
            # In the groove's own frame c runs down to the valley.
            half_base, ceiling, d_c = groove, no_tip, -d_c
            a = place - tip if place > ZERO else place + tip
    if side != TIP:
        side, distance = next_side(a, c, d_a, d_c, cosine, sine, half_base, ceiling)
    for _ in range(FACET_LIMIT):
        a, c = a + distance * d_a, c + distance * d_c
        if side == BASE_SIDE:
            return True, inside, d_a, d_b, d_c if inside else -d_c, rng
        n_a, n_c = ZERO, ONE
        if side != TIP:
            n_c = sine
            n_a = cosine if side == RIGHT else -cosine
        cos_in = d_a * n_a + d_c * n_c
        eta = index if inside else ONE / index
        reflected, cos_out = reflectance(cos_in, eta)
        turned_back = reflected >= ONE
        if not turned_back:
            rng = rng + STEP
            turned_back = uniform_as(d_a, rng) < reflected
        if turned_back:
            d_a, d_c = d_a - TWO * cos_in * n_a, d_c - TWO * cos_in * n_c
            if side == TIP and not inside:
                return True, False, d_a, d_b, -d_c, rng
        else:
            bend = cos_out - eta * cos_in
            d_a, d_b, d_c = eta * d_a + bend * n_a, eta * d_b, eta * d_c + bend * n_c
            if side == TIP:
                if inside:
                    return True, False, d_a, d_b, d_c, rng
                # Into the ridge through its tip: from here c is measured from the substrate.
                c, d_c, inside = tip_height, -d_c, True
                half_base, ceiling = ONE, tip_height
            else:
                # Into the neighbour, which stands on its head.
                a = a - ONE if side == RIGHT else a + ONE
                c, d_c, inside = tip_height - c, -d_c, not inside
                half_base = ONE if inside else groove
                ceiling = tip_height if inside and tip > ZERO else no_tip
        side, distance = next_side(a, c, d_a, d_c, cosine, sine, half_base, ceiling)
    return False, inside, d_a, d_b, d_c, rng


@jit
def through_film(d_a, d_b, d_c, cosine, sine, tip, kept, index, rng):
    """Return (outcome, d_a, d_b, d_c, rng) of light that meets the film from air.

    d_c > 0 comes to the flat face, d_c < 0 to the ridges. Outcome: 1 left the film, 0 absorbed in
    the substrate (the share `kept` of one crossing survives), -1 given up after PASS_LIMIT passes.
    Within the substrate the ray forgets its phase: it is several pitches thick.
    """
    inside = d_c > ZERO
    if inside:
        reflected, cos_out = reflectance(d_c, ONE / index)
        rng = rng + STEP
        if uniform_as(d_a, rng) < reflected:
            return 1, d_a, d_b, -d_c, rng
        d_a, d_b, d_c = d_a / index, d_b / index, cos_out
    for _ in range(PASS_LIMIT):
        if inside and kept < ONE:
            rng = rng + STEP
            if uniform_as(d_a, rng) >= kept:
                return 0, d_a, d_b, d_c, rng
        ok, inside, d_a, d_b, d_c, rng = through_ridges(
            d_a, d_b, d_c, inside, cosine, sine, tip, index, rng
        )
        if not ok:
            return -1, d_a, d_b, d_c, rng
        if not inside:
            return 1, d_a, d_b, d_c, rng
        if kept < ONE:
            rng = rng + STEP
            if uniform_as(d_a, rng) >= kept:
                return 0, d_a, d_b, d_c, rng
        reflected, cos_out = reflectance(-d_c, index)
        turned_back = reflected >= ONE
        if not turned_back:
            rng = rng + STEP
            turned_back = uniform_as(d_a, rng) < reflected
        if not turned_back:
            return 1, d_a * index, d_b * index, -cos_out, rng
        d_c = -d_c
    return -1, d_a, d_b, d_c, rng


@jit
def cross(program, layer, wavelength, u, v, w, rng):
    """Return (outcome, u, v, w, rng) of a photon that meets the film; see through_film."""
    real = program.layer_real
    cos_along, sin_along = real[layer, codes.FILM_COS_ALONG], real[layer, codes.FILM_SIN_ALONG]
    to_ridges = real[layer, codes.FILM_SIDE]
    outcome, across, along, away, rng = through_film(
        v * cos_along - u * sin_along,
        u * cos_along + v * sin_along,
        w * to_ridges,
        real[layer, codes.FILM_COS_HALF_APEX],
        real[layer, codes.FILM_SIN_HALF_APEX],
        real[layer, codes.FILM_TIP],
        real[layer, codes.FILM_KEPT],
        program.layer_index[layer, wavelength],
        rng,
    )
    u = along * cos_along - across * sin_along
    v = along * sin_along + across * cos_along
    return outcome, u, v, away * to_ridges, rng
