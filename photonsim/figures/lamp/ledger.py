"""The ledger: where the light went, fate by fate."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from photonsim.figures.layout import Sheet, legend_in, provenance, text_width_in, wrapped
from photonsim.figures.style import PRINT, Look, group_style, plain_style
from photonsim.results import Result
from photonsim.results.remarks.caveats import caveats
from photonsim.results.result import FateCount

# More bars than these cannot be read at a glance; the smallest are joined.
MOST_BARS = 16
# Room for the labels of bars, of the width, and beside the figures at their ends, in inches.
LABELS, BESIDE_IN = 0.325, 0.2
FIGURES_PT = 7.0
ABOVE_IN, BELOW_IN = 0.22, 0.42


class Bar(NamedTuple):
    """A bar: its label, its group of fates, and the fates whose photons it counts."""

    label: str
    group: str
    fates: tuple[FateCount, ...]


@plain_style()
def draw_ledger(result: Result, look: Look = PRINT) -> Figure:
    """Return bars of the share of photons that met each fate, in per cent and lumens."""
    bars = _bars(result)
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
    height = 0.22 * len(bars)
    body = ABOVE_IN + height + BELOW_IN + legend_in(len(handles), 2)
    title = f"Where the light went: {result.name}"
    sheet = Sheet(look, title, body, provenance(result), caveats(result))
    (axes,) = sheet.row(1, height, ABOVE_IN, LABELS * look.width_in, 0.0, 0.15)
    show_ledger(axes, result, bars)
    sheet.top -= BELOW_IN
    sheet.legend(handles, 2)
    return sheet.figure


def _bars(result: Result) -> list[Bar]:
    """Return the fates that occurred, most frequent first; the rarest joined if there are many."""
    met = sorted((f for f in result.fates if f.photons), key=lambda fate: -fate.photons)
    joined = tuple(met[MOST_BARS - 1 :]) if len(met) > MOST_BARS else ()
    bars = [Bar(fate.name, fate.group, (fate,)) for fate in met[: len(met) - len(joined)]]
    return [*bars, Bar(f"{len(joined)} further fates", "further", joined)] if joined else bars


def show_ledger(axes: Axes, result: Result, bars: Sequence[Bar] | None = None) -> None:
    """Draw the bars on axes; without any given, those of `draw_ledger`."""
    bars = _bars(result) if bars is None else bars
    shares = [result.share_of(bar.fates) for bar in bars]
    flux_lm = result.optics.flux_lm
    figures = [f"{share.text(100.0, '%')}   {share.text(flux_lm, 'lm')}" for share in shares]
    for place, (bar, share, words) in enumerate(zip(bars, shares, figures, strict=True)):
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
            words,
            (100.0 * share.value, place),
            xytext=(4, 0),
            textcoords="offset points",
            va="center",
            fontsize=FIGURES_PT,
        )
    labels_in = LABELS * axes.figure.bbox.width / axes.figure.dpi
    labels = [wrapped(bar.label, 0.055, labels_in) for bar in bars]
    axes.set_yticks(range(len(bars)), labels, linespacing=0.95)
    axes.invert_yaxis()
    axes.set_ylim(len(bars) - 0.4, -0.6)
    # Room to the right of every bar for the figures at its end.
    room = axes.get_window_extent().width / axes.figure.dpi
    scales = [
        share.value / max(room - text_width_in(words, FIGURES_PT) - BESIDE_IN, 0.2 * room)
        for share, words in zip(shares, figures, strict=True)
    ]
    axes.set_xlim(0.0, 100.0 * room * max(scales, default=1.0 / room))
    # That room may reach beyond all of the light, where there is nothing to read off.
    end = min(100.0, axes.get_xlim()[1])
    axes.set_xticks([share for share in axes.get_xticks() if share <= end])
    axes.spines["bottom"].set_bounds(0.0, end)
    axes.set_xlabel("share of the emitted light (%)")
    axes.spines[["top", "right"]].set_visible(False)
    axes.tick_params(axis="y", length=0)
    unmet = len(result.fates) - sum(1 for fate in result.fates if fate.photons)
    axes.set_title(
        f"{result.photons:,} photons stand for {result.optics.flux_lm:g} lm; "
        f"{unmet} other fates did not occur",
        x=(0.06 - labels_in) / room,
    )


def _fates_in(bars: Sequence[Bar], group: str) -> list[FateCount]:
    return [fate for bar in bars if bar.group == group for fate in bar.fates]


def _share(result: Result, fates: Sequence[FateCount]) -> str:
    return result.share_of(fates).text(100.0, "%")
