"""Where single photons land, without bins: the truth for what is foretold from sums."""

import numpy as np
from scipy import stats

from photonsim.engine.crew import crew_of
from photonsim.kernel import codes
from photonsim.kernel.compiler import jit_entry
from photonsim.kernel.history import begin, follow
from photonsim.kernel.landing import is_stray, offsets
from photonsim.kernel.numbers import HALF, short
from photonsim.kernel.whole import bin_of
from photonsim.results import Estimate
from photonsim.results.field import ZONES


@jit_entry
def _land(program, seed, first, count, found):
    """Write (cell row, cell column, d_x, d_y) of collected photons to found [n, 4]; return n."""
    rows = 0
    for done in range(count):
        wavelength, gap, x, y, z, u, v, w, rng = begin(program, seed, first + np.uint64(done))
        fate, _, wavelength, _, panel_ray, _, last_ray, _ = follow(
            program, wavelength, gap, x, y, z, u, v, w, rng, short(0), False, False, None
        )
        if fate != codes.FATE_STOP or rows == found.shape[0]:
            continue
        x, y = panel_ray[0], panel_ray[1]
        d_x, d_y, _, _ = offsets(program, x, y, last_ray)
        i = bin_of(y * program.panel_per_height + HALF, codes.CELLS)
        j = bin_of(x * program.panel_per_width + HALF, codes.CELLS)
        if is_stray(d_x, d_y, program.spot_per_mm[i * codes.CELLS + j]):
            continue
        found[rows, 0], found[rows, 1], found[rows, 2], found[rows, 3] = i, j, d_x, d_y
        rows += 1
    return rows


def landed(scene, photons, seed):
    """Return [n, 4] of all light that reaches the screen: the panel's cell, its offsets in mm."""
    worker = crew_of(scene, seed, "cpu", "double", 1).workers[0]
    parts, step = [], 1 << 20
    for first in range(0, photons, step):
        found = np.zeros((step, 4))
        rows = _land(
            worker.program, worker.seed, np.uint64(first), min(step, photons - first), found
        )
        parts.append(found[:rows].copy())
    return np.concatenate(parts)


def radius_80_px(scene, photons, seed):
    """Return by zone the radius about each cell's mean place that holds 80 % of the light.

    Of single photons, with the error of a quantile from the scatter of 16 parts.
    """
    places = landed(scene, photons, seed)
    cell = (9 * places[:, 0] + places[:, 1]).astype(int)
    counts = np.maximum(np.bincount(cell, minlength=81), 1)
    mean = [np.bincount(cell, places[:, k], 81) / counts for k in (2, 3)]
    away = np.hypot(places[:, 2] - mean[0][cell], places[:, 3] - mean[1][cell])
    pixel = scene.panel.active_width_mm / scene.panel.columns
    found = {}
    for name, cells in ZONES.items():
        inside = away[cells.ravel()[cell]] / pixel
        parts = [np.quantile(inside[k::16], 0.8) for k in range(16)]
        found[name] = Estimate(float(np.quantile(inside, 0.8)), float(stats.sem(parts)))
    return found
