"""Rays near the axis through thin lenses: where things are imaged, where the stop appears.

A ray is a height y in mm and a slope u; a gap of d turns it into (y + d u, u), a thin lens into
(y, u - y / f) (E. Hecht, Optics, section 6.2).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace


@dataclass(frozen=True)
class ThinLens:
    """A thin lens at z_mm, real or reckoned: no limits of a scene file bind its figures.

    `conjugates_mm` are the distances (lamp side, screen side) of the points that it images without
    aberration, None for infinity.
    """

    z_mm: float
    focal_mm: float
    diameter_mm: float
    conjugates_mm: tuple[float | None, float | None]
    transmittance: float = 1.0


@dataclass(frozen=True)
class Image:
    """An image on the axis: its height z in mm (infinite if so) and its lateral magnification."""

    z_mm: float
    magnification: float


def trace(
    height: float, slope: float, z_from: float, z_to: float, lenses: Sequence[ThinLens]
) -> tuple[float, float]:
    """Return (height in mm, slope) at z_to of a ray that starts at z_from, both in mm.

    `lenses` lie between the two planes, in order along z; one at either end acts.
    """
    place = z_from
    for lens in lenses:
        height += (lens.z_mm - place) * slope
        slope -= height / lens.focal_mm
        place = lens.z_mm
    return height + (z_to - place) * slope, slope


def image_of(z_mm: float, lenses: Sequence[ThinLens]) -> Image:
    """Where an axis point at z_mm before the lenses is imaged by all of them, in turn.

    For one lens this is 1/s + 1/s' = 1/f and m = -s'/s.
    """
    last = lenses[-1].z_mm
    height, slope = trace(0.0, 1.0, z_mm, last, lenses)
    return _crossing(last, height, slope)


def parallel_focus(lenses: Sequence[ThinLens]) -> float:
    """The height z in mm at which light that comes parallel to the axis crosses it."""
    last = lenses[-1].z_mm
    return _crossing(last, *trace(1.0, 0.0, lenses[0].z_mm, last, lenses)).z_mm


def image_back(z_mm: float, lenses: Sequence[ThinLens]) -> Image:
    """Where a point at z_mm behind the lenses appears when seen from before them."""
    first = lenses[0].z_mm
    mirrored = [replace(lens, z_mm=-lens.z_mm) for lens in reversed(lenses)]
    image = _crossing(-first, *trace(0.0, 1.0, -z_mm, -first, mirrored))
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
    panel_z: float, corner_mm: float, stop_z: float, radius_mm: float, lenses: Sequence[ThinLens]
) -> View | None:
    """How the panel sees the stop; None where the stop lies in an image of the panel.

    With the ray matrix ((A, B), (C, D)) from panel to stop: N = |B| / 2 r, tan θ = r / |B|, and
    light from a height h to the stop's middle leaves with the slope -A h / B.
    """
    a, c = trace(1.0, 0.0, panel_z, stop_z, lenses)
    b, d = trace(0.0, 1.0, panel_z, stop_z, lenses)
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
