"""The names of the fates that the kernel's codes stand for."""

from __future__ import annotations

from typing import NamedTuple

from photonsim.kernel import codes
from photonsim.program.layers import Layer

RIMMED = (codes.STOP, codes.IDEAL_LENS, codes.LENS_FACE, codes.FRESNEL_LENS)
# A face of glass takes nothing, a stop only what its rim does.
ABSORBING = (
    codes.BASE,
    codes.EMITTERS,
    codes.DIFFUSER,
    codes.PRISM_FILM,
    codes.CLEAR_PLATE,
    codes.PANEL,
    codes.IDEAL_LENS,
)


class Fate(NamedTuple):
    """One way for a photon to end: its code, a name for people, and what kind of end it is.

    `group` is one of 'stop', 'absorbed', 'blocked', 'escaped', 'guard'.
    """

    code: int
    name: str
    group: str


def fates_of(layers: list[Layer]) -> list[Fate]:
    """Return every fate that a stack of layers allows, by rising code."""
    at_stop = layers[-2].kind == codes.STOP
    fates = [
        Fate(codes.FATE_STOP, "through the stop" if at_stop else "through the objective", "stop"),
        Fate(codes.FATE_GUARD, "given up (numerical guard)", "guard"),
        Fate(codes.FATE_SIDEWAYS, "escaped sideways", "escaped"),
        Fate(codes.FATE_WALLS, "absorbed by walls", "absorbed"),
    ]
    for number, layer in enumerate(layers):
        name = f"{layer.name} ({layer.side} side)" if layer.side else layer.name
        if layer.kind == codes.OPENING:
            fates.append(_fate(number, codes.PASSED_BY, f"escaped outside the {name}"))
        elif layer.kind in ABSORBING:
            fates.append(_fate(number, codes.ABSORBED, f"absorbed by {name}"))
        elif layer.kind == codes.FRESNEL_LENS:
            fates.append(_fate(number, codes.ABSORBED, f"trapped in {name}"))
        if layer.kind in RIMMED:
            fates.append(_fate(number, codes.BLOCKED, f"stopped by rim of {name}"))
        if layer.kind == codes.PANEL:
            fates.append(_fate(number, codes.PASSED_BY, f"escaped past {name}"))
        if layer.kind == codes.FRESNEL_LENS:
            code = codes.layer_fate(number, codes.GROOVE_WALLS)
            fates.append(Fate(code, f"lost at groove walls and tips of {name}", "absorbed"))
    return fates


def _fate(layer: int, how: int, name: str) -> Fate:
    group = {codes.ABSORBED: "absorbed", codes.BLOCKED: "blocked", codes.PASSED_BY: "escaped"}
    return Fate(codes.layer_fate(layer, how), name, group[how])
