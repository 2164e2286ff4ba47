"""What the kernel is told of a light plate: its dots, what lies behind it, and its four edges."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from photonsim.arrays import Reals
from photonsim.kernel import codes
from photonsim.scene import Emitter, LightPlate
from photonsim.scene.light_plate import graded_along

# A table of dots is told at so many even steps along the plate.
DOT_STEPS = 1025
FINISHES = {
    "bare": codes.BARE_EDGE,
    "mirrored": codes.MIRRORED_EDGE,
    "white": codes.WHITE_EDGE,
}


def back_of(
    part: LightPlate, size_mm: tuple[float, float], groups: Sequence[Emitter]
) -> tuple[Reals, Reals | None]:
    """Return the columns of the plate's back, and the table of its dots if they have one.

    `size_mm` is its width and height, `groups` all emitters. The way on which dots depend begins
    at the lit edge for a table, else where they are densest: see kernel.light_plate.dot_share.
    """
    real = np.zeros(codes.LAYER_REALS)
    real[codes.PLATE_ABSORPTION] = part.absorption_per_mm
    real[codes.DOT_REFLECTANCE] = part.dot_reflectance
    reflector = part.reflector
    real[codes.REFLECTOR_REFLECTANCE] = -1.0 if reflector is None else reflector.reflectance
    if reflector is not None:
        real[codes.REFLECTOR_SPECULAR_SHARE] = reflector.specular_share
    edge, from_both = graded_along(groups)
    axis = "xy".index(edge[1])
    half = 0.5 * size_mm[axis]
    real[codes.DOTS_X + axis] = 1.0 if edge[0] == "-" else -1.0
    if part.dots is not None:
        real[codes.DOTS_FROM] = half
        real[codes.DOTS_PER_MM] = 0.5 / half
        places = np.linspace(0.0, 2.0 * half, DOT_STEPS)
        return real, np.interp(places, part.dots.from_edge_mm, part.dots.share)
    real[codes.DOT_SHARE] = part.dot_share or 0.0
    if part.dot_drain_mm is not None:
        real[codes.DOTS_PER_MM] = 1.0 / part.dot_drain_mm
        real[codes.DOTS_FROM] = 0.0 if from_both else -half
    return real, None


def front_of(part: LightPlate, size_mm: tuple[float, float], groups: Sequence[Emitter]) -> Reals:
    """Return the columns of the plate's front: the finish of each edge, and its share.

    Emitters in contact take what comes back to where they are; light through air leaves by the
    clear edge anywhere.
    """
    real = np.zeros(codes.LAYER_REALS)
    for number, edge in enumerate(codes.EDGES):
        lit = [group for group in groups if group.edge == edge]
        real[codes.EDGE_FINISH + number] = codes.LIT_EDGE if lit else FINISHES[part.edges]
        area = size_mm[1 - number // 2] * part.thickness_mm
        covered = sum(g.face_mm2 * g.count for g in lit if g.coupling == "contact") / area
        real[codes.EDGE_SHARE + number] = min(covered, 1.0) if lit else part.edge_reflectance
    return real
