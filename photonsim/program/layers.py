"""The order of things: a scene's base, emitters, parts and openings as a stack of layers."""

from __future__ import annotations

from typing import NamedTuple

from photonsim.kernel import codes
from photonsim.scene import Scene

KIND_CODES = {
    "diffuser": codes.DIFFUSER,
    "prism_film": codes.PRISM_FILM,
    "clear_plate": codes.CLEAR_PLATE,
    "panel": codes.PANEL,
    "ideal_lens": codes.IDEAL_LENS,
    "aperture_stop": codes.STOP,
}


class Layer(NamedTuple):
    """One plane of the stack: its kind (kernel.codes), name and height in mm."""

    kind: int
    name: str
    z_mm: float


def layers_of(scene: Scene) -> list[Layer]:
    """Return the layers from the base up.

    Openings are planes of no substance: they stand where the walls begin or end and at the
    housing's mouth, so that every gap between two layers has one kind of side.
    """
    middle = [Layer(codes.EMITTERS, name, group.z_mm) for name, group in scene.emitters.items()]
    middle += [Layer(KIND_CODES[part.kind], name, part.z_mm) for name, part in scene.train.items()]
    mouths = {scene.housing.depth_mm: "housing's mouth"}
    walls = scene.housing.wall_range_mm
    if walls is not None:
        mouths |= {z: "walls" for z in walls if 0.0 < z < scene.housing.depth_mm}
    middle += [Layer(codes.OPENING, name, z) for z, name in mouths.items()]
    # sorted() is stable: at one height emitters come first, then parts, then openings.
    return [Layer(codes.BASE, "base", 0.0), *sorted(middle, key=lambda layer: layer.z_mm)]


def gap_sides(scene: Scene, layers: list[Layer]) -> list[int]:
    """Return what bounds the gap above each layer sideways: a wall, a bare side, or nothing."""
    walls = scene.housing.wall_range_mm
    sides = []
    for low, high in zip(layers, [*layers[1:], layers[-1]], strict=True):
        middle = 0.5 * (low.z_mm + high.z_mm)
        if middle >= scene.housing.depth_mm:
            sides.append(codes.SIDE_FREE)
        elif walls is not None and walls[0] <= middle <= walls[1]:
            sides.append(codes.SIDE_WALL)
        else:
            sides.append(codes.SIDE_BARE)
    return sides
