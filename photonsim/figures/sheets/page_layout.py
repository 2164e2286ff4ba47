"""Where the pieces of a cutting plan go on pages: packed where they fit, tiled where they don't.

All lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from photonsim.workshop.pieces import Piece, Point

# Printers leave 4 to 6 mm of a page white.
MARGIN_MM = 10.0
FOOTER_MM = 24.0
# Room around a piece for its sizes (left, below), its name (above) and a gap (right).
LEFT_MM, BELOW_MM, RIGHT_MM, ABOVE_MM = 10.0, 10.0, 4.0, 8.0
LABEL_MM_PER_LETTER = 1.7
OVERLAP_MM = 12.0


class Paper(NamedTuple):
    """A size of paper in mm."""

    name: str
    width_mm: float
    height_mm: float

    @property
    def usable(self) -> Point:
        """Width and height in mm between the margins and above the footer."""
        return (
            self.width_mm - 2.0 * MARGIN_MM,
            self.height_mm - 2.0 * MARGIN_MM - FOOTER_MM,
        )


# A4: ISO 216. Letter: 8.5 by 11 inches, ANSI/ASME Y14.1.
PAPERS = {"a4": Paper("A4", 210.0, 297.0), "letter": Paper("Letter", 215.9, 279.4)}


@dataclass(frozen=True)
class Placed:
    """A piece on a page: turned by a quarter counter-clockwise if `turned`, then shifted."""

    number: int
    piece: Piece
    shift: Point
    turned: bool

    def place(self, point: Point) -> Point:
        """Return where a point of the piece lies on the page."""
        x, y = (-point[1], point[0]) if self.turned else point
        return x + self.shift[0], y + self.shift[1]


@dataclass(frozen=True)
class RegisterMark:
    """A cross that two neighbouring pages share: lay one on the other."""

    place: Point
    label: str


@dataclass
class Page:
    """What one page shows. `heading` names a piece that goes over several pages."""

    placed: list[Placed] = field(default_factory=list)
    marks: list[RegisterMark] = field(default_factory=list)
    heading: str = ""


def lay_out(numbered: Sequence[tuple[int, Piece]], paper: Paper) -> list[Page]:
    """Return the pages: the small pieces packed, tallest first, then the large ones tiled.

    `numbered` holds each piece with its number in the parts list.
    """
    small, pages = [], []
    for number, piece in numbered:
        if any(_fits(_cell(piece, turned), paper.usable) for turned in (False, True)):
            small.append((number, piece))
        else:
            pages += _tiles(number, piece, paper)
    return _packed(small, paper) + pages


def _cell(piece: Piece, turned: bool) -> Point:
    """Return the room in mm that a piece takes with its sizes and its name."""
    width, height = piece.size_mm
    if turned:
        width, height = height, width
    label = LABEL_MM_PER_LETTER * (len(piece.name) + len(piece.material) + 14)
    return max(width + LEFT_MM + RIGHT_MM, label), height + BELOW_MM + ABOVE_MM


def _fits(cell: Point, room: Point) -> bool:
    return cell[0] <= room[0] and cell[1] <= room[1]


def _put(number: int, piece: Piece, corner: Point, turned: bool) -> Placed:
    """Place a piece so that the lower left corner of its cell lies at `corner`."""
    left, low, _, high = piece.bounds_mm
    first = (-high, left) if turned else (left, low)
    return Placed(
        number,
        piece,
        (corner[0] + LEFT_MM - first[0], corner[1] + BELOW_MM - first[1]),
        turned,
    )


@dataclass
class _Shelf:
    page: int
    low: float
    height: float
    used: float


def _packed(pieces: Sequence[tuple[int, Piece]], paper: Paper) -> list[Page]:
    """Fill pages with rows of pieces from the top, each row as high as its first piece."""
    room = paper.usable
    pages: list[Page] = []
    shelves: list[_Shelf] = []
    ends: list[float] = []  # the lowest y taken on each page
    for number, piece, turned in _tallest_first(pieces, room):
        cell = _cell(piece, turned)
        shelf = next(
            (s for s in shelves if cell[1] <= s.height and s.used + cell[0] <= room[0]), None
        )
        if shelf is None:
            page = next((k for k, end in enumerate(ends) if end >= cell[1]), len(pages))
            if page == len(pages):
                pages.append(Page())
                ends.append(room[1])
            ends[page] -= cell[1]
            shelf = _Shelf(page, ends[page], cell[1], 0.0)
            shelves.append(shelf)
        corner = (MARGIN_MM + shelf.used, MARGIN_MM + FOOTER_MM + shelf.low)
        pages[shelf.page].placed.append(_put(number, piece, corner, turned))
        shelf.used += cell[0]
    return pages


def _tallest_first(
    pieces: Sequence[tuple[int, Piece]], room: Point
) -> list[tuple[int, Piece, bool]]:
    """Return (number, piece, turned), a piece lying flat wherever it fits the page so."""
    turned = []
    for number, piece in pieces:
        flat_is_turned = piece.size_mm[0] < piece.size_mm[1]
        if not _fits(_cell(piece, flat_is_turned), room):
            flat_is_turned = not flat_is_turned
        turned.append((number, piece, flat_is_turned))
    return sorted(turned, key=lambda item: -_cell(item[1], item[2])[1])


def _tiles(number: int, piece: Piece, paper: Paper) -> list[Page]:
    """Return the pages that show a large piece, neighbours overlapping by OVERLAP_MM."""
    room = paper.usable
    counts = {turned: _tile_counts(_cell(piece, turned), room) for turned in (False, True)}
    turned = counts[True][0] * counts[True][1] < counts[False][0] * counts[False][1]
    columns, rows = counts[turned]
    step_x, step_y = room[0] - OVERLAP_MM, room[1] - OVERLAP_MM
    pages = []
    for row in reversed(range(rows)):
        for column in range(columns):
            corner = (MARGIN_MM - column * step_x, MARGIN_MM + FOOTER_MM - row * step_y)
            pages.append(
                Page(
                    [_put(number, piece, corner, turned)],
                    _register_marks(column, row, columns, rows, room),
                    f"{piece.name}: column {column + 1} of {columns} from the left, "
                    f"row {rows - row} of {rows} from the top",
                )
            )
    return pages


def _tile_counts(cell: Point, room: Point) -> tuple[int, int]:
    columns, rows = (
        max(1, math.ceil((size - OVERLAP_MM) / (space - OVERLAP_MM)))
        for size, space in zip(cell, room, strict=True)
    )
    return columns, rows


def _register_marks(
    column: int, row: int, columns: int, rows: int, room: Point
) -> list[RegisterMark]:
    """Return the marks in the middle of the strips that this page shares with its neighbours."""
    marks = []
    left, low = MARGIN_MM, MARGIN_MM + FOOTER_MM
    half = 0.5 * OVERLAP_MM
    for share, letter in ((0.2, "a"), (0.8, "b")):
        if column > 0:
            place = (left + half, low + share * room[1])
            marks.append(RegisterMark(place, f"{column}|{column + 1}{letter}"))
        if column < columns - 1:
            place = (left + room[0] - half, low + share * room[1])
            marks.append(RegisterMark(place, f"{column + 1}|{column + 2}{letter}"))
        if row > 0:
            place = (left + share * room[0], low + half)
            marks.append(RegisterMark(place, f"{rows - row}/{rows - row + 1}{letter}"))
        if row < rows - 1:
            place = (left + share * room[0], low + room[1] - half)
            marks.append(RegisterMark(place, f"{rows - row - 1}/{rows - row}{letter}"))
    return marks
