"""A result in words: its figures, the light on the screen, and where the rest of it went."""

from __future__ import annotations

from collections.abc import Sequence

from photonsim.results import Result
from photonsim.summary.brightness_text import brightness_text, screen_text
from photonsim.words.text import aligned, paragraph, percent

LARGEST_LOSSES = 3


def result_text(result: Result, asked: Sequence[str] = (), verbose: bool = False) -> str:
    """Return the usual figures and those asked for, the screen and the largest losses.

    With `verbose` all that is known of the screen, and how all light ended.
    """
    rows = [(f"  {words}", value) for words, value in result.headline(asked)]
    parts = [aligned(rows, left=(0, 1))]
    if result.run.landing:
        parts.append(brightness_text(result) if verbose else screen_text(result))
    return "\n".join([*parts, _fates(result) if verbose else _losses(result)])


def _fates(result: Result) -> str:
    rows = [
        (f"  {fate.name}", f"{fate.photons:,.0f}", f"{100.0 * fate.photons / result.photons:.2f} %")
        for fate in result.fates
        if fate.photons
    ]
    return aligned([("", "photons", ""), *rows], left=(0,))


def _losses(result: Result) -> str:
    lost = [fate for fate in result.fates if fate.group != "stop"]
    largest = sorted(lost, key=lambda fate: -fate.photons)[:LARGEST_LOSSES]
    told = [f"{fate.name} {percent(fate.photons / result.photons)}" for fate in largest]
    return paragraph(", ".join(told), f"  {'Losses':<12}", " " * 14)
