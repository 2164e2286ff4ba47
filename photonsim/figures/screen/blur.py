"""The blur map: what the lens and the lamp's own light do to every field of the picture."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from photonsim.arrays import Reals
from photonsim.figures.layout import Sheet, provenance
from photonsim.figures.panel.axes import panel_height_in, shape_as_panel
from photonsim.figures.style import BLACK, COLOUR_MAP, GREY, PALE, PRINT, Look, plain_style
from photonsim.results import Result, ScreenView, screen_of
from photonsim.results.estimate import decimal_places
from photonsim.results.panel.field import CELLS
from photonsim.results.picture.screen import one_cell
from photonsim.results.remarks.caveats import caveats

# Room about a map in inches.
LEFT_IN, RIGHT_IN, BETWEEN_IN, WORDS_IN, BELOW_IN = 0.5, 0.1, 0.3, 0.32, 0.3
# Arrows and warps are drawn so large that the longest is this share of a field's smaller side.
LONGEST = 0.9
# What lies this many standard errors off none is shown as a colour.
SURE = 3.0
# Sizes to choose from: a warp is drawn 1, 2, 5, 10 ... times too large.
STEPS = (1.0, 2.0, 5.0)


@plain_style()
def draw_blur(result: Result, look: Look = PRINT) -> Figure:
    """Return maps over the picture: blur twice, centroid shift, light, distortion, colour if any.

    Raises ResultError where the scene has no screen.
    """
    view = screen_of(result)
    colours = view.colour_px()
    coloured = bool(np.isfinite(colours[0]).any())
    width = 0.5 * (look.width_in - LEFT_IN - RIGHT_IN - BETWEEN_IN)
    height = panel_height_in(result, width, 3.5)
    row = WORDS_IN + height + BELOW_IN
    title = f"Blur over the picture, by the place on the panel: {result.name}"
    sheet = Sheet(look, title, 3.0 * row + 0.1, provenance(result), caveats(result))
    panes = []
    for number in range(6 if coloured else 5):
        # Light of one colour leaves a fifth map, in the middle.
        column = number % 2 if number < 4 or coloured else 0.5
        bottom = sheet.top - WORDS_IN - height - (number // 2) * row
        left = LEFT_IN + column * (width + BETWEEN_IN)
        panes.append(sheet.axes(left, bottom, width, height))
    write = look.labels
    _map(panes[0], view, *view.blur_px(), "RMS blur (panel pixels)", write)
    _map(panes[1], view, *_radii(view), "Radius of 80 % of the light (panel pixels)", write)
    _centroid_shift(panes[2], view)
    _map(panes[3], view, *view.relative_light(), "Light on the screen, over its mean", write)
    _distortion(panes[4], view)
    if coloured:
        _colour(panes[5], view, *colours)
    for number, axes in enumerate(panes):
        shape_as_panel(axes, result, first=number % 2 == 0)
        if number < 4:
            axes.set_xlabel("")
    return sheet.figure


def _edges(view: ScreenView) -> tuple[Reals, Reals]:
    optics = view.result.optics
    steps = np.linspace(-0.5, 0.5, CELLS + 1)
    return steps * optics.width_mm, steps * optics.height_mm


def _radii(view: ScreenView) -> tuple[Reals, Reals]:
    found = [view.radius_80_px(one_cell(i, j)) for i, j in np.ndindex(CELLS, CELLS)]
    value, error = (
        np.array([getattr(estimate, name) for estimate in found]).reshape(CELLS, CELLS)
        for name in ("value", "error")
    )
    return value, error


def _map(
    axes: Axes, view: ScreenView, values: Reals, errors: Reals, title: str, write: bool = True
) -> None:
    """Draw a map by cell, every other cell with its value, to the first uncertain digit."""
    x, y = _edges(view)
    axes.set_facecolor(PALE)
    known = np.isfinite(values)
    top = float(values[known].max()) if known.any() else 1.0
    shown = np.ma.masked_invalid(values)
    axes.pcolormesh(x, y, shown, cmap=COLOUR_MAP, vmin=0.0, vmax=top or 1.0, rasterized=True)
    axes.set_title(f"{title}\n{_typical(errors)}", fontsize=7.0, linespacing=1.25)
    if write:
        with np.errstate(invalid="ignore"):
            _write(axes, view, _figures(values, errors), ~(values >= 0.55 * top))


def _typical(errors: Reals, of: str = "typical error of a field") -> str:
    known = errors[np.isfinite(errors)]
    return f"{of} ±{np.median(known):.1g}" if known.size else "too few photons"


def _write(axes: Axes, view: ScreenView, words: list[list[str]], dark: NDArray[np.bool_]) -> None:
    """Write words into every other cell, white where `dark` [9, 9] says so."""
    x, y = (0.5 * (edges[1:] + edges[:-1]) for edges in _edges(view))
    for i in range(0, CELLS, 2):
        for j in range(0, CELLS, 2):
            colour = "white" if dark[i, j] else BLACK
            axes.text(x[j], y[i], words[i][j], ha="center", va="center", fontsize=6.0, color=colour)


def _figures(values: Reals, errors: Reals) -> list[list[str]]:
    """Return values [9, 9] to the first uncertain digit; none with more digits than most have."""
    known = errors[np.isfinite(errors) & (errors > 0.0)]
    usual = float(np.median(known)) if known.size else math.nan
    return [
        [_figure(value, max(error, usual)) for value, error in zip(*rows, strict=True)]
        for rows in zip(values, errors, strict=True)
    ]


def _figure(value: float, error: float) -> str:
    if not math.isfinite(value):
        return "–"
    if not (math.isfinite(error) and error > 0.0):
        return f"{value:.2g}"
    return f"{value:.{max(0, decimal_places(error) - 1)}f}"


def _centroid_shift(axes: Axes, view: ScreenView) -> None:
    """Draw how far, and which way, the light lands from its chief ray, as arrows."""
    dx, dy = view.centroid_shift_px()
    x, y = (0.5 * (edges[1:] + edges[:-1]) for edges in _edges(view))
    length = np.hypot(dx, dy)
    longest = float(np.nanmax(length)) if np.isfinite(length).any() else 0.0
    axes.plot(*np.meshgrid(x, y), ".", color=GREY, markersize=1.5)
    if longest > 0.0:
        scale = longest / (LONGEST * min(x[1] - x[0], y[1] - y[0]))
        axes.quiver(
            x, y, dx, dy, scale=scale, scale_units="xy", angles="xy", color=BLACK, width=0.0035
        )
    axes.set_title(
        f"Centroid shift of the light off the chief ray\nlongest arrow {longest:#.2g} pixels",
        fontsize=7.0,
        linespacing=1.25,
    )


def _distortion(axes: Axes, view: ScreenView) -> None:
    """Draw the net of fields as it should land, and as chief rays land, too large to be seen."""
    x, y = _edges(view)
    corner = view.distortion(view.corner_mm)
    field = min(x[1] - x[0], y[1] - y[0])
    farthest = max(abs(view.distortion(r)) * r for r in np.linspace(0.1, 1.0, 10) * view.corner_mm)
    times = _round_down(LONGEST * field / farthest) if farthest > 1e-6 * field else 1.0
    fine = np.linspace(0.0, 1.0, 61)
    for along, across, upright in ((x, y, True), (y, x, False)):
        for place in along:
            run = across[0] + fine * (across[-1] - across[0])
            still = np.full_like(run, place)
            px, py = (still, run) if upright else (run, still)
            axes.plot(px, py, color=PALE, linewidth=0.8)
            radii = np.hypot(px, py)
            out = 1.0 + times * np.array([view.distortion(radius) for radius in radii])
            axes.plot(px * out, py * out, color=BLACK, linewidth=0.7, clip_on=False)
    drawn = f"drawn {times:,.0f} times too large" if times > 1.0 else "drawn as it is"
    axes.set_title(
        f"Distortion: {100.0 * corner:+.2g} % at the corner\n{drawn}",
        fontsize=7.0,
        linespacing=1.25,
    )


def _round_down(value: float) -> float:
    """Return the greatest of 1, 2, 5, 10, 20 ... that is not above a value; at least 1."""
    decade = 10.0 ** math.floor(math.log10(max(value, 1.0)))
    return max(step * decade for step in STEPS if step * decade <= max(value, 1.0))


def _colour(axes: Axes, view: ScreenView, value: Reals, error: Reals) -> None:
    """Draw how far red lands outside blue."""
    x, y = _edges(view)
    with np.errstate(invalid="ignore"):
        seen = np.abs(value) > SURE * error
    reach = float(np.abs(value[seen]).max()) if seen.any() else 1.0
    axes.set_facecolor(PALE)
    shown = np.ma.masked_where(~seen, value)
    axes.pcolormesh(x, y, shown, cmap="RdBu_r", vmin=-reach, vmax=reach, rasterized=True)
    axes.set_title(
        f"Lateral colour: red outside blue, px\n{_typical(error, 'a field')}; grey: can't tell",
        fontsize=7.0,
        linespacing=1.25,
    )
    words = [
        [word if sure else "" for word, sure in zip(*rows, strict=True)]
        for rows in zip(_figures(value, error), seen, strict=True)
    ]
    with np.errstate(invalid="ignore"):
        _write(axes, view, words, np.abs(value) > 0.6 * reach)
