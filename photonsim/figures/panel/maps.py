"""Illuminance on the panel: what arrives and what of it is collected, side by side."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from photonsim.arrays import Reals
from photonsim.figures.panel.axes import panel_height_in, shape_as_panel, show_blocks
from photonsim.figures.style import PAGE_WIDTH_IN, give_title, new_figure, plain_style, settle
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
    is_fit_to_print,
    photons_for,
    print_columns,
    quiet_columns,
)

# Fewer cannot show a pattern and turn it into a beat (sampling theorem; Shannon, Proc. IRE 37, 10
# (1949): from memory).
BLOCKS_PER_PITCH = 2
KINDS = (
    ("incident", "Arriving at the panel"),
    ("collected", "Collected, goes on through the stop"),
)
UNIFORMITY = {
    "incident": ("incident_uniformity", "incident_uniformity_max", "incident_darkest_edge"),
    "collected": ("uniformity", "uniformity_max", "darkest_edge"),
}


@plain_style()
def draw_maps(result: Result) -> Figure:
    """Return maps of the light that arrives at the panel and of that which is collected.

    Both stand on one colour scale of light relative to the mean of each map. On a common scale in
    lux the collected light, a few per cent of the other, would be black all over, and a scale of
    its own would make any map look as uneven as any other. Lux stand beside it: the mean in the
    title, and the nine-point values at their places.
    """
    figure = new_figure(PAGE_WIDTH_IN, 1.95 + panel_height_in(result, 3.1))
    panes = figure.subplots(1, 2)
    blocks = {kind: map_blocks(result, kind) for kind, _ in KINDS}
    relative = {kind: relative_map(result, kind, blocks[kind]) for kind, _ in KINDS}
    everything = np.concatenate([values.ravel() for values in relative.values()])
    # One noisy block must not set the scale for all; the bar's arrow says that some lie above.
    top = float(np.percentile(everything, 99.7)) or 1.0
    for axes, (kind, title) in zip(panes, KINDS, strict=True):
        mesh = show_blocks(axes, result, relative[kind], blocks[kind], top)
        shape_as_panel(axes, result, first=kind == "incident")
        axes.set_xlabel(f"x (mm)\n{block_note(result, kind, blocks[kind])}")
        axes.set_title(f"{title}\n{_summary(result, kind)}", fontsize=7.0, linespacing=1.35)
        _mark_nine_points(axes, result, kind)
    bar = figure.colorbar(
        mesh,
        ax=list(panes),
        location="bottom",
        shrink=0.6,
        aspect=45,
        extend="max" if everything.max() > top else "neither",
    )
    bar.set_label("illuminance relative to the mean of each map")
    give_title(figure, result, "Light on the panel")
    return settle(figure)


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


def relative_map(result: Result, kind: str, blocks: int) -> Reals:
    """Return light by block relative to its mean over the panel; 0 everywhere without light."""
    mean = _mean_lx(result, kind).value
    return result.illuminance_map(kind, blocks) / (mean or 1.0)


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
        return "no light\n\n"
    factor, unit = _illuminance_unit(mean.value)
    least, ratio, edge = (result.estimate(name).text() for name in UNIFORMITY[kind])
    return (
        f"mean {mean.text(factor, unit)}, darkest edge {edge}\n"
        f"nine-point min/mean {least}\nnine-point min/max {ratio}"
    )


def block_note(result: Result, kind: str, columns: int) -> str:
    """Return into how many blocks a map was divided, their noise, and what is too little of it."""
    counts = result.effective_counts(kind)
    if not counts.any():
        return "no photon counted"
    rows, columns = block_shape(counts.shape, columns)
    noise = 100.0 * block_noise(counts, columns)
    blocks = f"{columns} × {rows} = {columns * rows:,} blocks"
    lines = [
        f"{blocks}, counting noise ±{noise:.{0 if noise >= 10.0 else 1}f} % (median)"
        if np.isfinite(noise)
        else f"{blocks}, most without a photon"
    ]
    if columns * rows < FEWEST_BLOCKS:
        wanted = photons_for(counts, result.photons, FEWEST_BLOCKS, BLOCK_NOISE)
        at = f"{FEWEST_BLOCKS} blocks at {100.0 * BLOCK_NOISE:g} %"
        lines.append(f"{at} take {about(wanted)} photons")
    finest_mm = min((pitch for pitch, _, _ in result.optics.pitches.values()), default=np.inf)
    if columns * finest_mm < BLOCKS_PER_PITCH * result.optics.width_mm:
        lines.append("too coarse to show the emitters' pattern")
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
    for (row, column), value in np.ndenumerate(lux):
        count = float(counts[1::3, 1::3][row, column])
        error = value / count**0.5 if count else 0.0
        axes.annotate(
            Estimate(float(value), float(error)).text(
                factor, unit if (row, column) == (2, 0) else ""
            ),
            ((column - 1) / 3 * panel.active_width_mm, (row - 1) / 3 * panel.active_height_mm),
            ha="center",
            va="center",
            fontsize=5.5,
            bbox={"boxstyle": "round,pad=0.2", "fc": "white", "ec": "none", "alpha": 0.85},
        )
