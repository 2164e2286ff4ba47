"""The life of one photon, from an emitter to its fate."""

import numpy as np

from photonsim.kernel import (
    clear_plate,
    codes,
    diffuser,
    fresnel_lens,
    ideal_lens,
    panel,
    prism_film,
    real_lens,
)
from photonsim.kernel.aperture_stop import through
from photonsim.kernel.compiler import jit
from photonsim.kernel.emitters import emit, on_face, pick
from photonsim.kernel.housing import NOWHERE, choose_at_wall, next_wall, turn_back, within
from photonsim.kernel.numbers import ZERO, short, unsigned
from photonsim.kernel.random import next_state, start, uniform_as
from photonsim.kernel.strips import covered
from photonsim.kernel.surface import ABSORBS, meet_level

GOES_ON = np.int32(-1)
# Put off before a part that takes long, until enough photons have come: see cuda_waiting.
WAITS = np.int32(-2)
GUARD = np.int32(codes.FATE_GUARD)
SIDEWAYS = np.int32(codes.FATE_SIDEWAYS)
WALLS = np.int32(codes.FATE_WALLS)
STOP = np.int32(codes.FATE_STOP)


@jit
def there(program, kind):
    """Tell whether a program has any layer of a kind: known when compiling for a GPU."""
    return program.traits & (1 << kind) != 0


@jit
def fate_at(layer, how):
    """Return the fate ABSORBED, BLOCKED, PASSED_BY or GROOVE_WALLS at a layer."""
    return short(codes.FATE_LAYERS + codes.FATES_PER_LAYER * layer + how)


@jit
def meet_layer(program, layer, kind, wavelength, x, y, z, u, v, w, rng, may_wait):
    """Return (fate, x, y, z, u, v, w, rng) after meeting a layer; GOES_ON for a live photon.

    This is the one place where the kernel chooses among the kinds of parts. Where it `may_wait`, a
    photon that comes to prism film or to the panel's pixels is returned as it is, with WAITS.
    """
    alive, opaque = True, False
    if codes.DIFFUSER <= kind <= codes.CLEAR_PLATE and not covered(program, layer, x, y):
        return GOES_ON, x, y, z, u, v, w, rng
    if kind == codes.PRISM_FILM and there(program, codes.PRISM_FILM):
        if may_wait:
            return WAITS, x, y, z, u, v, w, rng
        outcome, u, v, w, rng = prism_film.cross(program, layer, wavelength, u, v, w, rng)
        if outcome == prism_film.GIVEN_UP:
            return GUARD, x, y, z, u, v, w, rng
        alive = outcome == prism_film.LEFT
    elif kind == codes.PANEL:
        part = panel.where(program, layer, x, y)
        if part == panel.BESIDE:
            return fate_at(layer, codes.PASSED_BY), x, y, z, u, v, w, rng
        if part == panel.PIXELS:
            if may_wait:
                return WAITS, x, y, z, u, v, w, rng
            alive, u, v, w, rng = panel.cross(program, layer, u, v, w, rng)
        else:
            opaque = True
    elif kind == codes.STOP:
        if not through(program, layer, x, y):
            return fate_at(layer, codes.BLOCKED), x, y, z, u, v, w, rng
    elif kind == codes.BASE:
        opaque = True
    elif kind == codes.EMITTERS:
        opaque = on_face(program, program.layer_whole[layer, codes.GROUP], x, y)
    elif kind == codes.DIFFUSER and there(program, codes.DIFFUSER):
        alive, u, v, w, rng = diffuser.cross(program, layer, u, v, w, rng)
    elif kind == codes.IDEAL_LENS and there(program, codes.IDEAL_LENS):
        if not through(program, layer, x, y):
            return fate_at(layer, codes.BLOCKED), x, y, z, u, v, w, rng
        alive, u, v, w, rng = ideal_lens.cross(program, layer, x, y, u, v, w, rng)
    elif kind == codes.LENS_FACE and there(program, codes.LENS_FACE):
        outcome, x, y, z, u, v, w, rng = real_lens.cross(
            program, layer, wavelength, x, y, z, u, v, w, rng
        )
        if outcome == real_lens.LOST_AT_RIM:
            return fate_at(layer, codes.BLOCKED), x, y, z, u, v, w, rng
    elif kind == codes.END:
        return STOP, x, y, z, u, v, w, rng
    elif kind == codes.FRESNEL_LENS and there(program, codes.FRESNEL_LENS):
        if not through(program, layer, x, y):
            return fate_at(layer, codes.BLOCKED), x, y, z, u, v, w, rng
        outcome, u, v, w, rng = fresnel_lens.cross(program, layer, wavelength, x, y, u, v, w, rng)
        if outcome == fresnel_lens.AT_GROOVE_WALLS:
            return fate_at(layer, codes.GROOVE_WALLS), x, y, z, u, v, w, rng
        alive = outcome == fresnel_lens.LEFT
    elif kind == codes.CLEAR_PLATE and there(program, codes.CLEAR_PLATE):
        alive, u, v, w, rng = clear_plate.cross(program, layer, wavelength, u, v, w, rng)
    elif kind == codes.OPENING:
        if w < ZERO and not within(program.walls, x, y, program.layer_z[layer]):
            return fate_at(layer, codes.PASSED_BY), x, y, z, u, v, w, rng
    if opaque:
        alive, u, v, w, rng = meet_level(
            program.layer_real[layer, codes.REFLECTANCE],
            program.layer_real[layer, codes.SPECULAR_SHARE],
            u,
            v,
            w,
            rng,
        )
    return GOES_ON if alive else fate_at(layer, codes.ABSORBED), x, y, z, u, v, w, rng


@jit
def ahead(program, gap, layer, x, y, z, u, v, w):
    """Return (x, y, z, free): where the photon meets the next layer, if it is free to get there.

    The housing is convex: a photon inside it that would also be inside at the next layer meets no
    wall on the way, which most do, so the walls' distances are only sought otherwise.
    """
    z_next = program.layer_z[layer]
    distance = (z_next - z) / w
    x_next, y_next = x + distance * u, y + distance * v
    free = program.gap_side[gap] == codes.SIDE_FREE or within(program.walls, x_next, y_next, z_next)
    return x_next, y_next, z_next, free


@jit
def crossed_again(program, layer, rng):
    """Return (alive, rng) of a photon that comes to the pixels once more, from either side.

    The panel's transmittance is a factor after the count, which stands for one crossing; light that
    lenses send back crosses three times or more, and for these it is played.
    """
    rng = next_state(rng)
    kept = program.layer_real[layer, codes.PANEL_KEPT]
    return uniform_as(kept, rng) < kept, rng


@jit
def begin(program, seed, number):
    """Return (wavelength, gap, x, y, z, u, v, w, rng) of a history as it leaves its emitter."""
    rng = start(seed, number)
    wavelength = short(0)
    if program.traits & codes.WAVELENGTHS:
        rng = next_state(rng)
        numbered = uniform_as(program.panel_per_width, rng)
        wavelength = short(pick(numbered, program.wavelength_shares))
    group, x, y, u, v, w, rng = emit(program, seed, number, rng)
    # Unsigned: a place in an array is found without asking whether it counts from the end.
    gap = unsigned(program.emitter_whole[group, codes.EMITTER_LAYER])
    return wavelength, gap, x, y, program.layer_z[gap], u, v, w, rng


@jit
def follow(program, wavelength, gap, x, y, z, u, v, w, rng, events, waits, again, path):
    """Follow a photon until it ends, or, if it `waits`, until it comes to a part that takes long.

    It waits before film and the panel's pixels, but no more once it has met these. If `again`, it
    comes from a wait, and stands before the part for which it waited. `events` counts surfaces met.
    `path` is None, or a float array [EVENT_LIMIT + 2, 3] that receives the points behind the first.

    Returns (fate, events, wavelength, met_panel, panel_ray, stop_place, last_ray, state): the
    number of the wavelength; (x, y, u, v, w) in which it last arrived at the panel's pixels from
    the lamp side; (x, y) of its last way through the stop; (x, y, z, u, v, w) at the last layer it
    met; all in mm. `state` is (gap, rng): that beyond the layer where it waits.
    """
    met_panel = False
    x_panel, y_panel, u_panel, v_panel, w_panel = x, y, u, v, w
    x_stop, y_stop = x, y
    fate = GOES_ON
    while fate == GOES_ON:
        events = short(events + 1)
        if w == ZERO or events > codes.EVENT_LIMIT:
            fate = GUARD
            break
        layer = unsigned(gap + 1 if w > ZERO else gap)
        free = again
        if not again:
            x_next, y_next, z_next, free = ahead(program, gap, layer, x, y, z, u, v, w)
            if free:
                x, y, z = x_next, y_next, z_next
        if free:
            alive = True
            may_wait = waits and not met_panel and not again
            kind = program.layer_kind[layer]
            if kind == codes.STOP:
                x_stop, y_stop = x, y
            elif kind == codes.PANEL and panel.where(program, layer, x, y) == panel.PIXELS:
                if met_panel:
                    alive, rng = crossed_again(program, layer, rng)
                if w > ZERO:
                    x_panel, y_panel, u_panel, v_panel, w_panel = x, y, u, v, w
                met_panel = True
            if path is not None:
                path[events, 0], path[events, 1], path[events, 2] = x, y, z
            if alive:
                fate, x, y, z, u, v, w, rng = meet_layer(
                    program, layer, kind, wavelength, x, y, z, u, v, w, rng, may_wait
                )
            else:
                fate = fate_at(layer, codes.ABSORBED)
            gap = unsigned(layer if w > ZERO else layer - 1)
            again = False
        else:
            choice = ABSORBS
            if program.gap_side[gap] == codes.SIDE_BARE:
                fate = SIDEWAYS
            else:
                choice, rng = choose_at_wall(program.walls, u, rng)
                if choice == ABSORBS:
                    fate = WALLS
            # Most that come to a wall end there, and then only a path asks where.
            if fate == GOES_ON or path is not None:
                wall, distance = next_wall(program.walls, x, y, z, u, v, w)
                if wall != NOWHERE:
                    x, y, z = x + distance * u, y + distance * v, z + distance * w
                    if fate == GOES_ON:
                        u, v, w, rng = turn_back(program.walls, wall, choice, u, v, w, rng)
                elif fate == GOES_ON:
                    # No wall lies ahead of what is about to leave the housing: rounding.
                    fate = GUARD
                if path is not None:
                    path[events, 0], path[events, 1], path[events, 2] = x, y, z
    return (
        fate,
        events,
        wavelength,
        met_panel,
        (x_panel, y_panel, u_panel, v_panel, w_panel),
        (x_stop, y_stop),
        (x, y, z, u, v, w),
        (gap, rng),
    )
