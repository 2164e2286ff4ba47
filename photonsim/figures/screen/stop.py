"""The stop as the picture sees it: where light of each field passes, and what makes the blur."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle
from scipy.ndimage import gaussian_filter

from photonsim.arrays import Reals
from photonsim.figures.style import (
    BLACK,
    BLUE,
    COLOUR_MAP,
    PAGE_WIDTH_IN,
    PALE,
    VERMILION,
    give_title,
    new_figure,
    plain_style,
    settle,
)
from photonsim.results import Estimate, Result, ScreenView, screen_of
from photonsim.results.panel.field import CELLS
from photonsim.results.picture.stop import net_share, pupil, stop_filled, trade_off, uncounted

ROWS = {"top": (6, 7, 8), "": (3, 4, 5), "bottom": (0, 1, 2)}
COLUMNS = {"left": (0, 1, 2), "": (3, 4, 5), "right": (6, 7, 8)}
# Photons under the window that smooths the stop's light: grain of some 8 %.
WINDOW_PHOTONS = 150.0
WIDEST = 1.2


@plain_style()
def draw_stop(result: Result) -> Figure:
    """Return the stop as filled from nine fields, and the light that a smaller one would leave.

    Raises ResultError where the scene has no screen.
    """
    view = screen_of(result)
    figure = new_figure(PAGE_WIDTH_IN, 6.0)
    left, right = figure.subfigures(1, 2, squeeze=False, width_ratios=[1.45, 1.0])[0]
    panes = left.subplots(3, 3, sharex=True, sharey=True)
    for row, (above, rows) in zip(panes, ROWS.items(), strict=True):
        for axes, (beside, columns) in zip(row, COLUMNS.items(), strict=True):
            name = " ".join(word for word in (above, beside) if word) or "middle"
            _pupil(axes, view, rows, columns, name)
    left.supxlabel("x in the stop (mm)", fontsize=7.5)
    left.supylabel("y in the stop (mm)", fontsize=7.5)
    left.suptitle(
        "Light through the stop from nine fields of the panel.\nWithin the red lines half of the "
        "blur is made.",
        fontsize=7.5, x=0.02, ha="left",
    )  # fmt: skip
    if why := uncounted(result):
        right.suptitle(f"What a smaller stop would leave was\n{why}.", fontsize=7.5)
    else:
        upper, lower = right.subplots(2, 1)
        _trade_off(upper, view)
        _shares(lower, view)
    give_title(figure, result, "What the stop does to the picture")
    return settle(figure)


def _pupil(
    axes: Axes, view: ScreenView, rows: tuple[int, ...], columns: tuple[int, ...], name: str
) -> None:
    cells = np.ix_(rows, columns)
    stop_sums = view.result.tallies.stop_sums[cells].reshape(9, 16, 16, -1)
    photons = stop_sums[..., 0].sum(axis=0).astype(float)
    share = np.mean([pupil(view.result, i, j)[1] for i in rows for j in columns], axis=0)
    radius = 0.5 * view.result.scene.stop.diameter_mm
    edges = np.linspace(-radius, radius, 17)
    centres = 0.5 * (edges[1:] + edges[:-1])
    width = _window(photons / view.mean_weights[cells].mean())
    light = _smooth(photons, width)
    turn = np.linspace(0.0, 2.0 * np.pi, 181)
    axes.plot(radius * np.cos(turn), radius * np.sin(turn), color=BLACK, linewidth=0.7)
    hole = Circle((0.0, 0.0), radius, transform=axes.transData)
    axes.set_facecolor(PALE)
    if photons.any():
        drawn = axes.pcolormesh(
            edges, edges, np.ma.masked_where(light < 0.02 * light.max(), light),
            cmap=COLOUR_MAP, vmin=0.0, vmax=light.max(), rasterized=True,
        )  # fmt: skip
        drawn.set_clip_path(hole)
    blur = _smooth(share, width)
    if blur.any():
        level = np.sort(blur.ravel())[::-1]
        half = level[np.searchsorted(np.cumsum(level), 0.5 * level.sum())]
        lines = axes.contour(centres, centres, blur, [half], colors=[VERMILION], linewidths=0.9)
        lines.set_clip_path(hole)
    axes.set(aspect="equal")
    axes.locator_params(nbins=3)
    chosen = np.zeros((CELLS, CELLS), dtype=bool)
    chosen[cells] = True
    weights = view.mean_weights[cells].ravel()
    filled = stop_filled(stop_sums, weights, net_share(view.result, chosen))
    unsure = np.isnan(filled.value)
    why = "filling not counted" if uncounted(view.result) else "too little light"
    words = why if unsure else f"{filled.text(100.0, '%')} filled"
    axes.set_title(f"{name}\n{words}", fontsize=6.5, linespacing=1.2)


def _window(photons: Reals) -> float:
    """Return the width, in cells, of the normal window that holds enough photons of a stop."""
    lit = photons[photons > 0.0]
    if not lit.size:
        return 0.0
    return min(WIDEST, float(np.sqrt(WINDOW_PHOTONS / (4.0 * np.pi * lit.mean()))))


def _smooth(values: Reals, width: float) -> Reals:
    """Return values [16, 16] smoothed within the hole, whose rim must not look dark."""
    centres = (np.arange(16) - 7.5) / 8.0
    hole = (np.hypot(*np.meshgrid(centres, centres)) < 1.06).astype(float)
    weight = gaussian_filter(hole, width, mode="constant")
    return gaussian_filter(values * hole, width, mode="constant") / np.maximum(weight, 0.1) * hole


def _trade_off(axes: Axes, view: ScreenView) -> None:
    points = trade_off(view.result)
    lumens = view.result.estimate("collected_lm").value
    light = lumens * _values([point.light for point in points])
    light_error = lumens * _errors([point.light for point in points])
    for name, key, colour, mark in (
        ("middle", "centre_px", BLUE, "o"),
        ("whole picture", "whole_px", BLACK, "s"),
        ("corners", "corner_px", VERMILION, "^"),
    ):
        blur = [getattr(point, key) for point in points]
        axes.errorbar(
            _values(blur), light, xerr=_errors(blur), yerr=light_error,
            color=colour, marker=mark, markersize=3.0, capsize=1.5, label=name,
        )  # fmt: skip
    axes.set(xlabel="RMS blur (panel pixels) ± its error", ylabel="light on the screen (lm)")
    axes.set_xlim(left=0.0)
    axes.set_ylim(bottom=0.0)
    axes.grid(True)
    axes.legend(fontsize=6.0, loc="lower right")
    axes.set_title("Each mark is a smaller stop", fontsize=7.5)


def _shares(axes: Axes, view: ScreenView) -> None:
    """Draw the same by the stop's diameter: light and blur that are left, of those now."""
    points = trade_off(view.result)
    diameters = [point.diameter_mm for point in points]
    for name, key, colour, dashes in (
        ("light", "light", BLACK, "-"),
        ("blur, middle", "centre_px", BLUE, "--"),
        ("blur, corners", "corner_px", VERMILION, "-."),
    ):
        found = [getattr(point, key) for point in points]
        now = max(found[-1].value, 1e-300) if found else 1.0
        axes.errorbar(
            diameters, _values(found) / now, yerr=_errors(found) / now,
            color=colour, linestyle=dashes, capsize=1.5, label=name,
        )  # fmt: skip
    axes.set(xlabel="diameter of the stop (mm)", ylabel="left of what there is now, ± its error")
    axes.set_ylim(bottom=0.0)
    axes.grid(True)
    axes.legend(fontsize=6.0, loc="lower right")
    axes.set_title("What a smaller stop costs and buys", fontsize=7.5)


def _values(found: list[Estimate]) -> Reals:
    return np.array([one.value for one in found])


def _errors(found: list[Estimate]) -> Reals:
    """Return errors to draw: none where none is known."""
    return np.nan_to_num([one.error for one in found], posinf=0.0)
