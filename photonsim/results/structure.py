"""Lamp structure: the amplitude at the emitters' pitch in the panel's profile, over its mean.

The profile over the emitters' span is fitted by a parabola, for the slow fall towards the edges,
plus a cosine and a sine at the pitch; the amplitude is that of the wave. Counting noise alone has
an amplitude too: its expected square is taken off, so that an even panel gives 0 on average. That
is the square of independent photons. The emission's net makes it less: measured on the split film,
the structure is too small by a sixth of its error.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from photonsim.results.optics import Optics
from photonsim.results.sums import Sums

Reals = NDArray[np.float64]
# With fewer periods on the panel a wave cannot be told from the fall to the edges.
FEWEST_PERIODS = 1.5


def of_collected(s: Sums, optics: Optics) -> Reals:
    """Lamp structure of the collected light, noise removed; the larger of the two axes."""
    return _largest(s, optics, light=1, noise_removed=True)


def of_collected_raw(s: Sums, optics: Optics) -> Reals:
    """Lamp structure of the collected light with its noise."""
    return _largest(s, optics, light=1, noise_removed=False)


def of_arriving(s: Sums, optics: Optics) -> Reals:
    """Lamp structure of the light that arrives at the panel, noise removed."""
    return _largest(s, optics, light=0, noise_removed=True)


def of_arriving_raw(s: Sums, optics: Optics) -> Reals:
    """Lamp structure of the light that arrives at the panel, with its noise."""
    return _largest(s, optics, light=0, noise_removed=False)


def amplitude(
    profile: Reals, extent_mm: float, pitch: tuple[float, float, float], noise_removed: bool
) -> Reals:
    """Return [k] the relative amplitude at the pitch in profiles [k, bins] over `extent_mm`.

    `pitch` is (pitch, first centre, last centre) in mm. nan where too little of the pattern is on
    the panel or there is no light.
    """
    bins = profile.shape[1]
    places = ((np.arange(bins) + 0.5) / bins - 0.5) * extent_mm
    step, first, last = pitch
    seen = (places > first - 0.5 * step) & (places < last + 0.5 * step)
    x = places[seen]
    if x.size < 8 or np.ptp(x) < FEWEST_PERIODS * step or step < 2.0 * extent_mm / bins:
        return np.full(len(profile), np.nan)
    scaled = (x - x.mean()) / np.ptp(x)
    phase = 2.0 * np.pi * (x - first) / step
    basis = np.stack([np.ones_like(x), scaled, scaled**2, np.cos(phase), np.sin(phase)], axis=1)
    weights = np.linalg.pinv(basis)
    light = profile[:, seen]
    mean = light.mean(axis=1)
    waves = light @ weights[3:].T
    squared = (waves**2).sum(axis=1)
    if noise_removed:
        # Counts are Poisson: the variance of a weighted sum is the sum of weight**2 times count.
        squared = np.maximum(squared - light @ (weights[3:] ** 2).sum(axis=0), 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(mean > 0.0, np.sqrt(squared) / mean, np.nan)


def _largest(s: Sums, optics: Optics, light: int, noise_removed: bool) -> Reals:
    found = []
    if "x" in optics.pitches:
        pitch = optics.pitches["x"]
        found.append(amplitude(s.profile_x[:, light], optics.width_mm, pitch, noise_removed))
    if "y" in optics.pitches:
        pitch = optics.pitches["y"]
        found.append(amplitude(s.profile_y[:, light], optics.height_mm, pitch, noise_removed))
    if not found:
        return np.full(len(s.photons), np.nan)
    stacked = np.stack(found)
    with np.errstate(invalid="ignore"):
        best = np.where(np.isnan(stacked), -np.inf, stacked).max(axis=0)
    return np.where(np.isinf(best), np.nan, best)
