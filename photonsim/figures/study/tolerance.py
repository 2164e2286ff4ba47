"""Tolerances: how far each figure scatters over many builds, and which dimension is to blame."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from photonsim.figures.layout import new_figure, settle
from photonsim.figures.study.titles import give_study_title
from photonsim.figures.style import (
    BLACK,
    BLUE,
    GREY,
    PRINT,
    Look,
    plain_style,
)
from photonsim.results.files.study_table import FIGURE, PARAMETER, StudyTable

HATCHES = ("", "/////", ".....", "\\\\\\\\\\")
# Four steps of the maps' colours, dark to bright: figures of merit have none of their own.
COLOURS = ("#00224E", "#575D6D", "#A59C74", "#FEE838")


@plain_style()
def draw_scatter(table: StudyTable, look: Look = PRINT) -> Figure:
    """Return a histogram of every figure over the builds, with the design and the limits marked."""
    figures = table.with_role(FIGURE)
    rows = -(-len(figures) // 2)
    figure = new_figure(look.width_in, 0.7 + 1.6 * rows)
    panes = figure.subplots(rows, 2, squeeze=False).ravel()
    for axes, column in zip(panes, figures, strict=False):
        sound = column.values[np.isfinite(column.values)]
        if sound.size:
            # As many bins as the root of the count: a bin's own noise then stays in bounds.
            axes.hist(
                sound, bins=max(5, int(len(sound) ** 0.5)), color=BLUE, alpha=0.6, edgecolor="white"
            )
        for key, words, colour, dashes in (
            (f"nominal {column.name}", "as designed", BLACK, "-"),
            (f"least {column.name}", "least allowed", BLACK, "--"),
            (f"most {column.name}", "most allowed", BLACK, ":"),
        ):
            if key in table.facts:
                axes.axvline(table.facts[key], color=colour, ls=dashes, lw=1.0, label=words)
        if axes.get_legend_handles_labels()[0]:
            axes.legend(fontsize=6.0, frameon=True, edgecolor="none", framealpha=0.9)
        axes.locator_params(axis="x", nbins=max(3, int(look.width_in)))
        axes.set_xlabel(column.heading)
        axes.set_ylabel("builds")
    for axes in panes[len(figures) :]:
        axes.remove()
    share = table.facts.get("yield", float("nan"))
    note = f"{100.0 * share:.0f} % of builds within all limits" if share == share else ""
    give_study_title(figure, table, "Scatter over builds", note)
    return settle(figure)


@plain_style()
def draw_shares(table: StudyTable, look: Look = PRINT) -> Figure:
    """Return, for every figure, the share of its variance that each dimension brings about."""
    names = [column.name for column in table.with_role(PARAMETER)]
    labels = [column.label for column in table.with_role(PARAMETER)]
    figures = table.with_role(FIGURE)
    figure = new_figure(look.width_in, 1.0 + (0.16 * len(figures) + 0.12) * len(names))
    axes = figure.subplots()
    thick = 0.8 / len(figures)
    for k, column in enumerate(figures):
        shares = [100.0 * table.facts[f"share {column.name} {name}"] for name in names]
        errors = [100.0 * table.facts[f"share error {column.name} {name}"] for name in names]
        axes.barh(
            np.arange(len(names)) + (k + 0.5) * thick - 0.4,
            np.maximum(shares, 0.0),
            height=0.9 * thick,
            xerr=errors,
            color=COLOURS[k % len(COLOURS)],
            # Sixteen bars before one looks like another.
            hatch=HATCHES[(k + k // len(COLOURS)) % len(HATCHES)],
            edgecolor="white",
            error_kw={"elinewidth": 0.7, "ecolor": GREY},
            label=column.label,
        )
    axes.set_yticks(np.arange(len(names)), labels)
    axes.invert_yaxis()
    axes.set_xlim(left=0.0)
    axes.set_xlabel("share of the variance, %")
    axes.legend(loc="center left", bbox_to_anchor=(1.0, 0.5))
    give_study_title(figure, table, "What to measure carefully", "lines: one standard error")
    return settle(figure)
