"""The four walls: of card a net with flaps to score, fold and glue; of board four pieces."""

from __future__ import annotations

import math
from collections.abc import Sequence

from photonsim.scene import Housing, Scene
from photonsim.workshop.mounts import (
    Mount,
    board_words,
    mounts_of,
    wall_across_mm,
    wall_reach_mm,
)
from photonsim.workshop.pieces import Line, Note, Piece, Point

SIDES = ("wall at low y", "wall at high x", "wall at high y", "wall at low x")
# What is thicker breaks where it should fold.
THICKEST_FOLDED_MM = 1.0


def walls_of(scene: Scene, flap_mm: float) -> list[Piece]:
    """Return the pieces that make the walls; none for open sides."""
    if scene.housing.stock_mm > THICKEST_FOLDED_MM:
        return _boards(scene)
    net = wall_net(scene, flap_mm)
    return [] if net is None else [net]


def _boards(scene: Scene) -> list[Piece]:
    """Return two boards that stand between two others, each pair once, seen from outside.

    Inner faces keep the scene's sizes: the pair at low and high x covers the ends of the other.
    """
    mounts = mounts_of(scene)
    reach = wall_reach_mm(scene, mounts)
    if reach is None:
        return []
    bevel = ""
    if scene.housing.walls is not None and scene.housing.walls.taper_deg:
        bevel = f"; bevel the edges by the taper of {scene.housing.walls.taper_deg:g}°"
    pieces = []
    for axis, own, more, where in (
        (0, "y", 0.0, "stands between the walls at low and high x"),
        (1, "x", wall_across_mm(scene), "covers the ends of the walls at low and high y"),
    ):
        corners = _trapezoid(scene.housing, reach, axis, more)
        (note,) = _names([corners], [f"wall at low and at high {own}\n{where}"])
        pieces.append(
            Piece(
                name=f"walls at low and high {own}",
                material=board_words(scene, ""),
                outline=corners,
                copies=2,
                lines=tuple(_height_marks(mounts, [corners], reach)),
                notes=(note,),
                remark=where + bevel + _heights(mounts, reach),
            )
        )
    return pieces


def wall_net(scene: Scene, flap_mm: float) -> Piece | None:
    """Return the walls as one net, seen from outside the box; None for open sides.

    Each wall of a box with the draft angle t, between the heights a and b, is a trapezoid: the
    openings at a and b are its parallel sides, (b - a)/cos t is the distance between them. They
    hang together by their slanted edges, so a tapered net bends. Flaps: one along the last slanted
    edge, to close the box; and, where the walls stand on the base, one along each lower edge, to
    glue to the board outside the box. Sizes are those of the inner faces.
    """
    housing, mounts = scene.housing, mounts_of(scene)
    reach = wall_reach_mm(scene, mounts)
    if reach is None:
        return None
    panels = [_trapezoid(housing, reach, side % 2) for side in range(4)]
    placed = [panels[0]]
    for panel in panels[1:]:
        placed.append(_hinged(panel, placed[-1][1], placed[-1][2]))
    stands = reach[0] == 0.0
    folds = [Line("fold", (before[1], before[2]), closed=False) for before in placed]
    lower: list[Point] = []
    for corners in placed:
        if stands:
            lower += [corners[0], *_flap(corners[0], corners[1], flap_mm)]
            folds.append(Line("fold", (corners[0], corners[1]), closed=False))
        else:
            lower.append(corners[0])
    lower.append(placed[-1][1])
    closing = _flap(placed[-1][1], placed[-1][2], flap_mm)
    upper = [placed[-1][2], *(corners[3] for corners in reversed(placed))]
    return Piece(
        name="walls",
        material="wall sheet",
        outline=tuple(_without_doubles([*lower, *closing, *upper])),
        lines=(*folds, *_height_marks(mounts, placed, reach)),
        notes=tuple(_names(placed, SIDES)),
        remark="seen from outside; score and fold back along the dashed lines; sizes are those of "
        "the inner faces" + _heights(mounts, reach) + "; for board thicker than "
        f"{THICKEST_FOLDED_MM:g} mm give housing.stock_mm",
    )


def _trapezoid(
    housing: Housing, reach: tuple[float, float], axis: int, more: float = 0.0
) -> tuple[Point, ...]:
    """Return one wall in its own plane: lower left, lower right, upper right, upper left.

    By `more` mm it reaches beyond the box's inside at either end.
    """
    bottom, top = (0.5 * housing.opening_mm(z)[axis] + more for z in reach)
    taper = math.radians(housing.walls.taper_deg) if housing.walls else 0.0
    slant = (reach[1] - reach[0]) / math.cos(taper)
    return (-bottom, 0.0), (bottom, 0.0), (top, slant), (-top, slant)


def _hinged(panel: Sequence[Point], low: Point, high: Point) -> tuple[Point, ...]:
    """Move a wall so that its left edge lies on the edge from `low` to `high`."""
    own_x, own_y = panel[3][0] - panel[0][0], panel[3][1] - panel[0][1]
    turn = math.atan2(high[1] - low[1], high[0] - low[0]) - math.atan2(own_y, own_x)
    cosine, sine = math.cos(turn), math.sin(turn)
    first_x, first_y = panel[0]
    return tuple(
        (
            low[0] + cosine * (x - first_x) - sine * (y - first_y),
            low[1] + sine * (x - first_x) + cosine * (y - first_y),
        )
        for x, y in panel
    )


def _flap(start: Point, end: Point, width: float) -> tuple[Point, Point]:
    """Return the two outer corners of a flap to the right of an edge, its ends cut at 45°."""
    length = math.dist(start, end)
    inset = min(width, 0.4 * length)
    along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    out = (along[1], -along[0])
    return (
        (
            start[0] + inset * along[0] + width * out[0],
            start[1] + inset * along[1] + width * out[1],
        ),
        (end[0] - inset * along[0] + width * out[0], end[1] - inset * along[1] + width * out[1]),
    )


def _height_marks(
    mounts: Sequence[Mount], placed: Sequence[Sequence[Point]], reach: tuple[float, float]
) -> list[Line]:
    """Mark on every wall where both faces of what it holds lie: the slots, if they are cut in."""
    marks = []
    heights = [z for one in mounts if one.in_box for z in dict.fromkeys((one.low_mm, one.high_mm))]
    for z in heights:
        share = (z - reach[0]) / (reach[1] - reach[0])
        if 0.0 < share < 1.0:
            for low_left, low_right, high_right, high_left in placed:
                ends = (
                    _between(low_left, high_left, share),
                    _between(low_right, high_right, share),
                )
                marks.append(Line("mark", ends, closed=False))
    return marks


def _heights(mounts: Sequence[Mount], reach: tuple[float, float]) -> str:
    inside = [
        f"{one.name} {one.low_mm:g}" + f" to {one.high_mm:g}" * (one.high_mm > one.low_mm)
        for one in mounts
        if one.in_box
    ]
    lines = f"; fine lines, in mm above the base: {', '.join(inside)}" if inside else ""
    return f"{lines}; upper edge at {reach[1]:g} mm"


def _names(placed: Sequence[Sequence[Point]], names: Sequence[str]) -> list[Note]:
    notes = []
    for name, corners in zip(names, placed, strict=True):
        low_left, low_right, high_right, high_left = corners
        centre = tuple(sum(corner[axis] for corner in corners) / 4.0 for axis in (0, 1))
        turn = math.degrees(math.atan2(low_right[1] - low_left[1], low_right[0] - low_left[0]))
        bottom, top = math.dist(low_left, low_right), math.dist(high_left, high_right)
        slant = math.dist(_between(low_left, low_right, 0.5), _between(high_left, high_right, 0.5))
        edges = f"{bottom:.1f}" if math.isclose(bottom, top) else f"{bottom:.1f} to {top:.1f}"
        notes.append(Note((centre[0], centre[1]), f"{name}\n{edges} × {slant:.1f} mm", turn))
    return notes


def _between(start: Point, end: Point, share: float) -> Point:
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])


def _without_doubles(points: Sequence[Point]) -> list[Point]:
    kept: list[Point] = []
    for point in points:
        if not kept or math.dist(kept[-1], point) > 1e-9:
            kept.append(point)
    return kept
