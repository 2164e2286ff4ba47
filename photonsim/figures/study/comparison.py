"""Designs side by side: figures of merit with their errors, and the collected light of each."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from photonsim.arrays import Reals
from photonsim.figures.layout import Sheet, fitted, provenance, row_width_in
from photonsim.figures.panel.axes import panel_height_in
from photonsim.figures.panel.maps import draw_bar, map_blocks, scale_top, show_map, smooth_map
from photonsim.figures.panel.plan import rim_height_pt
from photonsim.figures.style import COLLECTED, PALE, PRINT, Look, plain_style
from photonsim.results import FIGURES, Result, ResultError, Shown, shown_in
from photonsim.results.panel.blocks import block_noise, block_shape
from photonsim.results.remarks.caveats import caveats
from photonsim.words.labels import shared_title

Designs = Sequence[tuple[str, Result]]

SENSES = {1: "more is better", -1: "less is better", 0: ""}

# Narrower pictures have no room for their words.
LEAST_MAP_IN = 1.5
# Room at the edges, between panes, and for what stands at the rim on the right, in inches.
EDGE_IN, GAP_IN, RIM_IN = 0.1, 0.15, 0.17
# Room below the columns, and for the colour bar.
BELOW_IN, BAR_IN = 0.3, 0.6
# A longer label is cut: rows would be too tall, and maps too far apart.
MOST_LINES = 2
LABEL_PT = 6.5
# Of the rows at a small map's rim.
THIN = 0.7
MAP_BLOCKS = 48
LETTER_IN = 0.06
LABEL_WIDTH_IN = 1.35
LINE_IN = 0.13
ROW_IN = 0.3


@plain_style()
def draw_designs(results: Designs, look: Look = PRINT) -> Figure:
    """Return the main figures of merit of designs in rows, and maps of their collected light.

    The maps share one scale, relative to the mean of each: in lux a bright design would leave the
    others black, and how bright each is stands in the first column. Raises ResultError without any
    design.
    """
    if not results:
        raise ResultError("there is nothing to compare: give one result at least")
    # A number before each label ties a map to its row, whose label may be too long for a map.
    labels = _numbered(results, LABEL_WIDTH_IN)
    rows_in = [max(ROW_IN, (label.count("\n") + 1) * LINE_IN + 0.06) for label in labels]
    across = maps_across(len(results), look)
    width = row_width_in(look, across, EDGE_IN, GAP_IN, RIM_IN)
    left, right = LABEL_WIDTH_IN + EDGE_IN, EDGE_IN
    heads = _heads(look, left, right)
    warnings = [f"{label}: {words}" for label, result in results for words in caveats(result)]
    runs = "; ".join(dict.fromkeys(provenance(result) for _, result in results))
    words = (
        f"dots: values to the digits that their errors leave, bars: ± one standard error; {runs}"
    )
    heads_in = LINE_IN * (heads[0].count("\n") + 1) + 0.06
    body = heads_in + sum(rows_in) + BELOW_IN + _maps_in(results, width, across)
    shared = shared_title([result.name for _, result in results])
    title = f"Designs compared: {shared}" if shared else "Designs compared"
    sheet = Sheet(look, title, body, f"{_maps_note(results)}. {words}", warnings)
    panes = sheet.row(len(heads), sum(rows_in), heads_in, left, GAP_IN, right)
    _draw_merits(panes, results, labels, rows_in, heads)
    sheet.top -= BELOW_IN
    _draw_maps(sheet, results, width, across)
    return sheet.figure


@plain_style()
def draw_small_maps(results: Designs, look: Look = PRINT) -> Figure:
    """Return maps of the collected light of designs in rows, on one scale."""
    warnings = [f"{label}: {words}" for label, result in results for words in caveats(result)]
    across = maps_across(len(results), look)
    width = row_width_in(look, across, EDGE_IN, GAP_IN, RIM_IN)
    body = _maps_in(results, width, across)
    sheet = Sheet(look, "Collected light of all designs", body, _maps_note(results), warnings)
    _draw_maps(sheet, results, width, across)
    return sheet.figure


def _numbered(results: Designs, width_in: float) -> list[str]:
    """Return labels with their numbers, in lines that fit a width."""
    named = enumerate(results, start=1)
    return [fitted(f"{k}  {label}", width_in, LABEL_PT, MOST_LINES) for k, (label, _) in named]


def maps_across(count: int, look: Look = PRINT) -> int:
    """Return how many small pictures stand in a row: rows as full as they can be."""
    rows = -(-count // int(look.width_in / LEAST_MAP_IN))
    return max(2, -(-count // rows))


def _draw_merits(
    panes: Sequence[Axes],
    results: Designs,
    labels: Sequence[str],
    rows_in: Sequence[float],
    heads: Sequence[str],
) -> None:
    """Draw a column of dots for each figure of merit; rows are as tall as their labels."""
    places = np.cumsum(rows_in) - 0.5 * np.asarray(rows_in)
    for axes, name, head in zip(panes, shown_in(Shown.DRAWING), heads, strict=True):
        _draw_merit(axes, results, places, name)
        axes.set_title(head, fontsize=6.5)
        axes.set_yticks([])
        # Inverted, so that the first design is on top.
        axes.set_ylim(sum(rows_in), -0.08)
    panes[0].tick_params(axis="y", length=0)
    panes[0].set_yticks(places, labels)


def _draw_merit(axes: Axes, results: Designs, places: Reals, name: str) -> None:
    """Draw one figure of merit of all designs as dots on lines from 0, with values above them.

    A value has the digits that its error leaves; the error itself is the bar.
    """
    figure = FIGURES[name]
    found = [result.estimate(name) for _, result in results]
    for row, each in zip(places, found, strict=True):
        axes.annotate(
            each.text(figure.scale).split(" ±")[0].removesuffix(" photons"),
            (0.0, row),
            xytext=(2.5, 3.0),
            textcoords="offset points",
            fontsize=6.0,
        )
    values = figure.scale * np.array([each.value for each in found])
    errors = figure.scale * np.array([each.error for each in found])
    errors[np.isnan(errors)] = 0.0
    known = np.isfinite(values)
    values, errors, rows = values[known], errors[known], places[known]
    axes.hlines(rows, 0.0, values, PALE, linewidth=2.0, capstyle="projecting", zorder=1)
    axes.errorbar(
        values, rows, xerr=errors, fmt="o", color=COLLECTED, markersize=3.0, elinewidth=1.0,
        capsize=2.0,
    )  # fmt: skip
    largest, least = max(values + errors, default=0.0), min(values - errors, default=0.0)
    axes.set_xlim(1.12 * min(least, 0.0), 1.12 * largest if largest > 0.0 else 1.0)
    axes.locator_params(axis="x", nbins=3)
    axes.tick_params(axis="x", labelsize=6.0)
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(True, axis="x")


def _heads(look: Look, left: float, right: float) -> list[str]:
    """Return headings of the columns that fit them, all of as many lines."""
    names = shown_in(Shown.DRAWING)
    width = row_width_in(look, len(names), left, GAP_IN, right) + 0.8 * GAP_IN
    found = []
    for name in names:
        figure = FIGURES[name]
        words = (figure.heading, SENSES[figure.better])
        letters = int(width / LETTER_IN)
        found.append([line for part in words for line in textwrap.wrap(part, letters)])
    most = max(map(len, found))
    return ["\n".join([*[""] * (most - len(lines)), *lines]) for lines in found]


def _maps_note(results: Designs) -> str:
    """Return how far the maps are smoothed, and their counting noise."""
    maps = [
        (result.effective_counts("collected"), map_blocks(result, "collected", MAP_BLOCKS))
        for _, result in results
    ]
    blocks = sorted(math.prod(block_shape(counts.shape, across)) for counts, across in maps)
    noise = sorted(100.0 * block_noise(counts, across) for counts, across in maps)
    most = f"±{noise[-1]:.0f} %" if math.isfinite(noise[-1]) else "100 % and more"
    windows = f"{blocks[0]:,}" if blocks[0] == blocks[-1] else f"{blocks[0]:,} to {blocks[-1]:,}"
    return f"maps: means over {windows} windows, noise up to {most} (median)"


def _cell_in(results: Designs, width_in: float) -> tuple[float, float]:
    """Return how tall a map of a width is, and the room above it, in inches."""
    above_pt = max(rim_height_pt(result.scene, "x", THIN) for _, result in results)
    height_in = max(panel_height_in(result, width_in, 2.5) for _, result in results)
    lines = max(label.count("\n") + 1 for label in _numbered(results, width_in))
    return height_in, above_pt / 72.0 + 0.13 + 0.11 * lines


def _maps_in(results: Designs, width_in: float, across: int) -> float:
    """Return how tall all maps and their colour bar are, in inches."""
    return -(-len(results) // across) * sum(_cell_in(results, width_in)) + BAR_IN


def _draw_maps(sheet: Sheet, results: Designs, width_in: float, across: int) -> None:
    """Draw the collected illuminance of every design on one colour scale, below the bar for it."""
    height_in, above_in = _cell_in(results, width_in)
    panes = [
        axes
        for _ in range(-(-len(results) // across))
        for axes in sheet.row(across, height_in, above_in, EDGE_IN, GAP_IN, RIM_IN)
    ]
    look = sheet.look._replace(labels=False)
    maps = [
        smooth_map(result, "collected", look.unit, map_blocks(result, "collected", MAP_BLOCKS))
        for _, result in results
    ]
    top = scale_top(*maps)
    labels = _numbered(results, width_in)
    for axes, label, (_, result), values in zip(panes, labels, results, maps, strict=False):
        image = show_map(axes, result, "collected", look, top, values, THIN)
        axes.set(xlabel="", ylabel="", xticks=[], yticks=[])
        axes.set_title(
            label,
            fontsize=LABEL_PT,
            linespacing=1.1,
            pad=rim_height_pt(result.scene, "x", THIN) + 1.0,
        )
    for axes in panes[len(results) :]:
        axes.remove()
    unit = "lx" if look.unit == "lux" else "over the mean of each design"
    place = (0.2 * look.width_in, sheet.top - 0.22, 0.6 * look.width_in)
    draw_bar(sheet, image, place, f"light on the panel that goes on through the stop, {unit}")
