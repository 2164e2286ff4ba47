"""What the audience sees of each zone of the picture: blur, drift, distortion, colour, light, stop.

Blur and its like are in panel pixels, which are screen pixels too.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from photonsim.results import blur, sums
from photonsim.results.estimate import Estimate
from photonsim.results.field import ZONES, Cells
from photonsim.results.screen import ScreenView

Reals = NDArray[np.float64]
FINE = 64


class Zone(NamedTuple):
    """A zone of the picture.

    `blur` is RMS about the mean place, `radius_80` holds 80 % of the light, `drift` is how far the
    mean place lies outside the chief ray, `colour` how far red lands outside blue, all in pixels;
    `distortion` is how far chief rays land outward, over where they should; `light` the illuminance
    over the picture's mean; `filled` the share of the stop that the light comes through.
    """

    name: str
    blur: Estimate
    radius_80: Estimate
    drift: Estimate
    distortion: float
    colour: Estimate
    light: Estimate
    filled: float


def zones_of(view: ScreenView) -> list[Zone]:
    """Return the zones of a picture, from the middle outwards."""
    return [_zone(view, name, cells) for name, cells in ZONES.items()]


def _zone(view: ScreenView, name: str, cells: Cells) -> Zone:
    tallies, optics = view.result.tallies, view.result.optics
    everything, without = sums.total(tallies), sums.without_each(tallies)
    stretches = [view.distortion(view.radius_mm(i, j)) for i, j in np.argwhere(cells)]
    return Zone(
        name,
        sums.estimate(everything, without, lambda s: blur.rms_px(s.screen, optics, cells)),
        view.radius_80_px(cells),
        sums.estimate(everything, without, lambda s: blur.drift_px(s.screen, optics, cells)),
        float(np.mean(stretches)),
        sums.estimate(everything, without, lambda s: blur.colour_px(s.colours, optics, cells)),
        sums.estimate(everything, without, lambda s: view.light_of(s)[:, cells].mean(axis=1)),
        stop_filled(tallies.stop_sums[cells][..., 0]),
    )


def stop_filled(photons: NDArray[np.int64]) -> float:
    """Return the share of the stop's hole that light fills, from photons [n, 16, 16] by place.

    (sum of w)**2 / sum of w**2 for the light w at each place, over that of an even filling; counts
    n stand for w and n (n - 1) for w**2, so that few photons do not look like gaps. nan where there
    are too few to tell.
    """
    counts = photons.astype(float)
    squares = (counts * (counts - 1.0)).sum()
    if squares <= 0.0:
        return float("nan")
    even = _hole(photons.shape[-1])
    whole = (counts.sum(axis=(1, 2)) ** 2).sum()
    return float(whole / squares / (even.sum() ** 2 / (even**2).sum()))


@cache
def _hole(bins: int) -> Reals:
    """Return the share of each of [bins, bins] squares that lies within the circle in them."""
    places = (np.arange(bins * FINE) + 0.5) / (bins * FINE) * 2.0 - 1.0
    inside = np.hypot(*np.meshgrid(places, places)) < 1.0
    return inside.reshape(bins, FINE, bins, FINE).mean(axis=(1, 3))
