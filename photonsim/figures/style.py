"""The look that all figures share: plain, white, told apart by colour, hatch and line at once."""

from __future__ import annotations

import textwrap
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from io import BytesIO
from typing import NamedTuple

import matplotlib
from matplotlib.figure import Figure

from photonsim.results import Result
from photonsim.results.remarks.caveats import caveats

# The text width of an A4 page with 13 mm margins: figures go into a write-up unscaled.
PAGE_WIDTH_IN = 7.2
# Some 700 pixels across on a screen.
SCREEN_DOTS_PER_INCH = 100

# Colours that the colour-blind can tell apart (Okabe and Ito, Color Universal Design, 2008).
BLACK = "#000000"
ORANGE = "#E69F00"
SKY_BLUE = "#56B4E9"
GREEN = "#009E73"
BLUE = "#0072B2"
VERMILION = "#D55E00"
PURPLE = "#CC79A7"
GREY = "#767676"
PALE = "#DDDDDD"

# Rises evenly in lightness, so a map printed in grey still reads from dark to bright
# (Nunez, Anderton and Renslow, PLoS ONE 13, e0199239 (2018)).
COLOUR_MAP = "cividis"

_OURS: dict[str, object] = {
    # matplotlib carries this font with it, so that figures are alike everywhere; the rest of the
    # list is for whoever opens the SVG without it.
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans", "Verdana", "Arial", "Helvetica"],
    "font.size": 7.5,
    "axes.titlesize": 8.0,
    "axes.titlelocation": "left",
    "axes.labelsize": 7.5,
    "axes.linewidth": 0.6,
    "axes.edgecolor": "#444444",
    "axes.axisbelow": True,
    "axes.grid": False,
    "grid.color": "#E4E4E4",
    "grid.linewidth": 0.5,
    "xtick.labelsize": 7.0,
    "ytick.labelsize": 7.0,
    "xtick.major.width": 0.6,
    "ytick.major.width": 0.6,
    "legend.fontsize": 7.0,
    "legend.frameon": False,
    "legend.handlelength": 2.8,
    "figure.titlesize": 9.0,
    "hatch.linewidth": 0.5,
    "lines.linewidth": 1.1,
    # A scene's title may hold a dollar sign, which must not start a formula.
    "text.parse_math": False,
    "svg.fonttype": "none",
    # Names inside an SVG are random unless salted: the same result gives the same bytes.
    "svg.hashsalt": "photonsim",
}


class GroupStyle(NamedTuple):
    """How photons of one group of fates are drawn; `hatch` is for bars, `dashes` for lines."""

    words: str
    colour: str
    hatch: str
    dashes: tuple[float, tuple[float, ...]]


GROUP_STYLES = {
    "stop": GroupStyle("through the stop", BLUE, "", (0.0, ())),
    "absorbed": GroupStyle("absorbed", VERMILION, "/////", (0.0, (1.0, 1.5))),
    "blocked": GroupStyle("stopped by a rim", ORANGE, "...", (0.0, (5.0, 1.5))),
    "escaped": GroupStyle("escaped", GREEN, "\\\\\\\\\\", (0.0, (6.0, 1.5, 1.0, 1.5))),
    "guard": GroupStyle("given up", GREY, "xxxxx", (0.0, (1.0, 4.0))),
}


def group_style(group: str) -> GroupStyle:
    """Return the style of a group of fates; a plain one for a group that is not known here."""
    return GROUP_STYLES.get(group, GroupStyle(group, SKY_BLUE, "+++++", (0.0, (3.0, 3.0))))


@contextmanager
def plain_style() -> Iterator[None]:
    """Within it matplotlib has our settings, whatever the user's own are; restored afterwards."""
    with matplotlib.rc_context(), warnings.catch_warnings():
        # A title in a script that the font lacks shows as boxes in PNG; no reason to alarm anyone.
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_OURS)  # type: ignore[arg-type]
        yield


class ShownFigure(Figure):
    """A figure that a notebook shows by itself, whatever it has been told of matplotlib."""

    def _repr_png_(self) -> bytes:
        buffer = BytesIO()
        self.savefig(buffer, format="png", dpi=SCREEN_DOTS_PER_INCH)
        return buffer.getvalue()


def new_figure(width_in: float, height_in: float) -> Figure:
    """Return an empty white figure of a size in inches that arranges its axes by itself."""
    figure = ShownFigure(figsize=(width_in, height_in), layout="constrained", facecolor="white")
    engine = figure.get_layout_engine()
    if engine is not None:
        engine.set(w_pad=0.06, h_pad=0.06)  # type: ignore[call-arg]
    return figure


def settle(figure: Figure) -> Figure:
    """Arrange the axes for good and return the figure, which every format then shows alike."""
    engine = figure.get_layout_engine()
    if engine is not None:
        # One pass places titles by ticks that the pass itself moves; by the third nothing stirs.
        for _ in range(3):
            engine.execute(figure)
    figure.set_layout_engine("none")
    return figure


def give_title(figure: Figure, result: Result, subject: str) -> None:
    """Write the subject and the scene's title above, and how the result came about below."""
    name = wrapped(f"{subject}: {result.name}", 0.075, figure.get_figwidth())
    figure.suptitle(name, x=0.012, ha="left")
    give_provenance(figure, provenance(result), caveats(result))


def give_provenance(figure: Figure, words: str, warnings: Sequence[str]) -> None:
    """Write how results came about in small print below, and in red what warns of them."""
    colour, weight, letter_in = (VERMILION, "bold", 0.055) if warnings else (GREY, "normal", 0.045)
    lines = [wrapped(line, letter_in, figure.get_figwidth()) for line in (*warnings, words)]
    figure.supxlabel(
        "\n".join(lines), x=0.988, ha="right", fontsize=6.0, color=colour, fontweight=weight
    )


def provenance(result: Result) -> str:
    """Return how a result came about, for small print."""
    partial = "" if result.is_complete else ", run not complete"
    return f"{result.photons:,} photons, seed {result.seed}{partial}"


def wrapped(words: str, letter_in: float, width_in: float) -> str:
    """Return words in lines that fit a width, for letters of a mean width, both in inches.

    What cannot be printed, such as a control character that would spoil an SVG, becomes a space.
    """
    printable = "".join(letter if letter.isprintable() else " " for letter in words)
    return textwrap.fill(printable, max(8, int(width_in / letter_in)))
