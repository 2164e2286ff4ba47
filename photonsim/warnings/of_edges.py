"""Warnings about the picture's edges: whether the lamp reaches them, as the stop sees it."""

from __future__ import annotations

from collections.abc import Iterator

from photonsim.optics.reach import Edge, edges_of
from photonsim.scene import Emitter, Scene
from photonsim.scene.light_plate import plates_of
from photonsim.scene.mistakes import join_path
from photonsim.warnings.warning import SceneWarning
from photonsim.words.text import number

# Darker than this an edge strikes the eye, and by so much the lamp itself must be the reason.
DARK = 0.66


def edge_warnings(scene: Scene) -> Iterator[SceneWarning]:
    """SceneWarning a lamp that sends little light through the edges of the picture to the stop."""
    edges = {edge.name: edge for edge in edges_of(scene)}
    name, group = max(
        scene.emitters.items(), key=lambda item: (item[1].flux_lm * item[1].count, item[0])
    )
    for axis, sides in enumerate((("left", "right"), ("top", "bottom"))):
        found = [edges[side] for side in sides if side in edges]
        dark = [edge for edge in found if edge.lit < DARK and not edge.is_guess]
        if dark:
            key, value = _extent(group, axis)
            path, lamp = join_path("emitters", name, key), "emitters that reach"
            for plate in plates_of(scene.train) if group.edge else ():
                key = ("width_mm", "height_mm")[axis]
                path, value = join_path("train", plate, key), scene.part_size_mm(plate)[axis]
                lamp = "a plate that reaches"
            yield SceneWarning(path, value, _why(dark), _usual(dark, lamp))


def _why(dark: list[Edge]) -> str:
    sides = " and ".join(edge.name for edge in dark)
    edge, gets = ("edges", "get") if len(dark) > 1 else ("edge", "gets")
    light = sum(edge.light for edge in dark) / len(dark)
    much = f"about {light:.1f}" if light >= 0.05 else "next to none"
    return (
        f"the picture's {sides} {edge} {gets} {much} of its mean light: the stop sees past the "
        "lamp there"
    )


def _usual(dark: list[Edge], lamp: str) -> str:
    beyond = max(edge.beyond_mm for edge in dark)
    if beyond > 0.0:
        return f"even light there asks for {lamp} {number(beyond, 2)} mm farther out"
    return f"usual: {lamp} as far as the picture, or farther"


def _extent(group: Emitter, axis: int) -> tuple[str, float]:
    """Return the key, and its value, that says how far a group of emitters reaches."""
    count = (group.columns, group.rows)[axis]
    if count > 1:
        return ("columns", "rows")[axis], count
    if group.shape == "disc":
        return "diameter_mm", group.size_mm[axis]
    return ("width_mm", "height_mm")[axis], group.size_mm[axis]
