"""The parts of a lamp as the side view draws them, to scale, in a plane through the axis."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.patches import Polygon, Rectangle

from photonsim.figures.style import BLACK, EMITTERS, GLASS, GREY, PANEL, SHEETS, WALLS
from photonsim.scene import ApertureStop, FresnelLens, IdealLens, Panel, RealLens, Scene, TrainPart
from photonsim.scene.polariser import pass_axis_deg
from photonsim.scene.stands import stands_of

SIDES = {"x": 0, "y": 1}

# Line widths in points: films are a quarter of a millimetre, too thin to be seen to scale.
COVERED_PT = 2.4
THINNEST_PT = 0.8
GAP_PT = 0.5
# Marks of the field that a polariser passes, in the drawing's plane and across it, and their
# places from the axis: as in textbooks, double arrows and dots.
IN_PLANE, ACROSS = "d", "o"
MARK_PT, LEAST_MARK_PT = 4.5, 1.2
MARK_PLACES = (-0.6, -0.2, 0.2, 0.6)
# More emitters than these in a row are drawn as one band.
MOST_EMITTERS = 400

# Discs of thin lenses are drawn in whole up to this many times the largest other part.
LARGEST_DISC = 1.4


def draw_housing(axes: Axes, scene: Scene, axis: str) -> None:
    """Draw the base and the walls, and a dotted line where the housing's sides are open.

    As artists, here and below: axes would work out how far each patch reaches, and limits are set.
    """
    housing = scene.housing
    side = SIDES[axis]
    thickness = 0.02 * max(housing.depth_mm, *housing.opening_mm(0.0))
    half = 0.5 * housing.opening_mm(0.0)[side]
    axes.add_artist(
        Rectangle(
            (-thickness, -half), thickness, 2.0 * half, fc=WALLS, ec=BLACK, lw=0.5, hatch="////"
        )
    )
    walls = housing.wall_range_mm
    edges = [0.0, *(walls or ()), housing.depth_mm]
    for start, end in itertools.pairwise(edges):
        if end <= start:
            continue
        low, high = (0.5 * housing.opening_mm(z)[side] for z in (start, end))
        for sign in (-1.0, 1.0):
            if walls is not None and (start, end) == walls:
                corners = [
                    (start, sign * low),
                    (end, sign * high),
                    (end, sign * (high + thickness)),
                    (start, sign * (low + thickness)),
                ]
                axes.add_artist(Polygon(corners, closed=True, fc=WALLS, ec=BLACK, lw=0.5))
            else:
                axes.plot((start, end), (sign * low, sign * high), ":", color=GREY, linewidth=0.8)


def draw_emitters(axes: Axes, scene: Scene, axis: str) -> None:
    """Draw every emitting face as a bar, on a post from the base or on an edge of a plate."""
    for stand in stands_of(scene).values():
        size, deep = stand.size_mm[SIDES[axis]], 0.5 * stand.size_mm[2]
        centres = stand.columns_mm if axis == "x" else stand.rows_mm
        if len(centres) > MOST_EMITTERS:
            size += centres[-1] - centres[0]
            centres = [0.5 * (centres[0] + centres[-1])]
        ends = [(centre - 0.5 * size, centre + 0.5 * size) for centre in centres]
        z = stand.z_mm
        if not deep:
            posts = [[(0.0, low), (z, low), (z, high), (0.0, high)] for low, high in ends]
            drawn = PolyCollection(posts, facecolors="#F6E3B4", edgecolors="none")
            axes.add_collection(drawn, autolim=False)
        below, above = (z - deep, z + deep) if size == 0.0 else (z, z)
        faces = LineCollection(
            [[(below, low), (above, high)] for low, high in ends],
            colors=EMITTERS,
            linewidths=2.4,
            capstyle="butt",
            zorder=4,
        )
        axes.add_collection(faces, autolim=False)


def draw_train(axes: Axes, scene: Scene, axis: str, points_per_mm: float) -> None:
    """Draw the parts of the train; a kind that has no symbol of its own as a plain sheet."""
    covered_pt = _covered_pt(scene, points_per_mm)
    for name, part in scene.train.items():
        half = 0.5 * scene.part_size_mm(name)[SIDES[axis]]
        if part.kind in _SYMBOLS:
            _SYMBOLS[part.kind](axes, part, half, axis)
        else:
            _draw_sheet(axes, part, half, axis, covered_pt)
        if (turn_deg := pass_axis_deg(part)) is not None:
            _draw_field(axes, part.z_mm, half, math.radians(turn_deg - 90.0 * SIDES[axis]))


def _covered_pt(scene: Scene, points_per_mm: float) -> float:
    """Return a line width for sheets at which those that lie close can still be told apart."""
    heights = [part.z_mm for part in scene.train.values()]
    closest = min((b - a for a, b in itertools.pairwise(heights)), default=math.inf)
    return min(COVERED_PT, max(0.6 * closest * points_per_mm, THINNEST_PT))


def _draw_sheet(axes: Axes, part: TrainPart, half: float, axis: str, covered_pt: float) -> None:
    """Draw a sheet: covered parts thick, gaps thin; whole if it is cut across the other axis."""
    colour = SHEETS.get(part.kind, GREY)
    strips = getattr(part, "strips", None)
    z = (part.z_mm, part.z_mm)
    if part.thickness_mm > 0.0:
        outline = Rectangle(
            (part.z_mm, -half), part.thickness_mm, 2.0 * half, fc=colour, ec="none", alpha=0.25
        )
        axes.add_artist(outline)
    axes.plot(z, (-half, half), color=colour, linewidth=GAP_PT, zorder=3)
    covered = [(-half, half)]
    if strips is not None and strips.across == axis:
        covered = strips.intervals_mm(-half, half)
    for interval in covered:
        axes.plot(z, interval, color=colour, linewidth=covered_pt, solid_capstyle="butt", zorder=3)


def _draw_field(axes: Axes, z: float, half: float, turn: float) -> None:
    """Mark the field that passes at a height, `turn` (radians) out of the drawing's plane."""
    for place, parts in zip(MARK_PLACES, 2 * (math.cos, math.sin), strict=True):
        size = MARK_PT * abs(parts(turn))
        if size > LEAST_MARK_PT:
            mark = IN_PLANE if parts is math.cos else ACROSS
            axes.plot(z, place * half, mark, ms=size, mfc="white", mec=BLACK, mew=0.6, zorder=3.5)


def _draw_panel(axes: Axes, part: Panel, half: float, axis: str) -> None:
    active = 0.5 * (part.active_width_mm if axis == "x" else part.active_height_mm)
    z, thickness = part.z_mm, part.thickness_mm
    axes.add_artist(
        Rectangle((z, -active), thickness, 2.0 * active, fc=PANEL, alpha=0.25, ec="none")
    )
    axes.plot((z, z), (-active, active), color=PANEL, linewidth=1.6, zorder=3)
    for start, end in ((-half, -active), (active, half)):
        axes.add_artist(
            Rectangle(
                (z, start), max(thickness, 0.1), end - start, fc=BLACK, ec=BLACK, lw=1.0, zorder=3
            )
        )


def _draw_lens(axes: Axes, part: IdealLens | FresnelLens, half: float, axis: str) -> None:
    """Draw the symbol of a thin lens: arrows point outwards if it converges, inwards if not.

    One that goes on past the drawing ends in dots there.
    """
    edge = axes.get_ylim()[1]
    shown = half if half < edge else 0.86 * edge
    axes.plot((part.z_mm,) * 2, (-shown, shown), color=BLACK, linewidth=1.0, zorder=3)
    outwards = part.focal_mm > 0.0
    for sign in (-1.0, 1.0):
        marker = "^" if (sign > 0.0) == outwards else "v"
        axes.plot(part.z_mm, sign * shown, marker, color=BLACK, markersize=4.5, zorder=3)
        if shown < half:
            axes.plot((part.z_mm,) * 2, (sign * shown, sign * edge), ":", color=BLACK, zorder=3)


def _draw_real_lens(axes: Axes, part: RealLens, half: float, axis: str) -> None:
    """Draw the section of a lens, face by face as it is."""
    heights = np.linspace(-half, half, 41).tolist()
    lamp, screen = map(np.asarray, part.profile_mm(heights))
    z = [*(part.z_mm + lamp), *(part.end_mm + screen)[::-1]]
    outline = list(zip(z, [*heights, *heights[::-1]], strict=True))
    axes.add_artist(Polygon(outline, fc=GLASS, ec=BLACK, lw=0.7, zorder=3))


def _draw_stop(axes: Axes, part: ApertureStop, half: float, axis: str) -> None:
    """Draw the opaque plate around the hole, as far as the drawing goes."""
    edge = axes.get_ylim()[1]
    for sign in (-1.0, 1.0):
        axes.plot(
            (part.z_mm,) * 2,
            (sign * half, sign * edge),
            color=BLACK,
            linewidth=2.4,
            solid_capstyle="butt",
            zorder=3,
        )


_SYMBOLS: dict[str, Callable[[Axes, Any, float, str], None]] = {
    "panel": _draw_panel,
    "ideal_lens": _draw_lens,
    "fresnel_lens": _draw_lens,
    "real_lens": _draw_real_lens,
    "aperture_stop": _draw_stop,
}


def half_extent_mm(scene: Scene, axis: str) -> float:
    """Return how far from the axis the drawing must reach in mm: the box and all but large discs.

    A disc of a thin lens that is much larger than the rest goes on past the edge of the drawing,
    or the lamp would shrink beside it.
    """
    side = SIDES[axis]
    sizes = [scene.housing.opening_mm(z)[side] for z in _housing_ends(scene)]
    discs: list[float] = []
    for name, part in scene.train.items():
        # Some of the plate around the hole is to be seen.
        room = 1.6 if part.kind == "aperture_stop" else 1.0
        thin_lens = part.kind in ("ideal_lens", "fresnel_lens")
        (discs if thin_lens else sizes).append(room * scene.part_size_mm(name)[side])
    sizes += [size for size in discs if size <= LARGEST_DISC * max(sizes)]
    return math.ceil(0.5 * 1.1 * max(sizes))


def lamp_extent_mm(scene: Scene) -> tuple[float, dict[str, float]]:
    """Return how far lamp and panel reach along z, and from the axis in y and x, in mm."""
    end = max(scene.housing.depth_mm, scene.panel.end_mm)
    panel = (scene.panel.active_width_mm, scene.panel.active_height_mm)
    halves: dict[str, float] = {}
    for axis in ("y", "x"):
        side = SIDES[axis]
        openings = [scene.housing.opening_mm(z)[side] for z in _housing_ends(scene)]
        halves[axis] = math.ceil(0.5 * 1.1 * max(*openings, panel[side]))
    # A field lens close to the panel is to be seen too.
    return 1.2 * end, halves


def _housing_ends(scene: Scene) -> tuple[float, ...]:
    return (0.0, scene.housing.depth_mm, *(scene.housing.wall_range_mm or ()))
