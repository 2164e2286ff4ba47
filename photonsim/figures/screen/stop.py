"""The stop as the picture sees it: where light of each field passes, and what makes the blur."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle
from matplotlib.patheffects import withStroke
from scipy.ndimage import gaussian_filter

from photonsim.arrays import Counts, Reals
from photonsim.figures.layout import Sheet, provenance, text_width_in
from photonsim.figures.style import (
    BLACK,
    COLLECTED,
    COLOUR_MAP,
    GREY,
    PALE,
    PRINT,
    ZONE_STYLES,
    Look,
    plain_style,
)
from photonsim.results import Estimate, Result, ScreenView, screen_of
from photonsim.results.panel.field import CELLS
from photonsim.results.picture.stop import (
    TradePoint,
    net_share,
    pupil,
    stop_filled,
    trade_off,
    uncounted,
)
from photonsim.results.remarks.caveats import caveats

ROWS = {"top": (6, 7, 8), "": (3, 4, 5), "bottom": (0, 1, 2)}
COLUMNS = {"left": (0, 1, 2), "": (3, 4, 5), "right": (6, 7, 8)}
# Photons under the window that smooths the stop's light: grain of some 8 %.
WINDOW_PHOTONS = 150.0
WIDEST = 1.2
NOTE = (
    "Light through the stop from nine fields of\nthe panel. Half of the blur is made within\n"
    "the lines."
)
# The share of the width for the nine stops; room around panes in inches.
LEFT_SHARE = 0.58
LEFT_IN, GAP_IN, NAME_IN, WORDS_IN, BELOW_IN, RIGHT_LEFT_IN = 0.48, 0.14, 0.4, 0.4, 0.42, 0.55
# Names of the nine, which stay so far apart.
NAME_PT, LINE_IN, APART_IN = 6.0, 0.1, 0.03


@plain_style()
def draw_stop(result: Result, look: Look = PRINT) -> Figure:
    """Return the stop as filled from nine fields, and the light that a smaller one would leave.

    Raises ResultError where the scene has no screen.
    """
    view = screen_of(result)
    split = LEFT_SHARE * look.width_in
    side = (split - LEFT_IN - 2.0 * GAP_IN) / 3.0
    filled = {
        (above, beside): _filled(view, np.ix_(rows, columns))
        for above, rows in ROWS.items()
        for beside, columns in COLUMNS.items()
    }
    name_in = NAME_IN
    widest_in = max(text_width_in(words.split("\n")[0], NAME_PT) for words in filled.values())
    if widest_in > side + GAP_IN - APART_IN:
        filled = {place: words.replace(" ± ", "\n± ") for place, words in filled.items()}
        name_in += LINE_IN
    nine_in = 3.0 * (name_in + side)
    title = f"What the stop does to the picture: {result.name}"
    body = WORDS_IN + nine_in + BELOW_IN
    sheet = Sheet(look, title, body, provenance(result), caveats(result))
    top, foot = sheet.top, sheet.top - body
    _write(sheet, LEFT_IN, top - 0.06, NOTE)
    for row, (above, rows) in enumerate(ROWS.items()):
        for column, (beside, columns) in enumerate(COLUMNS.items()):
            bottom = top - WORDS_IN - (row + 1) * (name_in + side)
            axes = sheet.axes(LEFT_IN + column * (side + GAP_IN), bottom, side, side)
            name = " ".join(word for word in (above, beside) if word) or "middle"
            _pupil(axes, view, rows, columns)
            words = f"{name}\n{filled[above, beside]}"
            axes.set_title(words, fontsize=NAME_PT, linespacing=1.15, pad=3.0)
            axes.tick_params(labelbottom=row == 2, labelleft=column == 0)
            axes.set_xlabel("x in the stop (mm)" if (row, column) == (2, 1) else "")
            axes.set_ylabel("y in the stop (mm)" if (row, column) == (1, 0) else "")
    left = split + RIGHT_LEFT_IN
    if why := uncounted(result):
        _write(sheet, left, top - 0.06, f"What a smaller stop would leave was\n{why}.")
        return sheet.figure
    points = trade_off(result)
    width, height = look.width_in - left - 0.1, 0.5 * (body - 2.0 * (0.25 + BELOW_IN))
    _trade_off(sheet.axes(left, top - 0.25 - height, width, height), view, points)
    _shares(sheet.axes(left, foot + BELOW_IN, width, height), points)
    return sheet.figure


def _write(sheet: Sheet, left: float, top: float, words: str) -> None:
    """Write words from a place in inches."""
    across, up = sheet.figure.get_size_inches()
    sheet.figure.text(left / across, top / up, words, fontsize=7.0, va="top")


def _filled(view: ScreenView, cells: tuple[Counts, ...]) -> str:
    """Return how full the stop is for a field, in words of several lines."""
    stop_sums = view.result.tallies.stop_sums[cells].reshape(9, 16, 16, -1)
    chosen = np.zeros((CELLS, CELLS), dtype=bool)
    chosen[cells] = True
    weights = view.mean_weights[cells].ravel()
    filled = stop_filled(stop_sums, weights, net_share(view.result, chosen))
    if np.isnan(filled.value):
        return "filling\nnot counted" if uncounted(view.result) else "too little\nlight"
    return f"{filled.text(100.0, '%')}\nfilled"


def _pupil(axes: Axes, view: ScreenView, rows: tuple[int, ...], columns: tuple[int, ...]) -> None:
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
        lines = axes.contour(centres, centres, blur, [half], colors="white", linewidths=0.9)
        lines.set(path_effects=[withStroke(linewidth=2.0, foreground=BLACK)])
        lines.set_clip_path(hole)
    axes.set(aspect="equal")
    axes.locator_params(nbins=4, prune="both")


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


def _trade_off(axes: Axes, view: ScreenView, points: list[TradePoint]) -> None:
    lumens = view.result.estimate("collected_lm").value
    light = lumens * _values([point.light for point in points])
    light_error = lumens * _errors([point.light for point in points])
    for name, key, colour, mark in (
        ("middle", "centre_px", ZONE_STYLES["middle"][0], "o"),
        ("whole picture", "whole_px", GREY, "s"),
        ("corners", "corner_px", ZONE_STYLES["corners"][0], "^"),
    ):
        blur = [getattr(point, key) for point in points]
        axes.errorbar(
            _values(blur), light, xerr=_errors(blur), yerr=light_error,
            color=colour, marker=mark, markersize=3.0, capsize=1.5, label=name,
        )  # fmt: skip
    axes.set(xlabel="RMS blur (panel pixels)", ylabel="light on the screen (lm)")
    axes.set_xlim(left=0.0)
    axes.set_ylim(bottom=0.0)
    axes.grid(True)
    axes.legend(fontsize=6.0, loc="best")
    axes.set_title("Each mark is a smaller stop", fontsize=7.0)


def _shares(axes: Axes, points: list[TradePoint]) -> None:
    """Draw the same by the stop's diameter: light and blur that are left, of those now."""
    diameters = [point.diameter_mm for point in points]
    for name, key, colour, dashes in (
        ("light", "light", COLLECTED, "--"),
        ("blur, middle", "centre_px", *ZONE_STYLES["middle"]),
        ("blur, corners", "corner_px", *ZONE_STYLES["corners"]),
    ):
        found = [getattr(point, key) for point in points]
        now = max(found[-1].value, 1e-300) if found else 1.0
        axes.errorbar(
            diameters, _values(found) / now, yerr=_errors(found) / now,
            color=colour, linestyle=dashes, capsize=1.5, label=name,
        )  # fmt: skip
    axes.set(xlabel="diameter of the stop (mm)", ylabel="share of what the stop gives now")
    axes.set_ylim(bottom=0.0)
    axes.grid(True)
    axes.legend(fontsize=6.0, loc="best")
    axes.set_title("What a smaller stop leaves", fontsize=7.0)


def _values(found: list[Estimate]) -> Reals:
    return np.array([one.value for one in found])


def _errors(found: list[Estimate]) -> Reals:
    """Return errors to draw: none where none is known."""
    return np.nan_to_num([one.error for one in found], posinf=0.0)
