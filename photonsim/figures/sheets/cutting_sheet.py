"""The cutting sheet: pages at exactly 1:1, as one PDF and as SVG.

Matplotlib draws on figures as large as the page, with axes that fill them and count millimetres, so
a length in the file is the length on the paper.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure
from matplotlib.patches import Circle, FancyArrowPatch, PathPatch, Polygon, Rectangle
from matplotlib.path import Path as Outline
from matplotlib.text import Text

from photonsim.figures.saving import figure_bytes
from photonsim.figures.sheets.page_layout import (
    FOOTER_MM,
    MARGIN_MM,
    PAPERS,
    Page,
    Paper,
    Placed,
    lay_out,
)
from photonsim.figures.style import plain_style
from photonsim.results.files.writing import write_file
from photonsim.workshop.cutting import CuttingPlan
from photonsim.workshop.pieces import Piece, Point

MM_PER_INCH = 25.4
LETTERS_A_LINE = 128  # of 7 point text between the margins of A4
# Black to cut, long dashes to fold, fine grey to mark: told apart without colour.
STYLES: dict[str, dict[str, Any]] = {
    "cut": {"edgecolor": "black", "linewidth": 0.6},
    "fold": {"edgecolor": "black", "linewidth": 0.5, "linestyle": (0, (8, 4))},
    "mark": {"edgecolor": "0.45", "linewidth": 0.3},
    "axis": {"edgecolor": "black", "linewidth": 0.4, "linestyle": (0, (12, 3, 2, 3))},
    "size": {"edgecolor": "black", "linewidth": 0.3},
}
BACKING = {"facecolor": "white", "edgecolor": "none", "pad": 0.8}
WORDS: dict[str, Any] = {"fontsize": 7, "clip_on": True, "color": "black"}
COLUMNS_MM = (0.0, 6.0, 62.0, 104.0, 120.0, 140.0, 162.0)  # of the parts list
# As wide as many hobby cutters' beds; the height follows from the pieces.
WHOLE_WIDTH_MM = 600.0
# Same bytes for the same plan.
NO_DATE = {"CreationDate": None}


@plain_style()
def draw_cutting_sheet(
    plan: CuttingPlan, rows: Sequence[Sequence[str]], words: Sequence[str], paper: str = "a4"
) -> list[Figure]:
    """Return the pages: the parts list first, then the pieces at full size.

    `rows` is the parts list with its headings first; `words` are sentences for the first page.
    Raises KeyError for a paper that is not in PAPERS.
    """
    sheet = PAPERS[paper]
    drawn = _list_pages(plan, rows, words, sheet)
    for page in lay_out(_drawn(plan), sheet):
        drawn.append(_blank(sheet))
        _draw_page(drawn[-1], page, sheet)
    for number, axes in enumerate(drawn, 1):
        _footer(axes, sheet, plan.title, number, len(drawn))
    return [_figure_of(axes) for axes in drawn]


@plain_style()
def draw_whole(plan: CuttingPlan) -> Figure:
    """Return all pieces, every copy drawn, on one sheet of any size: for a cutter."""
    axes, placed = _one_sheet(plan)
    for item in placed:
        _draw_piece(axes, item, None)
    return _figure_of(axes)


@plain_style()
def draw_reduced(plan: CuttingPlan, width_mm: float = 180.0) -> Figure:
    """Return the same sheet reduced to a width, lines and numbers as before: to look at."""
    axes, placed = _one_sheet(plan)
    for item in placed:
        _draw_outline(axes, item)
        left, low, right, high = _box_on_page(item)
        centre = (0.5 * (left + right), 0.5 * (low + high))
        axes.text(*centre, f"{item.number}", ha="center", va="center", **WORDS, bbox=BACKING)
    figure = _figure_of(axes)
    size = figure.get_size_inches()
    figure.set_size_inches(size * (width_mm / MM_PER_INCH / size[0]))
    return figure


def _one_sheet(plan: CuttingPlan) -> tuple[Axes, list[Placed]]:
    """Return empty axes as large as all pieces need together, and the pieces placed there."""
    every = [
        (number, replace(piece, copies=1))
        for number, piece in _drawn(plan)
        for _ in range(piece.copies)
    ]
    widest = max(min(piece.size_mm) for _, piece in every) + 60.0
    endless = Paper("whole", max(WHOLE_WIDTH_MM, widest), 1e5)
    (page,) = lay_out(every, endless)
    boxes = [_box_on_page(item) for item in page.placed]
    low = min(box[1] for box in boxes) - 2.0 * MARGIN_MM
    right = max(box[2] for box in boxes) + 2.0 * MARGIN_MM
    placed = [replace(item, shift=(item.shift[0], item.shift[1] - low)) for item in page.placed]
    return _blank(Paper("whole", right, endless.height_mm - low)), placed


@plain_style()
def save_cutting_sheet(
    figures: Sequence[Figure], whole: Figure, folder: Path, stem: str
) -> list[Path]:
    """Write the pages to one PDF and to an SVG each, and the whole sheet to an SVG.

    Raises ResultError where that cannot be done.
    """
    document = BytesIO()
    with PdfPages(document, metadata=NO_DATE) as pages:
        for figure in figures:
            pages.savefig(figure)
    files = {folder / f"{stem}-cutting.pdf": document.getvalue()}
    for number, figure in enumerate(figures, 1):
        files[folder / f"{stem}-cutting-{number}.svg"] = figure_bytes(figure, "svg")
    files[folder / f"{stem}-cutting-whole.svg"] = figure_bytes(whole, "svg")
    for path, content in files.items():
        write_file(path, content)
    return list(files)


def _drawn(plan: CuttingPlan) -> list[tuple[int, Piece]]:
    return [(n, piece.with_kerf(plan.kerf_mm)) for n, piece in enumerate(plan.pieces, 1)]


def _figure_of(axes: Axes) -> Figure:
    figure = axes.figure
    assert isinstance(figure, Figure)
    return figure


def _blank(paper: Paper) -> Axes:
    figure = Figure(figsize=(paper.width_mm / MM_PER_INCH, paper.height_mm / MM_PER_INCH))
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_xlim(0.0, paper.width_mm)
    axes.set_ylim(0.0, paper.height_mm)
    axes.set_axis_off()
    return axes


def _draw_page(axes: Axes, page: Page, paper: Paper) -> None:
    width, height = paper.usable
    frame = Rectangle(
        (MARGIN_MM, MARGIN_MM + FOOTER_MM), width, height, facecolor="none", edgecolor="none"
    )
    axes.add_patch(frame)
    for placed in page.placed:
        _draw_piece(axes, placed, frame)
    for mark in page.marks:
        x, y = mark.place
        _line(axes, [(x - 4.0, y), (x + 4.0, y)], "mark", "register")
        _line(axes, [(x, y - 4.0), (x, y + 4.0)], "mark", "register")
        axes.add_patch(Circle(mark.place, 2.5, facecolor="none", **STYLES["mark"]))
        axes.text(x + 2.8, y + 1.2, mark.label, **WORDS | {"fontsize": 6})
    if page.marks:
        frame.set(edgecolor="0.7", linewidth=0.3)
        axes.text(
            MARGIN_MM,
            MARGIN_MM + FOOTER_MM + height + 1.5,
            f"{page.heading}. Lay equal marks on each other, then glue.",
            **WORDS,
        )


def _draw_piece(axes: Axes, placed: Placed, frame: Rectangle | None) -> None:
    artists = _draw_outline(axes, placed) + _words(axes, placed) + _sizes(axes, placed)
    for artist in artists if frame is not None else ():
        artist.set_clip_path(frame)


def _draw_outline(axes: Axes, placed: Placed) -> list[Artist]:
    """Draw what is to be cut, folded and marked; return the artists."""
    piece = placed.piece
    artists: list[Artist] = [_line(axes, _moved(placed, piece.outline), "cut", piece.name, True)]
    for line in piece.lines:
        points = _moved(placed, line.points)
        artists.append(_line(axes, points, line.role, f"{piece.name} {line.role}", line.closed))
    for circle in piece.circles:
        patch = Circle(
            placed.place(circle.centre),
            0.5 * circle.diameter_mm,
            facecolor="none",
            gid=f"{piece.name} hole" if circle.role == "cut" else f"{piece.name} place",
            **STYLES[circle.role],
        )
        artists.append(axes.add_patch(patch))
    return artists


def _words(axes: Axes, placed: Placed) -> list[Artist]:
    piece = placed.piece
    quarter = 90.0 if placed.turned else 0.0
    artists: list[Artist] = [
        axes.text(
            *placed.place(note.place),
            note.text,
            rotation=note.turn_deg + quarter,
            rotation_mode="anchor",
            ha="center",
            va="center",
            bbox=BACKING,
            **WORDS,
        )
        for note in piece.notes
    ]
    for arrow in piece.arrows:
        start, end = placed.place(arrow.start), placed.place(arrow.end)
        artists.append(
            axes.add_patch(
                FancyArrowPatch(start, end, arrowstyle="<->", mutation_scale=7, linewidth=0.6)
            )
        )
        artists.append(_arrow_name(axes, start, end, arrow.word))
    left, _, _, high = _box_on_page(placed)
    copies = "1 copy" if piece.copies == 1 else f"{piece.copies} copies"
    label = f"{placed.number}  {piece.name} – {piece.material}, {copies}"
    artists.append(axes.text(left, high + 1.5, label, **WORDS | {"weight": "bold"}))
    return artists


def _arrow_name(axes: Axes, start: Point, end: Point, word: str) -> Text:
    """Write what the arrow means: in its line, or beside an arrow too short for that."""
    if end[0] < start[0]:
        start, end = end, start
    turn = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
    length = math.dist(start, end)
    if length < 15.0:
        return axes.text(max(start[0], end[0]) + 1.5, 0.5 * (start[1] + end[1]), word,
                         va="center", **WORDS)  # fmt: skip
    shift = 1.5 / length
    place = (end[0] + shift * (end[0] - start[0]), end[1] + shift * (end[1] - start[1]))
    return axes.text(
        *place, word, rotation=turn, rotation_mode="anchor", va="center_baseline", **WORDS
    )


def _sizes(axes: Axes, placed: Placed) -> list[Artist]:
    """Draw the width below and the height to the left, with lines as long as the piece."""
    left, low, right, high = _box_on_page(placed)
    width, height = right - left, high - low
    below, beside = low - 4.0, left - 4.0
    return [
        _line(axes, [(left, below), (right, below)], "mark", "width"),
        _line(axes, [(left, below - 1.2), (left, below + 1.2)], "mark", "end"),
        _line(axes, [(right, below - 1.2), (right, below + 1.2)], "mark", "end"),
        axes.text(
            0.5 * (left + right), below - 0.6, f"{width:.1f}", ha="center", va="top", **WORDS
        ),
        _line(axes, [(beside, low), (beside, high)], "mark", "height"),
        _line(axes, [(beside - 1.2, low), (beside + 1.2, low)], "mark", "end"),
        _line(axes, [(beside - 1.2, high), (beside + 1.2, high)], "mark", "end"),
        axes.text(
            beside - 0.6,
            0.5 * (low + high),
            f"{height:.1f}",
            rotation=90,
            ha="right",
            va="center",
            **WORDS,
        ),
    ]


def _footer(axes: Axes, paper: Paper, title: str, number: int, count: int) -> None:
    """Draw the check ruler, as long each way, and what page this is."""
    left, low = MARGIN_MM + 8.0, MARGIN_MM + 2.0
    _ruler(axes, left, low, True)
    _ruler(axes, MARGIN_MM - 2.0, MARGIN_MM + FOOTER_MM, False)
    words = "Print at actual size (100 %). Both rulers must measure 100 mm before you cut."
    axes.text(left, low + 6.0, words, **WORDS)
    text = f"{title}  ·  page {number} of {count}  ·  {paper.name}"
    axes.text(paper.width_mm - MARGIN_MM, low, text, ha="right", **WORDS)


def _ruler(axes: Axes, x: float, y: float, lies: bool) -> None:
    def at(along: float, aside: float) -> Point:
        return (x + along, y + aside) if lies else (x + aside, y + along)

    _line(axes, [at(0.0, 0.0), at(100.0, 0.0)], "cut", "ruler")
    side = 1.0 if lies else -1.0
    ticks = [
        point
        for tick in range(101)
        for point in (at(tick, 0.0), at(tick, side * _tick_length(tick)))
    ]
    # All in one path: a hundred artists would take a hundred times as long to draw.
    path = Outline(ticks, [Outline.MOVETO, Outline.LINETO] * 101)
    axes.add_artist(PathPatch(path, fill=False, gid="ticks", **STYLES["mark"]))
    for tick in range(0, 101, 50):
        place = at(tick, -0.8 if lies else 0.8)
        ends: dict[str, Any] = (
            {"ha": "center", "va": "top"} if lies else {"ha": "left", "va": "center"}
        )
        axes.text(*place, f"{tick}", **WORDS | {"fontsize": 5} | ends)


def _list_pages(
    plan: CuttingPlan, rows: Sequence[Sequence[str]], words: Sequence[str], paper: Paper
) -> list[Axes]:
    """Return pages with the parts list and what there is to say; more than one only if need be."""
    pages = [_blank(paper)]
    left, top = MARGIN_MM + 4.0, paper.height_mm - MARGIN_MM
    pages[0].text(MARGIN_MM, top, "Cutting sheet", va="top", **WORDS | {"fontsize": 16})
    pages[0].text(MARGIN_MM, top - 9.0, plan.title, va="top", **WORDS | {"fontsize": 11})
    y = top - 22.0

    def room_for(height: float) -> Axes:
        nonlocal y
        if y - height < MARGIN_MM + FOOTER_MM:
            pages.append(_blank(paper))
            y = top - 6.0
        y -= height
        return pages[-1]

    for number, row in enumerate(rows):
        weight = "bold" if number == 0 else "normal"
        axes = room_for(4.6)
        for place, cell in zip(COLUMNS_MM, row, strict=True):
            axes.text(left + place, y, cell, **WORDS | {"weight": weight})
    y -= 4.0
    remarks = [
        f"{number}  {piece.name}: {piece.remark}."
        for number, piece in enumerate(plan.pieces, 1)
        if piece.remark
    ]
    for sentence in (*remarks, *words, _kerf_words(plan.kerf_mm)):
        wrapped = textwrap.fill(sentence, LETTERS_A_LINE)
        height = 3.6 * (wrapped.count("\n") + 1) + 1.4
        room_for(height).text(left, y + 1.4, wrapped, va="bottom", linespacing=1.35, **WORDS)
    return pages


def _tick_length(tick: int) -> float:
    return 4.0 if tick % 10 == 0 else 2.5 if tick % 5 == 0 else 1.5


def _kerf_words(kerf_mm: float) -> str:
    if kerf_mm == 0.0:
        return "No kerf allowance: lines are drawn where the finished edge lies."
    return (
        f"Kerf allowance {kerf_mm:g} mm: cut lines stand half of it outside the finished edge, and "
        "inside holes and windows, so drawn sizes differ from the list by the kerf."
    )


def _moved(placed: Placed, points: Sequence[Point]) -> list[Point]:
    return [placed.place(point) for point in points]


def _box_on_page(placed: Placed) -> tuple[float, float, float, float]:
    across, up = zip(*_moved(placed, placed.piece.outline), strict=True)
    return min(across), min(up), max(across), max(up)


def _line(
    axes: Axes,
    points: Sequence[Point],
    role: str,
    name: str,
    closed: bool = False,
) -> Polygon:
    style = STYLES[role] | {"joinstyle": "miter", "capstyle": "butt"}
    line = Polygon(points, closed=closed, fill=False, gid=name, **style)
    axes.add_artist(line)
    return line
