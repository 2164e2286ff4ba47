"""Load lines of a string of LEDs, and how much a dropper lets the light stray."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from photonsim.figures.layout import new_figure, settle, wrapped
from photonsim.figures.style import (
    BLACK,
    BLUE,
    GREEN,
    ORANGE,
    PAGE_WIDTH_IN,
    PALE,
    SKY_BLUE,
    VERMILION,
    plain_style,
)
from photonsim.supply.load_line import Crossing, LoadLines
from photonsim.supply.plan import UNSEEN_SHARE

# Relative light that the right pane spans; what lies beyond is told by the curve leaving it.
LIGHT_TOP = 2.0


@plain_style()
def draw_supply(lines: LoadLines, title: str) -> Figure:
    """Return load lines with their working points, and the light against the dropper."""
    figure = new_figure(PAGE_WIDTH_IN, 3.6)
    left, right = figure.subplots(1, 2)
    _draw_lines(left, lines)
    _draw_lamp_to_lamp(right, lines)
    figure.legend(loc="outside lower center", ncols=4)
    name = wrapped(f"A resistor in the string: {title}", 0.075, PAGE_WIDTH_IN)
    figure.suptitle(name, x=0.012, ha="left")
    return settle(figure)


def _draw_lines(axes: Axes, lines: LoadLines) -> None:
    low_v, usual_v, high_v = lines.string_v
    axes.fill_betweenx(
        lines.string_ma, low_v, high_v, color=SKY_BLUE, alpha=0.35, linewidth=0, label="all bins"
    )
    axes.plot(usual_v, lines.string_ma, color=BLUE, label="string of LEDs, warm")
    top_ma = float(lines.string_ma[-1])
    ends = [open_v - 1e-3 * top_ma * lines.source_ohm for open_v in lines.open_v]
    axes.fill_betweenx(
        (0.0, top_ma),
        (lines.open_v[0], ends[0]),
        (lines.open_v[2], ends[2]),
        color=ORANGE,
        alpha=0.3,
        linewidth=0,
        label="supply's tolerance",
    )
    axes.plot(
        (lines.open_v[1], ends[1]),
        (0.0, top_ma),
        color=ORANGE,
        linestyle=(0.0, (5.0, 1.5)),
        label="load line: supply less dropper",
    )
    knee = min(float(curve[0]) for curve in lines.string_v)
    width = lines.open_v[2] - knee
    axes.set_xlim(knee - 0.05 * width, lines.open_v[2] + 0.05 * width)
    axes.set_ylim(0.0, top_ma)
    for crossing, word in zip(lines.crossings, ("starved", "usual", "overfed"), strict=True):
        _mark(axes, crossing, word)
    axes.grid(True)
    axes.set_xlabel("voltage across the string, V")
    axes.set_ylabel("current through it, mA")
    axes.set_title("Where supply and string agree")


def _mark(axes: Axes, crossing: Crossing, word: str) -> None:
    """Draw a working point with its words on the side that has room for them."""
    place = (crossing.string_v, crossing.current_ma)
    across, up = axes.transAxes.inverted().transform(axes.transData.transform(place))
    on_left = across > 0.6
    axes.plot(*place, "o", color=BLACK, markersize=4, zorder=5, clip_on=False)
    axes.annotate(
        f"{word}\n{crossing.current_ma:.3g} mA",
        place,
        xytext=(-7 if on_left else 7, 0),
        textcoords="offset points",
        ha="right" if on_left else "left",
        va="bottom" if up < 0.1 else "center",
        fontsize=6.5,
        bbox={"fc": "white", "ec": "none", "alpha": 0.8, "pad": 1.0},
    )


def _draw_lamp_to_lamp(axes: Axes, lines: LoadLines) -> None:
    share = 100.0 * lines.dropper_share
    axes.axhspan(
        1.0 - UNSEEN_SHARE,
        1.0 + UNSEEN_SHARE,
        color=PALE,
        alpha=0.6,
        linewidth=0,
        label=f"hardly seen, ± {100 * UNSEEN_SHARE:.0f} %",
    )
    low, high = lines.light_ratio
    axes.plot(share, high, color=VERMILION, label="brightest lamp")
    axes.plot(share, low, color=BLUE, linestyle=(0.0, (5.0, 1.5)), label="dimmest lamp")
    for end in lines.driver_light:
        axes.axhline(end, color=GREEN, linestyle=(0.0, (1.0, 1.5)))
    axes.plot([], [], color=GREEN, linestyle=(0.0, (1.0, 1.5)), label="with a driver instead")
    if lines.plan_share is not None:
        axes.axvline(100.0 * lines.plan_share, color=BLACK, linewidth=0.8)
        axes.annotate(
            "this plan", (100.0 * lines.plan_share, 0.98 * LIGHT_TOP), xytext=(3, 0),
            textcoords="offset points", rotation=90, va="top", fontsize=6.5,
        )  # fmt: skip
    axes.set_xlim(0.0, share[-1])
    axes.set_ylim(0.0, LIGHT_TOP)
    axes.grid(True)
    axes.set_xlabel("share of the voltage in the dropper, %")
    axes.set_ylabel("light relative to the usual lamp")
    axes.set_title("How far the light strays in the worst cases")
