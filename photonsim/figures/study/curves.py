"""Figures of merit against one parameter, as curves, and against two, as maps."""

from __future__ import annotations

import matplotlib.patheffects
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from photonsim.figures.layout import new_figure, settle
from photonsim.figures.study.titles import give_study_title, strongest_errors
from photonsim.figures.style import BLACK, BLUE, COLOUR_MAP, PRINT, Look, plain_style
from photonsim.results.files.study_table import FIGURE, PARAMETER, Column, StudyTable

# Two standard errors hold the truth in 19 of 20 cases.
BAND = 2.0
# Contours are drawn where a map spans at least so many standard errors.
CLEAR = 8.0


@plain_style()
def draw_curves(table: StudyTable, look: Look = PRINT) -> Figure:
    """Return every figure of merit against the one parameter, with a band of two errors."""
    (parameter,) = table.with_role(PARAMETER)
    figures = table.with_role(FIGURE)
    rows = -(-len(figures) // 2)
    figure = new_figure(look.width_in, 0.7 + 1.75 * rows)
    panes = figure.subplots(rows, 2, squeeze=False, sharex=True).ravel()
    order = np.argsort(parameter.values)
    x = parameter.values[order]
    for axes, column in zip(panes, figures, strict=False):
        y, error = column.values[order], _errors(column)[order]
        axes.fill_between(x, y - BAND * error, y + BAND * error, color=BLUE, alpha=0.25, lw=0)
        axes.plot(x, y, color=BLUE, marker="o", markersize=2.0)
        axes.set_ylabel(column.heading)
        axes.grid(True)
        axes.tick_params(labelbottom=True)
        axes.set_xlabel(parameter.heading)
        if not np.isfinite(y).any():
            # Along x as the others; ticks of a height that nothing has would say too much.
            axes.update_datalim(np.column_stack([x, np.zeros(len(x))]))
            axes.set_yticks([])
            _say_no_value(axes)
    for axes in panes[len(figures) :]:
        axes.remove()
    give_study_title(figure, table, "Sweep", "bands: two standard errors either way")
    return settle(figure)


@plain_style()
def draw_map(table: StudyTable, look: Look = PRINT) -> Figure:
    """Return a map of every figure of merit over two parameters; white is what is not known."""
    figures = table.with_role(FIGURE)
    rows = -(-len(figures) // 2)
    figure = new_figure(look.width_in, 0.7 + 2.35 * rows)
    panes = figure.subplots(rows, 2, squeeze=False).ravel()
    for axes, column in zip(panes, figures, strict=False):
        _show_map(axes, table, column)
    for axes in panes[len(figures) :]:
        axes.remove()
    unknown = not all(np.isfinite(column.values).all() for column in figures)
    white = "white: can't be built, or too little light; " if unknown else ""
    give_study_title(figure, table, "Sweep", white + strongest_errors(table))
    return settle(figure)


def _show_map(axes: Axes, table: StudyTable, column: Column) -> None:
    one, other = table.with_role(PARAMETER)
    x, y = np.unique(one.values), np.unique(other.values)
    values = np.full((len(y), len(x)), np.nan)
    values[np.searchsorted(y, other.values), np.searchsorted(x, one.values)] = column.values
    shown = np.ma.masked_invalid(values)
    axes.set_title(column.heading)
    axes.set_xlabel(one.heading)
    axes.set_ylabel(other.heading)
    if shown.count() == 0:
        axes.set(xticks=[], yticks=[])
        _say_no_value(axes)
        return
    mesh = axes.pcolormesh(x, y, shown, cmap=COLOUR_MAP, shading="nearest", rasterized=True)
    bar = axes.figure.colorbar(mesh, ax=axes, pad=0.02, aspect=25)
    # Contours of luck alone would be a thicket.
    if min(values.shape) >= 3 and np.ptp(shown.compressed()) > CLEAR * np.median(_errors(column)):
        # White on a dark line reads on every colour of the map, in grey too.
        lines = axes.contour(x, y, shown, levels=5, colors="white", linewidths=0.6)
        lines.set(path_effects=[_outline(1.2)])
        # Words on the lines would hide the map: the bar shows which they are.
        bar.add_lines(lines)


def _say_no_value(axes: Axes) -> None:
    axes.annotate("no value", (0.5, 0.5), xycoords="axes fraction", ha="center", va="center")


def _outline(width: float) -> matplotlib.patheffects.withStroke:
    return matplotlib.patheffects.withStroke(linewidth=width, foreground=BLACK)


def _errors(column: Column) -> np.ndarray:
    return np.zeros(len(column.values)) if column.errors is None else np.nan_to_num(column.errors)
