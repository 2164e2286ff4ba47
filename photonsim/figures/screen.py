"""The screen: blur by field, which part of the stop makes it, what a smaller stop buys."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from photonsim.figures.panel_axes import panel_height_in, shape_as_panel
from photonsim.figures.style import (
    BLACK,
    BLUE,
    COLOUR_MAP,
    GREEN,
    PAGE_WIDTH_IN,
    PALE,
    VERMILION,
    give_title,
    new_figure,
    plain_style,
    settle,
)
from photonsim.results import Result, ScreenView, screen_of

Reals = NDArray[np.float64]

# Fields told apart in curves: cell (row, column), colour and dashes.
FIELDS = {
    "middle": ((4, 4), BLUE, "-"),
    "right edge": ((4, 8), GREEN, "--"),
    "upper right corner": ((8, 8), VERMILION, ":"),
}
PITCHES_PX = np.geomspace(2.0, 40.0, 60)


@plain_style()
def draw_screen(result: Result) -> Figure:
    """Return blur and light by field, contrast of lines, blur by stop. Raises ResultError."""
    view = screen_of(result)
    height = panel_height_in(result, 3.1)
    figure = new_figure(PAGE_WIDTH_IN, 5.4 + height)
    rows: Any = figure.subfigures(3, 1, height_ratios=[height + 0.75, 2.3, 2.3])
    maps = rows[0].subplots(1, 2)
    blur, error = view.blur_px()
    _map(maps[0], view, blur, error, "RMS blur (panel pixels) and drift", first=True)
    _arrows(maps[0], view)
    light = result.tallies.batches["cells"][:, 1].sum(axis=0).astype(float)
    noise = np.sqrt(light)
    mean = light.mean() or 1.0
    _map(maps[1], view, light / mean, noise / mean, "Light relative to the mean", first=False)
    curves = rows[1].subplots(1, 2)
    _line_contrast(curves[0], view)
    _trade_off(curves[1], view)
    _pupils(rows[2].subplots(1, 3), view)
    give_title(figure, result, "On the screen")
    return settle(figure)


def _map(
    axes: Axes, view: ScreenView, values: Reals, errors: Reals, title: str, first: bool
) -> None:
    result = view.result
    x = np.linspace(-0.5, 0.5, 10) * result.optics.width_mm
    y = np.linspace(-0.5, 0.5, 10) * result.optics.height_mm
    axes.set_facecolor(PALE)
    top = float(np.nanmax(values)) if np.isfinite(values).any() else 1.0
    axes.pcolormesh(
        x, y, np.ma.masked_invalid(values), cmap=COLOUR_MAP, vmin=0.0, vmax=top, rasterized=True
    )
    shape_as_panel(axes, result, first=first)
    axes.set_title(f"{title}\ntypical error of a field ±{np.nanmedian(errors):.2g}", fontsize=7.0)
    for i in range(0, 9, 2):
        for j in range(0, 9, 2):
            value = values[i, j]
            axes.text(
                0.5 * (x[j] + x[j + 1]),
                0.5 * (y[i] + y[i + 1]),
                f"{value:.2f}" if np.isfinite(value) else "–",
                ha="center",
                va="center",
                fontsize=5.5,
                color="white" if value < 0.55 * top else BLACK,
            )


def _arrows(axes: Axes, view: ScreenView) -> None:
    """Draw the drift as arrows, the longest half a field long, and say how long that is."""
    dx, dy = view.drift_px()
    longest = float(np.nanmax(np.hypot(dx, dy))) if np.isfinite(dx).any() else 0.0
    if longest <= 0.0:
        return
    width, height = view.result.optics.width_mm, view.result.optics.height_mm
    x, y = ((np.arange(9) + 0.5) / 9.0 - 0.5) * width, ((np.arange(9) + 0.5) / 9.0 - 0.5) * height
    scale = longest / (0.5 * min(width, height) / 9.0)
    axes.quiver(
        x, y, dx, dy, scale=scale, scale_units="xy", angles="xy", color="white", width=0.004
    )
    axes.set_xlabel(f"x (mm)\nlongest arrow: {longest:.2g} pixels")


def _line_contrast(axes: Axes, view: ScreenView) -> None:
    for name, ((i, j), colour, _) in FIELDS.items():
        for across, dashes, words in (("x", "-", "upright"), ("y", "--", "level")):
            contrast = view.line_contrast(i, j, PITCHES_PX, across)
            axes.plot(
                PITCHES_PX, contrast, color=colour, linestyle=dashes, label=f"{name}, {words}"
            )
    axes.set(xscale="log", xlabel="pitch of the lines (panel pixels)", ylim=(0.0, 1.05))
    axes.set_ylabel("contrast of lines")
    axes.set_xticks([2, 3, 4, 6, 10, 20, 40], ["2", "3", "4", "6", "10", "20", "40"])
    axes.minorticks_off()
    axes.grid(True)
    axes.legend(fontsize=5.5, loc="lower right", frameon=True, framealpha=0.85, edgecolor="none")
    axes.set_title("How well lines of black and white stay apart")


def _trade_off(axes: Axes, view: ScreenView) -> None:
    points = view.trade_off()
    lumens = view.result.estimate("collected_lm").value
    light = np.array([point.light.value for point in points]) * lumens
    error = np.array([point.light.error for point in points]) * lumens
    for name, key, colour, mark in (
        ("middle", "centre_px", BLUE, "o"),
        ("whole picture", "whole_px", BLACK, "s"),
        ("corners", "corner_px", VERMILION, "^"),
    ):
        blur = [getattr(point, key) for point in points]
        axes.errorbar(
            blur, light, yerr=error, color=colour, marker=mark, markersize=3.0, label=name
        )
    whole = [point.whole_px for point in points]
    for point, place, lm in list(zip(points, whole, light, strict=True))[1::2]:
        axes.annotate(
            f"ø {point.diameter_mm:.0f}",
            (place, lm),
            xytext=(3, -8),
            textcoords="offset points",
            fontsize=5.5,
        )
    axes.set(xlabel="RMS blur (panel pixels)", ylabel="light on the screen (lm)")
    axes.set_xlim(left=0.0)
    axes.set_ylim(bottom=0.0)
    axes.grid(True)
    axes.legend(fontsize=6.0, loc="lower right")
    axes.set_title("A smaller stop: light against blur, ø in mm")


def _pupils(panes: NDArray[np.object_], view: ScreenView) -> None:
    """Draw where in the stop the light of three fields passes, and where half the blur is made."""
    radius = 0.5 * view.result.scene.stop.diameter_mm
    edges = np.linspace(-radius, radius, 17)
    centres = 0.5 * (edges[1:] + edges[:-1])
    for axes, (name, ((i, j), _, _)) in zip(panes, FIELDS.items(), strict=True):
        rows, columns = _neighbours(i), _neighbours(j)
        photons, share = np.zeros((16, 16)), np.zeros((16, 16))
        for row in rows:
            for column in columns:
                one, part = view.pupil(row, column)
                photons += one
                share += part / (len(rows) * len(columns))
        axes.set_facecolor(PALE)
        axes.pcolormesh(
            edges, edges, np.ma.masked_equal(photons, 0.0), cmap=COLOUR_MAP, rasterized=True
        )
        if share.any():
            level = np.sort(share.ravel())[::-1]
            half = level[np.searchsorted(np.cumsum(level), 0.5 * level.sum())]
            axes.contour(centres, centres, share, [half], colors=[VERMILION], linewidths=0.8)
        turn = np.linspace(0.0, 2.0 * np.pi, 181)
        axes.plot(radius * np.cos(turn), radius * np.sin(turn), color=BLACK, linewidth=0.7)
        axes.set(aspect="equal", xlabel="x in the stop (mm)")
        axes.set_title(f"Stop as filled from the {name}\nred: holds half of the blur", fontsize=6.5)
    panes[0].set_ylabel("y in the stop (mm)")


def _neighbours(k: int) -> range:
    return range(max(0, k - 1), min(9, k + 2))
