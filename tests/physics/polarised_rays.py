"""Rays of any state sent through the polarising sheets of a lamp, for the checks in this folder."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from photonsim.kernel import codes
from photonsim.kernel.entry import jit_entry
from photonsim.kernel.history import meet_layer
from photonsim.kernel.numbers import short
from photonsim.kernel.photon import GOES_ON, Photon
from photonsim.kernel.polarisation import Light
from photonsim.kernel.random import start
from photonsim.program import build_program
from photonsim.program.program import Program
from photonsim.scene import parse_scene
from tests.physics.tracing import box, emitter, stop, target

Reals = NDArray[np.float64]
IDEAL = "pass_transmittance = 1.0\nblock_transmittance = 0.0\n"


def sheet(number: int, pass_deg: float, figures: str = IDEAL, kind: str = "absorbing") -> str:
    """Return the TOML of a polariser, the number-th from the base."""
    return (
        f'[train.sheet_{number}]\nkind = "{kind}_polariser"\nz_mm = {5.0 + number}\n'
        f"pass_deg = {pass_deg}\nthickness_mm = 0.0\nwidth_mm = 50.0\nheight_mm = 50.0\n{figures}"
    )


def stack(*sheets: str) -> Program:
    """Return the program of a lamp with these sheets."""
    lamp = box(50.0, 4.0) + emitter() + "".join(sheets) + target(90.0, 50.0) + stop(91.0, 10.0)
    return build_program(parse_scene(lamp))


def acting_in(index: float, program: Program) -> Program:
    """Return a program whose polarisers, the panel's too, act in another index."""
    chosen = np.isin(program.layer_kind, (*codes.POLARISERS, codes.PANEL))
    return program._replace(layer_index=np.where(chosen[:, None], index, program.layer_index))


def in_air(program: Program) -> Program:
    """Return a program with bare sheets."""
    return acting_in(1.0, program)


def straight(program: Program) -> Program:
    """Return a program in which light in the sheets runs straight on, whatever its direction."""
    return acting_in(1e6, program)


@jit_entry
def meet_sheets(program, first, last, rays, states, seed, fates):
    """Let rays [n, 3] of states [n, 3] meet layers from the one side, until they have left them.

    rays, states and fates [n] receive what became of them. They meet sheets in the middle.
    """
    for number in range(rays.shape[0]):
        light = Light(states[number, 0], states[number, 1], states[number, 2], short(1))
        u, v, w = rays[number, 0], rays[number, 1], rays[number, 2]
        rng = start(seed, np.uint64(number))
        photon = Photon(0.0, 0.0, 0.0, u, v, w, rng, light)
        layer = first if w > 0.0 else last
        fate = GOES_ON
        while fate == GOES_ON and first <= layer <= last:
            fate, photon = meet_layer(
                program, layer, program.layer_kind[layer], 0, photon, False, True
            )
            layer = layer + 1 if photon.w > 0.0 else layer - 1
        fates[number] = fate
        rays[number, 0], rays[number, 1], rays[number, 2] = photon.u, photon.v, photon.w
        light = photon.light
        states[number, 0], states[number, 1], states[number, 2] = light.q, light.u, light.v


def sent(
    program: Program, rays: ArrayLike, states: ArrayLike, seed: int = 1
) -> tuple[NDArray[np.int64], Reals, Reals]:
    """Return (fates, rays, states) behind the polarisers of a program; see meet_sheets."""
    met = np.flatnonzero(np.isin(program.layer_kind, codes.POLARISERS))
    out, lights = np.array(rays, dtype=float), np.array(states, dtype=float)
    fates = np.empty(len(out), dtype=np.int64)
    meet_sheets(program, met[0], met[-1], out, lights, np.uint64(seed), fates)
    return fates, out, lights


def through(
    program: Program, direction: ArrayLike, state: ArrayLike, count: int, seed: int = 1
) -> int:
    """Return how many of a pencil of one direction and state pass all polarisers."""
    rays, states = (np.tile(np.array(one, dtype=float), (count, 1)) for one in (direction, state))
    fates, out, _ = sent(program, rays, states, seed)
    return int(((fates == GOES_ON) & (out[:, 2] * rays[:, 2] > 0.0)).sum())
