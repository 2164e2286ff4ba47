"""The radius that holds 80 % of the light, from spots counted in nested squares.

A landing is counted in the smallest square about the chief ray that holds it; each has half the
side of the one before and as many bins. So the bins are fine where a spot is small, wherever most
of it lies, and coarse only far out.

The radius is about the mean place of each cell's light, known from the same n effective photons.
That moves it in the order of 1 / n, by two things apart. A photon draws the mean place along: so
each is measured from the mean of the others, n / (n - 1) times as far. And the mean's noise, the
covariance C / n, spreads the spot: what more of it adds to the radius, over how many doses of it
that were, is taken off (extrapolation to no noise: Cook and Stefanski, J. Am. Stat. Assoc. 89, 1314
(1994), from memory). A factor for both would be right for a normal spot alone; one with an edge at
the radius it would make 0.3 stated errors too large at 260 photons a cell.
"""

from __future__ import annotations

import numpy as np

from photonsim.arrays import Reals
from photonsim.results.estimate import WITHHELD, Estimate

SHARE = 0.8
# With fewer effective photons of a cell, on average, their mean place is known too badly to
# measure from.
FEWEST_OF_A_CELL = 64
# The density at the radius is that of the light from this much less to this much more than 80 %.
WINDOW = 0.05
# A square is fine enough to read a radius in if it holds the circle of so much more.
ROOM = 1.1
# What bins of the width b still hide of a radius r is of the order of this times b**2 / r: measured
# on the anastigmat and two simple lenses with 3 * 10**8 photons each, 0.06 to 0.11.
HIDDEN = 0.1
# So many times the noise of a mean place is added to see what it does: a single dose would move so
# few photons past the radius that their own noise would count.
DOSES = 4
# The light of a bin is spread over so many points along each side.
POINTS = 4
# Light is sorted by radius into so many rings out to the farthest.
RINGS = 4096


def centres(half: float, levels: int, bins: int) -> Reals:
    """Return the middles of bins along an axis, [levels, bins] in mm, for half a square's side."""
    steps = (np.arange(bins) + 0.5 - 0.5 * bins) * 2.0 / bins
    return half * 0.5 ** np.arange(levels)[:, None] * steps


def radius_80_mm(
    spots: Reals, halves: Reals, means: Reals, weights: Reals, evener: float = 1.0
) -> Estimate:
    """Return the radius about each cell's mean place that holds 80 % of the light, in mm.

    `spots` [m, levels, bins, bins] of m cells, half the side of each's largest square [m], mean
    places [m, 2] in mm, mean weights of the light [m]. The error is that of chance (`_variance`)
    and of what the bins hide. Photons spread more evenly than by chance make it surer by `evener`
    (net_share in stop.py).
    """
    if (spots.sum(axis=(1, 2, 3)) / weights).sum() < FEWEST_OF_A_CELL * len(spots):
        return WITHHELD
    middles = [_by_middles(*cell) for cell in zip(spots, halves, means, strict=True)]
    rough = _quantiles([(np.hypot(*away.T), light) for away, light in middles])
    cells = zip(spots, halves, means, weights, middles, strict=True)
    spread = [_by_slopes(*cell, ROOM * rough[-1]) for cell in cells]
    low, reach, high = _quantiles([(radii, light) for _, radii, _, light in spread])
    noisier = _quantiles([(moved.ravel(), np.tile(light, 2)) for _, _, moved, light in spread])[1]
    unseen = HIDDEN * max(side for side, _, _, _ in spread) ** 2 / reach
    variance = evener * _variance(middles, weights, low, reach, high) + unseen**2
    return Estimate(float(reach - (noisier - reach) / DOSES), float(np.sqrt(variance)))


def _variance(
    middles: list[tuple[Reals, Reals]], weights: Reals, low: float, found: float, high: float
) -> float:
    """Return the variance of the radius in mm**2 by independent photons, from places and light.

    What one of n photons adds to the radius r is (0.8 - 1 if within r, else 0.8) / (n f), with the
    density f there (the influence of a quantile; P. J. Huber, Robust Statistics, 1981, from
    memory), and less as far as it draws its cell's mean place along: the mean, over light about r,
    of the direction in which it lies, times the photon's own offset. That counts where a spot is
    lopsided: alone the first would make errors of the anastigmat's corners a quarter too small.
    Light of a mean weight strays by that many times its sum.
    """
    total = sum(light.sum() for _, light in middles)
    variance, window = 0.0, 2.0 * WINDOW * total
    for (away, light), weight in zip(middles, weights, strict=True):
        far = np.hypot(*away.T)
        near = (far > low) & (far < high) & (far > 0.0)
        drawn = (light[near, None] * away[near] / far[near, None]).sum(axis=0) / window
        of_one = (SHARE - (far < found)) * (high - low) / window - away @ drawn / light.sum()
        variance += float(weight * (light @ of_one**2))
    return variance


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
    """Return (offset from the mean place [k, 2], photons [k]), photons at their bins' middles."""
    axis = centres(half, *spot.shape[:2])
    level, row, column = np.nonzero(spot > 0.0)
    away = np.stack([axis[level, column], axis[level, row]], axis=-1) - mean
    return away, spot[level, row, column]


def _by_slopes(
    spot: Reals, half: float, mean: Reals, weight: float, middles: tuple[Reals, Reals], reach: float
) -> tuple[float, Reals, Reals, Reals]:
    """Return (side of a bin, distance from the mean [k], with more noise [2, k], photons [k]).

    The light of each bin is spread over it and rises there as its neighbours say, in the finest
    square that holds what lies within `reach` mm of the mean place; the rest is put beyond reach.
    Each half of the light is moved by DOSES times the covariance of the mean place, known from the
    light by `middles`, to and fro along the radius and aside.
    """
    fits = np.flatnonzero(0.5 ** np.arange(len(spot)) * half >= np.abs(mean).max() + reach)
    level = fits[-1] if len(fits) else 0
    side = 2.0 * half * 0.5**level / spot.shape[-1]
    total = spot.sum()
    if total < 2.0 * weight:
        return side, np.zeros(0), np.zeros((2, 0)), np.zeros(0)
    away, photons = middles
    noise = (away.T * photons) @ away / (total * (total / weight - 1.0))
    # From the mean of the other photons.
    stretch = total / (total - weight)
    light = _joined(spot[level:])
    axis = centres(half, *spot.shape[:2])[level]
    slope_y, slope_x = (np.gradient(light, axis=k) for k in (0, 1))
    seen = (light > 0.0) | (slope_x != 0.0) | (slope_y != 0.0)
    rows, columns = np.nonzero(seen)
    steps = (np.arange(POINTS) + 0.5) / POINTS - 0.5
    v, u = (a.ravel() for a in np.meshgrid(steps, steps, indexing="ij"))
    x = stretch * (axis[columns][:, None] + side * u - mean[0])
    y = stretch * (axis[rows][:, None] + side * v - mean[1])
    spread = light[seen][:, None] + slope_x[seen][:, None] * u + slope_y[seen][:, None] * v
    radii = np.hypot(x, y)
    along = noise[0, 0] * x * x + 2.0 * noise[0, 1] * x * y + noise[1, 1] * y * y
    along = np.clip(along / np.maximum(radii, 1e-12 * half) ** 2, 0.0, noise.trace())
    aside, step = np.sqrt(DOSES * (noise.trace() - along)), np.sqrt(DOSES * along)
    moved = [np.append(np.hypot(radii + by, aside).ravel(), np.inf) for by in (step, -step)]
    photons = np.append(spread.ravel() / POINTS**2, total - light.sum())
    return side, np.append(radii.ravel(), np.inf), np.stack(moved), photons


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
