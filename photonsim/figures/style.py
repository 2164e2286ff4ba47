"""The look that all figures share: plain, white, told apart by colour, hatch and line at once."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import NamedTuple

import matplotlib

MM_PER_INCH = 25.4
# The text width of an A4 page with margins of an inch: figures go into a write-up unscaled.
PAGE_WIDTH_IN = 160.0 / MM_PER_INCH

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

# One colour for each thing, in all figures.
EMITTERS = ORANGE
SHEETS = {
    "prism_film": SKY_BLUE,
    "diffuser": PURPLE,
    "clear_plate": GREY,
    # Two more that can be told apart (P. Tol, Colour Schemes, SRON 2021: from memory).
    "absorbing_polariser": "#332288",
    "reflective_polariser": "#999933",
}
PANEL = GREEN
WALLS = "#BBBBBB"
GLASS = "#E3EDF4"
ARRIVING = BLACK
COLLECTED = BLUE
# Light that is lost is vermilion, in three steps of lightness (Oranges of ColorBrewer: Brewer,
# Hatchard and Harrower, Cartography and Geographic Information Science 30, 5 (2003)).
ABSORBED, BLOCKED, ESCAPED = VERMILION, "#8C2D04", "#FDAE6B"
# Zones of the picture: colour and dashes, light and dark in turn.
ZONE_STYLES = {
    "middle": (BLACK, "-"),
    "left and right edge": (PURPLE, "--"),
    "corners": ("#882255", "-."),
}

# Rises evenly in lightness, so a map printed in grey still reads from dark to bright
# (Nunez, Anderton and Renslow, PLoS ONE 13, e0199239 (2018)).
COLOUR_MAP = "cividis"


class Look(NamedTuple):
    """How figures are laid out.

    `width_in` is the width in inches. `labels` are the words written over maps, `contours` lines
    of equal light on them; `unit` of their colours is "relative" to the mean, or "lux".
    `small_print` tells how a result came about; what warns of it stands there in any case.
    """

    width_in: float = PAGE_WIDTH_IN
    labels: bool = True
    contours: bool = False
    unit: str = "relative"
    small_print: bool = True


PRINT = Look()
# Narrower, so that words are larger beside the drawing when it fills a wall.
SLIDES = Look(width_in=5.0, small_print=False)


_OURS: dict[str, object] = {
    # matplotlib carries this font with it, so that figures are alike everywhere.
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "font.size": 7.5,
    "axes.titlesize": 8.0,
    "axes.titlelocation": "left",
    # Where else: nothing stands above axes, and to look for it takes a tenth of all drawing.
    "axes.titley": 1.0,
    "axes.labelsize": 7.5,
    "axes.linewidth": 0.6,
    "axes.edgecolor": "#444444",
    "axes.axisbelow": True,
    "axes.grid": False,
    "grid.color": "#E4E4E4",
    "grid.linewidth": 0.5,
    "xtick.labelsize": 6.5,
    "ytick.labelsize": 6.5,
    "xtick.major.width": 0.6,
    "ytick.major.width": 0.6,
    "legend.fontsize": 7.0,
    "legend.frameon": False,
    "legend.handlelength": 2.8,
    "figure.titlesize": 9.0,
    "hatch.linewidth": 0.5,
    "lines.linewidth": 1.1,
    # Letters as they are designed, as in SVG and PDF: moved to the nearest dots they stand
    # unevenly, some look bold, and words grow wider than what was measured for them.
    "text.hinting": "no_hinting",
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
    "stop": GroupStyle("through the stop", COLLECTED, "", (0.0, ())),
    "absorbed": GroupStyle("absorbed", ABSORBED, "/////", (0.0, (1.0, 1.5))),
    "blocked": GroupStyle("stopped by a rim", BLOCKED, "...", (0.0, (5.0, 1.5))),
    "escaped": GroupStyle("escaped", ESCAPED, "\\\\\\\\\\", (0.0, (6.0, 1.5, 1.0, 1.5))),
    "guard": GroupStyle("given up", GREY, "xxxxx", (0.0, (1.0, 4.0))),
}


def group_style(group: str) -> GroupStyle:
    """Return the style of a group of fates; a plain one for a group that is not known here."""
    return GROUP_STYLES.get(group, GroupStyle(group, SKY_BLUE, "+++++", (0.0, (3.0, 3.0))))


@contextmanager
def plain_style() -> Iterator[None]:
    """Within it matplotlib has our settings, whatever the user's own are; restored afterwards.

    Entered once more within, it changes nothing: all settings anew take 0.5 ms.
    """
    if matplotlib.rcParams["svg.hashsalt"] == _OURS["svg.hashsalt"]:
        yield
        return
    with matplotlib.rc_context(), warnings.catch_warnings():
        # A title in a script that the font lacks shows as boxes in PNG; no reason to alarm anyone.
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_OURS)  # type: ignore[arg-type]
        yield


def colour_table() -> list[str]:
    """Return the 256 colours of maps, from dark to bright, as '#rrggbb'."""
    found = matplotlib.colormaps[COLOUR_MAP]
    return [matplotlib.colors.to_hex(found(step)) for step in range(256)]
