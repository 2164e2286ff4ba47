"""Blur on the screen, from sums over the cells of the panel that light comes from.

Offsets are landing places relative to the chief ray, divided by the magnification: a blur of one
panel pixel is one pixel wide on the screen too. The RMS blur of a cell is the root of the variance
of the offset along x plus that along y, about the cell's own mean; the mean itself is the centroid
shift.

Of n effective photons in a cell the mean takes one: squares about it are summed over cells, and
divided by the sum of n - 1 (the pooled variance). A cell of a single photon so says nothing, rather
than that it is sharp. What is still off in the order of 1 / n is taken off by the jackknife
(results.sums): cells weigh by n - 1 and not by n, and light that lands close by is not of the
cell's mean weight. Guided light within 3/8 of the stop weighs up to a sixth less, for which alone
the blur of 2**17 photons would be 0.3 to 0.4 stated errors too large. Over 400 seeds of four lamps
the bias left is 0.1 stated errors or less, from 3 photons a cell on.
"""

from __future__ import annotations

import numpy as np

from photonsim.arrays import Flags, Reals
from photonsim.kernel.codes import BLUE, RED
from photonsim.kernel.tallies import SCREEN_SUM
from photonsim.results.merit import COLLECTED, ratio
from photonsim.results.optics import Optics
from photonsim.results.panel import weights
from photonsim.results.panel.field import EVERYWHERE, outward
from photonsim.results.sums import Sums
from photonsim.results.tallies import DIRECTION_SCALE


def moments(screen: Reals) -> dict[str, Reals]:
    """Return means by cell [k, 9, 9] of sums [k, 11, 9, 9]: mm or mm**2, nan without light."""
    photons, stray, *sums = np.moveaxis(screen, 1, 0)
    means = (ratio(each / DIRECTION_SCALE, photons) for each in sums)
    return dict(zip(SCREEN_SUM.words, (photons, stray, *means), strict=True))


def variances(s: Sums) -> tuple[Reals, Reals, Reals]:
    """Return by cell [k, 9, 9] in mm**2 the variance of d, its covariance with e, that of e."""
    m = moments(s.screen)
    dd = m["dxx"] + m["dyy"] - m["dx"] ** 2 - m["dy"] ** 2
    de = m["de"] - m["dx"] * m["ex"] - m["dy"] * m["ey"]
    ee = m["ee"] - m["ex"] ** 2 - m["ey"] ** 2
    kept = m["photons"] / freedom(s, m["photons"])
    return dd * kept, de * kept, ee * kept


def freedom(s: Sums, light: Reals) -> Reals:
    """Return by cell [k, 9, 9] the light less that of one photon; nan where there is no more."""
    one = weights.by_cell(s, COLLECTED)
    return np.where(light > one, light - one, np.nan)


def variance(s: Sums, shift: float | Reals = 0.0, growth: float = 0.0) -> Reals:
    """Return the squared blur by cell [k, 9, 9] in mm**2 with the screen moved.

    `shift`, one or [k], is the way it moves, over its distance from the end of the train: offsets
    become d + shift e, whose variance is a quadratic in shift, from sums of one traced run. The
    picture grows by 1 + shift growth meanwhile, by which the blur on the panel's scale is divided.
    """
    dd, de, ee = variances(s)
    shift = np.asarray(shift, dtype=float).reshape(-1, 1, 1)
    grown = 1.0 + shift * growth
    return np.maximum(dd + 2.0 * shift * de + shift * shift * ee, 0.0) / (grown * grown)


def best_shift(s: Sums, growth: float) -> Reals:
    """Return [k] the shift, as in variance, that makes the panel's mean squared blur least.

    Where the derivative of (A + 2 B s + C s**2) / (1 + m s)**2 is 0: s = (m A - B) / (C - m B).
    """
    free = freedom(s, s.screen[:, 0])
    a, b, c = (np.nansum(free * part, axis=(1, 2)) for part in variances(s))
    with np.errstate(divide="ignore", invalid="ignore"):
        return (growth * a - b) / (c - growth * b)


def rms_px(
    s: Sums,
    optics: Optics,
    cells: Flags = EVERYWHERE,
    shift: float | Reals = 0.0,
    growth: float = 0.0,
) -> Reals:
    """Return [k] the RMS blur of some cells weighted by their light, in panel pixels.

    With the screen moved as in variance; nan where the scene has none.
    """
    return mean_px(freedom(s, s.screen[:, 0]), variance(s, shift, growth), optics, cells)


def mean_px(free: Reals, squares: Reals, optics: Optics, cells: Flags) -> Reals:
    """Return [k] the root of the mean of squares [k, 9, 9] in mm**2 by freedom, in pixels."""
    sums = (np.nansum(each[:, cells], axis=1) for each in (free * squares, free))
    return np.sqrt(ratio(*sums)) / optics.pixel_mm


def centroid_shift_px(s: Sums, optics: Optics, cells: Flags) -> Reals:
    """Return [k] the mean offset from the chief ray away from the axis, in pixels."""
    return _outward_px(s.screen[:, (0, 2, 3)], optics, cells)


def colour_px(s: Sums, optics: Optics, cells: Flags | None = None) -> Reals:
    """Return how far red lands outside blue, in pixels: lateral colour.

    Of some cells together [k], or of each by itself [k, 9, 9].

    Of the mean places of all photons above 590 nm and below 490 nm, as a white spot's two fringes
    are seen; nan where either is missing.
    """
    blue, red = (_outward_px(s.colours[:, colour], optics, cells) for colour in (BLUE, RED))
    return red - blue


def _outward_px(sums: Reals, optics: Optics, cells: Flags | None) -> Reals:
    """Return the outward mean in pixels from sums of (1, dx, dy) by cell, [k, 3, 9, 9]."""
    away = outward(optics.width_mm, optics.height_mm)
    along, light = sums[:, 1] * away[..., 0] + sums[:, 2] * away[..., 1], sums[:, 0]
    if cells is not None:
        along, light = along[:, cells].sum(axis=1), light[:, cells].sum(axis=1)
    return ratio(along, light) / DIRECTION_SCALE / optics.pixel_mm


def stray_share(s: Sums, optics: Optics) -> Reals:
    """Share of the light on the screen that lenses have thrown far from its place by reflection."""
    total = s.screen[:, :2].sum(axis=(2, 3))
    return ratio(total[:, 1], total.sum(axis=1))
