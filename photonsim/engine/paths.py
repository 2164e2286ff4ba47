"""Some light paths in full, for drawing: the same histories that a run with this seed traces."""

from __future__ import annotations

from itertools import count as counted
from os import PathLike

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.allotment import Guide
from photonsim.kernel.entries import path_tracer
from photonsim.kernel.entry import Flat
from photonsim.program import Compiled
from photonsim.results import LightPath, Result, scene_of
from photonsim.scene import Scene

# Where hardly any light arrives, no more are traced than this to find some that does.
MOST_PATHS = 10_000


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
    buffer = np.zeros((codes.EVENT_LIMIT + 2, 3))
    outcome = np.zeros(2, dtype=np.int64)
    trace_path = path_tracer(compiled.program.traits)
    # Taken apart once: that takes as long as to trace a path.
    program, which, points, end = map(Flat, (compiled.program, np.uint64(seed), buffer, outcome))
    paths: list[LightPath] = []
    for number in counted(first):
        if len(paths) >= count and (arriving <= 0 or len(paths) >= MOST_PATHS):
            return paths
        # With the compiler off, numpy would warn that the random numbers' products wrap round.
        with np.errstate(over="ignore"):
            trace_path(program, which, np.uint64(number), points, end)
        code, length = outcome.tolist()
        fate = fates[code]
        paths.append(LightPath(number, fate.name, fate.group, buffer[:length].copy()))
        arriving -= fate.group == "stop"
    raise AssertionError("histories have no end")
