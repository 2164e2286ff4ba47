"""What is on the screen, in words: size, lux, contrast, the largest good picture, blur by zone."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable

from photonsim.results import Estimate, Result, ScreenView, screen_of
from photonsim.results.picture.zones import Zone, zones_of
from photonsim.summary.brightness import (
    Brightness,
    brightness_of,
    largest_width_mm,
    needed_lux,
)
from photonsim.summary.focus_words import focus_words
from photonsim.words.text import LINE, folded, paragraph

# What to aim for: a cinema's 48 cd/m² (ISO 26431-1). Below 5 cd/m² eyes begin to change over to
# night vision (the upper end of the mesopic range, CIE 191:2010, from memory): a picture can still
# be watched in the dark, with paler colours, once the eyes are used to it.
FULL_COLOUR_CD_M2 = 5.0
CINEMA_CD_M2 = 48.0
# Checkerboard contrast against room light: 7:1 to watch, 15:1 to make decisions by
# (ANSI/INFOCOMM 3M-2011; the first figure from memory).
PASSIVE_CONTRAST, BASIC_CONTRAST = 7.0, 15.0
ASSUMED = (
    "assumed: a white picture, a screen at right angles to the axis, even light in the room, other "
    "sizes with the same light, refocused"
)


def brightness_text(result: Result) -> str:
    """Return the screen in a few paragraphs: lux, contrast, largest picture, sharpness, zones."""
    view, found = screen_of(result), brightness_of(result)
    screen = result.scene.screen
    assert screen is not None
    out = 100.0 * view.distortion(view.corner_mm)
    words = {
        "Luminance": f"{found.luminance_cd_m2.text(1.0, 'cd/m²')} with gain {screen.gain:g}",
        "Contrast": f"{_ratio(found.full_contrast)} by the panel, {_odds(found.room_contrast)} "
        f"with {screen.room_lux:g} lx in the room, {_odds(found.board_contrast)} in a checkerboard "
        "with stray light",
        "Largest": _largest(result, found),
        "Corners": f"the corner itself lands {out:+.1f} % out",
        "Stray light": result.estimate("stray_share").text(100.0, "%"),
    }
    zones = folded(zone_rows(view), left=(0,), keep=1, width=LINE - 2)
    return "\n".join(
        [
            screen_text(result),
            *_labelled(words),
            *(textwrap.indent(f"\n{block}", "  ") for block in zones),
            "",
            paragraph(ASSUMED, "  ", "  "),
        ]
    )


def screen_text(result: Result) -> str:
    """Return the light on the screen and whether it is in focus, in two paragraphs."""
    view, found = screen_of(result), brightness_of(result)
    words = {
        "Screen": f"{found.mean_lux.text(1.0, 'lx')} on average, {found.width_mm / 1000.0:.2f} × "
        f"{found.height_mm / 1000.0:.2f} m at {view.projection.throw_mm / 1000.0:.2f} m",
        "Focus": focus_words(result),
    }
    return "\n".join(_labelled(words))


def _labelled(words: dict[str, str]) -> list[str]:
    return [paragraph(text, f"  {name:<12}", " " * 14) for name, text in words.items()]


def _largest(result: Result, found: Brightness) -> str:
    screen, panel = result.scene.screen, result.scene.panel
    assert screen is not None
    to_lux = math.pi / screen.gain
    widths = [
        f"{_metres(largest_width_mm(found, level * to_lux))} wide for {level:g} cd/m²"
        for level in (FULL_COLOUR_CD_M2, CINEMA_CD_M2)
    ]
    for wanted in (PASSIVE_CONTRAST, BASIC_CONTRAST):
        lux = needed_lux(wanted, panel.contrast or math.inf, screen.room_lux)
        widths.append(f"{_metres(largest_width_mm(found, lux))} for {wanted:g}:1 in this room")
    return f"picture {', '.join(widths)}"


# Heads and a row's words for each column of the table by zone.
COLUMNS: dict[str, Callable[[Zone], str]] = {
    "zone": lambda zone: zone.name,
    "RMS blur, px": lambda zone: zone.blur.text(),
    "80 % within, px": lambda zone: zone.radius_80.text(),
    "centroid shift out, px": lambda zone: zone.centroid_shift.text(),
    "chief rays out, %": lambda zone: f"{round(100.0 * zone.distortion, 2) + 0.0:+.2f}",
    "red out of blue, px": lambda zone: zone.colour.text(),
    "light over mean": lambda zone: zone.light.text(),
    "stop filled, %": lambda zone: zone.filled.text(100.0),
}


def zone_rows(view: ScreenView) -> list[list[str]]:
    """Return what the audience sees by zone, heads first; without colours that is left out."""
    zones = zones_of(view)
    in_colour = any(math.isfinite(zone.colour.value) for zone in zones)
    columns = {
        head: words for head, words in COLUMNS.items() if in_colour or not head.startswith("red")
    }
    return [list(columns), *([words(zone) for words in columns.values()] for zone in zones)]


def _ratio(value: float) -> str:
    return "no limit" if math.isinf(value) else f"{value:.3g}:1"


def _odds(ratio: Estimate) -> str:
    return "no limit" if math.isinf(ratio.value) else ratio.text(1.0, ": 1")


def _metres(width_mm: Estimate) -> str:
    return "any size" if math.isinf(width_mm.value) else width_mm.text(1.0e-3, "m")
