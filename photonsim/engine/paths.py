"""Some light paths in full, for drawing: the same histories that a run with this seed traces."""

from __future__ import annotations

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.tally import trace_path
from photonsim.program import Compiled
from photonsim.results import LightPath
from photonsim.results.guide import Guide
from photonsim.scene import Scene


def sample_paths(
    scene: Scene, count: int, seed: int = 1, first: int = 0, guide: Guide | None = None
) -> list[LightPath]:
    """Return the paths of histories first .. first + count - 1."""
    compiled = Compiled(scene, guide.doublings if guide else None)
    program = compiled.program
    fates = {fate.code: fate for fate in compiled.fates}
    buffer = np.zeros((codes.EVENT_LIMIT + 2, 3))
    paths = []
    for number in range(first, first + count):
        # With the compiler off, numpy would warn that the random numbers' products wrap round.
        with np.errstate(over="ignore"):
            code, points = trace_path(program, np.uint64(seed), np.uint64(number), buffer)
        fate = fates[int(code)]
        paths.append(LightPath(number, fate.name, fate.group, buffer[:points].copy()))
    return paths
