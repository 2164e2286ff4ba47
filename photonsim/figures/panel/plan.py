"""Where emitters and strips stand along an axis: what the structure of the light comes from."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.transforms import ScaledTranslation, blended_transform_factory

from photonsim.figures.style import EMITTERS, GREY, PANEL, SHEETS
from photonsim.scene import Scene
from photonsim.scene.stands import stands_of

Interval = tuple[float, float]
HATCHES = {
    "prism_film": "/////",
    "diffuser": ".....",
    "absorbing_polariser": "|||||",
    "reflective_polariser": "-----",
}
# Thickness of a row at a map's rim, and from the middle of one row to the next, in points.
RIM_PT, RIM_STEP_PT = 2.4, 3.4


class PlanRow(NamedTuple):
    """Parts along an axis: their name, the intervals in mm that they cover, colour and hatch.

    What is `low` stands at the lower or left edge of a light plate.
    """

    name: str
    intervals: Sequence[Interval]
    colour: str
    hatch: str
    low: bool = False


def plan_rows(scene: Scene, axis: str) -> list[PlanRow]:
    """Return the emitters and every sheet that is cut across an axis, 'x' or 'y'."""
    side = "xy".index(axis)
    lower = "-" + "yx"[side]
    rows = []
    for low in (False, True):
        emitters = [
            (centre - 0.5 * stand.size_mm[side], centre + 0.5 * stand.size_mm[side])
            for name, stand in stands_of(scene).items()
            if (scene.emitters[name].edge == lower) == low
            for centre in (stand.columns_mm if axis == "x" else stand.rows_mm)
        ]
        if emitters:
            rows.append(PlanRow("emitters", emitters, EMITTERS, "", low))
    for name, part in scene.train.items():
        strips = getattr(part, "strips", None)
        if strips is not None and strips.across == axis:
            half = 0.5 * scene.part_size_mm(name)[side]
            intervals = strips.intervals_mm(-half, half)
            colour, hatch = SHEETS.get(part.kind, GREY), HATCHES.get(part.kind, "")
            rows.append(PlanRow(name, intervals, colour, hatch))
    return rows


def draw_rim(axes: Axes, scene: Scene, thick: float = 1.0) -> None:
    """Outline a map of the panel, and lay emitters and strips along its upper and right rim.

    Emitters at the lower or left edge of a light plate stand there.
    """
    for spine in axes.spines.values():
        spine.set(color=PANEL, linewidth=1.2 * thick)
    for axis, limits in (("x", axes.get_xlim()), ("y", axes.get_ylim())):
        rows = sorted(plan_rows(scene, axis), key=lambda row: row.low)
        for place, row in enumerate(rows):
            rim, off = (0.0, -3.0) if row.low else (1.0, 3.0 + RIM_STEP_PT * place)
            off *= thick / 72.0
            shown = [(max(a, limits[0]), min(b, limits[1])) for a, b in row.intervals]
            lines = [(a, b) for a, b in shown if a < b]
            if axis == "x":
                ends = [[(a, rim), (b, rim)] for a, b in lines]
                move = ScaledTranslation(0.0, off, axes.figure.dpi_scale_trans)
                base = blended_transform_factory(axes.transData, axes.transAxes)
            else:
                ends = [[(rim, a), (rim, b)] for a, b in lines]
                move = ScaledTranslation(off, 0.0, axes.figure.dpi_scale_trans)
                base = blended_transform_factory(axes.transAxes, axes.transData)
            bars = LineCollection(
                ends, colors=row.colour, linewidths=RIM_PT * thick, capstyle="butt",
                transform=base + move, clip_on=False,
            )  # fmt: skip
            axes.add_collection(bars, autolim=False)


def rim_height_pt(scene: Scene, axis: str = "x", thick: float = 1.0) -> float:
    """Return how far the rows at the upper or right rim stand out of a map, in points."""
    rows = [row for row in plan_rows(scene, axis) if not row.low]
    return (3.0 + RIM_STEP_PT * len(rows)) * thick


def rim_words(scene: Scene) -> str:
    """Return what the rows at the rim are, from the map outwards."""
    names = dict.fromkeys(row.name for axis in "xy" for row in plan_rows(scene, axis))
    return f"at the rim, outwards: {', '.join(names)}"
