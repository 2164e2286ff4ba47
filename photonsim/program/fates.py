"""The names of the fates that the kernel's codes stand for."""

from __future__ import annotations

from typing import NamedTuple

from photonsim.kernel import codes
from photonsim.program.layers import Layer


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
        for how, group, words in codes.KINDS[layer.kind].fates:
            fates.append(Fate(codes.layer_fate(number, how), words.format(name), group))
    return fates
