"""Intensity against angle, in both planes, of the light that arrives and that is collected."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from photonsim.figures.panel.counting import counts_with_errors
from photonsim.figures.style import (
    BLUE,
    GREY,
    PAGE_WIDTH_IN,
    VERMILION,
    give_title,
    new_figure,
    plain_style,
    settle,
)
from photonsim.results import Result

# The tallies hold directions within 5 degrees of a plane in bins of 2 degrees. In cylinder
# coordinates about the normal of the plane a solid angle is d(angle) * d(sine of the elevation)
# (Archimedes' cylinder), so that every bin has the same.
BIN_DEG = 2.0
BAND_DEG = 5.0
BIN_SOLID_ANGLE_SR = math.radians(BIN_DEG) * 2.0 * math.sin(math.radians(BAND_DEG))

PLANES = (
    ("plane_x", "half_intensity_x_deg", "Horizontal plane (x, z)", "x"),
    ("plane_y", "half_intensity_y_deg", "Vertical plane (y, z)", "y"),
)


@plain_style()
def draw_intensity(result: Result) -> Figure:
    """Return the intensity in candelas against the angle from the axis in both planes.

    Intensity is flux per count times the count of a bin over its solid angle. The reference is
    the Lambertian of the same arriving flux F, F/pi * cos(angle).
    """
    figure = new_figure(PAGE_WIDTH_IN, 3.5)
    panes = figure.subplots(1, 2, sharey=True)
    for axes, (name, half, title, axis) in zip(panes, PLANES, strict=True):
        _draw_plane(axes, result, name)
        _mark_half(axes, result, name, half)
        axes.set_title(f"{title}\nhalf intensity at ± {_half_text(result, half)}, arriving")
        axes.set_xlabel(f"angle from the axis towards +{axis} (°)")
        axes.set(xlim=(-90, 90), ylim=(0, None))
        axes.set_xticks(range(-90, 91, 30))
        axes.grid(True)
    if not result.tallies.batches["incident"].any():
        axes.set_ylim(0.0, 1.0)
    panes[0].set_ylabel("intensity before the panel (cd)")
    figure.legend(*panes[0].get_legend_handles_labels(), loc="outside lower left", ncols=3)
    give_title(figure, result, "Intensity at the panel")
    return settle(figure)


def _draw_plane(axes: Axes, result: Result, name: str) -> None:
    candelas = result.optics.flux_lm / max(result.emitted, 1) / BIN_SOLID_ANGLE_SR
    angles = np.arange(-90.0 + 0.5 * BIN_DEG, 90.0, BIN_DEG)
    fine = np.linspace(-90.0, 90.0, 181)
    flux = result.estimate("incident_fraction").value * result.optics.flux_lm
    axes.plot(
        fine,
        flux / math.pi * np.cos(np.radians(fine)),
        color=GREY,
        linewidth=0.7,
        linestyle=(0, (6, 2)),
        label="Lambertian of the same arriving flux",
    )
    kinds = (("arriving (band: ± standard error)", BLUE, "-"), ("collected", VERMILION, "-."))
    for light, (label, colour, dashes) in enumerate(kinds):
        counts, errors = counts_with_errors(result, name, light)
        low, high = (counts - errors) * candelas, (counts + errors) * candelas
        axes.fill_between(angles, low, high, color=colour, alpha=0.25, linewidth=0)
        axes.plot(angles, counts * candelas, color=colour, linestyle=dashes, label=label)


def _mark_half(axes: Axes, result: Result, name: str, half: str) -> None:
    """Mark where the arriving light falls to half its intensity on the axis."""
    angle = result.estimate(half).value
    if math.isnan(angle):
        return
    counts, _ = counts_with_errors(result, name, 0)
    # The same 'on axis' as in the figure of merit: the mean over -6 to 6 degrees.
    on_axis = counts[42:48].mean() * result.optics.flux_lm / result.emitted / BIN_SOLID_ANGLE_SR
    axes.plot(
        (-angle, angle),
        (0.5 * on_axis,) * 2,
        "o",
        color=BLUE,
        mfc="white",
        markersize=4.5,
        zorder=4,
    )
    axes.vlines((-angle, angle), 0.0, 0.5 * on_axis, color=BLUE, linewidth=0.6, linestyle=":")


def _half_text(result: Result, half: str) -> str:
    estimate = result.estimate(half)
    return "n/a" if math.isnan(estimate.value) else f"({estimate.text()})°"
