"""Spread of angles on the panel: how wide the light is at each place, and where it heads."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from photonsim.arrays import Reals
from photonsim.figures.layout import Sheet, broken, provenance
from photonsim.figures.panel.axes import (
    block_edges_mm,
    panel_height_in,
    shape_as_panel,
    show_blocks,
)
from photonsim.figures.style import BLACK, PRINT, Look, plain_style
from photonsim.results import Result
from photonsim.results.panel.blocks import quiet_columns
from photonsim.results.remarks.caveats import caveats

# The RMS angle of 200 photons is known to some 4 %, an angle's mean to 7 % of the RMS angle. A few
# photons from far off the axis make the RMS angle less sure than that: its grain is measured.
BLOCK_NOISE = 0.07
MOST_BLOCKS, FEWEST_BLOCKS = 48, 8
# Of the median angle, at most.
GRAIN = 0.05
MOST_ARROWS = 17
# A narrower scale would blow noise up to a pattern.
NARROWEST_SCALE_DEG = 4.0
LEFT_IN, RIGHT_IN, BETWEEN_IN, WORDS_IN, BELOW_IN = 0.5, 0.1, 0.3, 0.34, 1.05
KEY_BELOW_IN = 0.65
TITLE_PT, LINE_IN = 7.0, 0.12
# Lengths for the arrow that serves as a measure.
ROUND_ANGLES_DEG = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 45)


@plain_style()
def draw_angular_spread(result: Result, look: Look = PRINT) -> Figure:
    """Return maps of the RMS angle about the mean direction, and of the mean direction."""
    blocks, rms = _rms_map(result)
    width = 0.5 * (look.width_in - LEFT_IN - RIGHT_IN - BETWEEN_IN)
    height = panel_height_in(result, width)
    title = f"Angles of the light that arrives at the panel: {result.name}"
    rms_text = f"{result.estimate('rms_angle_deg').text()}°".replace("n/a°", "n/a")
    whole = broken(f"whole panel, about the axis: {rms_text}", rms_text, width, TITLE_PT)
    words_in = WORDS_IN + LINE_IN * whole.count("\n")
    body = words_in + height + BELOW_IN
    sheet = Sheet(look, title, body, provenance(result), caveats(result))
    bottom = sheet.top - words_in - height
    rms_axes = sheet.axes(LEFT_IN, bottom, width, height)
    arrow_axes = sheet.axes(LEFT_IN + width + BETWEEN_IN, bottom, width, height)
    low, top = _scale(rms)
    mesh = show_blocks(rms_axes, result, rms, blocks, top, low)
    shape_as_panel(rms_axes, result)
    rms_axes.set_xlabel(f"x (mm)\n{_block_note(rms)}", fontsize=6.5)
    rms_axes.set_title(f"RMS angle about the mean direction\n{whole}", fontsize=TITLE_PT)
    bar_axes = sheet.axes(LEFT_IN, bottom - BELOW_IN + 0.4, width, 0.12)
    bar = sheet.figure.colorbar(mesh, cax=bar_axes, orientation="horizontal")
    words = "RMS angle (°); the scale does not begin at 0" if low > 0.0 else "RMS angle (°)"
    bar.set_label(words, fontsize=6.5)
    shape_as_panel(arrow_axes, result, first=False)
    _draw_arrows(arrow_axes, result, height)
    return sheet.figure


def _blocks(result: Result, most: int) -> int:
    return quiet_columns(result.effective_counts("incident"), BLOCK_NOISE, most)


def _rms_map(result: Result) -> tuple[int, Reals]:
    """Return the RMS angle by block in degrees, and in how many columns it has little grain."""
    blocks = _blocks(result, MOST_BLOCKS)
    rms = result.spread_map(blocks)[2]
    while blocks > FEWEST_BLOCKS and grain(rms) > GRAIN * float(np.nanmedian(rms)):
        blocks = max(FEWEST_BLOCKS, int(0.8 * blocks))
        rms = result.spread_map(blocks)[2]
    return blocks, rms


def grain(values: Reals) -> float:
    """Return the standard deviation of what of a map [rows, columns] is luck; nan if unknown.

    From second differences along rows, which no even slope makes: of values with independent
    errors s they scatter by s times the root of 1 + 4 + 1. 1.48 median = s of normal errors.
    """
    known = np.abs(np.diff(values, 2, axis=1))
    known = known[np.isfinite(known)]
    return float(1.4826 * np.median(known) / np.sqrt(6.0)) if known.size else np.nan


def _block_note(rms: Reals) -> str:
    rows, columns = rms.shape
    found = grain(rms)
    noise = f", grain ±{found:.1g}°" if np.isfinite(found) else ""
    return f"{columns} × {rows} = {columns * rows:,} blocks{noise}"


def _scale(rms: Reals) -> tuple[float, float]:
    """Return the limits of the colour scale in degrees."""
    known = rms[np.isfinite(rms)]
    if known.size == 0:
        return 0.0, NARROWEST_SCALE_DEG
    low, top = np.percentile(known, (0.5, 99.5))
    missing = max(NARROWEST_SCALE_DEG - (top - low), 0.0)
    return max(float(low) - 0.5 * missing, 0.0), float(top) + 0.5 * missing


def _draw_arrows(axes: Axes, result: Result, height_in: float) -> None:
    """Draw the mean direction by block as arrows, the longest as long as a block is wide."""
    blocks = _blocks(result, MOST_ARROWS)
    angle_x, angle_y, rms = result.spread_map(blocks)
    counts = result.effective_counts("incident").sum() / angle_x.size
    largest = float(np.nanmax(np.hypot(angle_x, angle_y), initial=0.0))
    if largest == 0.0:
        axes.set_title("Mean direction\ntoo little light", fontsize=TITLE_PT)
        return
    x, y = block_edges_mm(result, blocks)
    measure = min(ROUND_ANGLES_DEG, key=lambda angle: abs(np.log(angle / largest)))
    arrows = axes.quiver(
        0.5 * (x[1:] + x[:-1]),
        0.5 * (y[1:] + y[:-1]),
        np.ma.masked_invalid(angle_x),
        np.ma.masked_invalid(angle_y),
        angles="xy",
        scale_units="xy",
        scale=largest / (0.9 * (x[1] - x[0])),
        pivot="mid",
        color=BLACK,
        width=0.0035,
    )
    below = KEY_BELOW_IN / height_in
    axes.quiverkey(
        arrows, 0.08, -below, measure, f"{measure:g}° off the axis", labelpos="E", labelsep=0.08
    )
    noise = float(np.nanmean(rms)) / np.sqrt(2.0 * counts)
    axes.set_title(
        f"Mean direction, where the light heads\nnoise of an arrow: {noise:.2g}° in x and in y",
        fontsize=TITLE_PT,
    )
