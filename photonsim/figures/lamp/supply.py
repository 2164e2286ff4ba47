"""Load lines of a string of LEDs, and how much a dropper lets the light stray."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from photonsim.figures.layout import Sheet, legend_columns, legend_in
from photonsim.figures.style import BLACK, EMITTERS, GREY, PALE, PRINT, Look, plain_style
from photonsim.supply.load_line import LoadLines
from photonsim.supply.plan import UNSEEN_SHARE

# Relative light that the right pane spans; what lies beyond is told by the curve leaving it.
LIGHT_TOP = 2.0
# Of working points, which may lie too close for words beside them.
POINTS = {"starved": "v", "usual": "o", "overfed": "^"}
DASHES, DOTS = (0.0, (5.0, 1.5)), (0.0, (1.0, 1.5))
# The longest entry of the legend, and how many there are.
LOAD_LINE, ENTRIES = "load line: supply less dropper", 11
# Room around the panes, in inches.
ABOVE_IN, LEFT_IN, BETWEEN_IN, BELOW_IN = 0.24, 0.5, 0.55, 0.42


@plain_style()
def draw_supply(lines: LoadLines, title: str, look: Look = PRINT) -> Figure:
    """Return load lines with their working points, and the light against the dropper.

    LEDs have the emitters' colour in all figures; what feeds them is black and grey.
    """
    columns = legend_columns(LOAD_LINE, look)
    height = 0.4 * look.width_in
    body = ABOVE_IN + height + BELOW_IN + legend_in(ENTRIES, columns)
    sheet = Sheet(look, f"A resistor in the string: {title}", body, "", ())
    panes = sheet.row(2, height, ABOVE_IN, LEFT_IN, BETWEEN_IN)
    _draw_lines(panes[0], lines)
    _draw_lamp_to_lamp(panes[1], lines)
    sheet.top -= BELOW_IN
    sheet.legend([one for axes in panes for one in axes.get_legend_handles_labels()[0]], columns)
    return sheet.figure


def _draw_lines(axes: Axes, lines: LoadLines) -> None:
    low_v, usual_v, high_v = lines.string_v
    axes.fill_betweenx(
        lines.string_ma, low_v, high_v, color=EMITTERS, alpha=0.3, linewidth=0, label="all bins"
    )
    axes.plot(usual_v, lines.string_ma, color=EMITTERS, label="string of LEDs, warm")
    top_ma = float(lines.string_ma[-1])
    ends = [open_v - 1e-3 * top_ma * lines.source_ohm for open_v in lines.open_v]
    axes.fill_betweenx(
        (0.0, top_ma),
        (lines.open_v[0], ends[0]),
        (lines.open_v[2], ends[2]),
        facecolor="none",
        edgecolor=GREY,
        hatch="/////",
        linewidth=0,
        label="supply's tolerance",
    )
    axes.plot(
        (lines.open_v[1], ends[1]),
        (0.0, top_ma),
        color=BLACK,
        linestyle=DASHES,
        label=LOAD_LINE,
    )
    knee = min(float(curve[0]) for curve in lines.string_v)
    width = lines.open_v[2] - knee
    axes.set_xlim(knee - 0.05 * width, lines.open_v[2] + 0.05 * width)
    axes.set_ylim(0.0, top_ma)
    for crossing, (word, mark) in zip(lines.crossings, POINTS.items(), strict=True):
        label = f"{word}: {crossing.current_ma:.3g} mA"
        place = (crossing.string_v, crossing.current_ma)
        axes.plot(*place, mark, color=BLACK, ms=4.5, zorder=5, clip_on=False, label=label)
    axes.grid(True)
    axes.set_xlabel("voltage across the string, V")
    axes.set_ylabel("current through it, mA")
    axes.set_title("Where supply and string agree")


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
    axes.plot(share, high, color=EMITTERS, label="brightest lamp")
    axes.plot(share, low, color=EMITTERS, linestyle=DASHES, label="dimmest lamp")
    for end, label in zip(lines.driver_light, ("with a driver instead", None), strict=True):
        axes.axhline(end, color=BLACK, linestyle=DOTS, label=label)
    if lines.plan_share is not None:
        axes.axvline(100.0 * lines.plan_share, color=GREY, linewidth=0.8)
        on_left = 100.0 * lines.plan_share > 0.9 * share[-1]
        axes.annotate(
            "this plan", (100.0 * lines.plan_share, 0.98 * LIGHT_TOP),
            xytext=(-3 if on_left else 3, 0), textcoords="offset points", rotation=90, va="top",
            ha="right" if on_left else "left", fontsize=6.5,
        )  # fmt: skip
    axes.set_xlim(0.0, share[-1])
    axes.set_ylim(0.0, LIGHT_TOP)
    axes.grid(True)
    axes.set_xlabel("share of the voltage in the dropper, %")
    axes.set_ylabel("light relative to the usual lamp")
    axes.set_title("How far light strays at worst")
