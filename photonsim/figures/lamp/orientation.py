"""Which way round: every way to mount panel, mirror and audience, and how the picture must lie."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Ellipse, Polygon, Rectangle

from photonsim.figures.layout import new_figure, wrapped
from photonsim.figures.style import (
    BLACK,
    EMITTERS,
    GLASS,
    GREY,
    PALE,
    PANEL,
    PRINT,
    Look,
    plain_style,
)
from photonsim.optics.orientation import Mounting

# The outline of a letter without any symmetry, in a square from -1 to 1.
LETTER = np.array(
    [(-0.6, -1), (-0.2, -1), (-0.2, -0.2), (0.4, -0.2), (0.4, 0.2), (-0.2, 0.2), (-0.2, 0.6),
     (0.7, 0.6), (0.7, 1), (-0.6, 1)]
)  # fmt: skip
# Places in a cell, in its own units; cells are wide and, by the way of the light, high:
AXIS, TURN_X, SCREEN_X, SCREEN_Y = 1.7, 5.6, 6.9, 4.9
WIDE, STRAIGHT, FOLDED = 14.8, 5.0, 6.3
MARGIN_IN, GAP_IN, ABOVE_IN, BELOW_IN = 0.1, 0.12, 0.38, 0.25
FOOT = (
    "The panel's dark edge (green) is its front. It stands upside down throughout, because the "
    "objective turns the picture by half a turn."
)
MIRRORS = {0: "no mirror, or two", 1: "one mirror, or three"}


@plain_style()
def draw_orientation(
    mountings: Sequence[Mounting],
    chosen: Mounting | None = None,
    title: str = "",
    look: Look = PRINT,
) -> Figure:
    """Return all mountings, two in a row where there is room for that, not to scale.

    The scene's own, `chosen`, is framed. A number of mirrors counts as even or odd.
    """
    words = "Which way round, seen from above and not to scale"
    framed = f"; framed: {title}" if title and chosen is not None else ""
    heading = wrapped(words + framed, 0.075, look.width_in)
    across = min(2 if look.width_in >= PRINT.width_in else 1, len(mountings))
    rows = [mountings[k : k + across] for k in range(0, len(mountings), across)]
    inch = (look.width_in - 2.0 * MARGIN_IN - (across - 1) * GAP_IN) / across / WIDE
    heights = [(FOLDED if row[0].mirrors % 2 else STRAIGHT) * inch for row in rows]
    foot = wrapped(FOOT, 0.052, look.width_in)
    lines = foot.count("\n") + heading.count("\n")
    whole = sum(heights) + GAP_IN * len(rows) + ABOVE_IN + BELOW_IN + 0.15 * lines
    figure = new_figure(look.width_in, whole)
    figure.set_layout_engine("none")
    top = whole - ABOVE_IN - 0.15 * heading.count("\n")
    for row, height in zip(rows, heights, strict=True):
        for k, mounting in enumerate(row):
            left = MARGIN_IN + k * (WIDE * inch + GAP_IN)
            axes = figure.add_axes(
                (left / look.width_in, (top - height) / whole,
                 WIDE * inch / look.width_in, height / whole)
            )  # fmt: skip
            _cell(axes, mounting, height / inch, chosen is not None and _alike(mounting, chosen))
        top -= height + GAP_IN
    figure.suptitle(heading, x=0.012, y=1.0 - 0.06 / whole, ha="left", va="top")
    figure.text(
        0.012, 0.06 / whole,
        foot,
        fontsize=6.5, color=GREY,
    )  # fmt: skip
    return figure


def _alike(one: Mounting, other: Mounting) -> bool:
    return (one.front_to_screen, one.watched_from_rear, one.mirrors % 2) == (
        other.front_to_screen,
        other.watched_from_rear,
        other.mirrors % 2,
    )


def _cell(axes: Axes, mounting: Mounting, high: float, framed: bool) -> None:
    axes.set(xlim=(0.0, WIDE), ylim=(0.0, high))
    axes.set_xticks([])
    axes.set_yticks([])
    for spine in axes.spines.values():
        spine.set(color=BLACK if framed else PALE, linewidth=2.0 if framed else 0.8)
    side = "screen" if mounting.front_to_screen else "lamp"
    sits = "behind the screen" if mounting.watched_from_rear else "on the projector's side"
    heading = f"Front to the {side}; {MIRRORS[mounting.mirrors % 2]}.\nAudience {sits}."
    axes.text(WIDE - 0.2, high - 0.2, heading, fontsize=6.2, va="top", ha="right", linespacing=1.3)
    _projector(axes, mounting.front_to_screen)
    if mounting.mirrors % 2:
        _folded(axes, mounting.watched_from_rear)
    else:
        _straight(axes, mounting.watched_from_rear)
    mirrored = "mirrored" if mounting.sent[0] < 0 else "as it is"
    _tile(axes, 9.2, mounting.sent, f"player\nsends\n{mirrored}")
    _tile(axes, 11.45, mounting.shown, "panel,\nseen from\nits front")
    _tile(axes, 13.7, (1, 1), "audience\nsees")


def _projector(axes: Axes, front_to_screen: bool) -> None:
    """Draw lamp, panel with its front in blue, and objective along the axis."""
    axes.add_patch(Rectangle((0.3, AXIS - 0.8), 0.5, 1.6, facecolor=EMITTERS, edgecolor="none"))
    axes.add_patch(Rectangle((1.3, AXIS - 0.8), 0.24, 1.6, facecolor=PALE, edgecolor=GREY))
    front = 1.54 if front_to_screen else 1.14
    axes.add_patch(Rectangle((front, AXIS - 0.8), 0.16, 1.6, facecolor=PANEL, edgecolor="none"))
    axes.add_patch(Ellipse((3.0, AXIS), 0.4, 1.3, facecolor=GLASS, edgecolor=GREY))


def _straight(axes: Axes, rear: bool) -> None:
    for y in (AXIS - 1.3, AXIS + 1.3):
        axes.plot([3.0, SCREEN_X], [AXIS, y], color=GREY, linewidth=0.6)
    axes.plot([SCREEN_X] * 2, [AXIS - 1.4, AXIS + 1.4], color=BLACK, linewidth=2.0)
    _watcher(axes, (SCREEN_X + 1.0, AXIS) if rear else (4.4, AXIS + 2.0), SCREEN_X, AXIS)


def _folded(axes: Axes, rear: bool) -> None:
    """Draw the beam turned by a mirror to a screen at the top."""
    for off in (-0.55, 0.55):
        axes.plot(
            [3.0, TURN_X + off, TURN_X + 1.9 * off],
            [AXIS, AXIS + off, SCREEN_Y],
            color=GREY,
            linewidth=0.6,
        )
    axes.plot([TURN_X - 0.9, TURN_X + 0.9], [AXIS - 0.9, AXIS + 0.9], color=GREY, linewidth=2.0)
    axes.text(TURN_X - 0.1, AXIS - 0.9, "mirror", fontsize=6.0, color=GREY, va="center")
    axes.plot([TURN_X - 1.4, TURN_X + 1.4], [SCREEN_Y] * 2, color=BLACK, linewidth=2.0)
    _watcher(axes, (TURN_X, SCREEN_Y + 0.75) if rear else (3.1, 3.6), TURN_X, SCREEN_Y)


def _watcher(axes: Axes, place: tuple[float, float], x: float, y: float) -> None:
    """Draw a head seen from above, its nose towards (x, y)."""
    way = np.array([x - place[0], y - place[1]])
    way /= np.hypot(*way)
    across = np.array([-way[1], way[0]])
    middle = np.array(place)
    nose = [middle + 0.52 * way, middle + 0.25 * across + 0.2 * way,
            middle - 0.25 * across + 0.2 * way]  # fmt: skip
    axes.add_patch(Polygon(nose, facecolor=BLACK, edgecolor="none"))
    axes.add_patch(Circle(place, 0.3, facecolor=BLACK, edgecolor="none"))


def _tile(axes: Axes, x: float, signs: tuple[int, int], words: str) -> None:
    """Draw a picture of the letter, laid out by signs (right, up), with words below."""
    axes.add_patch(Rectangle((x - 0.75, 1.85), 1.5, 1.5, facecolor="white", edgecolor=GREY))
    axes.add_patch(
        Polygon(LETTER * signs * 0.52 + (x, 2.6), facecolor=BLACK, edgecolor="none", closed=True)
    )
    axes.text(x, 1.7, words, fontsize=6.0, ha="center", va="top", linespacing=1.15)
