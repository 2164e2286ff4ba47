"""Bundles of rays through everything behind a panel, without chance and without photonsim's kernel.

Ideal lenses kick direction cosines by their phase's gradient; faces are met by Newton's method on
the sag, and bend light by Snell's law in vectors, n x (d x n). Rims cut; nothing reflects.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from photonsim.scene import IdealLens, RealLens, Scene

Reals = NDArray[np.float64]
NEWTON_STEPS = 5


class Landed(NamedTuple):
    """Where rays cross the stop and the screen, both [2, n] in mm, and which passed all rims."""

    stop: Reals
    screen: Reals
    passed: NDArray[np.bool_]


def through(scene: Scene, points: Reals, cosines: Reals, nm: float, screen_z: float) -> Landed:
    """Follow rays from panel points [2, n] with direction cosines [2, n] to the screen."""
    with np.errstate(invalid="ignore"):  # a ray that misses a face is nan from there on
        return _through(scene, points, cosines, nm, screen_z)


def _through(scene: Scene, points: Reals, cosines: Reals, nm: float, screen_z: float) -> Landed:
    place = np.stack([*points, np.full(points.shape[1], scene.panel.z_mm)])
    way = np.stack([*cosines, np.sqrt(1.0 - (cosines**2).sum(axis=0))])
    passed = np.ones(points.shape[1], dtype=bool)
    at_stop = np.empty_like(points)
    for part in sorted(scene.train.values(), key=lambda part: part.z_mm):
        if part.z_mm <= scene.panel.z_mm:
            continue
        if isinstance(part, IdealLens):
            place = _on_plane(place, way, part.z_mm)
            passed &= np.hypot(*place[:2]) < 0.5 * part.diameter_mm
            way = _kicked(part, place, way)
        elif isinstance(part, RealLens):
            index = part.index_at(nm)
            for height, radius, conic, eta in (
                (part.z_mm, part.radius_lamp_mm, part.conic_lamp, 1.0 / index),
                (part.end_mm, part.radius_screen_mm, part.conic_screen, index),
            ):
                place, way = _bent(place, way, height, 1.0 / radius if radius else 0.0, conic, eta)
                passed &= np.hypot(*place[:2]) < 0.5 * part.diameter_mm
        else:
            assert part is scene.stop
            at_stop = _on_plane(place, way, part.z_mm)[:2]
            passed &= np.hypot(*at_stop) < 0.5 * part.diameter_mm
    return Landed(at_stop, _on_plane(place, way, screen_z)[:2], passed)


def chief_cosines(scene: Scene, points: Reals, nm: float) -> Reals:
    """Return direction cosines [2, n] that bring panel points [2, n] to the middle of the stop."""

    def miss(cosines: Reals) -> Reals:
        return through(scene, points, cosines, nm, scene.stop.z_mm).stop

    tiny = 1e-5
    axis = np.zeros((2, 1))
    nudge = np.array([[tiny], [0.0]])
    slope = through(scene, axis, nudge, nm, scene.stop.z_mm).stop[0, 0] / tiny
    found = np.zeros_like(points)
    for _ in range(25):
        found = found - miss(found) / slope
    assert np.abs(miss(found)).max() < 1e-6
    return found


def _on_plane(place: Reals, way: Reals, z: float) -> Reals:
    return place + (z - place[2]) / way[2] * way


def _kicked(lens: IdealLens, place: Reals, way: Reals) -> Reals:
    assert lens.object_mm is None, "only for parallel light"
    squared = (place[:2] ** 2).sum(axis=0)
    across = way[:2] - place[:2] / np.sqrt(squared + lens.focal_mm**2)
    return np.stack([*across, np.sqrt(1.0 - (across**2).sum(axis=0))])


def _bent(
    place: Reals, way: Reals, vertex: float, c: float, conic: float, eta: float
) -> tuple[Reals, Reals]:
    place = _on_plane(place, way, vertex)
    for _ in range(NEWTON_STEPS):
        root = np.sqrt(1.0 - (1.0 + conic) * c * c * (place[:2] ** 2).sum(axis=0))
        sag = c * (place[:2] ** 2).sum(axis=0) / (1.0 + root)
        # The sag falls by c (x u + y v) / root along the ray, while the ray climbs by w.
        slope = way[2] - c * (place[:2] * way[:2]).sum(axis=0) / root
        place = place + (vertex + sag - place[2]) / slope * way
    root = np.sqrt(1.0 - (1.0 + conic) * c * c * (place[:2] ** 2).sum(axis=0))
    unit = np.stack([-c * place[0] / root, -c * place[1] / root, np.ones_like(root)])
    unit /= np.sqrt((unit**2).sum(axis=0))
    across = eta * np.cross(unit, np.cross(way, unit, axis=0), axis=0)
    return place, across + np.sqrt(1.0 - (across**2).sum(axis=0)) * unit
