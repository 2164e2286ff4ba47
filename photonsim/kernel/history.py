"""The life of one photon, from an emitter to its fate."""

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
from photonsim.kernel.housing import NOWHERE, meet_wall, next_wall, within
from photonsim.kernel.numbers import ZERO, unsigned
from photonsim.kernel.random import MOST_DRAWS, STEP, draws_of, start, uniform_as
from photonsim.kernel.strips import covered
from photonsim.kernel.surface import meet_level

GOES_ON = -1
# No wall lies ahead of a photon that is about to leave the housing: rounding, given up.
LOST = -1


@jit
def there(program, kind):
    """Tell whether a program has any layer of a kind: known when compiling for a GPU."""
    return program.traits & (1 << kind) != 0


@jit
def meet_layer(program, layer, wavelength, x, y, z, u, v, w, rng):
    """Return (fate, x, y, z, u, v, w, rng) after meeting a layer; GOES_ON for a live photon.

    This is the one place where the kernel chooses among the kinds of parts.
    """
    kind = program.layer_kind[layer]
    here = codes.FATE_LAYERS + codes.FATES_PER_LAYER * layer
    alive, opaque = True, False
    if codes.DIFFUSER <= kind <= codes.CLEAR_PLATE and not covered(program, layer, x, y):
        return GOES_ON, x, y, z, u, v, w, rng
    if kind == codes.PRISM_FILM and there(program, codes.PRISM_FILM):
        outcome, u, v, w, rng = prism_film.cross(program, layer, wavelength, u, v, w, rng)
        if outcome < 0:
            return codes.FATE_GUARD, x, y, z, u, v, w, rng
        alive = outcome == 1
    elif kind == codes.PANEL:
        part = panel.where(program, layer, x, y)
        if part == panel.BESIDE:
            return here + codes.PASSED_BY, x, y, z, u, v, w, rng
        if part == panel.PIXELS:
            alive, u, v, w, rng = panel.cross(program, layer, u, v, w, rng)
        else:
            opaque = True
    elif kind == codes.STOP:
        if not through(program, layer, x, y):
            return here + codes.BLOCKED, x, y, z, u, v, w, rng
    elif kind == codes.BASE:
        opaque = True
    elif kind == codes.EMITTERS:
        opaque = on_face(program, program.layer_whole[layer, codes.GROUP], x, y)
    elif kind == codes.DIFFUSER and there(program, codes.DIFFUSER):
        alive, u, v, w, rng = diffuser.cross(program, layer, u, v, w, rng)
    elif kind == codes.IDEAL_LENS and there(program, codes.IDEAL_LENS):
        if not through(program, layer, x, y):
            return here + codes.BLOCKED, x, y, z, u, v, w, rng
        alive, u, v, w, rng = ideal_lens.cross(program, layer, x, y, u, v, w, rng)
    elif kind == codes.LENS_FACE and there(program, codes.LENS_FACE):
        outcome, x, y, z, u, v, w, rng = real_lens.cross(
            program, layer, wavelength, x, y, z, u, v, w, rng
        )
        if outcome == real_lens.LOST_AT_RIM:
            return here + codes.BLOCKED, x, y, z, u, v, w, rng
    elif kind == codes.END:
        return codes.FATE_STOP, x, y, z, u, v, w, rng
    elif kind == codes.FRESNEL_LENS and there(program, codes.FRESNEL_LENS):
        if not through(program, layer, x, y):
            return here + codes.BLOCKED, x, y, z, u, v, w, rng
        alive, u, v, w, rng = fresnel_lens.cross(program, layer, wavelength, x, y, u, v, w, rng)
    elif kind == codes.CLEAR_PLATE and there(program, codes.CLEAR_PLATE):
        alive, u, v, w, rng = clear_plate.cross(program, layer, wavelength, u, v, w, rng)
    elif kind == codes.OPENING:
        if w < ZERO and not within(program.walls, x, y, program.layer_z[layer]):
            return here + codes.PASSED_BY, x, y, z, u, v, w, rng
    if opaque:
        alive, u, v, w, rng = meet_level(
            program.layer_real[layer, codes.REFLECTANCE],
            program.layer_real[layer, codes.SPECULAR_SHARE],
            u,
            v,
            w,
            rng,
        )
    return GOES_ON if alive else here + codes.ABSORBED, x, y, z, u, v, w, rng


@jit
def advance(program, gap, layer, x, y, z, u, v, w):
    """Return (x, y, z, wall): where the photon meets the next layer, or the wall that is nearer.

    The housing is convex: a photon inside it that would also be inside at the next layer meets no
    wall on the way, which most do, so the walls' distances are only sought otherwise.
    """
    z_next = program.layer_z[layer]
    distance = (z_next - z) / w
    x_next, y_next = x + distance * u, y + distance * v
    if program.gap_side[gap] == codes.SIDE_FREE or within(program.walls, x_next, y_next, z_next):
        return x_next, y_next, z_next, NOWHERE
    wall, distance = next_wall(program.walls, x, y, z, u, v, w)
    if wall == NOWHERE:
        return x_next, y_next, z_next, LOST
    return x + distance * u, y + distance * v, z + distance * w, wall


@jit
def crossed_again(program, layer, rng):
    """Return (alive, rng) of a photon that comes to the pixels once more, from either side.

    The panel's transmittance is a factor after the count, which stands for one crossing; light that
    lenses send back crosses three times or more, and for these it is played.
    """
    rng = rng + STEP
    kept = program.layer_real[layer, codes.PANEL_KEPT]
    return uniform_as(kept, rng) < kept, rng


@jit
def trace_history(program, seed, number, path):
    """Trace history `number` of `seed` (both uint64) and return what became of it.

    Returns (fate, events, wavelength, met_panel, panel_ray, stop_place, last_ray): the number of
    the wavelength; (x, y, u, v, w) in which it last arrived at the panel's pixels from the lamp
    side; (x, y) of its last way through the stop; (x, y, z, u, v, w) where it ended; all in mm.
    `path` is None, or a float array [EVENT_LIMIT + 2, 3] that receives the points of the path.
    """
    rng = start(seed, number)
    wavelength = 0
    if program.traits & codes.WAVELENGTHS:
        rng = rng + STEP
        wavelength = pick(uniform_as(program.panel_per_width, rng), program.wavelength_shares)
    group, x, y, u, v, w, rng = emit(program, seed, number, rng)
    # Unsigned: a place in an array is found without asking whether it counts from the end.
    gap = unsigned(program.emitter_whole[group, codes.EMITTER_LAYER])
    z = program.layer_z[gap]
    met_panel = False
    x_panel, y_panel, u_panel, v_panel, w_panel = x, y, u, v, w
    x_stop, y_stop = x, y
    if path is not None:
        path[0, 0], path[0, 1], path[0, 2] = x, y, z
    fate = GOES_ON
    events = 0
    while fate == GOES_ON:
        events += 1
        if w == ZERO or events > codes.EVENT_LIMIT:
            fate = codes.FATE_GUARD
            break
        layer = unsigned(gap + 1 if w > ZERO else gap)
        x_next, y_next, z_next, wall = advance(program, gap, layer, x, y, z, u, v, w)
        x, y, z = x_next, y_next, z_next
        if path is not None:
            path[events, 0], path[events, 1], path[events, 2] = x, y, z
        if wall == NOWHERE:
            alive = True
            if layer >= program.panel_layer:
                if layer == program.stop_layer:
                    x_stop, y_stop = x, y
                elif layer == program.panel_layer:
                    if panel.where(program, layer, x, y) == panel.PIXELS:
                        if met_panel:
                            alive, rng = crossed_again(program, layer, rng)
                        if w > ZERO:
                            x_panel, y_panel, u_panel, v_panel, w_panel = x, y, u, v, w
                        met_panel = True
            if alive:
                fate, x, y, z, u, v, w, rng = meet_layer(
                    program, layer, wavelength, x, y, z, u, v, w, rng
                )
            else:
                fate = codes.FATE_LAYERS + codes.FATES_PER_LAYER * layer + codes.ABSORBED
            gap = unsigned(layer if w > ZERO else layer - 1)
        elif wall == LOST:
            fate = codes.FATE_GUARD
        elif program.gap_side[gap] == codes.SIDE_BARE:
            fate = codes.FATE_SIDEWAYS
        else:
            alive, u, v, w, rng = meet_wall(program.walls, wall, u, v, w, rng)
            if not alive:
                fate = codes.FATE_WALLS
    # Its numbers would be those of the next history too. 25,000 were the most that any scene drew
    # within EVENT_LIMIT surfaces (195 prism films of 40 degrees, n = 2.5, in a box of white walls).
    if draws_of(seed, number, rng) > MOST_DRAWS:
        fate = codes.FATE_GUARD
    return (
        fate,
        events,
        wavelength,
        met_panel,
        (x_panel, y_panel, u_panel, v_panel, w_panel),
        (x_stop, y_stop),
        (x, y, z, u, v, w),
    )
