"""The order of things: a scene's base, emitters, parts and openings as a stack of layers."""

from __future__ import annotations

from typing import NamedTuple

from photonsim.kernel import codes
from photonsim.scene import PrismFilm, RealLens, Scene
from photonsim.scene.real_lens import cemented

KIND_CODES = {kind.name: kind.code for kind in codes.PARTS}


class Layer(NamedTuple):
    """One plane of the stack: its kind (kernel.codes), name and height in mm.

    The two faces of a real lens or a thick sheet are layers of its name, `side` 'lamp' and
    'screen'; of two lenses cemented together only one face is there where they meet, as the screen
    side of the first. Those of a light plate are of two kinds. The matt flat side of a film is a
    diffuser's layer of the film's name, `side` 'back'.
    """

    kind: int
    name: str
    z_mm: float
    side: str = ""


def layers_of(scene: Scene) -> list[Layer]:
    """Return the layers from the base up.

    Openings are planes of no substance: they stand where the walls begin or end and at the
    housing's mouth, so that every gap between two layers has one kind of side.
    """
    on_board = {name: group for name, group in scene.emitters.items() if group.edge is None}
    middle = [Layer(codes.EMITTERS, name, group.z_mm) for name, group in on_board.items()]
    middle += _parts(scene)
    mouths = {scene.housing.depth_mm: "housing's mouth"}
    walls = scene.housing.wall_range_mm
    if walls is not None:
        edges = zip(walls, ("walls' edge to the lamp", "walls' edge to the screen"), strict=True)
        mouths |= {z: name for z, name in edges if 0.0 < z < scene.housing.depth_mm}
    middle += [Layer(codes.OPENING, name, _out_of_thick(scene, z)) for z, name in mouths.items()]
    # sorted() is stable: at one height emitters come first, then parts, then openings.
    middle.sort(key=lambda layer: layer.z_mm)
    return [
        Layer(codes.BASE, "base", 0.0),
        *middle,
        Layer(codes.END, "end of the train", middle[-1].z_mm),
    ]


def _out_of_thick(scene: Scene, z_mm: float) -> float:
    """Return a height, or that of the front of a thick part within which it lies.

    Nothing may come between the two layers of one; light within it sees no walls.
    """
    thick = [part for part in scene.train.values() if part.is_thick]
    return next((part.end_mm for part in thick if part.z_mm < z_mm < part.end_mm), z_mm)


def cemented_to(scene: Scene, name: str) -> RealLens | None:
    """Return the lens whose lamp side is the screen side of the lens `name`, if there is one."""
    names = list(scene.train)
    place = names.index(name)
    before = scene.train[name]
    after = scene.train[names[place + 1]] if place + 1 < len(names) else None
    return after if isinstance(after, RealLens) and cemented(before, after) else None


def _parts(scene: Scene) -> list[Layer]:
    layers: list[Layer] = []
    has_face = False
    for name, part in scene.train.items():
        kind = KIND_CODES[part.kind]
        faces = [Layer(kind, name, part.z_mm)]
        if kind == codes.LIGHT_PLATE:
            faces.append(Layer(codes.LIGHT_PLATE_FRONT, name, part.end_mm))
        elif kind == codes.LENS_FACE or part.is_thick:
            faces = [Layer(kind, name, part.z_mm, "lamp"), Layer(kind, name, part.end_mm, "screen")]
        if isinstance(part, PrismFilm) and part.back is not None:
            back = Layer(codes.DIFFUSER, name, part.back.z_mm, "back")
            faces.insert(0 if part.ridges == "to_screen" else len(faces), back)
        layers += faces[1:] if has_face else faces
        has_face = cemented_to(scene, name) is not None
    return layers


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
