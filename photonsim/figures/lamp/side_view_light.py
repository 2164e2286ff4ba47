"""Traced light in a side view, and the way on towards the screen."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection

from photonsim.arrays import Reals
from photonsim.figures.lamp.side_view_parts import SIDES
from photonsim.figures.style import COLLECTED, group_style
from photonsim.results import LightPath
from photonsim.scene import Scene

# More would hide the lamp.
MOST_OF_GROUP = 30


def draw_paths(axes: Axes, paths: Sequence[LightPath], axis: str) -> None:
    """Draw the first paths of each group; the light that makes the picture on top of the rest."""
    for group in sorted({path.group for path in paths}, key=lambda name: (name == "stop", name)):
        style, through = group_style(group), group == "stop"
        lines = LineCollection(
            [path.points[:, (2, SIDES[axis])] for path in _of_group(paths, group)],
            colors=style.colour,
            linewidths=0.8 if through else 0.55,
            linestyles=[style.dashes],
            alpha=0.9 if through else 0.6,
            zorder=2.5 if through else 2.0,
        )
        axes.add_collection(lines, autolim=False)


def draw_hint(axes: Axes, scene: Scene, paths: Sequence[LightPath], axis: str) -> None:
    """Draw paths on from the last part towards where their panel points are imaged.

    By first-order optics: the place on the screen is the magnification times that on the panel.
    """
    projection = scene.projection
    if projection is None:
        return
    edge = axes.get_xlim()[1]
    lines = []
    for path in _of_group(paths, "stop"):
        z, side = path.points[:, 2], path.points[:, SIDES[axis]]
        landing = projection.magnification * _at_panel(z, side, scene.panel.z_mm)
        slope = (landing - side[-1]) / (projection.screen_mm - z[-1])
        lines.append([(z[-1], side[-1]), (edge, side[-1] + slope * (edge - z[-1]))])
    rays = LineCollection(lines, colors=COLLECTED, linewidths=0.5, alpha=0.35, zorder=1.5)
    axes.add_collection(rays, autolim=False)


def _of_group(paths: Sequence[LightPath], group: str) -> list[LightPath]:
    return [path for path in paths if path.group == group][:MOST_OF_GROUP]


def _at_panel(z: Reals, side: Reals, panel_z: float) -> float:
    """Return where a path crossed the panel for the last time."""
    last = np.flatnonzero(z[:-1] <= panel_z)[-1]
    share = (panel_z - z[last]) / ((z[last + 1] - z[last]) or 1.0)
    return float(side[last] + share * (side[last + 1] - side[last]))
