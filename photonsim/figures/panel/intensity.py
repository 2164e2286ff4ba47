"""Intensity against angle, in both planes, of the light that arrives and that is collected."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from photonsim.figures.layout import Sheet, broken, legend_in, provenance, row_width_in
from photonsim.figures.panel.counting import counts_with_errors
from photonsim.figures.style import ARRIVING, COLLECTED, GREY, PRINT, Look, plain_style
from photonsim.results import Result
from photonsim.results.remarks.caveats import caveats

# The tallies hold directions within 5 degrees of a plane in bins of 2 degrees. In cylinder
# coordinates about the normal of the plane a solid angle is d(angle) * d(sine of the elevation)
# (Archimedes' cylinder), so that every bin has the same.
BIN_DEG = 2.0
BAND_DEG = 5.0
BIN_SOLID_ANGLE_SR = math.radians(BIN_DEG) * 2.0 * math.sin(math.radians(BAND_DEG))

# Room around the panes in inches.
LEFT_IN, BETWEEN_IN, RIGHT_IN = 0.5, 0.3, 0.1
ABOVE_IN, BELOW_IN, LINE_IN = 0.32, 0.4, 0.12
TITLE_PT = 7.0
LEGEND_COLUMNS = 2

PLANES = (
    ("x", "half_intensity_x_deg", "Horizontal plane (x, z)"),
    ("y", "half_intensity_y_deg", "Vertical plane (y, z)"),
)


@plain_style()
def draw_intensity(result: Result, look: Look = PRINT) -> Figure:
    """Return the intensity in candelas against the angle from the axis in both planes.

    Intensity is flux per count times the count of a bin over its solid angle. The reference is
    the Lambertian of the same arriving flux F, F/pi * cos(angle).
    """
    height = 0.32 * look.width_in
    width = row_width_in(look, 2, LEFT_IN, BETWEEN_IN, RIGHT_IN)
    halves = [
        broken(f"arriving, half intensity at ± {_half_text(result, half)}", "±", width, TITLE_PT)
        for _, half, _ in PLANES
    ]
    above = ABOVE_IN + LINE_IN * max(half.count("\n") for half in halves)
    body = above + height + BELOW_IN + legend_in(3, LEGEND_COLUMNS)
    title = f"Intensity at the panel: {result.name}"
    sheet = Sheet(look, title, body, provenance(result), caveats(result))
    panes = sheet.row(2, height, above, LEFT_IN, BETWEEN_IN, RIGHT_IN)
    for axes, (axis, _, title), half in zip(panes, PLANES, halves, strict=True):
        show_intensity(axes, result, axis)
        axes.set_title(f"{title}\n{half}", fontsize=TITLE_PT)
    dark = not result.tallies.batches["incident"].any()
    top = 1.0 if dark else max(axes.get_ylim()[1] for axes in panes)
    for axes in panes:
        axes.set_ylim(0.0, top)
    panes[1].tick_params(labelleft=False)
    panes[0].set_ylabel("intensity before the panel (cd)")
    sheet.top -= BELOW_IN
    sheet.legend(panes[0].get_legend_handles_labels()[0], LEGEND_COLUMNS)
    return sheet.figure


def show_intensity(axes: Axes, result: Result, axis: str) -> None:
    """Draw the intensity against angle in the plane of an axis, 'x' or 'y', and z, on axes."""
    name = f"plane_{axis}"
    axes.set_xlabel(f"angle from the axis towards +{axis} (°)")
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
    kinds = (("arriving (band: ± standard error)", ARRIVING, "-"), ("collected", COLLECTED, "-."))
    for light, (label, colour, dashes) in enumerate(kinds):
        counts, errors = counts_with_errors(result, name, light)
        low, high = (counts - errors) * candelas, (counts + errors) * candelas
        axes.fill_between(angles, low, high, color=colour, alpha=0.25, linewidth=0)
        axes.plot(angles, counts * candelas, color=colour, linestyle=dashes, label=label)
    _mark_half(axes, result, name, f"half_intensity_{axis}_deg")
    axes.set(xlim=(-90, 90), ylim=(0, None))
    axes.set_xticks(range(-90, 91, 30))
    axes.grid(True)


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
        color=ARRIVING,
        mfc="white",
        markersize=4.5,
        zorder=4,
    )
    axes.vlines((-angle, angle), 0.0, 0.5 * on_axis, color=ARRIVING, linewidth=0.6, linestyle=":")


def _half_text(result: Result, half: str) -> str:
    estimate = result.estimate(half)
    return "n/a" if math.isnan(estimate.value) else f"({estimate.text()})°"
