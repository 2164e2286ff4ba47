"""Side view: the lamp to scale in both planes, with traced light."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from photonsim.figures.lamp.flags import text_width_in, tiers
from photonsim.figures.lamp.side_view_parts import (
    COVERED_PT,
    SHEET_COLOURS,
    SIDES,
    draw_emitters,
    draw_housing,
    draw_train,
    half_extent_mm,
)
from photonsim.figures.style import (
    GREY,
    GROUP_STYLES,
    ORANGE,
    PALE,
    ShownFigure,
    group_style,
    plain_style,
    wrapped,
)
from photonsim.results import LightPath
from photonsim.scene import Scene

# The drawing is as wide as this, unless a long slim train would then be too low to be read.
WIDTH_IN = 6.4
WIDEST_IN = 17.0
TALLEST_IN = 6.6
LOWEST_PLANE_IN = 0.9

# z to the right and y up is seen from -x; z to the right and x up from +y.
VIEWS = {"y": "z (mm), seen from the side", "x": "z (mm), seen from above"}
LABEL_PT = 7.0
TIER_IN = 0.16
LEFT_IN, RIGHT_IN, BETWEEN_IN, BELOW_IN = 0.6, 0.15, 0.55, 1.0
MOST_GROUPS_NAMED = 8
# More would hide the lamp; paths through the stop are few, so all groups are cut to the same.
MOST_PATHS_OF_GROUP = 30


@plain_style()
def draw_side_view(scene: Scene, paths: Sequence[LightPath] = ()) -> Figure:
    """Return the lamp seen from the side (y, z) and from above (x, z), one scale for all.

    `paths` are traced light, such as photonsim.engine.sample_paths gives, or none.
    """
    halves = {axis: half_extent_mm(scene, axis) for axis in ("y", "x")}
    end = max(scene.housing.depth_mm, *(part.end_mm for part in scene.train.values()))
    low = -0.04 * max(end, scene.housing.width_mm)
    scale = _inches_per_mm(end - low, halves)
    labels = _labels(scene)
    places = [z for z, _ in labels]
    widths = [text_width_in(words, LABEL_PT) / scale for _, words in labels]
    high = max(1.02 * end, *(z + w for z, w in zip(places, widths, strict=True)))
    levels = tiers(places, widths, gap=0.14 / scale)
    legend = _legend(scene, paths)
    flags_in = TIER_IN * (max(levels) + 1) + 0.1
    figure, planes = _canvas(scene, halves, (low, high), scale, flags_in, len(legend))
    for axis, axes in planes.items():
        _draw_plane(axes, scene, paths, axis, scale)
    _raise_flags(planes["y"], labels, levels, scale)
    figure.legend(
        handles=legend,
        loc="lower left",
        bbox_to_anchor=(LEFT_IN / figure.get_figwidth(), 0.0),
        ncols=_legend_columns(figure.get_figwidth()),
        borderaxespad=0.6,
    )
    return figure


def _inches_per_mm(length: float, halves: dict[str, float]) -> float:
    """Return the scale of the drawing."""
    scale = min(WIDTH_IN / length, 0.5 * TALLEST_IN / sum(halves.values()))
    if 2.0 * min(halves.values()) * scale < LOWEST_PLANE_IN:
        wanted = 0.5 * LOWEST_PLANE_IN / min(halves.values())
        scale = min(wanted, WIDEST_IN / length, 0.5 * TALLEST_IN / sum(halves.values()))
    return scale


def _canvas(
    scene: Scene,
    halves: dict[str, float],
    z_range: tuple[float, float],
    scale: float,
    flags_in: float,
    legend_entries: int,
) -> tuple[Figure, dict[str, Axes]]:
    """Return a figure with axes for both planes, placed by hand so that the scale is kept."""
    drawing_in = (z_range[1] - z_range[0]) * scale
    width = max(LEFT_IN + drawing_in + RIGHT_IN, 5.0)
    heights = {axis: 2.0 * half * scale for axis, half in halves.items()}
    title = wrapped(f"Side view: {scene.title or 'untitled'}", 0.075, width)
    title_in = 0.16 * (title.count("\n") + 1) + 0.12
    legend_in = 0.16 * -(-legend_entries // _legend_columns(width)) + 0.1
    height = title_in + flags_in + sum(heights.values()) + BETWEEN_IN + 0.45 + legend_in
    figure = ShownFigure(figsize=(width, height), facecolor="white")
    figure.suptitle(title, x=0.12 / width, y=1.0 - 0.08 / height, ha="left", va="top")
    planes = {}
    top = height - title_in - flags_in
    for axis, half in halves.items():
        bottom = top - heights[axis]
        box = (LEFT_IN / width, bottom / height, drawing_in / width, heights[axis] / height)
        axes = figure.add_axes(box)
        axes.set(xlim=z_range, ylim=(-half, half), ylabel=f"{axis} (mm)", xlabel=VIEWS[axis])
        axes.spines[["top", "right"]].set_visible(False)
        axes.locator_params(axis="y", nbins=max(3, min(7, int(heights[axis] / 0.3))))
        planes[axis] = axes
        top = bottom - BETWEEN_IN
    return figure, planes


def _legend_columns(width_in: float) -> int:
    return max(2, int((width_in - LEFT_IN) / 2.2))


def _draw_plane(
    axes: Axes, scene: Scene, paths: Sequence[LightPath], axis: str, scale: float
) -> None:
    axes.axhline(0.0, color=GREY, linewidth=0.5, linestyle=(0, (8, 2, 1, 2)), zorder=0)
    draw_housing(axes, scene, axis)
    draw_emitters(axes, scene, axis)
    draw_train(axes, scene, axis, 72.0 * scale)
    # The light that makes the picture lies on top of the rest.
    for group in sorted({path.group for path in paths}, key=lambda group: group == "stop"):
        style = group_style(group)
        members = [path for path in paths if path.group == group][:MOST_PATHS_OF_GROUP]
        lines = [path.points[:, (2, SIDES[axis])] for path in members]
        axes.add_collection(
            LineCollection(
                lines,
                colors=style.colour,
                linewidths=0.8 if group == "stop" else 0.55,
                linestyles=[style.dashes],
                alpha=0.9 if group == "stop" else 0.6,
                zorder=2.5 if group == "stop" else 2.0,
            ),
            autolim=False,
        )


def _labels(scene: Scene) -> list[tuple[float, str]]:
    """Return (height in mm, words) for every part, rising in height."""
    groups = [(group.z_mm, name) for name, group in scene.emitters.items()]
    if len(groups) > MOST_GROUPS_NAMED:
        groups = [(min(groups)[0], f"{len(groups)} groups of emitters")]
    parts = [(part.z_mm, name) for name, part in scene.train.items()]
    return [(z, f"{name}, {z:g} mm") for z, name in sorted(groups + parts)]


def _raise_flags(
    axes: Axes, labels: Sequence[tuple[float, str]], levels: Sequence[int], scale: float
) -> None:
    """Write the labels above an axes, each on a pole that goes on faintly to its part."""
    top = axes.get_ylim()[1]
    for (z, words), level in zip(labels, levels, strict=True):
        axes.axvline(z, 0.5, 1.0, color=PALE, linewidth=0.5, zorder=0)
        height = top + (TIER_IN * level + 0.06) / scale
        pole_top = height + 0.11 / scale
        axes.plot((z, z), (top, pole_top), color=GREY, linewidth=0.5, clip_on=False)
        axes.annotate(
            words,
            (z, height),
            xytext=(2.0, 0.0),
            textcoords="offset points",
            va="bottom",
            fontsize=LABEL_PT,
            annotation_clip=False,
        )


def _legend(scene: Scene, paths: Sequence[LightPath]) -> list[Line2D]:
    """Return samples of what is drawn: emitters, kinds of sheet, and light by its fate."""
    handles = [Line2D([], [], color=ORANGE, linewidth=2.4, label="emitters")]
    sheets = {part.kind: part.words for part in scene.train.values() if hasattr(part, "strips")}
    for kind, words in sheets.items():
        colour = SHEET_COLOURS.get(kind, GREY)
        handles.append(Line2D([], [], color=colour, linewidth=COVERED_PT, label=words))
    present = {path.group for path in paths}
    for group in [*GROUP_STYLES, *sorted(present - set(GROUP_STYLES))]:
        if group in present:
            style = group_style(group)
            count = sum(1 for path in paths if path.group == group)
            drawn = f" ({MOST_PATHS_OF_GROUP} drawn)" if count > MOST_PATHS_OF_GROUP else ""
            words = f"{style.words}: {count} of {len(paths)}{drawn}"
            handles.append(Line2D([], [], color=style.colour, linestyle=style.dashes, label=words))
    return handles
