"""A measured lobe as cells of even intensity, with the alias table that picks among them."""

from __future__ import annotations

import itertools
import math
from typing import NamedTuple

import numpy as np

from photonsim.arrays import Reals
from photonsim.scene import IntensityTable
from photonsim.scene.lm63 import zone_flux

# Within a cell the intensity is taken as even; its flux is exact. Half a degree from the axis and
# two degrees around it are finer than the files, and 180 x 180 cells are 0.5 MB.
POLAR_STEP_DEG = 0.5
AZIMUTH_STEP_DEG = 2.0


class Cells(NamedTuple):
    """Cells over a hemisphere: cosines [p + 1] falling from 1 to 0, turns [a + 1] rising from 0 to
    1, counted from x towards y, and the share of the flux in each cell, [p, a]."""

    cosines: Reals
    turns: Reals
    shares: Reals


def cells_of(table: IntensityTable, turn_deg: float) -> Cells:
    """Return the cells of a table whose axis points to the screen.

    LM-63 counts its planes counter-clockwise for one who looks along the light, so they run from x
    towards -y here; `turn_deg` is where the plane of 0 degrees lies. Light behind the board is
    left out.
    """
    inside = table.vertical_deg[table.vertical_deg < 90.0]
    polar = _refined(np.unique([0.0, *inside, 90.0]), POLAR_STEP_DEG)
    azimuth = np.array([0.0, 360.0])
    if np.ptp(table.candela, axis=0).max() > 0.0:
        planes = np.round(np.mod(turn_deg - table.horizontal_deg, 360.0), 9)
        azimuth = _refined(np.unique([0.0, *planes, 360.0]), AZIMUTH_STEP_DEG)
    candela = table.at(polar, np.mod(turn_deg - azimuth, 360.0))
    flux = zone_flux(polar, azimuth, candela).T
    cosines = np.cos(np.radians(polar))
    cosines[-1] = 0.0
    return Cells(cosines, azimuth / 360.0, np.maximum(flux, 0.0) / flux.sum())


def alias_table(cells: Cells) -> Reals:
    """Return what the kernel reads of a lobe: edges, then keeping numbers, then aliases.

    Filled after M. D. Vose, IEEE Trans. Softw. Eng. 17, 972 (1991): each cell that has less than
    an even share is topped up from one that has more.
    """
    share = cells.shares.ravel() * cells.shares.size
    kept, alias = np.ones(share.size), np.arange(share.size)
    heights: list[float] = share.tolist()
    small = [cell for cell, height in enumerate(heights) if height < 1.0]
    large = [cell for cell, height in enumerate(heights) if height >= 1.0]
    while small and large:
        less, more = small.pop(), large[-1]
        kept[less], alias[less] = heights[less], more
        heights[more] -= 1.0 - heights[less]
        if heights[more] < 1.0:
            small.append(large.pop())
    return np.concatenate([cells.cosines, cells.turns, kept, alias])


def _refined(angles: Reals, step: float) -> Reals:
    """Return rising angles with every interval cut to equal parts of `step` at most."""
    parts: list[Reals] = [
        np.linspace(low, high, max(1, math.ceil((high - low) / step - 1e-9)), endpoint=False)
        for low, high in itertools.pairwise(angles)
    ]
    return np.concatenate([*parts, angles[-1:]])
