"""Many parameters at once: the parallel view, the trade-off front, and the course of a search."""

from __future__ import annotations

import textwrap

import numpy as np
from matplotlib import colormaps
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from photonsim.figures.layout import new_figure, settle
from photonsim.figures.study.titles import give_study_title, strongest_errors
from photonsim.figures.style import (
    BLACK,
    BLUE,
    COLOUR_MAP,
    GREY,
    PALE,
    PRINT,
    Look,
    plain_style,
)
from photonsim.results.files.study_table import FIGURE, PARAMETER, StudyTable

# Above this many lines the view is a thicket; the best and an even share of the rest are drawn.
MOST_LINES = 400
# Of the words below an axis: the width of a letter, and lines.
LETTER_IN = 0.05
MOST_LINES_OF_HEADING = 5


@plain_style()
def draw_parallel(table: StudyTable, look: Look = PRINT) -> Figure:
    """Return one upright axis for every parameter and figure, a line for every design.

    Lines are coloured by the first figure of merit, the ones with most of it on top. A line has a
    gap where a value is not known.
    """
    columns = [*table.with_role(PARAMETER), *table.with_role(FIGURE)]
    figure = new_figure(look.width_in, 3.4)
    axes = figure.subplots()
    first = table.with_role(FIGURE)[0]
    values = np.column_stack([column.values.astype(float) for column in columns])
    sound = np.flatnonzero(np.isfinite(first.values))
    rank = sound[np.argsort(first.values[sound])]
    if len(rank) > MOST_LINES:
        rank = rank[np.unique(np.linspace(0, len(rank) - 1, MOST_LINES).astype(int))]
    low, high = _limits(values[rank] if len(rank) else np.zeros((1, len(columns))))
    heights = (values[rank] - low) / (high - low)
    places = np.arange(len(columns))
    shade = Normalize(low[len(table.with_role(PARAMETER))], high[len(table.with_role(PARAMETER))])
    lines = LineCollection(
        [np.column_stack([places, line]) for line in heights],
        cmap=colormaps[COLOUR_MAP],
        norm=shade,
        array=first.values[rank],
        linewidths=0.7,
        alpha=0.8,
    )
    axes.add_collection(lines)
    for place in range(len(columns)):
        axes.axvline(place, color=GREY, lw=0.6)
        for share, value in ((0.0, low[place]), (0.5, None), (1.0, high[place])):
            number = 0.5 * (low[place] + high[place]) if value is None else value
            axes.annotate(
                f"{float(f'{number:.3g}'):g}" if np.isfinite(number) else "n/a",
                (place, share),
                xytext=(2, 0),
                textcoords="offset points",
                fontsize=6.0,
                va="center",
                bbox={"boxstyle": "round,pad=0.1", "fc": "white", "ec": "none", "alpha": 0.8},
            )
    axes.set_xlim(-0.15, len(columns) - 0.65)
    axes.set_ylim(-0.04, 1.04)
    width_in = 0.85 * look.width_in / len(columns)
    labels = ["\n".join(_narrow(column.heading, width_in)) for column in columns]
    axes.set_xticks(places, labels, fontsize=6.0)
    axes.set_yticks([])
    for side in ("top", "right", "bottom", "left"):
        axes.spines[side].set_visible(False)
    figure.colorbar(lines, ax=axes, pad=0.01, aspect=30, label=first.heading)
    give_study_title(figure, table, "Designs side by side", strongest_errors(table))
    return settle(figure)


@plain_style()
def draw_front(table: StudyTable, look: Look = PRINT) -> Figure:
    """Return designs over each two figures traded against each other, the front joined."""
    figures = [table[name] for name in _traded(table)]
    pairs = [(a, b) for k, a in enumerate(figures) for b in figures[k + 1 :]]
    figure = new_figure(look.width_in, 3.2)
    panes = figure.subplots(1, len(pairs), squeeze=False).ravel()
    front = table["on_front"].values.astype(bool)
    for axes, (one, other) in zip(panes, pairs, strict=True):
        axes.plot(
            one.values[~front],
            other.values[~front],
            "o",
            color=PALE,
            mec=GREY,
            ms=3.0,
            mew=0.4,
            label="other designs",
        )
        order = np.flatnonzero(front)[np.argsort(one.values[front])]
        axes.errorbar(
            one.values[order],
            other.values[order],
            xerr=one.errors[order] if one.errors is not None else None,
            yerr=other.errors[order] if other.errors is not None else None,
            fmt="s-" if len(figures) == 2 else "s",
            color=BLUE,
            ms=3.5,
            lw=0.8,
            elinewidth=0.7,
            label="on the front",
        )
        axes.set_xlabel(one.heading)
        axes.set_ylabel(other.heading)
        axes.grid(True)
    figure.legend(*panes[0].get_legend_handles_labels(), loc="outside right upper")
    note = "bars: one standard error; front traced afresh, the others as the search saw them"
    give_study_title(figure, table, "Trade-off", note)
    return settle(figure)


@plain_style()
def draw_search(table: StudyTable, look: Look = PRINT) -> Figure:
    """Return the goal against the number of the trial, and each figure under a limit below it."""
    goal, *limited = [table[name] for name in _traded(table)]
    figure = new_figure(look.width_in, 2.4 + 1.2 * len(limited))
    heights = [2.0] + [1.0] * len(limited)
    panes = figure.subplots(
        1 + len(limited), 1, sharex=True, squeeze=False, height_ratios=heights
    ).ravel()
    trials = np.arange(1, len(table) + 1)
    within = table["within_limits"].values.astype(bool)
    for axes, column in zip(panes, (goal, *limited), strict=True):
        axes.plot(
            trials[~within], column.values[~within], "x", color=GREY, ms=3.5, label="beyond a limit"
        )
        axes.plot(
            trials[within],
            column.values[within],
            "o",
            color=BLUE,
            ms=3.0,
            label="within all limits",
        )
        axes.set_ylabel(column.heading)
        axes.grid(True)
        if f"limit {column.name}" in table.facts:
            axes.axhline(table.facts[f"limit {column.name}"], color=BLACK, lw=0.9, ls="--")
    _best_so_far(panes[0], trials, np.where(within, goal.values, np.nan), table.facts["sense"])
    figure.legend(*panes[0].get_legend_handles_labels(), ncols=3, loc="outside lower left")
    panes[-1].xaxis.set_major_locator(MaxNLocator(integer=True))
    panes[-1].set_xlabel("trial")
    give_study_title(figure, table, "Search", "dashed: limits")
    return settle(figure)


def _best_so_far(axes: Axes, trials: np.ndarray, values: np.ndarray, sense: float) -> None:
    signed = np.where(np.isfinite(values), sense * values, -np.inf)
    best = sense * np.maximum.accumulate(signed)
    best[~np.isfinite(best)] = np.nan
    axes.step(trials, best, where="post", color=BLUE, lw=0.9, label="best so far")


def _traded(table: StudyTable) -> list[str]:
    """Names of the figures that the study is about: goals first, then those under limits."""
    named = [name.split(" ", 1) for name in table.facts]
    goals = [name for what, *rest in named if what == "goal" for name in rest]
    limited = [name for what, *rest in named if what == "limit" for name in rest]
    return list(dict.fromkeys(goals + limited)) if table.kind == "tune" else goals


def _limits(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    # fmin and fmax pass over nan, and of nan alone make nan without a warning.
    low, high = np.fmin.reduce(values, axis=0), np.fmax.reduce(values, axis=0)
    same = ~(high > low)
    return np.where(same, low - 0.5, low), np.where(same, high + 0.5, high)


def _narrow(heading: str, width_in: float) -> list[str]:
    """Return a heading in lines no wider than a column, long words cut."""
    words = textwrap.wrap(heading.replace("_", " "), max(4, int(width_in / LETTER_IN)))
    return words[:MOST_LINES_OF_HEADING]
