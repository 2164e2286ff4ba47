"""Where things stand in a figure: titles, axes, legends, small print, and words that fit."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from io import BytesIO

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path

from photonsim.figures.style import GREY, PRINT, VERMILION, Look
from photonsim.results import Result
from photonsim.results.remarks.caveats import caveats

# Some 630 pixels across on a screen.
SCREEN_DOTS_PER_INCH = 100
# Words of a legend, and what stands before them.
LEGEND_PT, HANDLE_IN = 7.0, 0.55
# Small print is of 6 points.
SMALL_LINE_IN = 0.1


class ShownFigure(Figure):
    """A figure that a notebook shows by itself, whatever it has been told of matplotlib."""

    def _repr_png_(self) -> bytes:
        buffer = BytesIO()
        self.savefig(buffer, format="png", dpi=SCREEN_DOTS_PER_INCH)
        return buffer.getvalue()


class Sheet:
    """A white figure filled from the top, in inches, where no layout need be solved.

    `top` is the height above the lower edge that is free so far.
    """

    def __init__(
        self, look: Look, title: str, body_in: float, words: str, warnings: Sequence[str]
    ) -> None:
        """Begin with a title, room for a body, and below it in small print how results came about.

        `warnings` are what must not be overlooked in them.
        """
        lines = wrapped(title, 0.075, look.width_in)
        small = small_print(words, warnings, look)
        head_in = 0.16 * (lines.count("\n") + 1) + 0.14
        foot_in = SMALL_LINE_IN * len(small.splitlines()) + 0.08
        height = head_in + body_in + foot_in
        self.figure = ShownFigure(figsize=(look.width_in, height), facecolor="white")
        self.top = height - head_in
        self.look = look
        self.figure.suptitle(lines, x=0.012, y=1.0 - 0.06 / height, ha="left", va="top")
        write_small_print(self.figure, small, bool(warnings), 0.05 / height)

    def axes(self, left: float, bottom: float, width: float, height: float) -> Axes:
        """Return axes at a place."""
        across, up = self.figure.get_size_inches()
        return self.figure.add_axes((left / across, bottom / up, width / across, height / up))

    def row(
        self,
        count: int,
        height: float,
        above: float = 0.0,
        left: float = 0.5,
        between: float = 0.3,
        right: float = 0.1,
    ) -> list[Axes]:
        """Return axes side by side with room above, and take both off the top."""
        self.top -= above + height
        width = row_width_in(self.look, count, left, between, right)
        return [self.axes(left + k * (width + between), self.top, width, height)
                for k in range(count)]  # fmt: skip

    def legend(self, handles: Sequence[Artist], columns: int) -> None:
        """Write a legend at the top, on the left, and take it off."""
        place = (0.0, self.top / self.figure.get_figheight())
        self.figure.legend(
            handles=list(handles), loc="upper left", bbox_to_anchor=place, ncols=columns,
            borderaxespad=0.4,
        )  # fmt: skip
        self.top -= legend_in(len(handles), columns)


def row_width_in(look: Look, count: int, left: float, between: float, right: float) -> float:
    """Return how wide each of `count` axes side by side is, in inches."""
    return (look.width_in - left - right - (count - 1) * between) / count


def legend_in(entries: int, columns: int) -> float:
    """Return how tall a legend is, in inches."""
    return 0.155 * -(-entries // columns) + 0.06


def legend_columns(widest: str, look: Look) -> int:
    """Return how many columns a legend has room for, the widest of whose words are given."""
    column_in = text_width_in(widest, LEGEND_PT) + HANDLE_IN
    return max(1, int((look.width_in - 0.1) / column_in))


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
        engine.execute(figure)
    figure.set_layout_engine("none")
    return figure


def give_title(figure: Figure, result: Result, subject: str, look: Look = PRINT) -> None:
    """Write the subject and the scene's title above, and how the result came about below."""
    name = wrapped(f"{subject}: {result.name}", 0.075, figure.get_figwidth())
    figure.suptitle(name, x=0.012, ha="left")
    warnings = caveats(result)
    if told := small_print(provenance(result), warnings, look):
        write_small_print(figure, told, bool(warnings))


def small_print(words: str, warnings: Sequence[str], look: Look = PRINT) -> str:
    """Return, in lines that fit a figure, what warns of results and how they came about."""
    letter_in = 0.055 if warnings else 0.047
    told = (*warnings, words) if look.small_print else warnings
    return "\n".join(wrapped(line, letter_in, look.width_in) for line in told)


def small_print_in(result: Result, look: Look) -> float:
    """Return how tall the small print of a result is, in inches."""
    words = small_print(provenance(result), caveats(result), look)
    return SMALL_LINE_IN * len(words.splitlines())


def write_small_print(figure: Figure, words: str, warning: bool, foot: float | None = None) -> None:
    """Write small print at the foot of a figure, in red if it warns.

    Without a height for it, a figure that arranges its axes by itself has room for it.
    """
    colour, weight = (VERMILION, "bold") if warning else (GREY, "normal")
    figure.supxlabel(
        words, x=0.988, y=foot, ha="right", fontsize=6.0, color=colour, fontweight=weight
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


def text_width_in(words: str, size_pt: float) -> float:
    """Return the width in inches of words in the figures' font."""
    if not words.strip():
        return 0.0
    font = FontProperties(size=size_pt)
    return float(text_to_path.get_text_width_height_descent(words, font, False)[0]) / 72.0


def shortened(words: str, width_in: float, size_pt: float = 7.0) -> str:
    """Return words in one line, cut with an ellipsis where they are wider than a width.

    A few per cent are left free: drawn in few pixels, letters are wider.
    """
    width_in *= 0.97
    line = wrapped(words, 1.0, 1e6)
    whole = text_width_in(line, size_pt)
    if whole <= width_in:
        return line
    for letters in range(int(1.2 * len(line) * width_in / whole), 0, -1):
        cut = f"{line[:letters].rstrip()} …"
        if text_width_in(cut, size_pt) <= width_in:
            return cut
    return "…"


def broken(words: str, before: str, width_in: float, size_pt: float) -> str:
    """Return words, from a word of them on in a second line where one line is too narrow."""
    if text_width_in(words, size_pt) <= 0.97 * width_in:
        return words
    return words.replace(f" {before}", f"\n{before}", 1)


def fitted(words: str, width_in: float, size_pt: float, most: int) -> str:
    """Return words in at most so many lines that are no wider than a width.

    The last line, or a word too wide for a line, is cut with an ellipsis.
    """
    rest = wrapped(words, 1.0, 1e6).split(" ")
    lines: list[str] = []
    while rest and len(lines) < most - 1:
        taken = len(rest)
        while taken > 1 and text_width_in(" ".join(rest[:taken]), size_pt) > 0.97 * width_in:
            taken -= 1
        lines.append(shortened(" ".join(rest[:taken]), width_in, size_pt))
        rest = rest[taken:]
    return "\n".join([*lines, shortened(" ".join(rest), width_in, size_pt)] if rest else lines)
