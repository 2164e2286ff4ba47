"""How well black and white lines stay apart, by their pitch, in three zones of the picture."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from photonsim.figures.layout import Sheet, legend_in, provenance
from photonsim.figures.style import PRINT, ZONE_STYLES, Look, plain_style
from photonsim.results import Result, ScreenView, screen_of
from photonsim.results.panel.field import ZONES
from photonsim.results.remarks.caveats import caveats

PITCHES_PX = np.geomspace(2.0, 40.0, 80)
# Room around the panes in inches.
ABOVE_IN, BELOW_IN = 0.2, 0.4
TICKS = (2, 3, 4, 6, 10, 20, 40)


@plain_style()
def draw_line_contrast(result: Result, look: Look = PRINT) -> Figure:
    """Return contrast against pitch for upright and level lines. Raises ResultError."""
    view = screen_of(result)
    height = 0.34 * look.width_in
    body = ABOVE_IN + height + BELOW_IN + legend_in(3, 3)
    title = f"Lines that stay apart on the screen: {result.name}"
    sheet = Sheet(look, title, body, provenance(result), caveats(result))
    panes = sheet.row(2, height, ABOVE_IN)
    show_line_contrast(panes[0], view, "x", "Upright lines")
    show_line_contrast(panes[1], view, "y", "Level lines")
    panes[0].set_ylabel("contrast of the lines")
    panes[1].tick_params(labelleft=False)
    sheet.top -= BELOW_IN
    sheet.legend(panes[0].get_legend_handles_labels()[0], 3)
    return sheet.figure


def show_line_contrast(axes: Axes, view: ScreenView, across: str, title: str) -> None:
    """Draw the contrast of lines that repeat along 'x' or 'y' on axes, for three zones."""
    for name, (colour, dashes) in ZONE_STYLES.items():
        contrast, error = view.line_contrast(ZONES[name], PITCHES_PX, across)
        axes.plot(PITCHES_PX, contrast, color=colour, linestyle=dashes, label=name)
        low, high = np.clip(contrast - error, 0.0, 1.0), np.clip(contrast + error, 0.0, 1.0)
        axes.fill_between(PITCHES_PX, low, high, color=colour, alpha=0.2, linewidth=0.0)
    axes.set(xscale="log", ylim=(0.0, 1.03), xlim=(PITCHES_PX[0], PITCHES_PX[-1]))
    axes.set_xlabel("pitch of the lines (panel pixels)")
    axes.set_xticks(TICKS, [str(tick) for tick in TICKS])
    axes.minorticks_off()
    axes.grid(True)
    axes.set_title(title)
