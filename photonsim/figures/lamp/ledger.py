"""The ledger: where the light went, fate by fate."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

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
from photonsim.results import Result
from photonsim.results.result import FateCount

# More bars than these cannot be read at a glance; the smallest are joined.
MOST_BARS = 16


class Bar(NamedTuple):
    """A bar: its label, its group of fates, and the fates whose photons it counts."""

    label: str
    group: str
    fates: tuple[FateCount, ...]


@plain_style()
def draw_ledger(result: Result) -> Figure:
    """Return bars of the share of photons that met each fate, in per cent and lumens."""
    bars = _bars(result)
    figure = new_figure(PAGE_WIDTH_IN, 1.7 + 0.21 * len(bars))
    axes = figure.subplots()
    _draw_bars(axes, result, bars)
    groups = list(dict.fromkeys(bar.group for bar in bars))
    handles = [
        Patch(
            facecolor=group_style(group).colour,
            hatch=group_style(group).hatch,
            edgecolor="white",
            label=f"{group_style(group).words} {_share(result, _fates_in(bars, group))}",
        )
        for group in groups
    ]
    figure.legend(handles=handles, loc="outside lower left", ncols=2)
    give_title(figure, result, "Where the light went")
    return settle(figure)


def _bars(result: Result) -> list[Bar]:
    """Return the fates that occurred, most frequent first; the rarest joined if there are many."""
    met = sorted((f for f in result.fates if f.photons), key=lambda fate: -fate.photons)
    joined = tuple(met[MOST_BARS - 1 :]) if len(met) > MOST_BARS else ()
    bars = [Bar(fate.name, fate.group, (fate,)) for fate in met[: len(met) - len(joined)]]
    return [*bars, Bar(f"{len(joined)} further fates", "further", joined)] if joined else bars


def _draw_bars(axes: Axes, result: Result, bars: Sequence[Bar]) -> None:
    shares = [result.share_of(bar.fates) for bar in bars]
    for place, (bar, share) in enumerate(zip(bars, shares, strict=True)):
        style = group_style(bar.group)
        axes.barh(
            place,
            100.0 * share.value,
            height=0.72,
            color=style.colour,
            hatch=style.hatch,
            edgecolor="white",
        )
        axes.annotate(
            f"{share.text(100.0, '%')}   {share.text(result.optics.flux_lm, 'lm')}",
            (100.0 * share.value, place),
            xytext=(4, 0),
            textcoords="offset points",
            va="center",
            fontsize=7.0,
        )
    axes.set_yticks(range(len(bars)), [wrapped(bar.label, 0.055, 2.0) for bar in bars])
    axes.invert_yaxis()
    axes.set_ylim(len(bars) - 0.4, -0.6)
    # Room to the right of the longest bar for the figures at its end.
    axes.set_xlim(0.0, 170.0 * max((share.value for share in shares), default=1.0))
    axes.set_xlabel("share of the emitted light (%)")
    axes.spines[["top", "right"]].set_visible(False)
    axes.tick_params(axis="y", length=0)
    unmet = len(result.fates) - sum(1 for fate in result.fates if fate.photons)
    axes.set_title(
        f"{result.photons:,} photons stand for {result.optics.flux_lm:g} lm; "
        f"{unmet} other fates did not occur"
    )


def _fates_in(bars: Sequence[Bar], group: str) -> list[FateCount]:
    return [fate for bar in bars if bar.group == group for fate in bar.fates]


def _share(result: Result, fates: Sequence[FateCount]) -> str:
    return result.share_of(fates).text(100.0, "%")
