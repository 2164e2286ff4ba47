"""Some light paths in full, for drawing: the same histories that a run with this seed traces."""

from __future__ import annotations

from os import PathLike

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.allotment import Guide
from photonsim.kernel.entries import path_tracer
from photonsim.program import Compiled
from photonsim.results import LightPath, Result, scene_of
from photonsim.scene import Scene

# Where hardly any light arrives, no more are traced than this to find some that does.
MOST_PATHS = 10_000
# To call compiled code takes longer than to trace a path.
AT_ONCE = 64


def sample_paths(
    scene: Scene | Result | str | PathLike[str],
    count: int,
    seed: int = 1,
    first: int = 0,
    arriving: int = 0,
    guide: Guide | None = None,
) -> list[LightPath]:
    """Return the paths of histories first .. first + count - 1, their points [n, 3] in mm.

    And of as many more as it takes until `arriving` of all went through the stop, up to MOST_PATHS
    in all. Raises SceneError for a wrong scene.

    >>> import photonsim
    >>> path = photonsim.sample_paths("scenes/d_split_film.toml", count=1)[0]
    >>> path.number, path.points.shape[1]
    (0, 3)
    """
    compiled = Compiled(scene_of(scene), guide)
    fates = {fate.code: fate for fate in compiled.fates}
    trace_paths = path_tracer(compiled.program.traits)
    at_once = AT_ONCE if arriving > 0 else max(1, min(count, AT_ONCE))
    points = np.zeros((at_once, codes.EVENT_LIMIT + 2, 3))
    outcomes = np.zeros((at_once, 2), dtype=np.int64)
    paths: list[LightPath] = []
    while len(paths) < count or (arriving > 0 and len(paths) < MOST_PATHS):
        number, place = first + len(paths), len(paths) % at_once
        if place == 0:
            # With the compiler off, numpy would warn that the random numbers' products wrap round.
            with np.errstate(over="ignore"):
                which = np.uint64(seed), np.uint64(number)
                trace_paths(compiled.program, *which, points, outcomes)
        code, length = outcomes[place].tolist()
        fate = fates[code]
        path = points[place, :length].copy()
        paths.append(LightPath(number, fate.name, fate.group, path))
        arriving -= fate.group == "stop"
    return paths
