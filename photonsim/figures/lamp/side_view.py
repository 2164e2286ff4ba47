"""Side view: lamp and train to scale in both planes, the lamp once more larger, traced light."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from photonsim.figures.lamp.flags import tiers
from photonsim.figures.lamp.side_view_light import MOST_OF_GROUP, draw_hint, draw_paths
from photonsim.figures.lamp.side_view_parts import (
    ACROSS,
    COVERED_PT,
    IN_PLANE,
    draw_emitters,
    draw_housing,
    draw_train,
    half_extent_mm,
    lamp_extent_mm,
)
from photonsim.figures.layout import (
    ShownFigure,
    shortened,
    text_width_in,
    wrapped,
    write_small_print,
)
from photonsim.figures.style import (
    BLACK,
    EMITTERS,
    GREY,
    GROUP_STYLES,
    PALE,
    PRINT,
    SHEETS,
    Look,
    group_style,
    plain_style,
)
from photonsim.results import LightPath
from photonsim.scene import Scene
from photonsim.scene.polariser import pass_axis_deg
from photonsim.scene.stands import stands_of

TALLEST_IN = 5.0
# The lamp is drawn once more, so high at most, where that makes it larger by this factor.
LAMP_IN, LARGER = 2.2, 1.4

# z to the right and y up is seen from -x; z to the right and x up from +y.
VIEWS = {"y": "z (mm), seen from the side", "x": "z (mm), seen from above"}
LABEL_PT = 7.0
LABEL_IN = 1.7
TIER_IN = 0.16
LEFT_IN, RIGHT_IN, BETWEEN_IN = 0.6, 0.1, 0.5
HANDLE_IN = 0.55
# A plane lower than this has room for one number.
LOW_IN = 0.5
MOST_GROUPS_NAMED = 8


class Frame(NamedTuple):
    """What a drawing shows: z from low to high, and half as wide as tall in y and x, in mm.

    `scale` is in inches a mm.
    """

    low: float
    high: float
    halves: dict[str, float]
    scale: float

    def height_in(self, axis: str) -> float:
        """The height in inches of the plane of an axis and z."""
        return 2.0 * self.halves[axis] * self.scale


@plain_style()
def draw_side_view(scene: Scene, paths: Sequence[LightPath] = (), look: Look = PRINT) -> Figure:
    """Return the lamp seen from the side (y, z) and from above (x, z), one scale for both.

    `paths` are traced light, such as photonsim.engine.sample_paths gives, or none. Behind the last
    part, light that is through the stop goes on faintly, as chief rays do, towards the screen.
    """
    labels = _labels(scene)
    widths_in = [text_width_in(words, LABEL_PT) for _, words in labels]
    train = _train_frame(scene, look, [(z, w) for (z, _), w in zip(labels, widths_in, strict=True)])
    lamp = _lamp_frame(scene, look, LARGER * train.scale)
    widths = [width / train.scale for width in widths_in]
    levels = tiers([z for z, _ in labels], widths, gap=0.14 / train.scale)
    legend, columns = _legend(scene, paths, look)
    note = _note(scene, paths, look)
    flags_in = TIER_IN * (max(levels) + 1) + 0.1
    below_in = 0.16 * -(-len(legend) // columns) + 0.14 + 0.11 * len(note.splitlines())
    figure, planes = _canvas(scene, train, lamp, look, flags_in, below_in)
    for (axis, whole), axes in planes.items():
        draw_plane(axes, scene, paths, axis, train.scale if whole else lamp.scale if lamp else 1.0)
    _raise_flags(planes["y", True], labels, levels, train.scale)
    figure.legend(
        handles=legend,
        loc="lower left",
        bbox_to_anchor=(0.0, 0.11 * len(note.splitlines()) / figure.get_figheight()),
        ncols=columns,
        borderaxespad=0.6,
    )
    write_small_print(figure, note, False, 0.04 / figure.get_figheight())
    return figure


def draw_plane(
    axes: Axes, scene: Scene, paths: Sequence[LightPath], axis: str, scale: float
) -> None:
    """Draw the lamp and its light in the plane of an axis, 'x' or 'y', and z on axes.

    The limits of the axes are set already; `scale` is how many inches they show a mm in.
    """
    axes.axhline(0.0, color=GREY, linewidth=0.5, linestyle=(0, (8, 2, 1, 2)), zorder=0)
    draw_housing(axes, scene, axis)
    draw_emitters(axes, scene, axis)
    draw_train(axes, scene, axis, 72.0 * scale)
    draw_paths(axes, paths, axis)
    draw_hint(axes, scene, paths, axis)


def _train_frame(scene: Scene, look: Look, labels: Sequence[tuple[float, float]]) -> Frame:
    """Return the frame of all parts, with room for labels given as (place in mm, width in)."""
    halves = {axis: half_extent_mm(scene, axis) for axis in ("y", "x")}
    end = max(scene.housing.depth_mm, *(part.end_mm for part in scene.train.values()))
    low = -0.04 * max(end, scene.housing.width_mm)
    room_in = look.width_in - LEFT_IN - RIGHT_IN
    scale = min(
        room_in / (1.02 * end - low),
        *((room_in - width) / (z - low) for z, width in labels),
        0.5 * TALLEST_IN / sum(halves.values()),
    )
    return Frame(low, low + room_in / scale, halves, scale)


def _lamp_frame(scene: Scene, look: Look, least: float) -> Frame | None:
    """Return the frame of the lamp alone, two planes of which stand side by side.

    None where its scale would not reach a least one.
    """
    end, halves = lamp_extent_mm(scene)
    low = -0.06 * end
    room_in = 0.5 * (look.width_in - 2.0 * LEFT_IN - RIGHT_IN)
    scale = min(room_in / (end - low), 0.5 * LAMP_IN / max(halves.values()))
    return Frame(low, end, halves, scale) if scale >= least else None


def _canvas(
    scene: Scene, train: Frame, lamp: Frame | None, look: Look, flags_in: float, below_in: float
) -> tuple[Figure, dict[tuple[str, bool], Axes]]:
    """Return a figure with axes by (axis, whether of the whole train), placed to keep scales."""
    title = wrapped(f"Side view: {scene.title or 'untitled'}", 0.075, look.width_in)
    title_in = 0.16 * (title.count("\n") + 1) + 0.12
    lamp_in = max(map(lamp.height_in, lamp.halves)) + BETWEEN_IN + 0.2 if lamp else 0.0
    planes_in = sum(train.height_in(axis) for axis in train.halves)
    height = title_in + flags_in + planes_in + BETWEEN_IN + lamp_in + 0.4 + below_in
    figure = ShownFigure(figsize=(look.width_in, height), facecolor="white")
    figure.suptitle(title, x=0.12 / look.width_in, y=1.0 - 0.08 / height, ha="left", va="top")
    planes = {}
    top = height - title_in - flags_in
    for axis in train.halves:
        top -= train.height_in(axis)
        planes[axis, True] = _plane(figure, train, axis, LEFT_IN, top)
        top -= BETWEEN_IN
    if lamp is not None:
        for number, axis in enumerate(lamp.halves):
            left = LEFT_IN + 0.5 * number * (look.width_in - RIGHT_IN)
            axes = _plane(figure, lamp, axis, left, top - 0.2 - lamp.height_in(axis))
            axes.set_title(f"the lamp, {lamp.scale / train.scale:.1f} times larger", fontsize=7.0)
            planes[axis, False] = axes
    return figure, planes


def _plane(figure: Figure, frame: Frame, axis: str, left: float, bottom: float) -> Axes:
    """Return axes for a frame with the lower left corner at a place in inches."""
    width, height = figure.get_size_inches()
    drawn = (frame.high - frame.low) * frame.scale
    box = (left / width, bottom / height, drawn / width, frame.height_in(axis) / height)
    axes = figure.add_axes(box)
    half = frame.halves[axis]
    limits = (frame.low, frame.high)
    axes.set(xlim=limits, ylim=(-half, half), ylabel=f"{axis} (mm)", xlabel=VIEWS[axis])
    axes.spines[["top", "right"]].set_visible(False)
    if frame.height_in(axis) < LOW_IN:
        axes.set_yticks([0.0])
    else:
        axes.locator_params(axis="y", nbins=max(2, min(7, int(frame.height_in(axis) / 0.3))))
    axes.locator_params(axis="x", nbins=max(2, int(drawn / 0.5)))
    return axes


def _labels(scene: Scene) -> list[tuple[float, str]]:
    """Return (height in mm, words) for every part, rising in height."""
    groups = [(stand.z_mm, name) for name, stand in stands_of(scene).items()]
    if len(groups) > MOST_GROUPS_NAMED:
        groups = [(min(groups)[0], f"{len(groups)} groups of emitters")]
    parts = [(part.z_mm, name) for name, part in scene.train.items()]
    named = sorted(groups + parts)
    return [(z, f"{shortened(name, LABEL_IN, LABEL_PT)}, {z:g} mm") for z, name in named]


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


def _legend(scene: Scene, paths: Sequence[LightPath], look: Look) -> tuple[list[Line2D], int]:
    """Return samples of emitters, kinds of sheet, and light by its fate, and their columns."""
    handles = [Line2D([], [], color=EMITTERS, linewidth=2.4, label="emitters")]
    sheets = {part.kind: part.words for part in scene.train.values() if hasattr(part, "strips")}
    for kind, words in sheets.items():
        colour = SHEETS.get(kind, GREY)
        handles.append(Line2D([], [], color=colour, linewidth=COVERED_PT, label=words))
    if any(pass_axis_deg(part) is not None for part in scene.train.values()):
        for mark, words in ((IN_PLANE, "field that passes, in this plane"), (ACROSS, "across it")):
            handles.append(Line2D([], [], color=BLACK, ls="", marker=mark, mfc="w", label=words))
    counts = Counter(path.group for path in paths)
    for group in [*GROUP_STYLES, *sorted(set(counts) - set(GROUP_STYLES))]:
        if group in counts:
            style = group_style(group)
            label = f"{style.words}: {counts[group]:,}"
            handles.append(Line2D([], [], color=style.colour, linestyle=style.dashes, label=label))
    widest = max(text_width_in(str(handle.get_label()), LABEL_PT) for handle in handles)
    return handles, max(1, int((look.width_in - 0.1) / (widest + HANDLE_IN)))


def _note(scene: Scene, paths: Sequence[LightPath], look: Look) -> str:
    """Return how many paths were traced and drawn, and where the faint rays lead."""
    if not paths:
        return ""
    words = f"{len(paths):,} paths traced; {MOST_OF_GROUP} of a kind are drawn at most"
    projection = scene.projection
    if projection is not None:
        words += f"; pale: on to the screen, {projection.throw_mm:,.0f} mm beyond the last part"
    return wrapped(words, 0.047, look.width_in)
