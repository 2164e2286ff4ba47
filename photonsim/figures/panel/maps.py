"""Illuminance on the panel: what arrives and what of it is collected, side by side."""

from __future__ import annotations

import math

import matplotlib.patheffects
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.image import AxesImage
from matplotlib.ticker import MaxNLocator
from scipy.ndimage import gaussian_filter

from photonsim.arrays import Counts, Reals
from photonsim.figures.layout import Sheet, broken, provenance, text_width_in
from photonsim.figures.panel.axes import panel_height_in, shape_as_panel
from photonsim.figures.panel.plan import draw_rim, rim_height_pt, rim_words
from photonsim.figures.style import BLACK, COLOUR_MAP, PALE, PRINT, Look, plain_style
from photonsim.results import Estimate, Result
from photonsim.results.panel import weights
from photonsim.results.panel.blocks import (
    BLOCK_NOISE,
    FEWEST_BLOCKS,
    PRINT_BLOCKS,
    PRINT_NOISE,
    about,
    block_noise,
    block_shape,
    block_sums,
    is_fit_to_print,
    photons_for,
    print_columns,
    quiet_columns,
)
from photonsim.results.remarks.caveats import caveats

# Fewer cannot show a pattern: a window of half a pitch leaves two thirds of its contrast.
WINDOWS_PER_PITCH = 2
# Finer than print shows, and quick to smooth.
MOST_COLUMNS = 320
# Lines of equal light would follow luck: they are those of a map with so little noise, and stand
# so far apart, relative to the mean, at least this many times the noise. Many hide the map.
CONTOUR_NOISE = 0.015
CONTOUR_STEPS = (0.1, 0.2, 0.25, 0.5)
CONTOUR_SURE = 6.0
MOST_CONTOURS = 6
KINDS = {"incident": "Arriving at the panel", "collected": "Going on through the stop"}
# Room for the words about a map, in inches.
LEFT_IN, RIGHT_IN, BETWEEN_IN, BAR_IN, LINE_IN = 0.5, 0.1, 0.3, 0.52, 0.125
NOTE_PT, POINT_PT = 6.5, 6.0
# From one tick of a colour bar to the next: five digits.
TICK_IN = 0.45
UNIFORMITY = {
    "incident": ("incident_uniformity", "incident_uniformity_max", "incident_darkest_edge"),
    "collected": ("uniformity", "uniformity_max", "darkest_edge"),
}


@plain_style()
def draw_maps(result: Result, look: Look = PRINT) -> Figure:
    """Return maps of the light that arrives at the panel and of that which is collected.

    Both stand on one colour scale of light relative to the mean of each map. On a common scale in
    lux the collected light, a few per cent of the other, would be black all over, so in lux each
    has its own.
    """
    maps = {kind: smooth_map(result, kind, look.unit) for kind in KINDS}
    tops = {kind: scale_top(maps[kind]) for kind in KINDS}
    if look.unit == "relative":
        tops = dict.fromkeys(KINDS, max(tops.values()))
    rim = {axis: rim_height_pt(result.scene, axis) / 72.0 for axis in "xy"}
    width = 0.5 * (look.width_in - LEFT_IN - RIGHT_IN - BETWEEN_IN) - rim["y"]
    height = panel_height_in(result, width)
    notes = {kind: _note(result, kind, width + 2.0 * RIGHT_IN) for kind in KINDS}
    words_in = 5 * LINE_IN + rim["x"] + 0.06
    below = 0.42 + LINE_IN * max(note.count("\n") + 1 for note in notes.values())
    body = words_in + height + below + BAR_IN
    title = f"Light on the panel: {result.name}"
    sheet = Sheet(look, title, body, provenance(result), caveats(result))
    bottom = sheet.top - words_in - height
    for number, kind in enumerate(KINDS):
        left = LEFT_IN + number * (width + rim["y"] + BETWEEN_IN)
        axes = sheet.axes(left, bottom, width, height)
        image = show_map(axes, result, kind, look, tops[kind], maps[kind])
        axes.set_xlabel(f"x (mm)\n{notes[kind]}", fontsize=NOTE_PT)
        if number:
            axes.set_ylabel("")
            axes.tick_params(labelleft=False)
        pad = rim_height_pt(result.scene) + 2.0
        axes.set_title(_summary(result, kind), fontsize=7.0, linespacing=1.3, pad=pad)
        if look.unit == "lux":
            draw_bar(sheet, image, (left, bottom - below - 0.12, width), "illuminance (lx)")
    if look.unit == "relative":
        place = (0.2 * look.width_in, bottom - below - 0.12, 0.6 * look.width_in)
        words = f"illuminance relative to the mean of each map; {rim_words(result.scene)}"
        draw_bar(sheet, image, place, words)
    return sheet.figure


def draw_bar(sheet: Sheet, image: AxesImage, place: tuple[float, float, float], words: str) -> None:
    """Draw a colour bar at a place (left, bottom, width) in inches."""
    axes = sheet.axes(*place, 0.12)
    bar = sheet.figure.colorbar(image, cax=axes, orientation="horizontal", extend=_extend(image))
    bar.locator = MaxNLocator(nbins=max(2, int(place[2] / TICK_IN)))
    bar.set_label(words, fontsize=6.5)


def show_map(
    axes: Axes,
    result: Result,
    kind: str = "collected",
    look: Look = PRINT,
    top: float | None = None,
    values: Reals | None = None,
    thick: float = 1.0,
) -> AxesImage:
    """Draw the map of a kind of light, 'incident' or 'collected', on axes; return the image.

    `top` is the end of the colour scale and `values` the map, where they are known already.
    `thick` scales what stands at the rim.
    """
    values = smooth_map(result, kind, look.unit) if values is None else values
    top = scale_top(values) if top is None else top
    panel = result.scene.panel
    half_width, half_height = 0.5 * panel.active_width_mm, 0.5 * panel.active_height_mm
    axes.set_facecolor(PALE)
    image = axes.imshow(
        values, origin="lower", cmap=COLOUR_MAP, vmin=0.0, vmax=top, interpolation="nearest",
        extent=(-half_width, half_width, -half_height, half_height),
    )  # fmt: skip
    shape_as_panel(axes, result)
    draw_rim(axes, result.scene, thick)
    if look.contours:
        _draw_contours(axes, result, kind, look.unit)
    if look.labels:
        _mark_nine_points(axes, result, kind)
    return image


def scale_top(*maps: Reals) -> float:
    """Return the end of a colour scale for maps: a few specks above it do not darken the rest."""
    return float(np.percentile(np.concatenate([values.ravel() for values in maps]), 99.8)) or 1.0


def _extend(image: AxesImage) -> str:
    values = image.get_array()
    return "max" if values is not None and values.max() > 1.005 * image.norm.vmax else "neither"  # type: ignore[operator]


def smooth_map(
    result: Result, kind: str, unit: str = "relative", columns: int | None = None
) -> Reals:
    """Return light on the panel [rows, columns], row 0 lowest, as a round window sees it.

    Each place is the mean over a normal window whose counting noise is that of one of so many
    columns of blocks, else those of `map_blocks`: widths s_x and s_y with 4 pi s_x s_y the area of
    a block, round on the panel. Unlike blocks it turns no pattern into a beat, and no stripe from
    bright to dark (its transform has no negative part). At the edge it is the mean over the part
    that lies on the panel. In units of the map's mean, or in lux; 0 everywhere without light.
    """
    counts = result.panel_counts(kind)
    mean = counts.mean()
    if not mean:
        return np.zeros(block_shape(counts.shape, min(counts.shape[1], MOST_COLUMNS)))
    side_mm = window_mm(result, columns or map_blocks(result, kind))
    window = _smooth(counts, side_mm / math.sqrt(4.0 * math.pi), result)
    times = _mean_lx(result, kind).value if unit == "lux" else 1.0
    return np.asarray(window / mean * times)


def _smooth(counts: Counts, width_mm: float, result: Result) -> Reals:
    """Return counts a pixel, [rows, columns], through a normal window of a standard width."""
    columns = min(counts.shape[1], MOST_COLUMNS)
    sums = block_sums(counts, columns).astype(float)
    pixels = block_sums(np.ones(counts.shape, dtype=np.int64), columns).astype(float)
    panel = result.scene.panel
    widths = (
        width_mm * sums.shape[0] / panel.active_height_mm,
        width_mm * sums.shape[1] / panel.active_width_mm,
    )
    seen, whole = (gaussian_filter(a, widths, mode="constant") for a in (sums, pixels))
    return np.asarray(seen / whole)


def window_mm(result: Result, columns: int) -> float:
    """Return the side of the square that counts as much light as the window of so many columns."""
    panel = result.scene.panel
    blocks = math.prod(block_shape((panel.rows, panel.columns), columns))
    return math.sqrt(panel.active_width_mm * panel.active_height_mm / blocks)


def _draw_contours(axes: Axes, result: Result, kind: str, unit: str) -> None:
    """Draw lines of equal light, white on a dark line, which reads on every colour."""
    counts = result.effective_counts(kind)
    columns = quiet_columns(counts, CONTOUR_NOISE, map_blocks(result, kind))
    values = smooth_map(result, kind, unit, columns)
    sure = CONTOUR_SURE * block_noise(counts, columns)
    mean = _mean_lx(result, kind).value if unit == "lux" else 1.0
    wanted = max(sure, np.ptp(values) / mean / MOST_CONTOURS)
    step = mean * next((step for step in CONTOUR_STEPS if step >= wanted), CONTOUR_STEPS[-1])
    levels = np.arange(step, values.max(), step)
    if not len(levels):
        return
    outline = [matplotlib.patheffects.withStroke(linewidth=1.4, foreground=BLACK)]
    lines = axes.contour(
        values,
        levels=levels,
        colors="white",
        linewidths=0.6,
        origin="lower",
        extent=(*axes.get_xlim(), *axes.get_ylim()),
    )
    lines.set(path_effects=outline)


def _illuminance_unit(largest_lx: float) -> tuple[float, str]:
    """Return (factor, unit) in which to print illuminances up to a value in lux."""
    return (1e-3, "klx") if largest_lx >= 10_000.0 else (1.0, "lx")


def map_blocks(result: Result, kind: str, most: int | None = None) -> int:
    """Return how many columns of blocks a map of a kind of light is drawn in.

    As many as leave the median block no more than BLOCK_NOISE of counting noise, at most as many
    as print shows.
    """
    counts = result.effective_counts(kind)
    return quiet_columns(counts, BLOCK_NOISE, most or print_columns(counts.shape))


def _mean_lx(result: Result, kind: str) -> Estimate:
    """Mean illuminance of the panel before its transmittance, with its error."""
    name = "incident_fraction" if kind == "incident" else "collected_fraction"
    share = result.estimate(name)
    panel = result.scene.panel
    lux = result.optics.flux_lm / (panel.active_width_mm * panel.active_height_mm * 1e-6)
    return Estimate(share.value * lux, share.error * lux)


def _summary(result: Result, kind: str) -> str:
    mean = _mean_lx(result, kind)
    if mean.value == 0.0:
        return f"{KINDS[kind]}: no light"
    factor, unit = _illuminance_unit(mean.value)
    least, ratio, edge = (result.estimate(name).text() for name in UNIFORMITY[kind])
    return (
        f"{KINDS[kind]}\nmean {mean.text(factor, unit)}\ndarkest edge {edge}\n"
        f"nine-point min/mean {least}\nnine-point min/max {ratio}"
    )


def _note(result: Result, kind: str, width_in: float) -> str:
    first, *rest = block_note(result, kind, map_blocks(result, kind)).splitlines()
    return "\n".join((broken(first, "noise", width_in, NOTE_PT), *rest))


def block_note(result: Result, kind: str, columns: int) -> str:
    """Return how far a map is smoothed, as if by so many columns of blocks, and what it lacks."""
    counts = result.effective_counts(kind)
    if not counts.any():
        return "no photon counted"
    blocks = math.prod(block_shape(counts.shape, columns))
    side_mm = window_mm(result, columns)
    noise = 100.0 * block_noise(counts, columns)
    lines = [
        f"mean over {side_mm:.2g} mm ({blocks:,} windows), noise "
        + (f"±{noise:.{0 if noise >= 10.0 else 1}f} %" if np.isfinite(noise) else "100 % and more")
    ]
    if blocks < FEWEST_BLOCKS:
        wanted = photons_for(counts, result.photons, FEWEST_BLOCKS, BLOCK_NOISE)
        at = f"{FEWEST_BLOCKS} at {100.0 * BLOCK_NOISE:g} %"
        lines.append(f"{at} take {about(wanted)} photons")
    finest_mm = min((pitch for pitch, _, _ in result.optics.pitches.values()), default=np.inf)
    if WINDOWS_PER_PITCH * side_mm > finest_mm:
        lines.append("too coarse to show the emitters' pattern in full")
    return "\n".join(lines)


def print_note(result: Result) -> str:
    """Return what the map of collected light lacks to be fit to print; empty if nothing."""
    counts = result.effective_counts("collected")
    if is_fit_to_print(counts):
        return ""
    if not counts.any():
        return "no light is collected, so there is no map of it to print"
    wanted = photons_for(counts, result.photons, PRINT_BLOCKS, PRINT_NOISE)
    return (
        f"a map of the collected light fit to print, {PRINT_BLOCKS:,} blocks at "
        f"{100.0 * PRINT_NOISE:g} % of noise, takes {about(wanted)} photons "
        "(photonsim trace --fit-to-print)"
    )


def _mark_nine_points(axes: Axes, result: Result, kind: str) -> None:
    """Print the illuminance at the nine places, in the unit of the mean."""
    panel = result.scene.panel
    lux = result.nine_points(kind)
    light = 0 if kind == "incident" else 1
    everything = result.samples.total
    counts = everything.cells[0, light] / weights.by_cell(everything, light)[0]
    factor, unit = _illuminance_unit(_mean_lx(result, kind).value)
    words = {}
    for place, value in np.ndenumerate(lux):
        count = float(counts[1::3, 1::3][place])
        estimate = Estimate(float(value), float(value / count**0.5 if count else 0.0))
        words[place] = estimate.text(factor, unit if place == (2, 0) else "")
    # Three stand side by side, in white boxes.
    room_in = axes.get_window_extent().width / axes.figure.dpi / 3.0 - 0.05
    is_narrow = max(text_width_in(told, POINT_PT) for told in words.values()) > room_in
    for (row, column), told in words.items():
        axes.annotate(
            told.replace(" ± ", "\n± ") if is_narrow else told,
            ((column - 1) / 3 * panel.active_width_mm, (row - 1) / 3 * panel.active_height_mm),
            ha="center",
            va="center",
            fontsize=POINT_PT,
            bbox={"boxstyle": "round,pad=0.2", "fc": "white", "ec": "none", "alpha": 0.85},
        )
