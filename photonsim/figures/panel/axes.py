"""Axes that show the panel: its extent in millimetres and the edges of blocks of pixels."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import QuadMesh

from photonsim.arrays import Reals
from photonsim.figures.style import COLOUR_MAP, PALE
from photonsim.results import Result
from photonsim.results.panel.blocks import block_edges, block_shape


def block_edges_mm(result: Result, blocks: int) -> tuple[Reals, Reals]:
    """Return the edges (x, y) in mm of the blocks that `Result.illuminance_map` joins."""
    panel = result.scene.panel
    rows, columns = block_shape((panel.rows, panel.columns), blocks)
    x = block_edges(panel.columns, columns) / panel.columns - 0.5
    y = block_edges(panel.rows, rows) / panel.rows - 0.5
    return x * panel.active_width_mm, y * panel.active_height_mm


def show_blocks(
    axes: Axes, result: Result, values: Reals, blocks: int, top: float, low: float = 0.0
) -> QuadMesh:
    """Draw a map by block [rows, columns], row 0 lowest, on a colour scale from low to top."""
    axes.set_facecolor(PALE)
    x, y = block_edges_mm(result, blocks)
    # As vectors, thousands of tiles show hairlines between them and swell the file.
    return axes.pcolormesh(
        x, y, np.ma.masked_invalid(values), cmap=COLOUR_MAP, vmin=low, vmax=top, rasterized=True
    )


def shape_as_panel(axes: Axes, result: Result, first: bool = True) -> None:
    """Set the limits to the panel's active area, to scale, and name the axes in millimetres."""
    panel = result.scene.panel
    half_width, half_height = 0.5 * panel.active_width_mm, 0.5 * panel.active_height_mm
    axes.set(xlim=(-half_width, half_width), ylim=(-half_height, half_height), aspect="equal")
    axes.set_xlabel("x (mm)")
    axes.locator_params(axis="both", nbins=5)
    if first:
        axes.set_ylabel("y (mm)")
    else:
        axes.tick_params(labelleft=False)


def panel_height_in(result: Result, width_in: float, tallest_in: float = 5.0) -> float:
    """Return how tall axes in the panel's shape are for a width, both in inches, within reason."""
    panel = result.scene.panel
    return float(min(width_in * panel.active_height_mm / panel.active_width_mm, tallest_in))
