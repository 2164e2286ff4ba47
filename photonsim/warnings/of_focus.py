"""Warnings about the picture itself: whether it is on the screen, and whether it is sharp."""

from __future__ import annotations

import math
from collections.abc import Iterator

from photonsim.optics.focus import objective_parts, paraxial_blur_px
from photonsim.optics.focus_text import first_order_words
from photonsim.scene import Scene
from photonsim.scene.mistakes import join_path
from photonsim.warnings.warning import SceneWarning

# Real objectives are sharpest some way off the focus of rays near the axis: the shipped lamps, at
# their best, by up to 0.7 % of the picture's width. Only more than that can be called wrong.
OUT_OF_FOCUS = 0.01
# A blur disc of a fifth of the picture's height leaves five patches above each other: no picture.
# Its RMS radius is 1/sqrt(8) of its diameter.
NO_PICTURE = 0.2 / math.sqrt(8.0)


def is_no_picture(scene: Scene, blur_px: float) -> bool:
    """Tell whether there is none on the screen, from its RMS blur in panel pixels.

    Where the lenses form no real image at all, any blur that is seen says so.
    """
    projection = scene.projection
    virtual = projection is None or projection.focus_mm is None
    least = OUT_OF_FOCUS * scene.panel.columns if virtual else math.inf
    return blur_px > min(least, NO_PICTURE * _height_px(scene))


def focus_warnings(scene: Scene) -> Iterator[SceneWarning]:
    """SceneWarning a picture that rays near the axis bring to no focus on the screen."""
    projection = scene.projection
    if projection is None:
        return
    blur = paraxial_blur_px(scene)
    if not blur > OUT_OF_FOCUS * scene.panel.columns:
        return
    parts = objective_parts(scene)
    name = parts[0] if parts else scene.stop_name
    yield SceneWarning(
        join_path("train", name, "z_mm"),
        scene.train[name].z_mm,
        unfocused_words(scene, blur),
        first_order_words(scene),
    )


def unfocused_words(scene: Scene, blur_px: float) -> str:
    """Say that there is no picture, or by how many pixels it is out of focus, and where it is."""
    projection = scene.projection
    focus = None if projection is None else projection.focus_mm
    pixels = f"{blur_px:.2g}" if blur_px < 100.0 else f"{blur_px:.0f}"
    if not is_no_picture(scene, blur_px):
        return f"out of focus by about {pixels} pixels"
    if projection is None or focus is None:
        return (
            "no picture: the lenses form no real image of the panel, so that the screen shows "
            f"{pixels} pixels of blur"
        )
    way = focus - projection.screen_mm
    side = "beyond" if way > 0.0 else "before"
    return (
        f"no picture: the image lies {abs(way) / 1000.0:.2g} m {side} the screen, {pixels} pixels "
        "of blur"
    )


def _height_px(scene: Scene) -> float:
    """Return the panel's height in pixels' widths."""
    panel = scene.panel
    return panel.active_height_mm / (panel.active_width_mm / panel.columns)
