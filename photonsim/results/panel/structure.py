"""Lamp structure: the amplitude at the emitters' pitch in the panel's profile, over its mean.

The profile over the emitters' span is fitted by a parabola, for the slow fall towards the edges,
plus a cosine and a sine at the pitch; the amplitude is that of the wave. Noise alone has an
amplitude too, with a mean square of the two waves' squared errors together. All of that taken off
its square, the root would come out too small, up to half an error; seven tenths share the bias as
evenly as can be among all amplitudes (0.2 errors too large where there is none, 0.25 too small at
one error: tests/results/test_extremes.py), also of the larger of two axes.
The root keeps the sign of what is left: a small negative structure, like one of 0, is none that the
noise lets be seen.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from photonsim.arrays import Flags, Reals
from photonsim.results.merit import ratio
from photonsim.results.optics import Optics
from photonsim.results.panel import extremes
from photonsim.results.sums import Sums

# With fewer periods on the panel a wave cannot be told from the fall to the edges.
FEWEST_PERIODS = 1.5
# With fewer photons a wave's amplitude is not known to a tenth of the mean.
FEWEST_OF_A_WAVE = 512
NOISE_SQUARE_OFF = 0.7


def waves(s: Sums, optics: Optics, light: int, axis: str | None = None) -> Reals:
    """Return [k, 2 n] amplitudes of cosine and sine at the pitch over the mean, for n axes.

    Of those axes, or the one that is given, along which the lamp's emitters have a pitch that shows
    on the panel.
    """
    found = [np.zeros((len(s.photons), 0))]
    if "x" in optics.pitches and axis in ("x", None):
        found.append(wave(s.profile_x[:, light], optics.width_mm, optics.pitches["x"]))
    if "y" in optics.pitches and axis in ("y", None):
        found.append(wave(s.profile_y[:, light], optics.height_mm, optics.pitches["y"]))
    return np.hstack(found)


def wave(profile: Reals, extent_mm: float, pitch: tuple[float, float, float]) -> Reals:
    """Return [k, 2] cosine and sine at the pitch in profiles [k, bins] over `extent_mm`.

    Relative to the mean; nan without light. `pitch` is (pitch, first centre, last centre) in mm.
    [k, 0] where too little of the pattern is on the panel.
    """
    seen, weights = _fit(profile.shape[1], extent_mm, pitch)
    if not len(weights):
        return np.zeros((len(profile), 0))
    light = profile[:, seen]
    mean = light.mean(axis=1, keepdims=True)
    return ratio(light @ weights.T, mean)


@lru_cache(maxsize=16)
def _fit(bins: int, extent_mm: float, pitch: tuple[float, float, float]) -> tuple[Flags, Reals]:
    """Return the bins that the pattern covers, and what each weighs for cosine and sine [2, n].

    No weights where too little of it is on the panel.
    """
    places = ((np.arange(bins) + 0.5) / bins - 0.5) * extent_mm
    step, first, last = pitch
    seen = (places > first - 0.5 * step) & (places < last + 0.5 * step)
    x = places[seen]
    if x.size < 8 or np.ptp(x) < FEWEST_PERIODS * step or step < 2.0 * extent_mm / bins:
        return seen, np.zeros((0, x.size))
    scaled = (x - x.mean()) / np.ptp(x)
    phase = 2.0 * np.pi * (x - first) / step
    basis = np.stack([np.ones_like(x), scaled, scaled**2, np.cos(phase), np.sin(phase)], axis=1)
    return seen, np.linalg.pinv(basis)[3:]


def strongest(readings: Reals, covariance: Reals) -> Reals:
    """Return [k] the amplitude of the strongest of n waves [k, 2 n] with a covariance [2 n, 2 n].

    Of the covariance the variances count: waves along two axes have next to nothing in common.
    """
    pairs = readings.reshape(len(readings), -1, 2)
    noise = covariance.diagonal().reshape(-1, 2).sum(axis=1)
    squared = (pairs**2).sum(axis=2) - NOISE_SQUARE_OFF * noise
    amplitudes = np.sign(squared) * np.sqrt(np.abs(squared))
    return extremes.most(amplitudes, np.diag(0.5 * noise))
