"""Figures: matplotlib pictures of results, fit for a write-up as they are. No display is needed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from os import PathLike
from pathlib import Path

from matplotlib.figure import Figure

from photonsim.figures.lamp.emission import directions_counted, draw_emission
from photonsim.figures.lamp.ledger import draw_ledger
from photonsim.figures.lamp.orientation import draw_orientation
from photonsim.figures.lamp.side_view import draw_side_view
from photonsim.figures.lamp.supply import draw_supply
from photonsim.figures.panel.intensity import draw_intensity
from photonsim.figures.panel.maps import draw_maps
from photonsim.figures.panel.profile import draw_profile
from photonsim.figures.panel.spread import draw_angular_spread
from photonsim.figures.saving import save_figure
from photonsim.figures.screen.blur import draw_blur
from photonsim.figures.screen.line_contrast import draw_line_contrast
from photonsim.figures.screen.preview import draw_preview
from photonsim.figures.screen.stop import draw_stop
from photonsim.figures.study.comparison import draw_designs
from photonsim.results import LightPath, Result

__all__ = [
    "draw_all",
    "draw_angular_spread",
    "draw_blur",
    "draw_comparison",
    "draw_designs",
    "draw_emission",
    "draw_intensity",
    "draw_ledger",
    "draw_line_contrast",
    "draw_maps",
    "draw_orientation",
    "draw_preview",
    "draw_profile",
    "draw_side_view",
    "draw_stop",
    "draw_supply",
    "save_figure",
]

_OF_RESULT = {
    "maps": draw_maps,
    "spread": draw_angular_spread,
    "intensity": draw_intensity,
    "ledger": draw_ledger,
    "profile": draw_profile,
}
_OF_SCREEN = {"blur": draw_blur, "line_contrast": draw_line_contrast, "stop": draw_stop}

# Enough to see a design by, among several; `draw_all` draws these alone where asked to.
IN_SHORT = ("maps", "preview", "side_view")


def draw_all(
    result: Result,
    paths: Sequence[LightPath],
    folder: str | PathLike[str],
    stem: str,
    formats: Sequence[str] = ("png", "svg"),
    in_short: bool = False,
) -> list[Path]:
    """Draw the figures of a result into a folder as stem-maps.png and so on; return the files.

    `paths` is traced light for the side view, such as photonsim.engine.sample_paths gives; it may
    be empty. `in_short` leaves out all but IN_SHORT. Raises ResultError where a file cannot be
    written.
    """
    drawings: dict[str, Callable[[], Figure]] = {
        name: partial(draw, result) for name, draw in _OF_RESULT.items()
    }
    if directions_counted(result):
        drawings["emission"] = partial(draw_emission, result)
    if result.run.landing:
        for name, draw_of_screen in _OF_SCREEN.items():
            drawings[name] = partial(draw_of_screen, result)
        drawings["preview"] = partial(draw_preview, [(result.name, result)])
    drawings["side_view"] = partial(draw_side_view, result.scene, paths)
    written = []
    for name, draw in drawings.items():
        if name in IN_SHORT or not in_short:
            # A preview is a picture of pixels, which SVG would only wrap.
            wanted = ("png",) if name == "preview" else formats
            written += save_figure(draw(), folder, f"{stem}-{name}", wanted)
    return written


def draw_comparison(
    results: Sequence[tuple[str, Result]],
    folder: str | PathLike[str],
    stem: str,
    formats: Sequence[str] = ("png", "svg"),
) -> list[Path]:
    """Draw designs, given as (label, result), side by side; return the files.

    Raises ResultError without any design, or where a file cannot be written.
    """
    return save_figure(draw_designs(results), folder, f"{stem}-comparison", formats)
