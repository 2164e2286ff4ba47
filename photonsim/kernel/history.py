"""The life of one photon, from an emitter to its fate."""

from importlib import import_module
from typing import Any, NamedTuple

from photonsim.kernel import codes, panel
from photonsim.kernel.compiler import jit
from photonsim.kernel.emitters import emit, on_face, pick
from photonsim.kernel.housing import NOWHERE, choose_at_wall, next_wall, turn_back, within
from photonsim.kernel.light_plate import put_at_edge
from photonsim.kernel.numbers import ZERO, short, typed, unsigned
from photonsim.kernel.photon import (
    GOES_ON,
    GUARD,
    SIDEWAYS,
    STOP,
    WAITS,
    WALLS,
    Photon,
    drawn,
    fate_at,
    passed_by,
    placed,
)
from photonsim.kernel.random import next_state, start, uniform_as
from photonsim.kernel.strips import covered
from photonsim.kernel.surface import ABSORBS, meet_level
from photonsim.kernel.thick_sheet import halfway, thickness_of


@jit
def there(program, kind):
    """Tell whether a program has any layer of a kind: known when compiling for a GPU."""
    return program.traits & (1 << kind) != 0


def crossing(parts):
    """Return the function that lets a photon cross whichever of these kinds of parts it has met.

    Each kind asks and hands on to the next: functions in one another, made once, that the compiler
    folds into one row of comparisons. A kind without a file or a function fails here.
    """
    if not parts:
        return meet_nothing
    code = parts[0].code
    cross = import_module(f"photonsim.kernel.{parts[0].name}").cross
    cross_another = crossing(parts[1:])

    @jit
    def cross_this_or_another(program, layer, kind, wavelength, photon):
        if kind == code and there(program, code):
            return cross(program, layer, wavelength, photon)
        return cross_another(program, layer, kind, wavelength, photon)

    return cross_this_or_another


@jit
def meet_nothing(program, layer, kind, wavelength, photon):
    """Return (fate, photon) at a layer that is no part: it goes on."""
    return GOES_ON, photon


NOT_PLAIN = (codes.LIGHT_PLATE, *codes.POLARISERS)
cross_any = crossing((*codes.PARTS, *codes.SECOND_FACES))
cross_plain = crossing([kind for kind in codes.PARTS if kind.code not in NOT_PLAIN])


@jit
def meet_layer(program, layer, kind, wavelength, photon, may_wait, plates):
    """Return (fate, photon) after meeting a layer; GOES_ON for a live photon.

    Where it `may_wait`, a photon that comes to prism film or to the panel's pixels is returned as
    it is, with WAITS. `plates` is None where there is no light plate, nor a polariser: what happens
    within a plate takes a third of the time to compile.
    """
    x, y = photon.x, photon.y
    opaque = False
    if kind == codes.BASE:
        opaque = True
    elif kind == codes.PANEL:
        part = panel.where(program, layer, x, y)
        if part == panel.BESIDE:
            return passed_by(layer, photon)
        if part == panel.PIXELS and may_wait:
            return WAITS, photon
        opaque = part == panel.FRAME
    elif kind == codes.EMITTERS:
        opaque = on_face(program, program.layer_whole[layer, codes.GROUP], x, y)
    elif kind == codes.END:
        return STOP, photon
    elif kind == codes.OPENING:
        if photon.w < ZERO and not within(program.walls, x, y, program.layer_z[layer]):
            return passed_by(layer, photon)
        return GOES_ON, photon
    elif not covered(program, layer, x, y):
        return GOES_ON, photon
    elif kind == codes.PRISM_FILM and may_wait:
        return WAITS, photon
    if opaque:
        return meet_level(program, layer, photon)
    thickness = thickness_of(program, layer)
    if thickness * photon.w < ZERO:
        # From within.
        return GOES_ON, photon
    if thickness != ZERO:
        photon = halfway(program, layer, wavelength, photon)
    if plates is None:
        fate, photon = cross_plain(program, layer, kind, wavelength, photon)
    else:
        fate, photon = cross_any(program, layer, kind, wavelength, photon)
    if thickness != ZERO and fate == GOES_ON:
        photon = halfway(program, layer, wavelength, photon)
    return fate, photon


@jit
def ahead(program, gap, layer, photon):
    """Return (photon, free): at the next layer, if it is free to get there, else where it was.

    The housing is convex: a photon inside it that would also be inside at the next layer meets no
    wall on the way, which most do, so the walls' distances are only sought otherwise.
    """
    z = program.layer_z[layer]
    distance = (z - photon.z) / photon.w
    x, y = photon.x + distance * photon.u, photon.y + distance * photon.v
    if program.gap_side[gap] == codes.SIDE_FREE or within(program.walls, x, y, z):
        return placed(photon, x, y, z), True
    return photon, False


@jit
def begin(program, seed, number, light):
    """Return (wavelength, gap, photon, at_part) of a history as its light leaves an emitter.

    `at_part`: it starts at a light plate's edge, and so meets that plate without a flight.
    """
    rng = start(seed, number)
    wavelength = short(0)
    if program.traits & codes.WAVELENGTHS:
        rng = next_state(rng)
        numbered = uniform_as(program.panel_per_width, rng)
        wavelength = short(pick(numbered, program.wavelength_shares))
    group, x, y, u, v, w, rng = emit(program, seed, number, rng)
    # Unsigned: a place in an array is found without asking whether it counts from the end.
    gap = unsigned(program.emitter_whole[group, codes.EMITTER_LAYER])
    photon = Photon(x, y, program.layer_z[gap], u, v, w, rng, light)
    form = program.emitter_whole[group, codes.FORM]
    at_part = there(program, codes.LIGHT_PLATE) and form >= codes.FIRST_EDGE
    if at_part:
        photon = put_at_edge(program, gap, form - codes.FIRST_EDGE, photon)
    return wavelength, gap, photon, at_part


class Seen(NamedTuple):
    """What a history has behind it that is counted at its end."""

    met_panel: Any
    at_panel: Any  # the photon as it last arrived at the panel's pixels from the lamp side
    x_stop: Any  # mm, its widest way through the stop since
    y_stop: Any
    lead: Any  # how far it came for the surfaces it met: see went_straight


@jit
def has_met_panel(seen, flight):
    """Tell whether a photon has met the panel's pixels."""
    return seen.met_panel


@jit
def met_panel(seen, flight, photon, lead):
    """Return what is behind a photon that has come to the pixels."""
    if photon.w > ZERO:
        none = typed(photon.x, 0.0)
        return Seen(True, photon, none, none, lead)
    return Seen(True, seen.at_panel, seen.x_stop, seen.y_stop, seen.lead)


@jit
def met_stop(seen, flight, photon):
    """Return what is behind a photon that has come to the stop.

    Light that glass throws back comes more than once, and a smaller stop would end it at its
    widest.
    """
    x, y = seen.x_stop, seen.y_stop
    if photon.x * photon.x + photon.y * photon.y >= x * x + y * y:
        x, y = photon.x, photon.y
    return Seen(seen.met_panel, seen.at_panel, x, y, seen.lead)


@jit
def went_straight(lead, gap, events):
    """Tell whether a photon has met each layer once since it met the panel's pixels."""
    return short(gap - events) == lead


def follower(has_met_panel, met_panel, met_stop, takes_turns):
    """Return the function that follows a photon, by three that keep in mind what it has met.

    They do so in `seen`, or in `flight`, a place in memory: see kernel.turns. One that
    `takes_turns` returns, with GOES_ON, behind each part from the panel on.
    """

    @jit
    def follow_on(
        program, wavelength, gap, photon, events, seen, flight, waits, again, path, plates
    ):
        """Return (fate, events, seen, photon, gap): see follow."""
        fate = GOES_ON
        pauses = False
        while fate == GOES_ON and not pauses:
            events = short(events + 1)
            if photon.w == ZERO or events > codes.EVENT_LIMIT:
                fate = GUARD
                break
            layer = unsigned(gap + 1 if photon.w > ZERO else gap)
            free = again
            if not again:
                photon, free = ahead(program, gap, layer, photon)
            if free:
                alive = True
                may_wait = waits and not has_met_panel(seen, flight) and not again
                kind = program.layer_kind[layer]
                pauses = takes_turns and kind >= codes.PANEL
                if kind == codes.STOP:
                    seen = met_stop(seen, flight, photon)
                elif (
                    kind == codes.PANEL
                    and panel.where(program, layer, photon.x, photon.y) == panel.PIXELS
                ):
                    if not may_wait:
                        alive, photon = panel.reach_pixels(
                            program, layer, wavelength, photon, photon.light,
                            has_met_panel(seen, flight),
                        )  # fmt: skip
                    # Each turn back costs surfaces that bring it no further.
                    seen = met_panel(seen, flight, photon, short(layer - events))
                note(path, events, photon)
                if alive:
                    fate, photon = meet_layer(
                        program, layer, kind, wavelength, photon, may_wait, plates
                    )
                else:
                    fate = fate_at(layer, codes.ABSORBED)
                gap = unsigned(layer if photon.w > ZERO else layer - 1)
                again = False
            else:
                fate, photon = at_wall(program, gap, photon, path)
                note(path, events, photon)
        return fate, events, seen, photon, gap

    return follow_on


follow_on = follower(has_met_panel, met_panel, met_stop, False)


@jit
def follow(program, wavelength, gap, photon, events, waits, again, path, plates):
    """Follow a photon until it ends, or, if it `waits`, until it comes to a part that takes long.

    It waits before film and the panel's pixels, but no more once it has met these. If `again`, it
    stands before a part already: it comes from a wait for it, or from an emitter on its edge.
    `events` counts surfaces met.
    `path` is None, or a float array [EVENT_LIMIT + 2, 3] that receives the points behind the first.
    `plates` is as in meet_layer.

    Returns (fate, events, met_panel, at_panel, at_stop, straight, photon, gap): the photon as it
    last arrived at the panel's pixels from the lamp side; (x, y) in mm of its widest way through
    the stop since; whether it met each layer once since; the photon at the last layer it met, and
    the gap beyond that.
    """
    seen = Seen(False, photon, photon.x, photon.y, short(0))
    fate, events, seen, photon, gap = follow_on(
        program, wavelength, gap, photon, events, seen, None, waits, again, path, plates
    )
    at_stop, straight = (seen.x_stop, seen.y_stop), went_straight(seen.lead, gap, events)
    return fate, events, seen.met_panel, seen.at_panel, at_stop, straight, photon, gap


@jit
def at_wall(program, gap, photon, path):
    """Return (fate, photon) of one that meets what bounds a gap sideways."""
    fate, choice = GOES_ON, ABSORBS
    if program.gap_side[gap] == codes.SIDE_BARE:
        fate = SIDEWAYS
    else:
        choice, rng = choose_at_wall(program.walls, photon.u, photon.rng)
        photon = drawn(photon, rng)
        if choice == ABSORBS:
            fate = WALLS
    # Most that come to a wall end there, and then only a path asks where.
    if fate == GOES_ON or path is not None:
        wall, distance = next_wall(program.walls, photon)
        if wall != NOWHERE:
            photon = moved(photon, distance)
            if fate == GOES_ON:
                photon = turn_back(program.walls, wall, choice, photon)
        elif fate == GOES_ON:
            # No wall lies ahead of what is about to leave the housing: rounding.
            fate = GUARD
    return fate, photon


@jit
def moved(photon, distance):
    """Return a photon after so many mm of way."""
    x, y, z = photon.x, photon.y, photon.z
    u, v, w = photon.u, photon.v, photon.w
    return placed(photon, x + distance * u, y + distance * v, z + distance * w)


@jit
def note(path, point, photon):
    """Write where a photon is to a row of its path, if one is kept."""
    if path is not None:
        path[point, 0], path[point, 1], path[point, 2] = photon.x, photon.y, photon.z
