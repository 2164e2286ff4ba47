"""Bringing the panel to a focus on the screen by moving the objective, from rays near the axis.

How far a panel is out of focus is told on its own scale: a ray that leaves the panel on the axis
with the slope u lands u times `defocus_mm` off, over the magnification. Near focus that is the way
from the panel to the plane that the lenses image on the screen. Unlike the place of the image it
passes through no infinity where the image turns virtual.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

from photonsim.optics.objective import objective_names
from photonsim.scene import Scene, cardinal_of, follow

# Parts keep this far from one another when the objective moves.
CLEARANCE_MM = 0.1
# An objective five focal lengths away makes a picture of a quarter of the panel: no projector.
FARTHEST_FOCAL_LENGTHS = 5.0
PLACES_TRIED = 60
MOST_STEPS = 50
Point = tuple[float, float]


def objective_parts(scene: Scene) -> tuple[str, ...]:
    """Return the parts that move when one focuses: the objective's lenses, the stop, all behind.

    Without a lens at the stop there is no objective, and nothing.
    """
    lenses = objective_names(scene)
    if not lenses:
        return ()
    first = min(scene.train[name].z_mm for name in (*lenses, scene.stop_name))
    return tuple(name for name, part in scene.train.items() if part.z_mm >= first)


def moved(scene: Scene, by_mm: float) -> Scene:
    """Return the scene with its objective moved along z, away from the panel where positive."""
    parts = objective_parts(scene)
    places = {
        name: part.model_copy(update={"z_mm": round(part.z_mm + by_mm, 9)})
        for name, part in scene.train.items()
        if name in parts
    }
    return scene.model_copy(update={"train": scene.train | places})


def screen_follows(scene: Scene) -> bool:
    """Tell whether the screen stands at the focus of rays near the axis, wherever that is.

    Then it follows the objective, and focusing means to give its distance.
    """
    screen = scene.screen
    return screen is not None and screen.distance_mm is None and screen.picture_width_mm is None


def least_move_mm(scene: Scene) -> float:
    """Return how far the objective may move, in mm: down to the part before it (negative)."""
    parts = objective_parts(scene)
    first = min(scene.train[name].z_mm for name in parts)
    before = max(part.end_mm for name, part in scene.train.items() if name not in parts)
    return min(0.0, before + CLEARANCE_MM - first)


def defocus_mm(scene: Scene, beyond_screen_mm: float = 0.0) -> float:
    """Return how far off a ray from the panel's middle lands for its slope, on the panel's scale.

    In mm, on the screen or `beyond_screen_mm` beyond it. Negative where the panel stands too near
    to the objective; nan where no screen can catch the picture.
    """
    projection = scene.projection
    if projection is None:
        return math.nan
    plane = projection.screen_mm + beyond_screen_mm
    bends = [bend for bend in scene.bends() if bend.z_mm >= scene.panel.z_mm]
    height, slope = follow(0.0, 1.0, scene.panel.z_mm, projection.last_mm, bends)
    landed = height + (plane - projection.last_mm) * slope
    times = projection.magnification_at(plane)
    return landed / times if times else math.nan


def paraxial_blur_px(scene: Scene) -> float:
    """Return the RMS blur that defocus alone gives in the middle of the picture, in panel pixels.

    A disc that is lit evenly has an RMS radius of 1/sqrt(2) of its own, and its radius is the
    defocus times the slope of the ray through the stop's rim.
    """
    panel, stop = scene.panel, scene.stop
    bends = [bend for bend in scene.bends() if panel.z_mm <= bend.z_mm <= stop.z_mm]
    per_slope, _ = follow(0.0, 1.0, panel.z_mm, stop.z_mm, bends)
    slope = 0.5 * stop.diameter_mm / abs(per_slope) if per_slope else math.inf
    pixel = panel.active_width_mm / panel.columns
    return abs(defocus_mm(scene)) * slope / math.sqrt(2.0) / pixel


def move_to_focus(scene: Scene, wanted_mm: float = 0.0) -> float | None:
    """Return how far to move the objective for a defocus of `wanted_mm`, in mm; None if nowhere.

    Of several places the nearest, each found between two places tried.
    """
    if not objective_parts(scene):
        return None

    def missing(by_mm: float) -> float:
        return defocus_mm(moved(scene, by_mm)) - wanted_mm

    places = _places(scene)
    values = [missing(place) for place in places]
    found = [
        _root(missing, (low, at_low), (high, at_high))
        for (low, at_low), (high, at_high) in pairwise(zip(places, values, strict=True))
        if at_low * at_high <= 0.0
    ]
    # A change of sign through a pole, where the picture is infinitely large, is no root.
    roots = [float(place) for place in found if abs(missing(place)) < 1.0e-2]
    return min(roots, key=abs, default=None)


def _root(function: Callable[[float], float], low: Point, high: Point) -> float:
    """Return where a function is 0 between two points (x, value) of unlike signs, to 1e-6.

    Regula falsi, Illinois's way, BIT 11 (1971) 168: the value at an end that stays is halved. The
    root finders of scipy.optimize would do as well, for 0.18 s of a start.
    """
    for _ in range(MOST_STEPS):
        if not high[1] or abs(high[0] - low[0]) < 1.0e-6:
            break
        x = high[0] - high[1] * (high[0] - low[0]) / (high[1] - low[1])
        new = (x, function(x))
        low = high if new[1] * high[1] < 0.0 else (low[0], 0.5 * low[1])
        low, high = low, new
    return high[0]


def _places(scene: Scene) -> list[float]:
    focal = abs(cardinal_of(scene.bends(objective_names(scene))).focal_mm)
    if math.isinf(focal):
        return []
    front = scene.train[objective_parts(scene)[0]].z_mm
    least = least_move_mm(scene)
    most = max(scene.panel.z_mm + FARTHEST_FOCAL_LENGTHS * focal - front, 0.5 * focal)
    return [least + (most - least) * step / PLACES_TRIED for step in range(PLACES_TRIED + 1)]
