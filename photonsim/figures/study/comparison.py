"""Designs side by side: figures of merit with their errors, and the collected light of each."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colors import Normalize
from matplotlib.figure import Figure, SubFigure

from photonsim.arrays import Reals
from photonsim.figures.panel.axes import panel_height_in, shape_as_panel, show_blocks
from photonsim.figures.panel.maps import map_blocks, relative_map
from photonsim.figures.style import (
    BLUE,
    COLOUR_MAP,
    PAGE_WIDTH_IN,
    PALE,
    give_provenance,
    new_figure,
    plain_style,
    provenance,
    settle,
    wrapped,
)
from photonsim.results import FIGURES, Result, ResultError, Shown, shown_in
from photonsim.results.panel.blocks import block_noise, block_shape
from photonsim.results.remarks.caveats import caveats

Designs = Sequence[tuple[str, Result]]

SENSES = {1: "more is better", -1: "less is better", 0: ""}

MAPS_ACROSS = 4
MAP_WIDTH_IN = 1.4
MAP_BLOCKS = 48
MAP_LETTERS = 28
LETTER_IN = 0.062
LABEL_WIDTH_IN = 1.3
LINE_IN = 0.13
ROW_IN = 0.34


@plain_style()
def draw_designs(results: Designs) -> Figure:
    """Return the main figures of merit of designs in rows, and maps of their collected light.

    The maps share one scale, relative to the mean of each: in lux a bright design would leave the
    others black, and how bright each is stands in the first column. Raises ResultError without any
    design.
    """
    if not results:
        raise ResultError("there is nothing to compare: give one result at least")
    # A number before each label ties a map to its row, whose label may be too long for a map.
    labels = [
        wrapped(f"{number}  {label}", LETTER_IN, LABEL_WIDTH_IN)
        for number, (label, _) in enumerate(results, start=1)
    ]
    rows_in = [max(ROW_IN, (label.count("\n") + 1) * LINE_IN + 0.06) for label in labels]
    merits_in = 0.75 + sum(rows_in)
    maps_in = _maps_height_in(results)
    figure = new_figure(PAGE_WIDTH_IN, merits_in + maps_in + 0.5)
    parts = figure.subfigures(2, 1, height_ratios=(merits_in, maps_in), squeeze=False)
    upper, lower = parts[:, 0]
    _draw_merits(upper, results, labels, rows_in)
    _draw_maps(lower, results)
    figure.suptitle("Designs compared", x=0.012, ha="left")
    runs = "; ".join(dict.fromkeys(provenance(result) for _, result in results))
    warnings = [f"{label}: {words}" for label, result in results for words in caveats(result)]
    words = f"bars: ± standard error; {_maps_note(results)}. {runs}"
    give_provenance(figure, words, warnings)
    return settle(figure)


def _draw_merits(
    part: SubFigure, results: Designs, labels: Sequence[str], rows_in: Sequence[float]
) -> None:
    """Draw a column of dots for each figure of merit; rows are as tall as their labels."""
    places = np.cumsum(rows_in) - 0.5 * np.asarray(rows_in)
    names = shown_in(Shown.DRAWING)
    panes = part.subplots(1, len(names), sharey=True)
    for axes, name in zip(panes, names, strict=True):
        _draw_merit(axes, results, places, name)
        axes.tick_params(axis="y", length=0)
    panes[0].set_yticks(places, labels)
    # Inverted, so that the first design is on top.
    panes[0].set_ylim(sum(rows_in), -0.08)


def _draw_merit(axes: Axes, results: Designs, places: Reals, name: str) -> None:
    """Draw one figure of merit of all designs as dots on lines from 0, with values above them."""
    figure = FIGURES[name]
    largest = 0.0
    for row, (_, result) in zip(places, results, strict=True):
        found = result.estimate(name)
        value, error = found.value * figure.scale, found.error * figure.scale
        axes.annotate(
            found.text(figure.scale),
            (0.0, row),
            xytext=(2.5, 4.0),
            textcoords="offset points",
            fontsize=6.0,
        )
        if math.isnan(value):
            continue
        error = 0.0 if math.isnan(error) else error
        axes.plot((0.0, value), (row, row), color=PALE, linewidth=2.0, zorder=1)
        axes.errorbar(
            value, row, xerr=error, fmt="o", color=BLUE, markersize=3.5, elinewidth=1.0, capsize=2.0
        )
        largest = max(largest, value + error)
    axes.set_title(f"{figure.heading}\n{SENSES[figure.better]}", fontsize=7.0)
    axes.set_xlim(0.0, 1.12 * largest if largest > 0.0 else 1.0)
    axes.locator_params(axis="x", nbins=4)
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(True, axis="x")


def _maps_height_in(results: Designs) -> float:
    rows = -(-len(results) // MAPS_ACROSS)
    width = MAP_WIDTH_IN * MAPS_ACROSS / min(MAPS_ACROSS, max(len(results), 2))
    tallest = max(panel_height_in(result, width, 2.5) for _, result in results)
    return rows * (tallest + 0.38) + 0.75


def _maps_note(results: Designs) -> str:
    """Return into how many blocks the maps are divided, and their counting noise."""
    maps = [(result.effective_counts("collected"), _blocks(result)) for _, result in results]
    blocks = sorted(math.prod(block_shape(counts.shape, across)) for counts, across in maps)
    noise = sorted(100.0 * block_noise(counts, across) for counts, across in maps)
    most = f"±{noise[-1]:.0f} %" if math.isfinite(noise[-1]) else "100 % and more"
    return f"maps: {blocks[0]:,} to {blocks[-1]:,} blocks, counting noise up to {most} (median)"


def _blocks(result: Result) -> int:
    return map_blocks(result, "collected", MAP_BLOCKS)


def _draw_maps(part: SubFigure, results: Designs) -> None:
    """Draw the collected illuminance of every design on one colour scale."""
    rows = -(-len(results) // MAPS_ACROSS)
    panes = part.subplots(rows, min(MAPS_ACROSS, len(results)), squeeze=False).ravel()
    blocks = [_blocks(result) for _, result in results]
    maps = [
        relative_map(result, "collected", across)
        for (_, result), across in zip(results, blocks, strict=True)
    ]
    everything = np.concatenate([values.ravel() for values in maps])
    # One noisy block must not set the scale for all; the bar's arrow says that some lie above.
    top = float(np.percentile(everything, 99.7)) or 1.0
    drawn = zip(panes, results, maps, blocks, strict=False)
    for number, (axes, (label, result), values, across) in enumerate(drawn, start=1):
        show_blocks(axes, result, values, across, top)
        shape_as_panel(axes, result)
        axes.set(xlabel="", ylabel="")
        axes.tick_params(labelsize=5.5, length=2.0)
        words = textwrap.shorten(
            f"{number} {wrapped(label, 1, 1000)}", MAP_LETTERS, placeholder=" …"
        )
        axes.set_title(words, fontsize=6.5)
    for axes in panes[len(results) :]:
        axes.set_axis_off()
    bar = part.colorbar(
        ScalarMappable(Normalize(0.0, top), COLOUR_MAP),
        ax=list(panes),
        location="bottom",
        shrink=0.6,
        aspect=45,
        extend="max" if everything.max() > top else "neither",
    )
    bar.set_label(
        "collected light on the panel, relative to the mean of each design; x and y in mm"
    )
