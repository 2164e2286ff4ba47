"""Focus in words: where the objective must go, or why moving it makes no picture."""

from __future__ import annotations

import math

from photonsim.optics.focus import (
    FARTHEST_FOCAL_LENGTHS,
    least_move_mm,
    move_to_focus,
    moved,
    objective_parts,
)
from photonsim.optics.objective import objective_names
from photonsim.scene import Scene, cardinal_of
from photonsim.words.text import number


def move_words(scene: Scene, by_mm: float) -> str:
    """Say how far to move the objective, and the z_mm that its parts then have."""
    train = moved(scene, by_mm).train
    places = ", ".join(f"{name} {train[name].z_mm:.10g}" for name in objective_parts(scene))
    return f"move the objective {abs(by_mm):.10g} mm {_way(by_mm)} the panel (new z_mm: {places})"


def _way(by_mm: float) -> str:
    return "farther from" if by_mm > 0.0 else "nearer to"


def first_order_words(scene: Scene) -> str:
    """Say where rays near the axis would have the objective; they miss aberrations, so: about."""
    move = move_to_focus(scene)
    if move is None:
        return f"moving the objective cannot help: {obstacle(scene)}"
    return (
        f"rays near the axis ask for the objective about {number(abs(move), 2)} mm {_way(move)} "
        "the panel; a trace finds the place for all light"
    )


def obstacle(scene: Scene) -> str:
    """Say why no place of the objective brings the picture to a focus, and what would help."""
    names, panel = objective_names(scene), scene.panel.z_mm
    projection = scene.projection
    if not names:
        return "there is no lens at the stop; a projector needs an objective there"
    data = cardinal_of(scene.bends(names))
    focal = data.focal_mm
    if math.isinf(focal) or focal <= 0.0 or projection is None:
        return (
            f"the objective ({', '.join(names)}) does not gather light; it needs a positive focal "
            "length"
        )
    throw = projection.screen_mm - data.back_principal_mm
    nearest = focal * FARTHEST_FOCAL_LENGTHS / (FARTHEST_FOCAL_LENGTHS - 1.0)
    if throw < nearest:
        return (
            f"the screen is {number(throw)} mm from an objective of f = {number(focal)} mm; move "
            f"the screen to {number(nearest)} mm or more, or take an objective of f = "
            f"{number(throw / nearest * focal)} mm or less"
        )
    before = max(
        (part.end_mm, name)
        for name, part in scene.train.items()
        if name not in objective_parts(scene)
    )[1]
    wanted = focal * throw / (throw - focal)
    closest = data.front_principal_mm + least_move_mm(scene) - panel
    return (
        f"it would have to stand about {number(wanted)} mm from the panel, but {before} keeps it "
        f"{number(closest)} mm away; take an objective of a longer focal length, or move {before} "
        "nearer to the panel"
        if wanted < closest
        else "its sharpest place is out of reach; move what stands before it, or weaken the lenses "
        "before it"
    )
