"""A general ray-intersection engine (Embree through embreex) in the same box: hits, no physics.

The rays are those of real histories, from each point of a path to the next within the housing. The
box is made of triangles: base, walls, sheets with their gaps, the panel with its frame; not the
emitters' faces, to the engine's favour. embreex hands rays to the engine one by one, in single
precision, and lets go of Python's lock meanwhile.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from photonsim.results import LightPath
from photonsim.scene import Panel, Scene
from photonsim.scene.sheet import Sheet

Singles = NDArray[np.float32]

CHUNKS = (1_000, 10_000, 100_000, 1_000_000)
# Rays begin this far from the face they leave, so as not to hit it again.
CLEARANCE_MM = 1.0e-3
# INTERSECT finds what a ray hits first, OCCLUDED only that it hits something.
QUERIES = ("INTERSECT", "OCCLUDED")


def triangles_of(scene: Scene) -> Singles:
    """Return the box as triangles [n, 3 corners, 3] in mm."""
    housing, panel = scene.housing, scene.panel
    width, height = housing.opening_mm(0.0)
    top_width, top_height = housing.opening_mm(housing.depth_mm)
    quads = [_level(0.0, (-width / 2, width / 2), (-height / 2, height / 2))]
    low = [(sx * width / 2, sy * height / 2, 0.0) for sx, sy in _CORNERS]
    high = [(sx * top_width / 2, sy * top_height / 2, housing.depth_mm) for sx, sy in _CORNERS]
    quads += [[low[k], low[k - 1], high[k - 1], high[k]] for k in range(4)]
    for name, part in scene.train.items():
        if isinstance(part, Sheet):
            quads += _sheet(part, scene.part_size_mm(name))
    quads += _panel(panel)
    corners = np.array(quads, dtype=np.float32)
    return corners[:, [[0, 1, 2], [0, 2, 3]]].reshape(-1, 3, 3)


_CORNERS = ((-1, -1), (1, -1), (1, 1), (-1, 1))
Quad = list[tuple[float, float, float]]
Span = tuple[float, float]


def _level(z: float, across: Span, up: Span) -> Quad:
    return [(across[(sx + 1) // 2], up[(sy + 1) // 2], z) for sx, sy in _CORNERS]


def _sheet(part: Sheet, size: tuple[float, float]) -> list[Quad]:
    half_x, half_y = 0.5 * size[0], 0.5 * size[1]
    across, up = (-half_x, half_x), (-half_y, half_y)
    if part.strips is None:
        return [_level(part.z_mm, across, up)]
    if part.strips.across == "x":
        return [_level(part.z_mm, span, up) for span in part.strips.intervals_mm(*across)]
    return [_level(part.z_mm, across, span) for span in part.strips.intervals_mm(*up)]


def _panel(panel: Panel) -> list[Quad]:
    """Return the pixels and the four sides of the frame around them."""
    z, x, y = panel.z_mm, 0.5 * panel.active_width_mm, 0.5 * panel.active_height_mm
    outer_x, outer_y = 0.5 * panel.outer_width_mm, 0.5 * panel.outer_height_mm
    return [
        _level(z, (-x, x), (-y, y)),
        _level(z, (-outer_x, outer_x), (-outer_y, -y)),
        _level(z, (-outer_x, outer_x), (y, outer_y)),
        _level(z, (-outer_x, -x), (-y, y)),
        _level(z, (x, outer_x), (-y, y)),
    ]


def rays_of(scene: Scene, paths: Iterable[LightPath]) -> tuple[Singles, Singles]:
    """Return origins and unit directions [n, 3] of all stretches that begin below the panel."""
    starts, ways = [], []
    for path in paths:
        steps = np.diff(path.points, axis=0)
        inside = (path.points[:-1, 2] < scene.panel.z_mm) & (np.abs(steps).sum(axis=1) > 0.0)
        starts.append(path.points[:-1][inside])
        ways.append(steps[inside])
    way = np.concatenate(ways)
    way /= np.linalg.norm(way, axis=1)[:, None]
    start = np.concatenate(starts) + CLEARANCE_MM * way
    return start.astype(np.float32), way.astype(np.float32)


class RayEngine:
    """The box in the engine, and rays to send through it. Raises ImportError without embreex."""

    def __init__(self, scene: Scene, paths: Iterable[LightPath]) -> None:
        from embreex.mesh_construction import TriangleMesh
        from embreex.rtcore_scene import EmbreeScene

        self.scene = EmbreeScene()
        self.mesh = TriangleMesh(self.scene, triangles_of(scene))
        self.origins, self.directions = rays_of(scene, paths)
        self.share_hit = float((self.hit(self.origins, self.directions) >= 0).mean())

    def hit(
        self, origins: Singles, directions: Singles, query: str = "INTERSECT"
    ) -> NDArray[np.int32]:
        """Return the number of the triangle that each ray hits first, or -1."""
        return np.asarray(self.scene.run(origins, directions, query=query))

    def best_chunk(self, query: str) -> int:
        """Return the number of rays a call that goes fastest."""
        return max(CHUNKS, key=lambda chunk: max(self.rate(query, chunk, 0.05) for _ in range(3)))

    def rate(self, query: str, chunk: int, seconds: float) -> float:
        """Return rays a second over about so many seconds of calls with `chunk` rays each."""
        origins = np.resize(self.origins, (chunk, 3))
        directions = np.resize(self.directions, (chunk, 3))
        done, spent, start = 0, 0.0, time.perf_counter()
        while spent < seconds:
            self.hit(origins, directions, query)
            done += chunk
            spent = time.perf_counter() - start
        return done / spent

    def rate_on(self, threads: int, query: str, chunk: int, seconds: float) -> float:
        """Return rays a second of so many threads that each do what `rate` does."""
        with ThreadPoolExecutor(threads) as pool:
            rates = [pool.submit(self.rate, query, chunk, seconds) for _ in range(threads)]
            return sum(rate.result() for rate in rates)
