"""How bright the picture is: lux, luminance, contrast, and the largest picture that is still good.

Assumed: a white picture but where said otherwise, an even screen at right angles to the axis, the
panel's transmittance as the scene gives it, and a room that lights the screen evenly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from photonsim.arrays import Reals
from photonsim.results import Estimate, Result, screen_of
from photonsim.results.merit import collected_lm
from photonsim.results.picture.blur import stray_share
from photonsim.results.sums import Sums


@dataclass(frozen=True)
class Brightness:
    """Light on the screen of a white picture.

    Contrasts are white over black: of full fields in the dark, of full fields in the room's light,
    and of a checkerboard with room and stray light.
    """

    width_mm: float
    height_mm: float
    lumens: Estimate
    mean_lux: Estimate
    luminance_cd_m2: Estimate
    full_contrast: float
    room_contrast: Estimate
    board_contrast: Estimate


def brightness_of(result: Result) -> Brightness:
    """Return how bright the picture is. Raises ResultError where the scene has no screen."""
    view = screen_of(result)
    screen, panel = result.scene.screen, result.scene.panel
    assert screen is not None  # or screen_of would have raised
    width, height = view.size_mm
    area = width * height * 1.0e-6
    lumens, mean = result.estimate("collected_lm"), view.mean_lux
    panel_contrast = panel.contrast or math.inf

    def contrast_of(s: Sums, stray_lit: float) -> Reals:
        white = collected_lm(s, result.optics) / area
        stray = np.nan_to_num(stray_share(s, result.optics))
        return contrast(white, panel_contrast, screen.room_lux + stray_lit * stray * white)

    return Brightness(
        width,
        height,
        lumens,
        mean,
        luminance(mean, screen.gain),
        panel_contrast,
        result.samples.estimate(lambda s: contrast_of(s, 0.0)),
        # Half of a checkerboard is white, and its stray light falls on the black fields.
        result.samples.estimate(lambda s: contrast_of(s, 0.5)),
    )


def luminance(illuminance: Estimate, gain: float) -> Estimate:
    """Return the luminance L = g E / π in cd/m² of a screen of gain g, straight on."""
    scale = gain / math.pi
    return Estimate(illuminance.value * scale, illuminance.error * scale, illuminance.degrees)


def contrast(white_lux: Reals, panel_contrast: float, other_lux: float | Reals) -> Reals:
    """Return (E_white + E_other) / (E_black + E_other) for E_white [k], by E_black = E_white / K.

    Infinite where there is no light on black.
    """
    dark = white_lux / panel_contrast + other_lux
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(dark > 0.0, (white_lux + other_lux) / dark, np.inf)


def needed_lux(wanted: float, panel_contrast: float, room_lux: float) -> float:
    """Return the illuminance in lux at which a contrast is reached; infinite where it never is.

    From the definition above: E = A (C - 1) / (1 - C / K) for room light A and panel contrast K.
    """
    if wanted >= panel_contrast:
        return math.inf
    return room_lux * (wanted - 1.0) / (1.0 - wanted / panel_contrast)


def largest_width_mm(found: Brightness, least_lux: float) -> Estimate:
    """Return the width of a picture that these lumens light with a mean of so many lux.

    The objective is taken to focus at that distance with the same light.
    """
    if least_lux <= 0.0:
        return Estimate(math.inf, 0.0)
    area_mm2 = found.lumens.value / least_lux * 1.0e6
    width = math.sqrt(area_mm2 * found.width_mm / found.height_mm)
    # The width goes as the root of the lumens.
    error = 0.5 * found.lumens.error / found.lumens.value * width if width else 0.0
    return Estimate(width, error, found.lumens.degrees)
