"""The field: the panel in 9 x 9 cells, row 0 lowest, and four zones that are told apart in words.

A zone joins cells that a round objective treats alike, so that few photons say more of it.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from photonsim.arrays import Flags, Reals
from photonsim.kernel.tallies import CELLS


def _cells(rows: tuple[int, ...], columns: tuple[int, ...]) -> Flags:
    chosen = np.zeros((CELLS, CELLS), dtype=bool)
    chosen[np.ix_(rows, columns)] = True
    return chosen


INNER, OUTER = (3, 4, 5), (0, CELLS - 1)
EVERYWHERE = np.ones((CELLS, CELLS), dtype=bool)
MIDDLE = _cells(INNER, INNER)
CORNERS = _cells(OUTER, OUTER)
ZONES: dict[str, Flags] = {
    "middle": MIDDLE,
    "left and right edge": _cells(INNER, OUTER),
    "top and bottom edge": _cells(OUTER, INNER),
    "corners": CORNERS,
}


@lru_cache(maxsize=4)
def outward(width: float, height: float) -> Reals:
    """Return unit vectors (x, y) from the axis to the middle of each cell, [9, 9, 2]; 0 on it."""
    steps = (np.arange(CELLS) + 0.5) / CELLS - 0.5
    x, y = np.meshgrid(steps * width, steps * height)
    radius = np.hypot(x, y)
    safe = np.where(radius > 1e-9 * width, radius, np.inf)
    return np.stack([x / safe, y / safe], axis=-1)
