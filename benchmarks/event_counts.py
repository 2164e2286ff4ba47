"""How often a history meets what: single histories are walked again, their points sorted by kind.

Works on paths alone, as `photonsim.engine.sample_paths` gives them, so it holds for any kernel. A
path's points lie on the planes of layers, exactly, or else on a wall.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from photonsim.kernel import codes
from photonsim.program.layers import Layer, layers_of
from photonsim.results import LightPath
from photonsim.scene import Panel, Scene

Reals = NDArray[np.float64]

EMISSION = "emission"
WALL = "wall"
END = "end of the train"
# Planes that a photon comes to and crosses as if they were not there.
EMPTY = ("gap in the film", "between emitters", "housing's mouth", "beside the panel", END)
_PLAIN = {
    codes.BASE: "base",
    codes.OPENING: "housing's mouth",
    codes.CLEAR_PLATE: "clear plate",
    codes.IDEAL_LENS: "ideal lens",
    codes.FRESNEL_LENS: "Fresnel lens",
    codes.LENS_FACE: "face of a lens",
    codes.STOP: "aperture stop",
    codes.END: END,
}


def events_by_kind(scene: Scene, paths: Iterable[LightPath]) -> dict[str, float]:
    """Return the mean number of events a history by kind; emission, once each, stands among them.

    All but emission sum to the events a photon that a result states.
    """
    layers = layers_of(scene)
    heights = [layer.z_mm for layer in layers]
    start = next(n for n, layer in enumerate(layers) if layer.kind == codes.EMITTERS)
    places: list[list[Reals]] = [[] for _ in layers]
    counts: Counter[str] = Counter()
    histories = 0
    for path in paths:
        histories += 1
        for met, point in zip(
            _layers_met(path.points, heights, start), path.points[1:], strict=True
        ):
            if met < 0:
                counts[WALL] += 1
            else:
                places[met].append(point)
    for layer, points in zip(layers, places, strict=True):
        if points:
            counts.update(_kinds_at(scene, layer, np.array(points)))
    return {EMISSION: 1.0} | {kind: count / histories for kind, count in counts.items()}


def hits_per_history(events: dict[str, float]) -> float:
    """Return the events of a history that meet something: what a ray tracer calls a hit."""
    return sum(n for kind, n in events.items() if kind != EMISSION and kind not in EMPTY)


def _layers_met(points: Reals, heights: list[float], at: int) -> list[int]:
    """Return the number of the layer that each point after the first lies on; -1 for a wall.

    Going by the last layer met, or by the gap that a wall stands in. Of two layers at one height
    light comes to the one that lies the way it went before.
    """
    found = []
    below, above = at - 1, at + 1
    rising = True
    z_before = points[0, 2]
    for z in points[1:, 2].tolist():
        if z != z_before:
            rising = z > z_before
        elif not (heights[above] == z and below >= 0 and heights[below] == z):
            rising = above < len(heights) and heights[above] == z
        z_before = z
        met = above if rising else below
        if 0 <= met < len(heights) and heights[met] == z:
            found.append(met)
            below, above = met - 1, met + 1
        else:
            # Within the gap below `above` if it came from under it, or above `below`.
            found.append(-1)
            if above - below == 2:
                below, above = (above - 1, above) if rising else (below, below + 1)
    return found


def _kinds_at(scene: Scene, layer: Layer, points: Reals) -> dict[str, int]:
    """Return how many of the points [n, 3] on a layer met what."""
    x, y = points[:, 0], points[:, 1]
    if layer.kind in _PLAIN:
        return {_PLAIN[layer.kind]: len(points)}
    if layer.kind == codes.EMITTERS:
        group = scene.emitters[layer.name]
        half_width, half_height = (0.5 * size for size in group.size_mm)
        on_face = np.zeros(len(points), dtype=bool)
        for centre_x, centre_y in group.centres_mm():
            on_face |= (abs(x - centre_x) <= half_width) & (abs(y - centre_y) <= half_height)
        return {"emitter face": int(on_face.sum()), "between emitters": int((~on_face).sum())}
    part = scene.train[layer.name]
    if isinstance(part, Panel):
        pixels = (abs(x) < 0.5 * part.active_width_mm) & (abs(y) < 0.5 * part.active_height_mm)
        beside = (abs(x) > 0.5 * part.outer_width_mm) | (abs(y) > 0.5 * part.outer_height_mm)
        frame = ~(pixels | beside)
        return {
            "panel's pixels": int(pixels.sum()),
            "panel's frame": int(frame.sum()),
            "beside the panel": int(beside.sum()),
        }
    kind = {codes.PRISM_FILM: "film", codes.DIFFUSER: "diffuser"}[layer.kind]
    width, height = scene.part_size_mm(layer.name)
    covered = (abs(x) <= 0.5 * width) & (abs(y) <= 0.5 * height)
    strips = getattr(part, "strips", None)
    if strips is not None:
        along, half = (x, 0.5 * width) if strips.across == "x" else (y, 0.5 * height)
        edges = np.array(strips.intervals_mm(-half, half)).ravel()
        covered &= np.searchsorted(edges, along, side="right") % 2 == 1
    return {kind: int(covered.sum()), "gap in the film": int((~covered).sum())}
