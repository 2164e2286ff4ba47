"""Warnings about the directions in which sheets and panel polarise light."""

from __future__ import annotations

import math
from collections.abc import Iterator

from photonsim.optics.polarisers import (
    FIND_AN_AXIS,
    between_deg,
    recycler_of,
    recycling_gain,
)
from photonsim.scene import PrismFilm, ReflectivePolariser, Scene
from photonsim.scene.mistakes import join_path
from photonsim.scene.polariser import Polariser
from photonsim.warnings.warning import SceneWarning
from photonsim.words.text import number, percent

# Over a matt base a film of n = 1.586 sends 6 % less light near the axis with the field along its
# ridges than with the field across them, one of n = 1.49 4 % less (both traced independently).
ALONG_RIDGES = 0.06
# Sheets turned less than this against the panel lose too little to be seen, 2 %.
IN_LINE_DEG = 8.0
LEAST_GAIN = 1.1


def polarisation_warnings(scene: Scene) -> Iterator[SceneWarning]:
    """Every warning about polarising sheets, films and the panel's axis."""
    before = {name: p for name, p in scene.train.items() if p.z_mm < scene.panel.z_mm}
    sheets = {name: part for name, part in before.items() if isinstance(part, Polariser)}
    axis = scene.panel.polariser_deg
    for name, sheet in sheets.items():
        if axis is None:
            yield SceneWarning(
                join_path("train", name, "pass_deg"),
                sheet.pass_deg,
                f"{scene.panel_name} has no polariser_deg, so it passes half of what this sheet "
                "has sorted out already",
                "usual: polariser_deg in line with pass_deg",
            )
        elif (turn := between_deg(sheet.pass_deg, axis)) > IN_LINE_DEG:
            yield SceneWarning(
                join_path("train", name, "pass_deg"),
                sheet.pass_deg,
                f"{number(turn)}° from {scene.panel_name}'s polariser_deg = {axis:g}: of what it "
                f"passes straight on the panel takes {percent(math.sin(math.radians(turn)) ** 2)}",
                f"usual: in line with it; {FIND_AN_AXIS}",
            )
        if isinstance(sheet, ReflectivePolariser):
            yield from _base(scene, name, sheet)
    films = [(name, part) for name, part in before.items() if isinstance(part, PrismFilm)]
    if axis is not None and films and all(between_deg(f.along_deg, axis) < 45.0 for _, f in films):
        name, film = films[0]
        yield SceneWarning(
            join_path("train", name, "along_deg"),
            film.along_deg,
            f"the ridges lie along {scene.panel_name}'s polariser_deg = {axis:g}, where the film "
            f"sends some {percent(ALONG_RIDGES)} less light near the axis than across it",
            f"usual: the ridges across that axis, if the lamp lets you choose; {FIND_AN_AXIS}",
        )


def _base(scene: Scene, name: str, sheet: ReflectivePolariser) -> Iterator[SceneWarning]:
    """Whether what lies below can send again what the sheet turns back to it."""
    recycler = recycler_of(scene, sheet)
    gain = recycling_gain(sheet, 0.0, recycler.reflectance, recycler.mirror_share)
    if gain < LEAST_GAIN:
        yield SceneWarning(
            join_path("train", name, "block_reflectance"),
            sheet.block_reflectance,
            f"over {recycler.words} the sheet brings {number(gain)} times the light of none, at "
            "most",
            "usual: a white, matt base under it, or a diffuser between",
        )
