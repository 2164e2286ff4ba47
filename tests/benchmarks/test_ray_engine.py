"""The ray-intersection engine meets the box that photonsim's own rays meet."""

import numpy as np

from benchmarks.ray_engine import CLEARANCE_MM, RayEngine, rays_of, triangles_of
from photonsim.engine import sample_paths
from tests.shipped import scene


def test_the_engine_hits_what_the_paths_meet():
    lamp = scene("d_split")
    paths = sample_paths(lamp, 500)
    engine = RayEngine(lamp, paths)
    # What passes the panel's frame on the outside hits nothing.
    assert 0.98 < engine.share_hit < 1.0
    origins, directions = rays_of(lamp, paths)
    hits = engine.hit(origins, directions)
    seen = hits >= 0
    corners = triangles_of(lamp)[hits[seen]]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    far = ((corners[:, 0] - origins[seen]) * normals).sum(axis=1)
    far /= (directions[seen] * normals).sum(axis=1)
    ways = np.concatenate([lengths_inside(path.points, lamp.panel.z_mm) for path in paths])[seen]
    # Nothing stands in the way to the next event, and most events are hits.
    assert (far > ways - 2.0 * CLEARANCE_MM).all()
    assert (far < ways + CLEARANCE_MM).mean() > 0.5


def lengths_inside(points: np.ndarray, panel_z: float) -> np.ndarray:
    lengths = np.linalg.norm(np.diff(points, axis=0), axis=1)
    return lengths[(points[:-1, 2] < panel_z) & (lengths > 0.0)]
