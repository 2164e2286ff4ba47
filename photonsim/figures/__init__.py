"""Figures: matplotlib pictures of results, fit for a write-up as they are. No display is needed."""

from __future__ import annotations

from collections.abc import Sequence
from os import PathLike
from pathlib import Path as FilePath

from photonsim.figures.comparison import draw_designs
from photonsim.figures.intensity import draw_intensity
from photonsim.figures.ledger import draw_ledger
from photonsim.figures.maps import draw_maps
from photonsim.figures.preview import draw_preview
from photonsim.figures.profile import draw_profile
from photonsim.figures.saving import save_figure
from photonsim.figures.screen import draw_screen
from photonsim.figures.side_view import Path, draw_side_view
from photonsim.figures.spread import draw_spread
from photonsim.figures.supply import draw_supply
from photonsim.results import Result

__all__ = [
    "draw_all",
    "draw_comparison",
    "draw_designs",
    "draw_intensity",
    "draw_ledger",
    "draw_maps",
    "draw_preview",
    "draw_profile",
    "draw_screen",
    "draw_side_view",
    "draw_spread",
    "draw_supply",
    "save_figure",
]

_OF_RESULT = {
    "maps": draw_maps,
    "spread": draw_spread,
    "intensity": draw_intensity,
    "ledger": draw_ledger,
    "profile": draw_profile,
}


def draw_all(
    result: Result,
    paths: Sequence[Path],
    folder: str | PathLike[str],
    stem: str,
    formats: Sequence[str] = ("png", "svg"),
) -> list[FilePath]:
    """Draw every figure of a result into a folder as stem-maps.png and so on; return the files.

    `paths` is traced light for the side view, such as photonsim.engine.sample_paths gives; it may
    be empty. Raises ResultError where a file cannot be written.
    """
    written = []
    for name, draw in _OF_RESULT.items():
        written += save_figure(draw(result), folder, f"{stem}-{name}", formats)
    if result.run.landing:
        written += save_figure(draw_screen(result), folder, f"{stem}-screen", formats)
        preview = draw_preview([(result.name, result)])
        written += save_figure(preview, folder, f"{stem}-preview", ("png",))
    side_view = draw_side_view(result.scene, paths)
    return written + save_figure(side_view, folder, f"{stem}-side_view", formats)


def draw_comparison(
    results: Sequence[tuple[str, Result]],
    folder: str | PathLike[str],
    stem: str,
    formats: Sequence[str] = ("png", "svg"),
) -> list[FilePath]:
    """Draw designs, given as (label, result), side by side; return the files.

    Raises ResultError without any design, or where a file cannot be written.
    """
    return save_figure(draw_designs(results), folder, f"{stem}-comparison", formats)
