"""The radius that holds 80 % of the light, from spots counted in nested squares.

A landing is counted in the smallest square about the chief ray that holds it; each has half the
side of the one before and as many bins. So the bins are fine where a spot is small, wherever most
of it lies, and coarse only far out.
"""

from __future__ import annotations

import numpy as np

from photonsim.arrays import Reals
from photonsim.results.estimate import WITHHELD, Estimate

SHARE = 0.8
# With fewer photons of a cell, on average, their mean place is known too badly to measure from.
FEWEST_OF_A_CELL = 64
# The density at the radius is that of the light from this much less to this much more than 80 %.
WINDOW = 0.05
# A square is fine enough to read a radius in if it holds the circle of so much more.
ROOM = 1.1
# What bins of the width b still hide of a radius r is of the order of this times b**2 / r: measured
# on the anastigmat and two simple lenses with 3 * 10**8 photons each, 0.06 to 0.11.
HIDDEN = 0.1
# The light of a bin is spread over so many points along each side.
POINTS = 4
# Light is sorted by radius into so many rings out to the farthest.
RINGS = 4096


def centres(halves: Reals, levels: int, bins: int) -> Reals:
    """Return the middles of bins along an axis, [m, levels, bins] in mm, for half sides [m]."""
    steps = (np.arange(bins) + 0.5 - 0.5 * bins) * 2.0 / bins
    return halves[:, None, None] * 0.5 ** np.arange(levels)[None, :, None] * steps


def radius_80_mm(spots: Reals, halves: Reals, means: Reals, evener: float = 1.0) -> Estimate:
    """Return the radius about each cell's mean place that holds 80 % of the light, in mm.

    `spots` [m, levels, bins, bins] of m cells, half the side of each's largest square [m], mean
    places [m, 2] in mm. The error is that of a quantile, sqrt(p (1 - p) / n) over the density there
    (A. Stuart, J. K. Ord, Kendall's Advanced Theory of Statistics, vol. 1; from memory), its square
    times `evener` for photons spread more evenly than by chance (net_share in stop.py), and that of
    what the bins hide.
    """
    total = spots.sum()
    if total < FEWEST_OF_A_CELL * len(spots):
        return WITHHELD
    rough = _quantiles([_by_middles(*cell) for cell in zip(spots, halves, means, strict=True)])
    levels = [
        _level(len(spot), half, np.abs(mean).max() + ROOM * rough[-1])
        for spot, half, mean in zip(spots, halves, means, strict=True)
    ]
    low, found, high = _quantiles(
        [_by_slopes(*cell) for cell in zip(spots, halves, means, levels, strict=True)]
    )
    chance = np.sqrt(evener * SHARE * (1.0 - SHARE) / total) * (high - low) / (2.0 * WINDOW)
    side = max(2.0 * half * 0.5**level for half, level in zip(halves, levels, strict=True))
    unseen = HIDDEN * (side / spots.shape[-1]) ** 2 / found
    return Estimate(float(found), float(np.hypot(chance, unseen)))


def _level(levels: int, half: float, reach: float) -> int:
    """Return the finest square that holds what lies within `reach` mm of the chief ray."""
    fits = np.flatnonzero(0.5 ** np.arange(levels) * half >= reach)
    return int(fits[-1]) if len(fits) else 0


def _quantiles(parts: list[tuple[Reals, Reals]]) -> Reals:
    """Return the radii that hold a little less than 80 %, 80 % and a little more of all light."""
    radii, light = (np.concatenate(values) for values in zip(*parts, strict=True))
    within = np.isfinite(radii)
    edges = np.linspace(0.0, radii[within].max(), RINGS + 1)
    rings = np.minimum((radii[within] / edges[-1] * RINGS).astype(int), RINGS - 1)
    inside = np.append(0.0, np.cumsum(np.bincount(rings, light[within], RINGS)))
    # Slopes may make some of the light less than none.
    inside = np.maximum.accumulate(inside) / light.sum()
    return np.interp([SHARE - WINDOW, SHARE, SHARE + WINDOW], inside, edges)


def _by_middles(spot: Reals, half: float, mean: Reals) -> tuple[Reals, Reals]:
    """Return (distance from the mean place, photons), flat, all photons at their bins' middles."""
    axis = centres(np.array([half]), *spot.shape[:2])[0]
    away = np.hypot(axis[:, None, :] - mean[0], axis[:, :, None] - mean[1])
    return away[spot > 0.0], spot[spot > 0.0]


def _by_slopes(spot: Reals, half: float, mean: Reals, level: int) -> tuple[Reals, Reals]:
    """Return the same with the light of each bin spread over it, rising as its neighbours say.

    In the square `level`; what lies outside it is put beyond reach.
    """
    total = spot.sum()
    if total < 2.0:
        return np.zeros(0), np.zeros(0)
    # The mean is known from the same photons, and nearer to them than the true one: n - 1.
    stretch = np.sqrt(total / (total - 1.0))
    light = _joined(spot[level:])
    side = 2.0 * half * 0.5**level / len(light)
    middles = centres(np.array([half]), *spot.shape[:2])[0, level]
    slope_y, slope_x = (np.gradient(light, axis=axis) for axis in (0, 1))
    seen = (light > 0.0) | (slope_x != 0.0) | (slope_y != 0.0)
    rows, columns = np.nonzero(seen)
    steps = (np.arange(POINTS) + 0.5) / POINTS - 0.5
    v, u = (a.ravel() for a in np.meshgrid(steps, steps, indexing="ij"))
    x = middles[columns][:, None] + side * u - mean[0]
    y = middles[rows][:, None] + side * v - mean[1]
    spread = light[seen][:, None] + slope_x[seen][:, None] * u + slope_y[seen][:, None] * v
    radii = np.append(stretch * np.hypot(x, y).ravel(), np.inf)
    return radii, np.append(spread.ravel() / POINTS**2, total - light.sum())


def _joined(spot: Reals) -> Reals:
    """Return all photons within the first square of [levels, bins, bins], in its own bins."""
    if len(spot) == 1:
        return spot[0]
    bins = spot.shape[-1]
    within = _joined(spot[1:]).reshape(bins // 2, 2, bins // 2, 2).sum(axis=(1, 3))
    light = spot[0].copy()
    inner = slice(bins // 4, bins - bins // 4)
    light[inner, inner] += within
    return light
