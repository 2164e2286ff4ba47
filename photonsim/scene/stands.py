"""Where the emitters of a scene stand, on the board or at the edges of a light plate."""

from __future__ import annotations

from typing import NamedTuple

from photonsim.scene.emitters import Emitter
from photonsim.scene.light_plate import plates_of
from photonsim.scene.scene import Scene


class Stand(NamedTuple):
    """Where a group of emitters stands: heights and places in mm, and the size of each face.

    The centres are all pairs of `columns_mm` (x) and `rows_mm` (y). `size_mm` is the extent along
    x, y and z: a face is flat, and lies across the axis or, on an edge, along it.
    """

    z_mm: float
    columns_mm: list[float]
    rows_mm: list[float]
    size_mm: tuple[float, float, float]


def stands_of(scene: Scene) -> dict[str, Stand]:
    """Return where each group of emitters stands, by its name."""
    return {name: _stand(scene, group) for name, group in scene.emitters.items()}


def _stand(scene: Scene, group: Emitter) -> Stand:
    width, height = group.size_mm
    along = group.columns_mm()
    if group.edge is None:
        return Stand(group.z_mm, along, group.rows_mm(), (width, height, 0.0))
    name, plate = next(iter(plates_of(scene.train).items()))
    middle = 0.5 * (plate.z_mm + plate.end_mm)
    axis = "xy".index(group.edge[1])
    place = [float(f"{group.edge[0]}{0.5 * scene.part_size_mm(name)[axis]}")]
    if axis == 0:
        return Stand(middle, place, along, (0.0, width, height))
    return Stand(middle, along, place, (width, 0.0, height))


def on_board(scene: Scene) -> dict[str, Emitter]:
    """Return the groups of emitters that stand on the board, by their names."""
    return {name: group for name, group in scene.emitters.items() if group.edge is None}


def glowing(scene: Scene) -> list[Emitter]:
    """Return what the panel is lit by, for first-order optics, as emitters that face the screen.

    A light plate with emitters on its edges stands for those: as large as its front, with all their
    light, even and Lambertian.
    """
    found = list(on_board(scene).values())
    flux = sum(group.flux_lm * group.count for group in scene.emitters.values() if group.edge)
    if flux:
        name, plate = next(iter(plates_of(scene.train).items()))
        width, height = scene.part_size_mm(name)
        found.append(Emitter(width_mm=width, height_mm=height, z_mm=plate.end_mm, flux_lm=flux))
    return found
