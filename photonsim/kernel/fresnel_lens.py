"""Fresnel lens: a flat face and, at each radius, the groove that is cut there, face by face.

A tooth is a triangle of material: its facet, its steep wall (draft face), and an open base towards
the flat face. The groove beside it is the same triangle of air upside down, so one frame serves
both: `a` runs across the grooves, the way the facet falls, and `c` from the open base to the tip.
The facet is the line c = t (f - a), the wall a = g c - q, with the tangents t of the facet's tilt
and g of the wall's lean, in units of the pitch: f = 1/(1 + t g) and q = 1 - f.

Grooves are far finer than everything else, so light comes through a base at a random place, and
leaves the sheet where it came in, however often it goes to and fro inside. What faces reflect goes
on as light like any other. Nothing is lost but at rounded tips, and at walls that are black.

Along the grooves a direction stays as it is; here too directions are cosines times the index, see
prism_film.
"""

import math

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.aperture_stop import through
from photonsim.kernel.compiler import jit
from photonsim.kernel.numbers import ONE, ZERO, typed
from photonsim.kernel.photon import GOES_ON, absorbed, aimed, blocked, fate_at, lit
from photonsim.kernel.polarisation import image, into_plane, out_of_plane
from photonsim.kernel.prism_film import meet_face
from photonsim.kernel.random import next_state, uniform_as

# Light that still runs to and fro in the sheet after so many faces ends at its rim.
FACE_LIMIT = 256

BASE = np.int32(0)
FACET = np.int32(1)
WALL = np.int32(2)

TRAPPED = np.int32(0)
LEFT = np.int32(1)
AT_GROOVE_WALLS = np.int32(2)


@jit
def facet_tangent(program, layer, radius):
    """Return the tangent of the facet's tilt at a radius, from a table even in radius."""
    whole = program.layer_whole
    first, count = whole[layer, codes.TABLE_FIRST], whole[layer, codes.TABLE_COUNT]
    place = min(
        radius * program.layer_real[layer, codes.GROOVES_PER_STEP], typed(radius, count - 1)
    )
    step = min(int(place), count - 2)
    low = program.tables[first + step]
    return low + (place - typed(place, step)) * (program.tables[first + step + 1] - low)


@jit
def through_grooves(light, d_a, d_b, d_c, tangent, draft, tip, is_black, index, rng):
    """Return (outcome, light, d_a, d_c, rng) of light that comes to a groove or the flat face.

    d_c > 0 goes from the flat face to the grooves. Outcome: LEFT the sheet, AT_GROOVE_WALLS (lost
    at a black wall, or on the share `tip` of a facet's width that is rounded), TRAPPED. `light`
    keeps to the level frame of (a, b, c), which turns over with the groove: no mirror image.
    """
    square = index * index
    step = square - ONE
    facet = ONE / (ONE + tangent * draft)
    foot, height = facet - ONE, tangent * facet
    cosine = ONE / math.sqrt(ONE + tangent * tangent)
    upright = ONE / math.sqrt(ONE + draft * draft)
    inside = False
    if d_c > ZERO:
        light, d_c, inside, rng = meet_face(light, d_c, False, step, square, rng)
        if not inside:
            return LEFT, light, d_a, d_c, rng
    else:
        d_a, d_c = -d_a, -d_c
    rng = next_state(rng)
    a, c = uniform_as(d_a, rng) + foot, ZERO
    for _ in range(FACE_LIMIT):
        climb, lean = d_c + tangent * d_a, draft * d_c - d_a
        to_facet, to_wall = height - tangent * a - c, a - foot - draft * c
        face, way, rate = BASE, c, -d_c
        if climb > ZERO and (rate <= ZERO or to_facet * rate < way * climb):
            face, way, rate = FACET, to_facet, climb
        if lean > ZERO and (rate <= ZERO or to_wall * rate < way * lean):
            face, way, rate = WALL, to_wall, lean
        if face == BASE:
            if not inside:
                return LEFT, light, -d_a, -d_c, rng
            light, d_c, inside, rng = meet_face(light, -d_c, True, step, square, rng)
            if not inside:
                return LEFT, light, d_a, -d_c, rng
            d_c = -d_c
            rng = next_state(rng)
            a, c = uniform_as(d_a, rng) + foot, ZERO
        else:
            way = max(way, ZERO) / rate
            a, c = a + way * d_a, min(max(c + way * d_c, ZERO), height)
            if face == FACET:
                if (a if inside else facet - a) < tip * facet:
                    return AT_GROOVE_WALLS, light, d_a, d_c, rng
                ahead, n_a, n_c, middle = climb * cosine, tangent * cosine, cosine, facet
            else:
                if is_black:
                    return AT_GROOVE_WALLS, light, d_a, d_c, rng
                ahead, n_a, n_c, middle = lean * upright, -upright, draft * upright, foot
            was_inside = inside
            axis = -n_c * d_b, n_c * d_a - n_a * d_c, n_a * d_b
            light = into_plane(light, (d_a, d_b, d_c), index if inside else ONE, axis)
            light, after, inside, rng = meet_face(light, ahead, inside, step, square, rng)
            bend = after - ahead
            d_a, d_c = d_a + bend * n_a, d_c + bend * n_c
            light = out_of_plane(light, (d_a, d_b, d_c), index if inside else ONE, axis)
            if inside != was_inside:
                # Into the neighbour, which stands on its head about the middle of the face.
                a, c, d_a, d_c = middle - a, height - c, -d_a, -d_c
    return TRAPPED, light, d_a, d_c, rng


@jit
def cross(program, layer, wavelength, photon):
    """Return (fate, photon) of one that meets the sheet; see through_grooves."""
    x, y, _, u, v, w, rng, _ = photon
    # A round sheet lies within its own square; a rectangular one within the circle of its corners.
    beside = abs(x) > program.layer_half_x[layer] or abs(y) > program.layer_half_y[layer]
    if beside or not through(program, layer, x, y):
        return blocked(layer, photon)
    real = program.layer_real
    radius = math.sqrt(x * x + y * y)
    if radius > ZERO:
        c, s = x / radius, y / radius
    else:
        c, s = ONE, ZERO
    tangent = facet_tangent(program, layer, radius)
    # Facets that fall inwards are those of a converging lens seen with the radius turned round.
    if tangent < ZERO:
        tangent, c, s = -tangent, -c, -s
    to_grooves = real[layer, codes.GROOVES_SIDE]
    across = v * c - u * s
    outcome, light, along, away, rng = through_grooves(
        image(photon.light, to_grooves),
        u * c + v * s,
        across,
        w * to_grooves,
        tangent,
        real[layer, codes.GROOVES_DRAFT],
        real[layer, codes.GROOVES_TIP],
        real[layer, codes.GROOVES_BLACK] > ZERO,
        program.layer_index[layer, wavelength],
        rng,
    )
    u, v = along * c - across * s, along * s + across * c
    photon = lit(aimed(photon, u, v, away * to_grooves, rng), image(light, to_grooves))
    if outcome == AT_GROOVE_WALLS:
        return fate_at(layer, codes.GROOVE_WALLS), photon
    if outcome == TRAPPED:
        return absorbed(layer, photon)
    return GOES_ON, photon
