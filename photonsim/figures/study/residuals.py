"""What is left between readings and the fitted scene: where, how much, and whether it is luck."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from photonsim.arrays import Reals
from photonsim.figures.layout import new_figure, settle
from photonsim.figures.style import BLACK, GREY, PAGE_WIDTH_IN, plain_style
from photonsim.scene import Panel
from photonsim.workshop.readings import Reading

# Blue and red through white: the sign shows in colour and, by its mark, in grey too.
DIVERGING = "RdBu_r"
# Three standard errors: beyond, luck is no explanation.
SCALE_END = 3.0
PLACES = {"panel": "at the panel", "screen": "on the screen"}


@plain_style()
def draw_residuals(
    readings: Sequence[Reading], residuals: Reals, predictions: Reals, panel: Panel
) -> Figure:
    """Return maps of (reading - prediction) / error, and readings of sheets against angle.

    `residuals` are these for each reading [n], and `predictions` [n] what it should have been, in
    lux. One row for each place where readings were taken.
    """
    maps = [place for place in PLACES if any(r.place == place for r in readings)]
    parts = list(dict.fromkeys(r.part for r in readings if r.place == "sheet"))
    figure = new_figure(PAGE_WIDTH_IN, 3.2 * max(len(maps) + len(parts), 1) + 0.4)
    rows = figure.subplots(len(maps) + len(parts), 1, squeeze=False)[:, 0]
    for axes, place in zip(rows, maps, strict=False):
        chosen = [k for k, reading in enumerate(readings) if reading.place == place]
        axes.set_title(f"{len(chosen)} readings {PLACES[place]}")
        _map(figure, axes, [readings[k] for k in chosen], residuals[chosen], panel)
    for axes, part in zip(rows[len(maps) :], parts, strict=True):
        chosen = [k for k, reading in enumerate(readings) if reading.part == part]
        chosen.sort(key=lambda k: readings[k].angle_deg)
        axes.set_title(f"{part} alone")
        _curve(axes, [readings[k] for k in chosen], predictions[chosen])
    figure.suptitle("Readings less the fitted scene, in standard errors", x=0.012, ha="left")
    return settle(figure)


def _map(
    figure: Figure, axes: Axes, readings: Sequence[Reading], left: Reals, panel: Panel
) -> None:
    x, y = np.array([(reading.x_mm, reading.y_mm) for reading in readings]).T
    marks = axes.scatter(
        x, y, c=left, cmap=DIVERGING, vmin=-SCALE_END, vmax=SCALE_END, s=90.0,
        edgecolors=BLACK, linewidths=0.5,
    )  # fmt: skip
    for place_x, place_y, value in zip(x, y, left, strict=True):
        axes.annotate(f"{value:+.1f}", (place_x, place_y), (0, 7), textcoords="offset points",
                      ha="center", va="bottom", fontsize=6.0)  # fmt: skip
    half_width, half_height = 0.5 * panel.active_width_mm, 0.5 * panel.active_height_mm
    axes.set(
        xlim=(-1.08 * half_width, 1.08 * half_width),
        ylim=(-1.12 * half_height, 1.2 * half_height),
        aspect="equal",
        xlabel="x on the panel (mm)",
        ylabel="y on the panel (mm)",
    )
    edge_x = half_width * np.array([-1.0, 1.0, 1.0, -1.0, -1.0])
    edge_y = half_height * np.array([-1.0, -1.0, 1.0, 1.0, -1.0])
    axes.plot(edge_x, edge_y, color=GREY, linewidth=0.6)
    figure.colorbar(marks, ax=axes, label="standard errors", extend="both")


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
