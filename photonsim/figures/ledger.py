"""The ledger: where the light went, fate by fate."""

from __future__ import annotations

import math
from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from photonsim.figures.style import (
    PAGE_WIDTH_IN,
    give_title,
    group_style,
    new_figure,
    plain_style,
    settle,
    wrapped,
)
from photonsim.results import Estimate, Result
from photonsim.results.result import FateCount

# More bars than these cannot be read at a glance; the smallest are joined.
MOST_BARS = 16


@plain_style()
def draw_ledger(result: Result) -> Figure:
    """Return bars of the share of photons that met each fate, in per cent and lumens."""
    bars = _bars(result)
    figure = new_figure(PAGE_WIDTH_IN, 1.7 + 0.21 * len(bars))
    axes = figure.subplots()
    _draw_bars(axes, result, bars)
    groups = list(dict.fromkeys(fate.group for fate in bars))
    handles = [
        Patch(
            facecolor=group_style(group).colour,
            hatch=group_style(group).hatch,
            edgecolor="white",
            label=f"{group_style(group).words} {_percent(result, _group_sum(result, group))}",
        )
        for group in groups
    ]
    figure.legend(handles=handles, loc="outside lower left", ncols=2)
    give_title(figure, result, "Where the light went")
    return settle(figure)


def _bars(result: Result) -> list[FateCount]:
    """Return the fates that occurred, most frequent first; the rarest joined if there are many."""
    met = sorted((f for f in result.fates if f.photons), key=lambda fate: -fate.photons)
    if len(met) <= MOST_BARS:
        return met
    kept, rest = met[: MOST_BARS - 1], met[MOST_BARS - 1 :]
    joined = sum(fate.photons for fate in rest)
    return [*kept, FateCount(f"{len(rest)} further fates", "further", joined)]


def _draw_bars(axes: Axes, result: Result, bars: Sequence[FateCount]) -> None:
    total = max(result.photons, 1)
    shares = [100.0 * fate.photons / total for fate in bars]
    for place, (fate, share) in enumerate(zip(bars, shares, strict=True)):
        style = group_style(fate.group)
        axes.barh(
            place, share, height=0.72, color=style.colour, hatch=style.hatch, edgecolor="white"
        )
        lumens = Estimate(fate.photons / total, _error(fate.photons, total)).text(
            result.optics.flux_lm, "lm"
        )
        axes.annotate(
            f"{_percent(result, fate.photons)}   {lumens}",
            (share, place),
            xytext=(4, 0),
            textcoords="offset points",
            va="center",
            fontsize=7.0,
        )
    axes.set_yticks(range(len(bars)), [wrapped(fate.name, 0.055, 2.0) for fate in bars])
    axes.invert_yaxis()
    axes.set_ylim(len(bars) - 0.4, -0.6)
    # Room to the right of the longest bar for the figures at its end.
    axes.set_xlim(0.0, 1.7 * max(shares, default=100.0))
    axes.set_xlabel("share of the emitted light (%)")
    axes.spines[["top", "right"]].set_visible(False)
    axes.tick_params(axis="y", length=0)
    unmet = len(result.fates) - sum(1 for fate in result.fates if fate.photons)
    axes.set_title(
        f"{result.photons:,} photons stand for {result.optics.flux_lm:g} lm; "
        f"{unmet} other fates did not occur"
    )


def _group_sum(result: Result, group: str) -> int:
    return sum(fate.photons for fate in result.fates if fate.group == group)


def _percent(result: Result, photons: int) -> str:
    total = max(result.photons, 1)
    return Estimate(photons / total, _error(photons, total)).text(100.0, "%")


def _error(photons: int, total: int) -> float:
    """Binomial standard error of a share."""
    return math.sqrt(photons / total * (1.0 - photons / total) / total)
