"""Where along the axis each part is held, by which board, and what that leaves of the walls."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from photonsim.scene import LightPlate, RealLens, Scene
from photonsim.scene.part import Part
from photonsim.scene.real_lens import cemented
from photonsim.scene.sheet import Sheet
from photonsim.workshop.pieces import Point

# Room to glue or screw a plate around its window.
PLATE_BORDER_MM = 15.0
# With less than this about its window a plate breaks: the walls hold a square sheet without one.
LEAST_BORDER_MM = 3.0
# Parts that seem to overlap by less than this touch.
SLACK_MM = 1e-6


@dataclass(frozen=True)
class Mount:
    """What holds a part: a plate with a window, or, of a sheet, the sheet itself.

    Seen from the screen it is as large as `size_mm`; along the axis it reaches from `low_mm` to
    `high_mm`. `in_box` tells that walls hold it; `clash` names a part that is in its way.
    """

    name: str
    z_mm: float
    low_mm: float
    high_mm: float
    size_mm: Point
    is_plate: bool
    in_box: bool
    clash: str = ""

    @property
    def middle_mm(self) -> float:
        """The height halfway through what holds the part."""
        return 0.5 * (self.low_mm + self.high_mm)

    @property
    def label(self) -> str:
        """The part and its height, and where its plate stands if not in that plane alone."""
        words = f"{self.name} {self.z_mm:.1f}"
        if not self.is_plate or self.low_mm == self.high_mm == self.z_mm:
            return words
        end = f" to {self.high_mm:.1f}" if self.high_mm > self.low_mm else ""
        return f"{words} (plate {self.low_mm:.1f}{end})"


def mounts_of(scene: Scene) -> list[Mount]:
    """Return what holds each part, in order along the axis.

    A plate stands on the lamp's side of its part, or on the screen's where another part is in the
    way. Of lenses cemented together the first is held.
    """
    parts = list(scene.train.items())
    found: list[Mount] = []
    behind = ("", 0.0)
    for k, (name, part) in enumerate(parts):
        ahead = (parts[k + 1][0], parts[k + 1][1].z_mm) if k + 1 < len(parts) else ("", math.inf)
        if isinstance(part, Sheet | LightPlate):
            size = _sheet_size(scene, name, part)
            between = _between_walls(scene, part.z_mm)
            mount = Mount(name, part.z_mm, part.z_mm, part.end_mm, size, False, between)
        elif k > 0 and cemented(parts[k - 1][1], part):
            behind = (name, max(behind[1], part.end_mm))
            continue
        else:
            mount = _plate(scene, name, part, behind, ahead)
        found.append(mount)
        behind = (name, max(mount.high_mm, part.end_mm))
    return found


def wall_reach_mm(scene: Scene, mounts: Sequence[Mount]) -> tuple[float, float] | None:
    """Return between which heights in mm walls are cut: plates on their rim shorten them."""
    reach = scene.housing.wall_range_mm
    if reach is None:
        return None
    on_rim = [one.low_mm for one in mounts if one.is_plate and one.z_mm >= reach[1]]
    return reach[0], min([reach[1], *(low for low in on_rim if low > reach[0])])


def board_words(scene: Scene, otherwise: str) -> str:
    """Return what a piece of the box is cut from, by thickness if the scene gives it."""
    stock = scene.housing.stock_mm
    return f"{stock:g} mm board" if stock else otherwise


def wall_across_mm(scene: Scene) -> float:
    """Return how much of the way across a wall's board takes: it leans by the taper."""
    walls = scene.housing.walls
    return scene.housing.stock_mm / math.cos(math.radians(walls.taper_deg)) if walls else 0.0


def _plate(
    scene: Scene, name: str, part: Part, behind: tuple[str, float], ahead: tuple[str, float]
) -> Mount:
    stock = scene.housing.stock_mm
    lamp_rim, screen_rim = _rims(part)
    clash = ""
    low = lamp_rim - stock
    if low < behind[1] - SLACK_MM:
        clash = behind[0]
        if screen_rim + stock <= ahead[1] + SLACK_MM:
            low, clash = screen_rim, ""
    high = low + stock
    width, height = part.outline_mm
    needed = (width or 0.0, height or 0.0)
    between = _between_walls(scene, part.z_mm)
    size = _plate_size(scene, part.z_mm, (low, high), needed, between)
    is_round = len(set(part.outline_keys)) == 1
    if between and not is_round and min(np.subtract(size, needed)) < 2.0 * LEAST_BORDER_MM:
        return Mount(name, part.z_mm, part.z_mm, part.end_mm, needed, False, True)
    return Mount(name, part.z_mm, low, high, size, True, between, clash)


def _rims(part: Part) -> tuple[float, float]:
    """Return the heights in mm of a part's two faces where a plate meets them: at their rims."""
    if not isinstance(part, RealLens):
        return part.z_mm, part.end_mm
    (lamp,), (screen,) = part.profile_mm([0.5 * part.diameter_mm])
    return part.z_mm + lamp, part.end_mm + screen


def _between_walls(scene: Scene, z_mm: float) -> bool:
    reach = scene.housing.wall_range_mm
    return reach is not None and reach[0] <= z_mm < reach[1]


def _sheet_size(scene: Scene, name: str, part: Sheet | LightPlate) -> Point:
    """Return the size to cut: what follows the opening must pass at both of the sheet's faces."""
    width, height = scene.part_size_mm(name)
    if part.end_mm > scene.housing.depth_mm:
        return width, height
    far = scene.housing.opening_mm(part.end_mm)
    return (
        width if part.width_mm is not None else min(width, far[0]),
        height if part.height_mm is not None else min(height, far[1]),
    )


def _plate_size(
    scene: Scene, z_mm: float, span: tuple[float, float], needed: Point, between: bool
) -> Point:
    """Return width and height of a plate: the opening inside the box, else with a border."""
    housing = scene.housing
    outside = (needed[0] + 2.0 * PLATE_BORDER_MM, needed[1] + 2.0 * PLATE_BORDER_MM)
    if z_mm > housing.depth_mm:
        return outside
    if between:
        ends = [housing.opening_mm(min(max(z, 0.0), housing.depth_mm)) for z in (z_mm, *span)]
        return min(width for width, _ in ends), min(height for _, height in ends)
    # On the rim of the walls, or where there are none: a border beyond the box as well.
    border = 2.0 * (PLATE_BORDER_MM + wall_across_mm(scene))
    opening = housing.opening_mm(z_mm)
    return max(outside[0], opening[0] + border), max(outside[1], opening[1] + border)
