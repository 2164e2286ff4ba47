"""What is left between readings and the fitted scene: where, how much, and whether it is luck."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from photonsim.figures.style import BLACK, GREY, PAGE_WIDTH_IN, new_figure, plain_style, settle

# Blue and red through white: the sign shows in colour and, by its mark, in grey too.
DIVERGING = "RdBu_r"
# Three standard errors: beyond, luck is no explanation.
SCALE_END = 3.0
PLACES = {"panel": "at the panel", "screen": "on the screen"}


@plain_style()
def draw_residuals(fit: Any, panel: Any) -> Figure:
    """Return maps of (reading - prediction) / error, and readings of sheets against angle.

    `fit` is a photonsim.studies.fit.Fit and `panel` the scene's panel, known here by their
    attributes. One row for each place where readings were taken.
    """
    maps = [place for place in PLACES if any(r.place == place for r in fit.readings)]
    parts = list(dict.fromkeys(r.part for r in fit.readings if r.place == "sheet"))
    figure = new_figure(PAGE_WIDTH_IN, 3.2 * max(len(maps) + len(parts), 1) + 0.4)
    rows = figure.subplots(len(maps) + len(parts), 1, squeeze=False)[:, 0]
    for axes, place in zip(rows, maps, strict=False):
        _map(figure, axes, fit, place, panel)
    for axes, part in zip(rows[len(maps) :], parts, strict=True):
        _curve(axes, fit, part)
    figure.suptitle("Readings less the fitted scene, in standard errors", x=0.012, ha="left")
    return settle(figure)


def _map(figure: Figure, axes: Axes, fit: Any, place: str, panel: Any) -> None:
    chosen = [k for k, reading in enumerate(fit.readings) if reading.place == place]
    x, y = (np.array([getattr(fit.readings[k], key) for k in chosen]) for key in ("x_mm", "y_mm"))
    left = fit.residuals[chosen]
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
        title=f"{len(chosen)} readings {PLACES[place]}",
    )
    edge_x = half_width * np.array([-1.0, 1.0, 1.0, -1.0, -1.0])
    edge_y = half_height * np.array([-1.0, -1.0, 1.0, 1.0, -1.0])
    axes.plot(edge_x, edge_y, color=GREY, linewidth=0.6)
    figure.colorbar(marks, ax=axes, label="standard errors", extend="both")


def _curve(axes: Axes, fit: Any, part: str) -> None:
    chosen = [k for k, reading in enumerate(fit.readings) if reading.part == part]
    chosen.sort(key=lambda k: fit.readings[k].angle_deg)
    angles = [fit.readings[k].angle_deg for k in chosen]
    axes.errorbar(
        angles,
        [fit.readings[k].lux for k in chosen],
        [fit.readings[k].uncertainty_lux for k in chosen],
        fmt="o", color=BLACK, markersize=3.0, linewidth=0.8, capsize=2.0, label="reading",
    )  # fmt: skip
    axes.plot(angles, fit.likelihood.predictions[chosen], color=GREY, label="fitted sheet")
    axes.set(xlabel="angle from the beam (°)", ylabel="illuminance (lx)", title=f"{part} alone")
    axes.set_ylim(bottom=0.0)
    axes.legend()
