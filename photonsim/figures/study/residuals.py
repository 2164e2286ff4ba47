"""What is left between readings and the fitted scene: where, how much, and whether it is luck."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PathCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from photonsim.arrays import Reals
from photonsim.figures.layout import Sheet, fitted
from photonsim.figures.style import BLACK, GREY, PRINT, Look, plain_style
from photonsim.scene import Panel
from photonsim.workshop.readings import Reading

# Blue and red through white: the sign shows in colour and, by its mark, in grey too.
DIVERGING = "RdBu_r"
MARKS = {"brighter than fitted": "^", "darker": "v"}
# Room for a number at a mark; what is shown of the panel's surroundings, of its size.
NUMBER_IN, MARGINS = (0.3, 0.24), (1.08, 1.2)
# Heights of curves and, at most, maps; room about them, for the bar and the key: in inches.
CURVE_IN, TALLEST_IN, ABOVE_IN, ROOM_IN = 1.7, 3.5, 0.22, 0.66
LEFT_IN, BAR_IN, KEY_IN = 0.5, 0.7, 0.25
# Three standard errors: beyond, luck is no explanation.
SCALE_END = 3.0
PLACES = {"panel": "at the panel", "screen": "on the screen"}


@plain_style()
def draw_residuals(
    readings: Sequence[Reading],
    residuals: Reals,
    predictions: Reals,
    panel: Panel,
    look: Look = PRINT,
) -> Figure:
    """Return maps of (reading - prediction) / error, and readings of sheets against angle.

    `residuals` are these for each reading [n], and `predictions` [n] what it should have been, in
    lux. One row for each place where readings were taken.
    """
    at = {place: [k for k, one in enumerate(readings) if one.place == place] for place in PLACES}
    maps = {place: chosen for place, chosen in at.items() if chosen}
    parts = list(dict.fromkeys(r.part for r in readings if r.place == "sheet"))
    width = look.width_in - LEFT_IN - BAR_IN
    map_in = panel_in(panel, width)
    body = len(maps) * (map_in + ROOM_IN) + len(parts) * (CURVE_IN + ROOM_IN) + KEY_IN
    title = "Readings less the fitted scene, in standard errors"
    sheet = Sheet(look, title, body, "", ())
    for place, chosen in maps.items():
        (axes,) = sheet.row(1, map_in, ABOVE_IN, LEFT_IN, 0.0, BAR_IN)
        axes.set_title(f"{len(chosen)} readings {PLACES[place]}")
        marks = _map(axes, [readings[k] for k in chosen], residuals[chosen], panel)
        _number(axes, [readings[k] for k in chosen], residuals[chosen])
        bar = sheet.axes(LEFT_IN + width + 0.12, sheet.top, 0.12, map_in)
        sheet.figure.colorbar(marks, cax=bar, label="standard errors", extend="both")
        sheet.top -= ROOM_IN - ABOVE_IN
    for part in parts:
        (axes,) = sheet.row(1, CURVE_IN, ABOVE_IN, LEFT_IN)
        chosen = [k for k, reading in enumerate(readings) if reading.part == part]
        chosen.sort(key=lambda k: readings[k].angle_deg)
        axes.set_title(fitted(f"{part} alone", look.width_in - LEFT_IN, 8.0, 1))
        _curve(axes, [readings[k] for k in chosen], predictions[chosen])
        sheet.top -= ROOM_IN - ABOVE_IN
    if maps:
        handles = [Line2D([], [], color=GREY, marker=mark, linestyle="none", label=words)
                   for words, mark in MARKS.items()]  # fmt: skip
        sheet.legend(handles, 2)
    return sheet.figure


def panel_in(panel: Panel, width_in: float) -> float:
    """Return how tall a map with a margin about the panel is, in inches, at most TALLEST_IN."""
    across, up = MARGINS[0] * panel.active_width_mm, MARGINS[1] * panel.active_height_mm
    return min(width_in * up / across, TALLEST_IN)


def _map(axes: Axes, readings: Sequence[Reading], left: Reals, panel: Panel) -> PathCollection:
    """Draw residuals as marks on the panel; return those of the darker ones, for a colour bar."""
    x, y = _places_mm(readings)
    for (words, mark), chosen in zip(MARKS.items(), (left >= 0.0, left < 0.0), strict=True):
        marks = axes.scatter(
            x[chosen], y[chosen], c=left[chosen], cmap=DIVERGING, vmin=-SCALE_END, vmax=SCALE_END,
            s=60.0, marker=mark, edgecolors=BLACK, linewidths=0.5, label=words,
        )  # fmt: skip
    half_width, half_height = 0.5 * panel.active_width_mm, 0.5 * panel.active_height_mm
    axes.set(
        xlim=(-MARGINS[0] * half_width, MARGINS[0] * half_width),
        ylim=(-MARGINS[1] * half_height, MARGINS[1] * half_height),
        aspect="equal",
        xlabel="x on the panel (mm)",
        ylabel="y on the panel (mm)",
    )
    edge_x = half_width * np.array([-1.0, 1.0, 1.0, -1.0, -1.0])
    edge_y = half_height * np.array([-1.0, -1.0, 1.0, 1.0, -1.0])
    axes.plot(edge_x, edge_y, color=GREY, linewidth=0.6)
    return marks


def _places_mm(readings: Sequence[Reading]) -> Reals:
    return np.array([(reading.x_mm, reading.y_mm) for reading in readings]).T


def _number(axes: Axes, readings: Sequence[Reading], left: Reals) -> None:
    """Write numbers above marks, the largest first, where there is room for them."""
    dots = axes.figure.dpi
    x, y = _places_mm(readings)
    places = axes.transData.transform(np.column_stack((x, y))) / dots
    written: list[Reals] = []
    for k in np.argsort(-np.abs(left), kind="stable"):
        if all((np.abs(places[k] - other) >= NUMBER_IN).any() for other in written):
            written.append(places[k])
            axes.annotate(f"{left[k]:+.1f}", (x[k], y[k]), (0, 5), textcoords="offset points",
                          ha="center", va="bottom", fontsize=6.0)  # fmt: skip


def _curve(axes: Axes, readings: Sequence[Reading], predictions: Reals) -> None:
    angles = [reading.angle_deg for reading in readings]
    axes.errorbar(
        angles,
        [reading.lux for reading in readings],
        [reading.uncertainty_lux for reading in readings],
        fmt="o", color=BLACK, markersize=3.0, linewidth=0.8, capsize=2.0, label="reading",
    )  # fmt: skip
    axes.plot(angles, predictions, color=GREY, label="fitted sheet")
    axes.set(xlabel="angle from the beam (°)", ylabel="illuminance (lx)")
    axes.set_ylim(bottom=0.0)
    axes.legend()
