"""What the figures of merit compute from the sums; results/registry.py names them."""

from __future__ import annotations

import numpy as np

from photonsim.arrays import Reals
from photonsim.kernel.codes import FATE_STOP
from photonsim.results.optics import Optics
from photonsim.results.panel.extremes import FEWEST_OF_A_READING
from photonsim.results.sums import Sums
from photonsim.results.tallies import DIRECTION_SCALE

ARRIVING, COLLECTED = 0, 1
# 10 degrees from the axis is about the acceptance of an f/2.8 objective.
NEAR_AXIS_DEG = 10
# The strips of the edges, of the 128 bins of a profile.
EDGE_BINS = 4
EDGE_STRIPS = 128 // EDGE_BINS
# Photons of a light that its points, edges and corners ask for, each a cell of 9 x 9 or more.
FEWEST_OF_CELLS = 81 * FEWEST_OF_A_READING


def near_axis(s: Sums) -> Reals:
    """Photons that arrive at the panel within 10 degrees of the axis."""
    return s.polar[:, ARRIVING, :NEAR_AXIS_DEG].sum(axis=-1)


def collected_lm(s: Sums, optics: Optics) -> Reals:
    """Collected fraction times emitted flux, panel and lens transmittance, in lumens."""
    return s.collected / s.photons * optics.flux_lm * optics.transmittance


def acceptance(s: Sums, optics: Optics) -> Reals:
    """Share of the light that arrives at the panel which goes on through the stop."""
    return ratio(s.collected, s.incident)


def polarisation_gain(s: Sums, optics: Optics) -> Reals:
    """What is collected over what would be if the panel's polariser took all light alike.

    The ledger's first fate counts what goes through the stop whatever its polarisation.
    """
    return ratio(s.collected, s.fates[:, FATE_STOP])


def nine_points(s: Sums, light: int) -> Reals:
    """Return [k, 3, 3] light at the centres of 3 x 3 equal fields.

    Each is the middle one of the 3 x 3 cells of its field, a ninth of the field's area.
    """
    return s.cells[:, light, 1::3, 1::3]


def nine_over_mean(s: Sums, optics: Optics, light: int = COLLECTED) -> Reals:
    """Return [k, 9] the nine points over their mean.

    The least of them is the nine-point uniformity, minimum over mean; over the largest it is
    minimum over maximum (nine-point grid as in ISO 11315-1).
    """
    nine = nine_points(s, light).reshape(-1, 9)
    return ratio(nine, nine.mean(axis=1, keepdims=True))


def thirteen_deviations(s: Sums, optics: Optics, light: int = COLLECTED) -> Reals:
    """Return [k, 13] deviations of thirteen points from the mean of the nine, over that mean.

    The four further points are the corner cells, centred 5.6 % of width and height from the edges
    (texts on IEC 61947-1 differ on the inset, 5 % or 10 %).
    """
    nine = nine_points(s, light).reshape(-1, 9)
    corners = s.cells[:, light, ::8, ::8].reshape(-1, 4)
    mean = nine.mean(axis=1, keepdims=True)
    return ratio(np.hstack([nine, corners]), mean) - 1.0


def rim_over_mean(s: Sums, optics: Optics, light: int = COLLECTED) -> Reals:
    """Return [k, 8] the light of the picture's rim over its mean: four edges, four corners.

    In order: left (low x), right, bottom (low y), top; the corners row by row from the lowest.

    An edge is the outermost 32nd of width or height, from end to end; a corner is a cell, a ninth
    of each. A dark band as wide as the strip, 3 mm of 95, is seen from the seats at a glance, yet
    takes a quarter of the light from a cell and none from the nine points; narrower strips would
    ask for more photons, and lose in the blur of the lamp.
    """
    edges = [
        strip.sum(axis=1) * EDGE_STRIPS
        for profile in (s.profile_x[:, light], s.profile_y[:, light])
        for strip in (profile[:, :EDGE_BINS], profile[:, -EDGE_BINS:])
    ]
    corners = s.cells[:, light, ::8, ::8].reshape(-1, 4) * 81.0
    rim = np.hstack([np.stack(edges, axis=1), corners])
    return ratio(rim, s.cells[:, light].sum(axis=(1, 2))[:, None])


def rms_angle_deg(s: Sums, optics: Optics) -> Reals:
    """RMS angle from the axis of the light that arrives at the panel, in degrees.

    The sine of it is the root of the mean u**2 + v**2; Lambertian light has 45 degrees.
    """
    squared = s.direction_sums[:, 2:].sum(axis=1) / DIRECTION_SCALE
    return np.degrees(np.arcsin(np.sqrt(np.clip(ratio(squared, s.incident), 0.0, 1.0))))


def half_intensity_deg(s: Sums, optics: Optics, plane: str) -> Reals:
    """Return [k] the angle at which the intensity in a plane first falls to half of that on axis.

    Of the light that arrives at the panel, in the horizontal plane (x, z), 'plane_x', or the
    vertical one (y, z), 'plane_y': in 2-degree bins from -90 to 90 degrees, both sides averaged.
    nan where there is no light on axis or the intensity never falls to half. 'On axis' is the mean
    over -6 to 6 degrees.
    """
    light: Reals = getattr(s, plane)[:, ARRIVING]
    folded = light[:, 45:] + light[:, 44::-1]
    axis = folded[:, :3].mean(axis=1)
    out = np.full(len(light), np.nan)
    below = folded < 0.5 * axis[:, None]
    first = below.argmax(axis=1)
    k = np.flatnonzero(below.any(axis=1) & (axis > 0.0) & (first > 0))
    i = first[k]
    high, low = folded[k, i - 1], folded[k, i]
    out[k] = 2.0 * (i - 0.5 + (high - 0.5 * axis[k]) / (high - low))
    return out


def ratio(top: Reals, bottom: Reals) -> Reals:
    """Return top / bottom, nan where the bottom is 0."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(bottom > 0.0, top / bottom, np.nan)
