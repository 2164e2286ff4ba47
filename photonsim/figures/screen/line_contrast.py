"""How well black and white lines stay apart, by their pitch, in three zones of the picture."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from photonsim.figures.style import (
    BLUE,
    GREEN,
    PAGE_WIDTH_IN,
    VERMILION,
    give_title,
    new_figure,
    plain_style,
    settle,
)
from photonsim.results import Result, ScreenView, screen_of
from photonsim.results.panel.field import ZONES

ZONES_DRAWN = {
    "middle": (BLUE, "-"),
    "left and right edge": (GREEN, "--"),
    "corners": (VERMILION, "-."),
}
PITCHES_PX = np.geomspace(2.0, 40.0, 80)
TICKS = (2, 3, 4, 6, 10, 20, 40)


@plain_style()
def draw_line_contrast(result: Result) -> Figure:
    """Return contrast against pitch for upright and level lines. Raises ResultError."""
    view = screen_of(result)
    figure = new_figure(PAGE_WIDTH_IN, 3.1)
    panes = figure.subplots(1, 2, sharey=True)
    _curves(panes[0], view, "x", "Upright lines")
    _curves(panes[1], view, "y", "Level lines")
    panes[0].set_ylabel("contrast of the lines")
    panes[0].legend(loc="lower right", frameon=True, framealpha=0.9, edgecolor="none")
    give_title(figure, result, "Lines that stay apart on the screen")
    return settle(figure)


def _curves(axes: Axes, view: ScreenView, across: str, title: str) -> None:
    for name, (colour, dashes) in ZONES_DRAWN.items():
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
