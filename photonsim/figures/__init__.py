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
from photonsim.figures.saving import DOTS_PER_INCH, save_figure
from photonsim.figures.screen.blur import draw_blur
from photonsim.figures.screen.line_contrast import draw_line_contrast
from photonsim.figures.screen.preview import draw_preview
from photonsim.figures.screen.stop import draw_stop
from photonsim.figures.study.comparison import draw_designs, draw_small_maps
from photonsim.figures.study.draw import study_figures
from photonsim.figures.study.residuals import draw_residuals
from photonsim.figures.style import PRINT, SLIDES, Look, plain_style
from photonsim.results import LightPath, Result

__all__ = [
    "IN_SHORT",
    "NAMES",
    "PRINT",
    "SLIDES",
    "Look",
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
    "draw_residuals",
    "draw_side_view",
    "draw_small_maps",
    "draw_stop",
    "draw_supply",
    "save_figure",
    "study_figures",
]

Draw = Callable[..., Figure]
_OF_RESULT: dict[str, Draw] = {
    "maps": draw_maps,
    "spread": draw_angular_spread,
    "intensity": draw_intensity,
    "ledger": draw_ledger,
    "profile": draw_profile,
}
_OF_SCREEN: dict[str, Draw] = {
    "blur": draw_blur,
    "line_contrast": draw_line_contrast,
    "stop": draw_stop,
}
NAMES = (*_OF_RESULT, "emission", *_OF_SCREEN, "preview", "side_view")

# Enough to see a design by, among several; `draw_all` draws these alone where asked to.
IN_SHORT = ("maps", "preview", "side_view")


@plain_style()
def draw_all(
    result: Result,
    paths: Sequence[LightPath],
    folder: str | PathLike[str],
    stem: str,
    only: Sequence[str] = NAMES,
    look: Look = PRINT,
    formats: Sequence[str] = ("png",),
    dots_per_inch: int = DOTS_PER_INCH,
) -> list[Path]:
    """Draw the figures of a result into a folder as stem-maps.png and so on; return the files.

    `only` names those that are wanted, of NAMES; figures of the screen are left out where the
    scene has none, that of emission where it has no one lobe. `paths` is traced light for the side
    view, such as photonsim.engine.sample_paths gives; it may be empty. Raises ResultError where a
    file cannot be written.
    """
    drawings: dict[str, Callable[[], Figure]] = {
        name: partial(draw, result, look) for name, draw in _OF_RESULT.items()
    }
    if directions_counted(result):
        drawings["emission"] = partial(draw_emission, result, look)
    if result.run.landing:
        for name, draw_of_screen in _OF_SCREEN.items():
            drawings[name] = partial(draw_of_screen, result, look)
        drawings["preview"] = partial(draw_preview, [(result.name, result)], None, look)
    drawings["side_view"] = partial(draw_side_view, result.scene, paths, look)
    written = []
    for name, draw in drawings.items():
        if name in only:
            written += save_figure(draw(), folder, f"{stem}-{name}", formats, dots_per_inch)
    return written


def draw_comparison(
    results: Sequence[tuple[str, Result]],
    folder: str | PathLike[str],
    stem: str,
    look: Look = PRINT,
    formats: Sequence[str] = ("png",),
    dots_per_inch: int = DOTS_PER_INCH,
) -> list[Path]:
    """Draw designs, given as (label, result), side by side; return the files.

    Raises ResultError without any design, or where a file cannot be written.
    """
    figure = draw_designs(results, look)
    return save_figure(figure, folder, f"{stem}-comparison", formats, dots_per_inch)
