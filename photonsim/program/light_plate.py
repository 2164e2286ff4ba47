"""What the kernel is told of a light plate: its dots, what lies behind it, and its four edges."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from photonsim.arrays import Reals
from photonsim.kernel import codes
from photonsim.scene import Emitter, LightPlate

# A table of dots is told at so many even steps along the plate.
DOT_STEPS = 1025


def write_plate(
    back: Reals,
    front: Reals,
    part: LightPlate,
    size_mm: tuple[float, float],
    groups: Sequence[Emitter],
) -> Reals | None:
    """Fill in the columns of the plate's two faces; return the table of its dots if it has one.

    `size_mm` is its width and height, `groups` all emitters. Those in contact with an edge take
    what comes back to where they are; light through air leaves by the clear edge anywhere. The way
    on which dots depend begins at the first lit edge for a table, or at the lower of two; else
    where they are densest, far from one lit edge or between two: see kernel.light_plate.dot_share.
    """
    for number, edge in enumerate(codes.EDGES):
        lit = [group for group in groups if group.edge == edge]
        area = size_mm[1 - number // 2] * part.thickness_mm
        covered = sum(g.face_mm2 * g.count for g in lit if g.coupling == "contact") / area
        front[codes.EDGE_FINISH + number] = codes.FINISHES.index("lit" if lit else part.edges)
        front[codes.EDGE_SHARE + number] = min(covered, 1.0) if lit else part.edge_reflectance
    back[codes.REFLECTOR_REFLECTANCE] = -1.0
    if part.reflector is not None:
        back[codes.REFLECTOR_REFLECTANCE] = part.reflector.reflectance
        back[codes.REFLECTOR_SPECULAR_SHARE] = part.reflector.specular_share
    edges = [group.edge for group in groups if group.edge is not None] or ["-x"]
    sign, along = edges[0]
    from_both = {"-" + along, "+" + along} <= set(edges)
    axis = "xy".index(along)
    half = 0.5 * size_mm[axis]
    back[codes.DOTS_X + axis] = 1.0 if from_both or sign == "-" else -1.0
    if part.dots is not None:
        back[codes.DOTS_FROM] = half
        back[codes.DOTS_PER_MM] = 0.5 / half
        places = np.linspace(0.0, 2.0 * half, DOT_STEPS)
        return np.interp(places, part.dots.from_edge_mm, part.dots.share)
    back[codes.DOT_SHARE] = part.dot_share or 0.0
    if part.dot_drain_mm is not None:
        back[codes.DOTS_PER_MM] = 1.0 / part.dot_drain_mm
        back[codes.DOTS_FROM] = 0.0 if from_both else -half
    return None
