"""The verdict in words, three lines of it: picture, brightness, edges."""

from __future__ import annotations

import math

import numpy as np

from photonsim.optics.focus_text import move_words, obstacle
from photonsim.results import Result, ScreenView, screen_of
from photonsim.results.merit import COLLECTED, EDGE_STRIPS, rim_over_mean
from photonsim.results.panel.field import ZONES
from photonsim.scene import Scene
from photonsim.summary.brightness import brightness_of
from photonsim.summary.brightness_text import CINEMA_CD_M2, FULL_COLOUR_CD_M2, PASSIVE_CONTRAST
from photonsim.summary.verdict import Verdict
from photonsim.warnings.of_focus import is_no_picture, unfocused_words
from photonsim.words.text import number, paragraph

# Below a tenth of the luminance at which colours pale, only eyes used to the dark see a picture.
DIM = 0.1
EVEN, A_LITTLE = 0.8, 0.6
LOPSIDED = 0.15
# Lines with a fifth of their contrast still show (common practice).
SHOWS = 0.2
# A line of pixels and a gap.
FINEST_PX = 2.0
PITCHES = 200


def verdict_text(verdict: Verdict) -> str:
    """Return the verdict in three short paragraphs of at most 80 columns."""
    words = verdict_words(verdict).items()
    return "\n".join(paragraph(text, f"  {name:<12}", " " * 14) for name, text in words)


def verdict_words(verdict: Verdict) -> dict[str, str]:
    """Return what is said of the picture, of its brightness and of its edges, by these names."""
    return {
        "Picture": _picture(verdict),
        "Brightness": _brightness(verdict),
        "Edges": _edges(verdict.best),
    }


def _picture(verdict: Verdict) -> str:
    now, scene = verdict.now, verdict.now.scene
    if scene.screen is None:
        return "cannot be told: the scene has no [screen]."
    blur = now.estimate("blur").value
    if math.isnan(blur):
        return "cannot be told: too little light reaches the screen."
    sharpness = _sharpness(verdict.best)
    missing = is_no_picture(scene, blur)
    answer = f"no: {_bare(scene, blur)}" if missing else f"yes, but {unfocused_words(scene, blur)}"
    if not verdict.is_out_of_focus:
        if missing or verdict.is_stuck:
            return f"{answer}. Moving the objective cannot help: {obstacle(scene)}."
        return f"yes, in focus: {sharpness}."
    if verdict.distance_mm is not None:
        advice = f"set the screen's distance_mm = {verdict.distance_mm:g}"
    else:
        advice = move_words(scene, verdict.move_mm)
    return f"{answer}. {advice[0].upper()}{advice[1:]}; then {sharpness}."


def _bare(scene: Scene, blur: float) -> str:
    return unfocused_words(scene, blur).removeprefix("no picture: ")


def _sharpness(result: Result) -> str:
    middle, corner = (result.estimate(name).value for name in ("blur_centre", "blur_corner"))
    words = f"{number(middle, 2)} pixels of blur in the middle, {number(corner, 2)} in the corners"
    finest = _finest(screen_of(result))
    return f"{words}. {finest}" if finest else words


def _finest(view: ScreenView) -> str:
    """Say which lines still show: 'in focus' tells nothing of it. Empty with too little light."""
    middle, corner = (_finest_px(view, zone) for zone in ("middle", "corners"))
    if math.isnan(middle) or math.isnan(corner):
        return ""
    if max(middle, corner) <= FINEST_PX:
        return "Even single pixels show"
    if middle <= FINEST_PX:
        return (
            "Single pixels show in the middle; in the corners lines closer than "
            f"{number(corner, 2)} pixels run together"
        )
    return (
        f"Lines closer than {number(middle, 2)} pixels run together in the middle, closer than "
        f"{number(corner, 2)} in the corners"
    )


def _finest_px(view: ScreenView, zone: str) -> float:
    """Return the pitch from which on upright and level lines show in a zone; nan if unknown."""
    pitches = np.geomspace(FINEST_PX, view.result.scene.panel.columns, PITCHES)
    contrast = np.minimum(*(view.line_contrast(ZONES[zone], pitches, axis)[0] for axis in "xy"))
    if np.isnan(contrast).any():
        return math.nan
    lost = np.flatnonzero(contrast < SHOWS)
    return float(pitches[min(lost[-1] + 1, len(pitches) - 1)]) if lost.size else FINEST_PX


def _brightness(verdict: Verdict) -> str:
    result = verdict.best
    if not result.run.landing:
        return f"{number(result.estimate('collected_lm').value, 2)} lm leave the objective."
    found, screen = brightness_of(result), result.scene.screen
    assert screen is not None  # or there were no landing
    words = (
        f"about {number(found.mean_lux.value, 2)} lx at {found.width_mm / 1000.0:.2g} m wide: "
        f"{_meaning(found.luminance_cd_m2.value)}"
    )
    if screen.room_lux > 0.0:
        ratio = number(found.room_contrast.value, 2)
        words += f". In this room's {screen.room_lux:g} lx white is {ratio} times black"
        words += f" ({PASSIVE_CONTRAST:g} will do)"
    return f"{'in focus, ' if verdict.is_out_of_focus else ''}{words}."


def _meaning(luminance_cd_m2: float) -> str:
    if luminance_cd_m2 >= CINEMA_CD_M2:
        return "as bright as a cinema"
    if luminance_cd_m2 >= FULL_COLOUR_CD_M2:
        return "full colours in a dark room"
    if luminance_cd_m2 >= DIM * FULL_COLOUR_CD_M2:
        return "for a dark room, with paler colours"
    return "very dim, for a dark room and eyes used to it"


def _edges(result: Result) -> str:
    darkest = result.estimate("darkest_edge").value
    if math.isnan(darkest):
        return "cannot be told: too little light passes the stop."
    rim = rim_over_mean(result.samples.total, result.optics)[0].tolist()
    left, right, bottom, top, *corners = rim
    photons = result.samples.effective_photons(COLLECTED) / EDGE_STRIPS
    parts = [
        *_pair("left", left, "right", right, photons),
        *_pair("top", top, "bottom", bottom, photons),
        f"corners {sum(corners) / 4.0:.1f}",
    ]
    judged = "even" if darkest >= EVEN else "a little darker" if darkest >= A_LITTLE else "dark"
    return f"{judged}: {', '.join(parts)} of the mean light."


def _pair(one: str, light: float, other: str, its_light: float, photons: float) -> list[str]:
    """Join two sides unless they differ by much, and by more than chance of so many photons."""
    chance = 3.0 * math.sqrt((light + its_light) / photons)
    if abs(light - its_light) > max(LOPSIDED, chance):
        return [f"{one} {light:.1f}", f"{other} {its_light:.1f}"]
    return [f"{one} and {other} {0.5 * (light + its_light):.1f}"]
