"""Profile of the panel across the emitters, above a plan of emitters and strips."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from photonsim.figures.panel.counting import counts_with_errors, joined_bins
from photonsim.figures.style import (
    BLUE,
    GREEN,
    ORANGE,
    PAGE_WIDTH_IN,
    PALE,
    VERMILION,
    give_title,
    new_figure,
    plain_style,
    settle,
)
from photonsim.results import Estimate, Result
from photonsim.results import Figure as Merit
from photonsim.results.measured import measured
from photonsim.results.panel import structure

# Each bin's counting noise, as far as enough bins are left to show any pattern: 16 at least, and 6
# for each pitch, since with 2 the emitters would vanish or come back as a beat.
BIN_NOISE = 0.05
FEWEST_BINS = 16
BINS_PER_PITCH = 6
# Guide lines through the profile help while they can be told apart.
MOST_GUIDES = 40
PLAN_ROW_IN = 0.17


class PlanRow(NamedTuple):
    """A row beneath the profile: its name, covered intervals in mm, colour and hatch."""

    name: str
    intervals: Sequence[tuple[float, float]]
    colour: str
    hatch: str


@plain_style()
def draw_profile(result: Result) -> Figure:
    """Return the light across the axis with the emitters' pitch, or across both.

    Arriving and collected light stand relative to their own mean over the panel.
    """
    pitches = result.optics.pitches
    across = list(pitches) if len(pitches) == 1 else ["x", "y"]
    plans = [_plan(result, axis) for axis in across]
    plan_height = PLAN_ROW_IN * max(len(plan) for plan in plans)
    figure = new_figure(PAGE_WIDTH_IN, 3.2 + plan_height)
    panes = figure.subplots(
        2, len(across), squeeze=False, sharex="col", height_ratios=(2.0, plan_height)
    )
    for column, (axis, plan) in enumerate(zip(across, plans, strict=True)):
        _draw_profile(panes[0, column], result, axis)
        _draw_plan(panes[1, column], result, axis, plan)
    top = max(axes.get_ylim()[1] for axes in panes[0])
    for axes in panes[0]:
        axes.set_ylim(0.0, top)
    panes[0, 0].set_ylabel("light relative to its mean")
    figure.legend(*panes[0, 0].get_legend_handles_labels(), loc="outside lower left", ncols=3)
    give_title(figure, result, _subject(result))
    return settle(figure)


def _subject(result: Result) -> str:
    if not result.optics.pitches:
        return "Profile of the panel"
    axes = " and ".join(
        f"{axis} at a pitch of {pitch[0]:g} mm" for axis, pitch in result.optics.pitches.items()
    )
    return f"Profile across the emitters along {axes}"


def _draw_profile(axes: Axes, result: Result, axis: str) -> None:
    extent = _extent_mm(result, axis)
    pitch = result.optics.pitches.get(axis)
    fewest = max(FEWEST_BINS, BINS_PER_PITCH * extent / pitch[0]) if pitch else FEWEST_BINS
    kinds = (("arriving", BLUE, "-"), ("collected", VERMILION, "-."))
    notes = []
    for light, (label, colour, dashes) in enumerate(kinds):
        counts, _ = counts_with_errors(result, f"profile_{axis}", light)
        photons = result.samples.effective_photons(light)
        joined = joined_bins(photons, len(counts), fewest, BIN_NOISE)
        counts, errors = counts_with_errors(result, f"profile_{axis}", light, joined)
        mean = counts.mean() or 1.0
        places = ((np.arange(len(counts)) + 0.5) / len(counts) - 0.5) * extent
        low, high = (counts - errors) / mean, (counts + errors) / mean
        axes.fill_between(places, low, high, color=colour, alpha=0.25, linewidth=0)
        band = " (bands: ± standard error)" if light else ""
        axes.plot(places, counts / mean, color=colour, linestyle=dashes, label=label + band)
        if pitch:
            notes.append(f"{label} {_structure(result, axis, light).text(100.0, '%')}")
    if pitch:
        axes.set_title(f"lamp structure along {axis}:\n{', '.join(notes)}")
    else:
        axes.set_title(f"along {axis} the emitters have no even pitch\n")
    axes.set_ylim(0.0, max(1.1, axes.get_ylim()[1]))
    axes.grid(True, axis="y")
    centres = _emitter_centres(result, axis)
    if len(centres) <= MOST_GUIDES:
        for centre in centres:
            axes.axvline(centre, color=PALE, linewidth=0.7, zorder=0)


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
    axes.set_yticks(range(len(plan)), [row.name for row in plan])
    axes.set(ylim=(len(plan) - 0.5, -0.5), xlim=(-half, half), xlabel=f"{axis} (mm)")
    axes.tick_params(axis="y", length=0)
    axes.spines[["top", "right", "left"]].set_visible(False)


def _plan(result: Result, axis: str) -> list[PlanRow]:
    """Return the emitters and every sheet that is cut across an axis."""
    scene = result.scene
    side = 0 if axis == "x" else 1
    emitters = [
        (centre - 0.5 * group.size_mm[side], centre + 0.5 * group.size_mm[side])
        for group in scene.emitters.values()
        for centre in (group.columns_mm() if axis == "x" else group.rows_mm())
    ]
    rows = [PlanRow("emitters", emitters, ORANGE, "")]
    for name, part in scene.train.items():
        strips = getattr(part, "strips", None)
        if strips is not None and strips.across == axis:
            half = 0.5 * scene.part_size_mm(name)[side]
            rows.append(PlanRow(name, strips.intervals_mm(-half, half), GREEN, "/////"))
    return rows


def _emitter_centres(result: Result, axis: str) -> list[float]:
    return sorted(
        {
            centre
            for group in result.scene.emitters.values()
            for centre in (group.columns_mm() if axis == "x" else group.rows_mm())
        }
    )


def _extent_mm(result: Result, axis: str) -> float:
    return result.optics.width_mm if axis == "x" else result.optics.height_mm
