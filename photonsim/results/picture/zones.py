"""What the audience sees of a zone: blur, centroid shift, distortion, colour, light, stop.

Blur and its like are in panel pixels, which are screen pixels too.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from photonsim.arrays import Flags
from photonsim.results.estimate import Estimate
from photonsim.results.panel.field import ZONES
from photonsim.results.picture import blur
from photonsim.results.picture.screen import ScreenView
from photonsim.results.picture.stop import net_share, stop_filled


class Zone(NamedTuple):
    """A zone of the picture.

    `blur` is RMS about the centroid, `radius_80` holds 80 % of the light, `centroid_shift` is how
    far the centroid lies outside the chief ray, `colour` how far red lands outside blue, all in
    pixels; `distortion` is how far chief rays land outward, over where they should; `light` the
    illuminance over the picture's mean; `filled` the share of the stop that the light comes
    through.
    """

    name: str
    blur: Estimate
    radius_80: Estimate
    centroid_shift: Estimate
    distortion: float
    colour: Estimate
    light: Estimate
    filled: Estimate


def zones_of(view: ScreenView) -> list[Zone]:
    """Return the zones of a picture, from the middle outwards."""
    return [_zone(view, name, cells) for name, cells in ZONES.items()]


def _zone(view: ScreenView, name: str, cells: Flags) -> Zone:
    tallies, optics = view.result.tallies, view.result.optics
    samples = view.result.samples
    stretches = [view.distortion(radius) for radius in view.radii_mm[cells]]
    return Zone(
        name,
        samples.estimate(lambda s: blur.rms_px(s, optics, cells), curved=True),
        view.radius_80_px(cells),
        samples.estimate(lambda s: blur.centroid_shift_px(s, optics, cells)),
        float(np.mean(stretches)),
        samples.estimate(lambda s: blur.colour_px(s, optics, cells)),
        samples.estimate(lambda s: view.light_of(s)[:, cells].mean(axis=1)),
        stop_filled(
            tallies.stop_sums[cells], view.mean_weights[cells], net_share(view.result, cells)
        ),
    )
