"""How bright the picture is: lux, luminance, contrast, and the largest picture that is still good.

Assumed: a white picture but where said otherwise, an even screen at right angles to the axis, the
panel's transmittance as the scene gives it, and a room that lights the screen evenly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from photonsim.results import Estimate, Result, ScreenView, screen_of

Reals = NDArray[np.float64]

# What to aim for: a cinema's 48 cd/m² (ISO 26431-1), which a dark living room does not need; about
# a third of it is what makers are content with (common practice).
WATCHABLE_CD_M2 = 15.0
CINEMA_CD_M2 = 48.0
# Checkerboard contrast against room light: 7:1 to watch, 15:1 to make decisions by
# (ANSI/INFOCOMM 3M-2011; the first figure from memory).
PASSIVE_CONTRAST, BASIC_CONTRAST = 7.0, 15.0


@dataclass(frozen=True)
class Brightness:
    """Light on the screen of a white picture.

    `nine_lux` [3, 3] with standard errors `nine_errors`, row 0 the panel's lowest; `evenness` is
    least over mean of the nine. Contrasts are white over black: of full fields in the dark, of full
    fields in the room's light, and of a checkerboard with room and stray light.
    """

    width_mm: float
    height_mm: float
    lumens: Estimate
    mean_lux: Estimate
    nine_lux: Reals
    nine_errors: Reals
    luminance_cd_m2: Estimate
    full_contrast: float
    room_contrast: float
    board_contrast: float

    @property
    def area_m2(self) -> float:
        """The area of the picture in square metres."""
        return self.width_mm * self.height_mm * 1.0e-6


def brightness_of(result: Result) -> Brightness:
    """Return how bright the picture is. Raises ResultError where the scene has no screen."""
    view = screen_of(result)
    screen, panel = result.scene.screen, result.scene.panel
    assert screen is not None  # or screen_of would have raised
    magnification = abs(view.projection.magnification)
    width = magnification * panel.active_width_mm
    height = magnification * panel.active_height_mm
    area = width * height * 1.0e-6
    lumens = result.estimate("collected_lm")
    mean = Estimate(lumens.value / area, lumens.error / area, lumens.degrees)
    counts = result.tallies.batches["cells"][:, 1].sum(axis=0)[1::3, 1::3].astype(float)
    per_photon = result.optics.flux_lm * result.optics.transmittance / max(result.photons, 1)
    lux = counts * 81.0 * per_photon / area
    stray = np.nan_to_num(result.estimate("stray_share").value)
    panel_contrast = panel.contrast or math.inf
    return Brightness(
        width,
        height,
        lumens,
        mean,
        lux,
        np.sqrt(counts) * 81.0 * per_photon / area,
        luminance(mean, screen.gain),
        panel_contrast,
        contrast(mean.value, panel_contrast, screen.room_lux),
        contrast(mean.value, panel_contrast, screen.room_lux + 0.5 * stray * mean.value),
    )


def luminance(illuminance: Estimate, gain: float) -> Estimate:
    """Return the luminance L = g E / π in cd/m² of a screen of gain g, straight on."""
    scale = gain / math.pi
    return Estimate(illuminance.value * scale, illuminance.error * scale, illuminance.degrees)


def contrast(white_lux: float, panel_contrast: float, other_lux: float) -> float:
    """Return (E_white + E_other) / (E_black + E_other), E_black = E_white / panel contrast."""
    dark = white_lux / panel_contrast + other_lux
    return (white_lux + other_lux) / dark if dark > 0.0 else math.inf


def needed_lux(wanted: float, panel_contrast: float, room_lux: float) -> float:
    """Return the illuminance in lux at which a contrast is reached; infinite where it never is.

    From the definition above: E = A (C - 1) / (1 - C / K) for room light A and panel contrast K.
    """
    if wanted >= panel_contrast:
        return math.inf
    return room_lux * (wanted - 1.0) / (1.0 - wanted / panel_contrast)


def image_illuminance(luminance_cd_m2: float, transmission: float, half_angle_deg: float) -> float:
    """Return E = π T B sin²θ in lux (W. J. Smith, Modern Optical Engineering, p. 275)."""
    sine = math.sin(math.radians(half_angle_deg))
    return math.pi * transmission * luminance_cd_m2 * sine * sine


def largest_width_mm(found: Brightness, least_lux: float) -> float:
    """Return the width of a picture that these lumens light with a mean of so many lux.

    The objective is taken to focus at that distance with the same light.
    """
    if least_lux <= 0.0:
        return math.inf
    area_mm2 = found.lumens.value / least_lux * 1.0e6
    return math.sqrt(area_mm2 * found.width_mm / found.height_mm)


def brightness_text(result: Result) -> str:
    """Return the screen in a few lines: size, lux, luminance, contrast, largest picture, blur."""
    view, found = screen_of(result), brightness_of(result)
    screen = result.scene.screen
    assert screen is not None
    least = found.nine_lux.min() / max(found.nine_lux.mean(), 1e-300)
    lines = [
        f"screen at {view.projection.throw_mm / 1000.0:.2f} m: picture "
        f"{found.width_mm / 1000.0:.2f} x {found.height_mm / 1000.0:.2f} m, "
        f"{found.lumens.text(1.0, 'lm')}, {found.mean_lux.text(1.0, 'lx')} on average, nine-point "
        f"least over mean {least:.2f}",
        f"luminance {found.luminance_cd_m2.text(1.0, 'cd/m²')} with gain {screen.gain:g}; contrast "
        f"{_ratio(found.full_contrast)} by the panel, {_ratio(found.room_contrast)} with "
        f"{screen.room_lux:g} lx in the room, {_ratio(found.board_contrast)} in a checkerboard "
        "with stray light",
        _largest(result, found),
        *_sharpness(result, view),
    ]
    return "\n".join(f"  {line}" for line in lines)


def _largest(result: Result, found: Brightness) -> str:
    screen, panel = result.scene.screen, result.scene.panel
    assert screen is not None
    to_lux = math.pi / screen.gain
    widths = [
        f"{_metres(largest_width_mm(found, level * to_lux))} wide for {level:g} cd/m²"
        for level in (WATCHABLE_CD_M2, CINEMA_CD_M2)
    ]
    for wanted in (PASSIVE_CONTRAST, BASIC_CONTRAST):
        lux = needed_lux(wanted, panel.contrast or math.inf, screen.room_lux)
        widths.append(f"{_metres(largest_width_mm(found, lux))} for {wanted:g}:1 in this room")
    return f"largest picture {', '.join(widths)} (same light, refocused)"


def _sharpness(result: Result, view: ScreenView) -> list[str]:
    blurs = [result.estimate(name).text() for name in ("blur_centre", "blur", "blur_corner")]
    move = view.best_focus_mm()
    sharp = view.blur_at_best_focus_px()
    light = np.where(np.isfinite(sharp), view.photons, 0.0)
    best = math.sqrt(np.average(np.nan_to_num(sharp) ** 2, weights=light)) if light.any() else 0.0
    out = 100.0 * view.distortion(view.corner_mm)
    stray = result.estimate("stray_share").text(100.0, "%")
    return [
        f"RMS blur {blurs[0]} panel pixels in the middle, {blurs[1]} over all, {blurs[2]} in the "
        f"corners; chief rays land {out:+.1f} % out at the corner",
        f"this lamp's own light is sharpest with the screen moved by {move.text(1.0, 'mm')}: "
        f"{best:.2g} pixels over all; stray light {stray}",
    ]


def _ratio(value: float) -> str:
    return "no limit" if math.isinf(value) else f"{value:.3g}:1"


def _metres(width_mm: float) -> str:
    return "any size" if math.isinf(width_mm) else f"{width_mm / 1000.0:.2g} m"
