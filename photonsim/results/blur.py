"""Blur on the screen, from sums over the cells of the panel that light comes from.

Offsets are landing places relative to the chief ray, divided by the magnification: a blur of one
panel pixel is one pixel wide on the screen too. The RMS blur of a cell is the root of the variance
of the offset along x plus that along y, about the cell's own mean; the mean itself is the drift.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from photonsim.results.optics import Optics
from photonsim.results.sums import Sums
from photonsim.results.tallies import DIRECTION_SCALE

Reals = NDArray[np.float64]

# The order of the sums of a cell, the second axis of the batch array 'screen' [k, 11, 9, 9].
SUM_NAMES = ("photons", "stray", "dx", "dy", "dxx", "dyy", "dxy", "ex", "ey", "ee", "de")
CENTRE, CORNERS = (slice(3, 6), slice(3, 6)), (slice(None, None, 8), slice(None, None, 8))


def moments(screen: Reals) -> dict[str, Reals]:
    """Return means by cell [k, 9, 9] of sums [k, 11, 9, 9]: mm or mm**2, nan without light."""
    with np.errstate(divide="ignore", invalid="ignore"):
        count = screen[:, 0]
        means = {
            name: screen[:, k] / DIRECTION_SCALE / count
            for k, name in enumerate(SUM_NAMES)
            if k >= 2
        }
    return means | {"photons": count, "stray": screen[:, 1]}


def spreads(screen: Reals) -> tuple[Reals, Reals, Reals]:
    """Return by cell [k, 9, 9] in mm**2 the variance of d, its covariance with e, that of e."""
    m = moments(screen)
    dd = m["dxx"] + m["dyy"] - m["dx"] ** 2 - m["dy"] ** 2
    de = m["de"] - m["dx"] * m["ex"] - m["dy"] * m["ey"]
    ee = m["ee"] - m["ex"] ** 2 - m["ey"] ** 2
    # The mean is known from the same photons: n - 1.
    with np.errstate(divide="ignore", invalid="ignore"):
        kept = m["photons"] / (m["photons"] - 1.0)
    return dd * kept, de * kept, ee * kept


def variance(screen: Reals, shift: float = 0.0, growth: float = 0.0) -> Reals:
    """Return the squared blur by cell [k, 9, 9] in mm**2 with the screen moved.

    `shift` is the way it moves, over its distance from the end of the train: offsets become
    d + shift e, whose variance is a quadratic in shift, from sums of one traced run. The picture
    grows by 1 + shift growth meanwhile, by which the blur on the panel's scale is divided.
    """
    dd, de, ee = spreads(screen)
    grown = 1.0 + shift * growth
    return np.maximum(dd + 2.0 * shift * de + shift * shift * ee, 0.0) / (grown * grown)


def best_shift(screen: Reals, growth: float) -> Reals:
    """Return [k] the shift, as in variance, that makes the panel's mean squared blur least.

    Where the derivative of (A + 2 B s + C s**2) / (1 + m s)**2 is 0: s = (m A - B) / (C - m B).
    """
    light = screen[:, 0]
    a, b, c = (np.nansum(light * spread, axis=(1, 2)) for spread in spreads(screen))
    with np.errstate(divide="ignore", invalid="ignore"):
        return (growth * a - b) / (c - growth * b)


def rms_px(screen: Reals, optics: Optics, cells: tuple[slice, slice] | None = None) -> Reals:
    """Return [k] the RMS blur of some cells (default: all) weighted by their light, in pixels."""
    chosen = (slice(None), *(cells or (slice(None), slice(None))))
    squared = variance(screen)[chosen]
    light = np.where(np.isfinite(squared), screen[:, 0][chosen], 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = np.nansum(light * squared, axis=(1, 2)) / light.sum(axis=(1, 2))
    return np.sqrt(mean) / optics.pixel_mm


def blur(s: Sums, optics: Optics) -> Reals:
    """RMS blur over the whole picture, in panel pixels; nan where the scene has no screen."""
    return rms_px(s.screen, optics)


def blur_centre(s: Sums, optics: Optics) -> Reals:
    """RMS blur of the middle ninth of the picture, in panel pixels."""
    return rms_px(s.screen, optics, CENTRE)


def blur_corner(s: Sums, optics: Optics) -> Reals:
    """RMS blur of the four corner cells, each 1/81 of the picture, in panel pixels."""
    return rms_px(s.screen, optics, CORNERS)


def stray_share(s: Sums, optics: Optics) -> Reals:
    """Share of the light on the screen that lenses have thrown far from its place by reflection."""
    total = s.screen[:, :2].sum(axis=(2, 3))
    with np.errstate(divide="ignore", invalid="ignore"):
        return total[:, 1] / total.sum(axis=1)
