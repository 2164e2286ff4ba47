"""Rays near the axis through lenses, face by face: where things are imaged, the stop appears.

For one lens image_of is 1/s + 1/s' = 1/f and m = -s'/s (E. Hecht, Optics, section 5.2).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from photonsim.arrays import Reals
from photonsim.scene import Bend, follow


@dataclass(frozen=True)
class ThinLens:
    """A thin lens at z_mm, real or reckoned: no limits of a scene file bind its figures.

    `conjugates_mm` are the distances (lamp side, screen side) of the points that it images without
    aberration, None for infinity. A rectangular sheet has `sides_mm`, and its diagonal as diameter.
    One that stands for a thick lens has its principal planes `hiatus_mm` apart, z_mm midway between
    them: light goes straight on from the one to the other (Hecht, section 6.1).
    """

    z_mm: float
    focal_mm: float
    diameter_mm: float
    conjugates_mm: tuple[float | None, float | None]
    transmittance: float = 1.0
    sides_mm: tuple[float, float] | None = None
    hiatus_mm: float = 0.0

    @property
    def front_mm(self) -> float:
        """The plane in mm where light from the lamp's side comes to it."""
        return self.z_mm - 0.5 * self.hiatus_mm

    @property
    def back_mm(self) -> float:
        """The plane in mm where light to the screen's side leaves it."""
        return self.z_mm + 0.5 * self.hiatus_mm

    def margin_mm2(self, places: Reals) -> Reals:
        """Return by how much the rim clears places [..., 2] in mm, squared; negative beyond it."""
        if self.sides_mm is None:
            return np.asarray(0.25 * self.diameter_mm**2 - (places**2).sum(axis=-1))
        return np.asarray((0.25 * np.square(self.sides_mm) - places**2).min(axis=-1))


@dataclass(frozen=True)
class Image:
    """An image on the axis: its height z in mm (infinite if so) and its lateral magnification."""

    z_mm: float
    magnification: float


def image_of(z_mm: float, bends: Sequence[Bend]) -> Image:
    """Where an axis point at z_mm before lenses is imaged by all of their faces, in turn."""
    last = bends[-1].z_mm
    return _crossing(last, *follow(0.0, 1.0, z_mm, last, bends))


def parallel_focus(bends: Sequence[Bend]) -> float:
    """The height z in mm at which light that comes parallel to the axis crosses it."""
    last = bends[-1].z_mm
    return _crossing(last, *follow(1.0, 0.0, bends[0].z_mm, last, bends)).z_mm


def image_back(z_mm: float, bends: Sequence[Bend]) -> Image:
    """Where a point at z_mm behind lenses appears when seen from before them."""
    first = bends[0].z_mm
    before = [1.0, *(bend.index_behind for bend in bends[:-1])]
    mirrored = [
        bend._replace(z_mm=-bend.z_mm, index_behind=index)
        for bend, index in zip(reversed(bends), reversed(before), strict=True)
    ]
    image = _crossing(-first, *follow(0.0, 1.0, -z_mm, -first, mirrored))
    return Image(-image.z_mm, image.magnification)


def _crossing(z_mm: float, height: float, slope: float) -> Image:
    # Rounding leaves a slope of about 1e-16 where the light is parallel.
    if abs(slope) < 1.0e-12 * max(1.0, abs(height)):
        return Image(math.copysign(math.inf, -height * slope), math.inf)
    return Image(z_mm - height / slope, 1.0 / slope)


@dataclass(frozen=True)
class View:
    """The stop as the middle of the panel sees it, and the way from the panel's rim to it.

    `f_number` is the distance of the stop's image over its diameter, `half_angle_deg` the cone
    from the panel's middle to the stop's rim. For light from the panel's corner to the middle of
    the stop: `corner_leaves_deg` is its angle to the axis at the panel, positive towards the
    axis, `corner_arrives_deg` that at the stop.
    """

    f_number: float
    half_angle_deg: float
    corner_leaves_deg: float
    corner_arrives_deg: float


def view_of_stop(
    panel_z: float, corner_mm: float, stop_z: float, radius_mm: float, bends: Sequence[Bend]
) -> View | None:
    """How the panel sees the stop; None where the stop lies in an image of the panel.

    With the ray matrix ((A, B), (C, D)) from panel to stop: N = |B| / 2 r, tan θ = r / |B|, and
    light from a height h to the stop's middle leaves with the slope -A h / B.
    """
    a, c = follow(1.0, 0.0, panel_z, stop_z, bends)
    b, d = follow(0.0, 1.0, panel_z, stop_z, bends)
    if abs(b) < 1.0e-9 * (stop_z - panel_z):
        return None
    leaves = -a * corner_mm / b
    arrives = c * corner_mm + d * leaves
    return View(
        f_number=0.5 * abs(b) / radius_mm,
        half_angle_deg=math.degrees(math.atan(radius_mm / abs(b))),
        corner_leaves_deg=math.degrees(math.atan(-leaves)),
        corner_arrives_deg=math.degrees(math.atan(abs(arrives))),
    )
