"""Two histories on a processor in turn: while one waits for its numbers, the other computes.

From one surface to the next a photon waits for a root or a division, and then for another. Behind
each part from the panel on, where its way is easily foreseen, it lets the other go on. Before that
no processor foresees it, and in turns would foresee it even less.
"""

import numpy as np

from photonsim.kernel.compiler import jit
from photonsim.kernel.guide import weight_of
from photonsim.kernel.history import begin, follower, went_straight
from photonsim.kernel.numbers import ZERO, short, typed
from photonsim.kernel.photon import GOES_ON, Photon
from photonsim.kernel.polarisation import Light


@jit
def has_met_panel(seen, flight):
    """Tell whether a photon has met the panel's pixels, as history.has_met_panel."""
    return flight["met_panel"] != 0


@jit
def met_panel(seen, flight, photon, lead):
    """Keep what is behind a photon that has come to the pixels, as history.met_panel."""
    if photon.w > ZERO:
        flight["panel_x"], flight["panel_y"] = photon.x, photon.y
        flight["panel_u"], flight["panel_v"], flight["panel_w"] = photon.u, photon.v, photon.w
        flight["stop_x"], flight["stop_y"] = typed(photon.x, 0.0), typed(photon.x, 0.0)
        flight["lead"] = lead
    flight["met_panel"] = 1
    return seen


@jit
def met_stop(seen, flight, photon):
    """Keep what is behind a photon that has come to the stop, as history.met_stop."""
    x, y = flight["stop_x"], flight["stop_y"]
    if photon.x * photon.x + photon.y * photon.y >= x * x + y * y:
        flight["stop_x"], flight["stop_y"] = photon.x, photon.y
    return seen


# All is kept in the flight.
NOTHING = np.int32(0)
follow_on = follower(has_met_panel, met_panel, met_stop, True)


@jit
def keep_light(flight, light):
    """Keep the state of a photon's light, if there is one."""
    if light is not None:
        flight["q_light"], flight["u_light"], flight["v_light"] = light.q, light.u, light.v
        flight["counts"] = light.counts


@jit
def kept_light(flight, light):
    """Return the light that is kept, of the kind of `light`; None where there is none."""
    if light is None:
        return light
    return Light(flight["q_light"], flight["u_light"], flight["v_light"], flight["counts"])


@jit
def keep(flight, photon):
    """Keep where a photon is."""
    flight["x"], flight["y"], flight["z"] = photon.x, photon.y, photon.z
    flight["u"], flight["v"], flight["w"] = photon.u, photon.v, photon.w
    flight["rng"] = photon.rng
    keep_light(flight, photon.light)


@jit
def take_off(program, seed, number, light, plates, flight):
    """Begin a history; `light` and `plates` are as in tally.trace_each."""
    wavelength, gap, photon, at_part = begin(program, seed, number, light)
    keep(flight, photon)
    flight["gap"], flight["events"] = gap, short(0)
    flight["number"], flight["wavelength"] = number, wavelength
    # Its slot is at hand now, and would have to be found again.
    flight["weight"] = weight_of(program, seed, number)
    flight["met_panel"] = 0
    if plates is not None:
        flight["at_part"] = at_part


@jit
def go_on(program, light, plates, flight):
    """Return (fate, photon) after a history's turn; GOES_ON where it is another's."""
    u, v, w = flight["u"], flight["v"], flight["w"]
    rng, its_light = flight["rng"], kept_light(flight, light)
    photon = Photon(flight["x"], flight["y"], flight["z"], u, v, w, rng, its_light)
    again = False
    if plates is not None:
        again = flight["at_part"] != 0
        flight["at_part"] = 0
    wavelength, gap, events = flight["wavelength"], flight["gap"], flight["events"]
    fate, events, _, photon, gap = follow_on(
        program, wavelength, gap, photon, events, NOTHING, flight, False, again, None, plates
    )
    flight["gap"], flight["events"] = gap, events
    if fate == GOES_ON:
        keep(flight, photon)
    return fate, photon


@jit
def at_end(flight, photon):
    """Return (at_panel, at_stop, straight) as history.follow does, of a photon that has ended.

    Of its light, only that is true which it has kept from the panel on: what it counts for.
    """
    x, y = flight["panel_x"], flight["panel_y"]
    u, v, w = flight["panel_u"], flight["panel_v"], flight["panel_w"]
    at_panel = Photon(x, y, photon.z, u, v, w, photon.rng, photon.light)
    straight = went_straight(flight["lead"], flight["gap"], flight["events"])
    return at_panel, (flight["stop_x"], flight["stop_y"]), straight
