"""Light plate: total reflection holds the light that enters by an edge until a dot scatters it out.

Two layers, its back and its front. Whoever comes to one of them from outside, or stands on an edge,
is followed here through all of its way inside, and put at the face where it leaves; that face, met
from inside, then lets it pass. On the back a hit is on a dot with the share of the place that dots
cover; a dot scatters Lambertian within the plate, so 1/n**2 of that can leave by a face at first
sight. Dots and white edges leave no light polarised.
"""

import math

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.compiler import constant, jit, jit_apart
from photonsim.kernel.fresnel import meet, meet_beyond_critical
from photonsim.kernel.numbers import FAR, HALF, ONE, SPECK, ZERO, typed, unsigned
from photonsim.kernel.photon import GOES_ON, GUARD, aimed, fate_at, lit, number_for, placed
from photonsim.kernel.polarisation import cross_product, into_plane, mirrored, out_of_plane
from photonsim.kernel.sampling import inverse_cumulative
from photonsim.kernel.surface import ABSORBS, MIRRORS, choose, scattered

# What becomes of light, beside the fates of codes, which are 0 and more.
INSIDE, OUTSIDE, BELOW, ABOVE, GIVEN_UP = (np.int32(-k) for k in range(1, 6))
DOTS = np.int32(codes.AT_DOTS)
NOT_TAKEN_IN = np.int32(codes.NOT_TAKEN_IN)
# The last place of a table.
BELOW_ONE = constant(1.0 - 2.0**-24)
# Light along the edge meets the faces of a thin plate thousands of times on its way.
MOST_HITS = 1 << 16


@jit
def seen_along(axis, direction):
    """Return a direction in the frame whose third axis is x, y or z: 0, 1 or 2."""
    u, v, w = direction
    return (v, w, u) if axis == 0 else (w, u, v) if axis == 1 else (u, v, w)


@jit
def put_back(axis, direction):
    """Return a direction of that frame in the room's own."""
    a, b, c = direction
    return (c, a, b) if axis == 0 else (b, c, a) if axis == 1 else (a, b, c)


@jit
def put_at_edge(program, back, edge, photon):
    """Return a new photon at its place on an edge of the plate, out of its emitters' own frame.

    That has x along the edge, y towards the screen from the middle of the thickness, and z into the
    plate. `edge` counts codes.EDGES.
    """
    along, up, a, b, inwards = photon.x, photon.y, photon.u, photon.v, photon.w
    z = HALF * (program.layer_z[back] + program.layer_z[back + 1]) + up
    side = ONE if edge & 1 == 0 else -ONE
    # Along a level line it would never come to another layer.
    b = b if abs(b) > SPECK * SPECK else SPECK * SPECK
    a, inwards = side * a, side * inwards
    if edge < 2:
        photon = placed(photon, -side * program.layer_half_x[back], along, z)
        return aimed(photon, inwards, a, b, photon.rng)
    photon = placed(photon, along, -side * program.layer_half_y[back], z)
    return aimed(photon, -a, inwards, b, photon.rng)


@jit
def meet_clear(photon, axis, before, behind):
    """Return (passes, photon) at a clear face across an axis, between two indices.

    Fresnel's equations; see fresnel.meet.
    """
    k = photon.u, photon.v, photon.w
    a, b, c = seen_along(axis, k)
    plane = cross_product(put_back(axis, (ZERO, ZERO, ONE)), k)
    light = into_plane(photon.light, k, ONE, plane)
    along, shrink = before * abs(c), before / behind
    squared = along * along + (behind - before) * (behind + before)
    ratio = ONE / (shrink * shrink)
    reflected = squared <= ZERO
    if reflected:
        light = meet_beyond_critical(light, along, -squared, ratio)
    else:
        number, photon = number_for(photon)
        reflected, light = meet(light, along, math.sqrt(squared), ratio, number)
    if reflected:
        c = -c
    else:
        a, b, c = shrink * a, shrink * b, math.copysign(math.sqrt(squared) / behind, c)
    k = put_back(axis, (a, b, c))
    light = out_of_plane(light, k, ONE, plane)
    return not reflected, lit(aimed(photon, k[0], k[1], k[2], photon.rng), light)


@jit
def mirrored_in(photon, axis):
    """Return a photon that a mirror across an axis has turned back."""
    k = photon.u, photon.v, photon.w
    a, b, c = seen_along(axis, k)
    u, v, w = put_back(axis, (a, b, -c))
    light = mirrored(photon.light, k, (u, v, w), put_back(axis, (ZERO, ZERO, ONE)))
    return lit(aimed(photon, u, v, w, photon.rng), light)


@jit
def scattered_by(photon, axis):
    """Return a photon that matt paint across an axis has turned back."""
    _, _, c = seen_along(axis, (photon.u, photon.v, photon.w))
    a, b, upright, photon = scattered(photon)
    u, v, w = put_back(axis, (a, b, -math.copysign(upright, c)))
    return aimed(photon, u, v, w, photon.rng)


@jit
def dot_share(program, back, x, y):
    """Return the share of the back that dots cover at (x, y) in mm.

    From a table along the plate, or q/(1 + s/c), with s the way to where the dots are densest. That
    gives off as much light everywhere: dF/dx = -k q F of the light F that is held is constant then.
    """
    real, whole = program.layer_real, program.layer_whole
    way = abs(
        x * real[back, codes.DOTS_X] + y * real[back, codes.DOTS_Y] + real[back, codes.DOTS_FROM]
    )
    way = way * real[back, codes.DOTS_PER_MM]
    count = whole[back, codes.TABLE_COUNT]
    if count > 0:
        first = whole[back, codes.TABLE_FIRST]
        return inverse_cumulative(min(way, BELOW_ONE), program.tables, first, count)
    return real[back, codes.DOT_SHARE] / (ONE + way)


@jit
def meet_from(photon, axis, before, behind, dots, kept):
    """Return (passes, photon, is_lost) at a face with dots on the share `dots` of it.

    They send back the share `kept` of what falls on them.
    """
    if dots > ZERO:
        number, photon = number_for(photon)
        if number < dots:
            if number >= dots * kept:
                return False, photon, True
            return False, scattered_by(photon, axis), False
    passes, photon = meet_clear(photon, axis, before, behind)
    return passes, photon, False


@jit
def meet_backed(photon, axis, index, dots, kept, reflectance, specular_share):
    """Return (outcome, photon) of light within the plate at a face with a reflector behind air.

    INSIDE again, taken by DOTS, or OUTSIDE: taken by the reflector. One below 0 is none.
    """
    within = True
    for _ in range(codes.EVENT_LIMIT):
        before, behind = (index, ONE) if within else (ONE, index)
        passes, photon, is_lost = meet_from(photon, axis, before, behind, dots, kept)
        if is_lost:
            return DOTS, photon
        if passes != within:  # held, or let in
            return INSIDE, photon
        within = False
        number, photon = number_for(photon)
        choice = choose(reflectance, specular_share, number)
        if choice == ABSORBS:
            return OUTSIDE, photon
        mirrors = choice == MIRRORS
        photon = mirrored_in(photon, axis) if mirrors else scattered_by(photon, axis)
    return GIVEN_UP, photon


@jit
def meet_edge(program, back, axis, edge, index, photon):
    """Return (outcome, photon) of light within the plate at an edge.

    White paint lies on it like one great dot, and emitters in contact like dots that send nothing
    back; a mirror stands behind air.
    """
    finish = program.layer_real[back + 1, codes.EDGE_FINISH + edge]
    share = program.layer_real[back + 1, codes.EDGE_SHARE + edge]
    is_lit, is_white = finish == codes.LIT_EDGE, finish == codes.WHITE_EDGE
    dots, kept = share if is_lit else ONE if is_white else ZERO, share if is_white else ZERO
    mirror = share if finish == codes.MIRRORED_EDGE else -ONE
    outcome, photon = meet_backed(photon, axis, index, dots, kept, mirror, ONE)
    if outcome == OUTSIDE or outcome == DOTS:
        outcome = np.int32(codes.AT_LIT_EDGE) if is_lit else np.int32(codes.AT_OTHER_EDGES)
    return outcome, photon


@jit
def meet_back(program, back, index, photon):
    """Return (outcome, photon) of light that comes to the back, within the plate or from below."""
    real = program.layer_real
    dots = dot_share(program, back, photon.x, photon.y)
    kept = real[back, codes.DOT_REFLECTANCE]
    reflectance = real[back, codes.REFLECTOR_REFLECTANCE]
    if photon.w > ZERO:
        if reflectance >= ZERO:
            return np.int32(codes.AT_REFLECTOR), photon
        enters, photon, is_lost = meet_from(photon, 2, ONE, index, dots, kept)
        return DOTS if is_lost else INSIDE if enters else BELOW, photon
    specular_share = real[back, codes.REFLECTOR_SPECULAR_SHARE]
    outcome, photon = meet_backed(photon, 2, index, dots, kept, reflectance, specular_share)
    if outcome == OUTSIDE:
        outcome = np.int32(codes.AT_REFLECTOR) if reflectance >= ZERO else BELOW
    return outcome, photon


@jit
def enter(program, back, index, on_edge, photon):
    """Return (outcome, photon) of one that comes to the plate from outside."""
    axis, outcome = 2, ABOVE
    if on_edge:
        axis, outcome = 0 if abs(photon.x) >= program.layer_half_x[back] else 1, NOT_TAKEN_IN
        edge = 2 * axis + ((photon.u if axis == 0 else photon.v) < ZERO)
        if program.layer_real[back + 1, codes.EDGE_SHARE + edge] > ZERO:
            return INSIDE, photon
    elif photon.w > ZERO:
        return meet_back(program, back, index, photon)
    enters, photon = meet_clear(photon, axis, ONE, index)
    return INSIDE if enters else outcome, photon


@jit
def way_to(half, place, along):
    """Return the way in mm to the face ahead of a pair at -half and half."""
    return (half - math.copysign(place, place * along)) / max(abs(along), SPECK)


@jit
def flown(program, back, photon):
    """Return (axis, way, photon) at the next face within the plate."""
    x, y, z, u, v, w, _, _ = photon
    bottom, top = program.layer_z[back], program.layer_z[back + 1]
    way_x = way_to(program.layer_half_x[back], x, u)
    way_y = way_to(program.layer_half_y[back], y, v)
    way = max(top - z if w > ZERO else z - bottom, ZERO) / max(abs(w), SPECK)
    axis = 2
    if way_x < way:
        way, axis = way_x, 0
    if way_y < way:
        way, axis = way_y, 1
    # Exactly at the face, and not beside it for rounding.
    x, y, z = x + way * u, y + way * v, z + way * w
    if axis == 0:
        x = math.copysign(program.layer_half_x[back], u)
    elif axis == 1:
        y = math.copysign(program.layer_half_y[back], v)
    else:
        z = top if w > ZERO else bottom
    return axis, way, placed(photon, x, y, z)


@jit_apart
def through_plate(program, back, index, on_edge, photon):
    """Return (outcome, photon): where and how light leaves the plate that comes to it from outside.

    How far it goes before the stuff takes it is drawn once: exp(-a s) is left after s mm (Lambert).
    """
    outcome, photon = enter(program, back, index, on_edge, photon)
    left = typed(photon.x, FAR)
    absorption = program.layer_real[back, codes.PLATE_ABSORPTION]
    if absorption > ZERO:
        number, photon = number_for(photon)
        left = -math.log(ONE - number) / absorption
    for _ in range(MOST_HITS):
        if outcome != INSIDE:
            return outcome, photon
        axis, way, photon = flown(program, back, photon)
        left = left - way
        if left < ZERO:
            outcome = np.int32(codes.IN_PLATE)
        elif axis < 2:
            edge = 2 * axis + ((photon.u if axis == 0 else photon.v) > ZERO)
            outcome, photon = meet_edge(program, back, axis, edge, index, photon)
        elif photon.w < ZERO:
            outcome, photon = meet_back(program, back, index, photon)
        else:
            leaves, photon = meet_clear(photon, 2, index, ONE)
            outcome = ABOVE if leaves else INSIDE
    return GIVEN_UP, photon


@jit
def cross(program, layer, wavelength, photon):
    """Return (fate, photon) of one that comes to either face, or stands on an edge."""
    at_back = program.layer_kind[layer] == codes.LIGHT_PLATE
    back = unsigned(layer if at_back else layer - 1)
    half_x, half_y = program.layer_half_x[back], program.layer_half_y[back]
    on_edge = abs(photon.x) >= half_x or abs(photon.y) >= half_y
    on_edge = on_edge and program.layer_z[back] < photon.z < program.layer_z[back + 1]
    if not on_edge and (photon.w > ZERO) != at_back:
        return GOES_ON, photon
    index = program.layer_index[back, wavelength]
    outcome, photon = through_plate(program, back, index, on_edge, photon)
    if outcome >= 0:
        return fate_at(back, outcome), photon
    if outcome == GIVEN_UP:
        return GUARD, photon
    # Nor beside the plate for rounding.
    x, y = min(max(photon.x, -half_x), half_x), min(max(photon.y, -half_y), half_y)
    return GOES_ON, placed(photon, x, y, photon.z)
