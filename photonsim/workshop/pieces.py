"""A flat piece to cut: lines to cut, to fold, to mark and to measure, in mm at full size."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

Point = tuple[float, float]
# "axis" and "size" are the optical axis and dimension lines.
Role = Literal["cut", "fold", "mark", "axis", "size"]


@dataclass(frozen=True)
class Line:
    """A line through points (x, y) in mm; a closed one returns to its first point."""

    role: Role
    points: tuple[Point, ...]
    closed: bool = True


@dataclass(frozen=True)
class Circle:
    """A circle to cut or to mark, in mm."""

    role: Role
    centre: Point
    diameter_mm: float


@dataclass(frozen=True)
class Note:
    """Words on a piece, centred at a place, turned counter-clockwise by an angle in degrees."""

    place: Point
    text: str
    turn_deg: float = 0.0


@dataclass(frozen=True)
class Arrow:
    """A double-headed arrow: a direction that the piece must have when it is mounted, in a word."""

    start: Point
    end: Point
    word: str


@dataclass(frozen=True)
class Piece:
    """Something to cut, drawn as seen from the screen unless its remark says otherwise.

    `outline` runs counter-clockwise. `copies` is how many equal ones to cut; they are drawn once.
    """

    name: str
    material: str
    outline: tuple[Point, ...]
    copies: int = 1
    lines: tuple[Line, ...] = ()
    circles: tuple[Circle, ...] = ()
    notes: tuple[Note, ...] = ()
    arrows: tuple[Arrow, ...] = ()
    remark: str = ""

    @property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """The box around the outline: lowest x, lowest y, highest x, highest y."""
        across, up = zip(*self.outline, strict=True)
        return min(across), min(up), max(across), max(up)

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the box around the outline."""
        left, low, right, high = self.bounds_mm
        return right - left, high - low

    @property
    def area_mm2(self) -> float:
        """Area of one piece in mm², its cut-outs taken off."""
        windows = [line.points for line in self.lines if line.role == "cut" and line.closed]
        holes = [circle.diameter_mm for circle in self.circles if circle.role == "cut"]
        return (
            signed_area(self.outline)
            - sum(abs(signed_area(window)) for window in windows)
            - sum(0.25 * math.pi * diameter**2 for diameter in holes)
        )

    def with_kerf(self, kerf_mm: float) -> Piece:
        """Return the piece as the cutter must follow it: half a kerf outside the finished edge.

        Outlines grow by half a kerf, windows and holes shrink by it. Only cut lines change.
        """
        if kerf_mm == 0.0:
            return self
        half = 0.5 * kerf_mm
        return replace(
            self,
            outline=moved_outward(self.outline, half),
            lines=tuple(
                replace(line, points=moved_outward(line.points, -half))
                if line.role == "cut" and line.closed
                else line
                for line in self.lines
            ),
            circles=tuple(
                replace(circle, diameter_mm=circle.diameter_mm - kerf_mm)
                if circle.role == "cut"
                else circle
                for circle in self.circles
            ),
        )


def rectangle(width: float, height: float, centre: Point = (0.0, 0.0)) -> tuple[Point, ...]:
    """Return the corners of a rectangle in mm, counter-clockwise from the lower left."""
    x, y = centre
    return (
        (x - 0.5 * width, y - 0.5 * height),
        (x + 0.5 * width, y - 0.5 * height),
        (x + 0.5 * width, y + 0.5 * height),
        (x - 0.5 * width, y + 0.5 * height),
    )


def signed_area(points: Sequence[Point]) -> float:
    """Return the area within a closed line, positive if it runs counter-clockwise (shoelace)."""
    closed = [*points, points[0]]
    return 0.5 * sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise(closed))


def moved_outward(points: Sequence[Point], distance: float) -> tuple[Point, ...]:
    """Return a closed counter-clockwise line with every edge moved outward by a distance in mm.

    Neighbouring edges are met again in their intersection, so corners stay sharp.
    """
    moved = []
    count = len(points)
    for k, (x, y) in enumerate(points):
        before = _outward_normal(points[k - 1], points[k])
        after = _outward_normal(points[k], points[(k + 1) % count])
        # The corner moves along the sum of the two normals, as far as both edges ask for.
        reach = distance / (1.0 + before[0] * after[0] + before[1] * after[1])
        moved.append((x + reach * (before[0] + after[0]), y + reach * (before[1] + after[1])))
    return tuple(moved)


def _outward_normal(start: Point, end: Point) -> Point:
    along_x, along_y = end[0] - start[0], end[1] - start[1]
    length = math.hypot(along_x, along_y)
    return along_y / length, -along_x / length
