"""Profile of the panel across the emitters, above a plan of emitters and strips."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from photonsim.arrays import Reals
from photonsim.figures.layout import (
    Sheet,
    broken,
    legend_in,
    provenance,
    shortened,
    text_width_in,
)
from photonsim.figures.panel.counting import counts_with_errors, joined_bins
from photonsim.figures.panel.plan import PlanRow, plan_rows
from photonsim.figures.style import ARRIVING, COLLECTED, PALE, PRINT, Look, plain_style
from photonsim.results import Estimate, Result
from photonsim.results import Figure as Merit
from photonsim.results.measured import measured
from photonsim.results.panel import structure
from photonsim.results.remarks.caveats import caveats
from photonsim.scene.stands import stands_of

# Each bin's counting noise, as far as enough bins are left to show any pattern: 16 at least, and 6
# for each pitch, since with 2 the emitters would vanish or come back as a beat.
BIN_NOISE = 0.05
FEWEST_BINS = 16
BINS_PER_PITCH = 6
# Guide lines through the profile help while they can be told apart.
MOST_GUIDES = 40
PLAN_ROW_IN = 0.17
# Room around the panes, and for the names of rows, in inches.
ABOVE_IN, BETWEEN_IN, BELOW_IN, NAMES_IN, MOST_NAME_IN = 0.44, 0.22, 0.4, 0.45, 0.8
ROW_PT = 6.5


@plain_style()
def draw_profile(result: Result, look: Look = PRINT) -> Figure:
    """Return the light across the axis with the emitters' pitch, or across both.

    Arriving and collected light stand relative to their own mean over the panel.
    """
    pitches = result.optics.pitches
    across = list(pitches) if len(pitches) == 1 else ["x", "y"]
    plans = [plan_rows(result.scene, axis) for axis in across]
    plan_height = PLAN_ROW_IN * max(len(plan) for plan in plans)
    height = 0.3 * look.width_in
    body = ABOVE_IN + height + BETWEEN_IN + plan_height + BELOW_IN + legend_in(2, 2)
    title = f"{_subject(result)}: {result.name}"
    sheet = Sheet(look, title, body, provenance(result), caveats(result))
    left = max(text_width_in(row.name, ROW_PT) for plan in plans for row in plan)
    left = min(max(left, NAMES_IN), MOST_NAME_IN) + 0.12
    upper = sheet.row(len(across), height, ABOVE_IN, left, left)
    lower = sheet.row(len(across), plan_height, BETWEEN_IN, left, left)
    for above, below, axis, plan in zip(upper, lower, across, plans, strict=True):
        show_profile(above, result, axis)
        _draw_plan(below, result, axis, plan)
    top = max(axes.get_ylim()[1] for axes in upper)
    for axes in upper:
        axes.set_ylim(0.0, top)
    upper[0].set_ylabel("light relative to its mean")
    sheet.top -= BELOW_IN
    sheet.legend(upper[0].get_legend_handles_labels()[0], 2)
    return sheet.figure


def _subject(result: Result) -> str:
    if not result.optics.pitches:
        return "Profile of the panel"
    axes = " and ".join(
        f"{axis} at a pitch of {pitch[0]:g} mm" for axis, pitch in result.optics.pitches.items()
    )
    return f"Profile across the emitters along {axes}"


def show_profile(axes: Axes, result: Result, axis: str) -> None:
    """Draw the profile along an axis, 'x' or 'y', on axes."""
    extent = _extent_mm(result, axis)
    pitch = result.optics.pitches.get(axis)
    kinds = (("arriving", ARRIVING, "-"), ("collected", COLLECTED, "-."))
    notes = []
    for light, (label, colour, dashes) in enumerate(kinds):
        values, errors = profile_of(result, axis, light)
        places = ((np.arange(len(values)) + 0.5) / len(values) - 0.5) * extent
        low, high = values - errors, values + errors
        axes.fill_between(places, low, high, color=colour, alpha=0.25, linewidth=0)
        band = " (bands: ± standard error)" if light else ""
        axes.plot(places, values, color=colour, linestyle=dashes, label=label + band)
        if pitch:
            notes.append(f"{label} {_structure(result, axis, light).text(100.0, '%')}")
    if pitch:
        axes.set_title("\n".join((f"lamp structure along {axis}:", *notes)), fontsize=7.0)
    else:
        room_in = axes.get_window_extent().width / axes.figure.dpi
        words = f"along {axis} the emitters have no even pitch"
        axes.set_title(broken(words, "have", room_in, 7.0), fontsize=7.0)
    axes.set(xlim=(-0.5 * extent, 0.5 * extent), ylim=(0.0, max(1.1, axes.get_ylim()[1])))
    axes.grid(True, axis="y")
    centres = _emitter_centres(result, axis)
    if len(centres) <= MOST_GUIDES:
        for centre in centres:
            axes.axvline(centre, color=PALE, linewidth=0.7, zorder=0)


def profile_of(result: Result, axis: str, light: int) -> tuple[Reals, Reals]:
    """Return a kind of light along an axis over its mean, and its errors, in quiet bins.

    `light` is 0 for what arrives and 1 for what is collected.
    """
    name, pitch = f"profile_{axis}", result.optics.pitches.get(axis)
    extent = _extent_mm(result, axis)
    fewest = max(FEWEST_BINS, BINS_PER_PITCH * extent / pitch[0]) if pitch else FEWEST_BINS
    counts, _ = counts_with_errors(result, name, light)
    photons = result.samples.effective_photons(light)
    joined = joined_bins(photons, len(counts), fewest, BIN_NOISE)
    counts, errors = counts_with_errors(result, name, light, joined)
    mean = counts.mean() or 1.0
    return counts / mean, errors / mean


def _structure(result: Result, axis: str, light: int) -> Estimate:
    """Return the lamp structure along one axis; the figure of merit is the larger of both."""
    along = Merit(
        f"structure_{axis}",
        "",
        lambda s, optics: structure.waves(s, optics, light, axis),
        extreme=structure.strongest,
    )
    return measured(along, result.samples, result.optics).estimate


def _draw_plan(axes: Axes, result: Result, axis: str, plan: Sequence[PlanRow]) -> None:
    half = 0.5 * _extent_mm(result, axis)
    for place, row in enumerate(plan):
        axes.broken_barh(
            [(start, end - start) for start, end in row.intervals],
            (place - 0.32, 0.64),
            facecolor=row.colour,
            edgecolor="white",
            hatch=row.hatch,
            linewidth=0.3,
        )
    axes.set_yticks(range(len(plan)), [shortened(row.name, MOST_NAME_IN, ROW_PT) for row in plan])
    axes.set(ylim=(len(plan) - 0.5, -0.5), xlim=(-half, half), xlabel=f"{axis} (mm)")
    axes.tick_params(axis="y", length=0)
    axes.spines[["top", "right", "left"]].set_visible(False)


def _emitter_centres(result: Result, axis: str) -> list[float]:
    return sorted(
        {
            centre
            for stand in stands_of(result.scene).values()
            for centre in (stand.columns_mm if axis == "x" else stand.rows_mm)
        }
    )


def _extent_mm(result: Result, axis: str) -> float:
    return result.optics.width_mm if axis == "x" else result.optics.height_mm
