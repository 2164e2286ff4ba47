"""First-order optics of a train: where its lenses form the picture, and how large.

A ray near the axis is a height y in mm and a slope u. A gap of d turns it into (y + d u, u), a face
or thin lens of power P between indices n and n' into (y, (n u - P y) / n'), with P = (n' - n) c for
a face of curvature c (W. J. Smith, Modern Optical Engineering, 4th ed., ch. 3).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from photonsim.scene.fresnel_lens import FresnelLens
from photonsim.scene.ideal_lens import IdealLens
from photonsim.scene.panel import Panel
from photonsim.scene.part import Part
from photonsim.scene.real_lens import RealLens, cemented
from photonsim.scene.screen import Screen

LENSES = (IdealLens, RealLens, FresnelLens)


class Bend(NamedTuple):
    """A face or thin lens: height z in mm, power in 1/mm, index behind it, and its part's name."""

    z_mm: float
    power: float
    index_behind: float
    name: str


def bends_of(train: Mapping[str, Part], wavelength: float) -> list[Bend]:
    """Return the bends of all lenses among some parts at a wavelength in nm, in order along z."""
    found: list[Bend] = []
    before: RealLens | None = None
    for name, part in train.items():
        if isinstance(part, RealLens):
            index = part.index_at(wavelength)
            lamp, screen = part.curvatures
            if before is not None and cemented(before, part):
                inner = before.index_at(wavelength)
                found[-1] = Bend(part.z_mm, (index - inner) * lamp, index, name)
            else:
                found.append(Bend(part.z_mm, (index - 1.0) * lamp, index, name))
            found.append(Bend(part.end_mm, (1.0 - index) * screen, 1.0, name))
            before = part
        elif isinstance(part, IdealLens | FresnelLens):
            found.append(Bend(part.z_mm, 1.0 / part.focal_mm, 1.0, name))
            before = None
    return found


def follow(
    height: float, slope: float, z_from: float, z_to: float, bends: Sequence[Bend]
) -> tuple[float, float]:
    """Return (height in mm, slope) at z_to of a ray that starts at z_from in air, both in mm.

    `bends` lie between the two planes, in order along z; one at either end acts.
    """
    place, index = z_from, 1.0
    for bend in bends:
        height += (bend.z_mm - place) * slope
        slope = (index * slope - bend.power * height) / bend.index_behind
        place, index = bend.z_mm, bend.index_behind
    return height + (z_to - place) * slope, slope


@dataclass(frozen=True)
class Cardinal:
    """First-order data of a group of lenses in air, in mm.

    `focal_mm` is infinite for a group without power. Focal and principal planes are heights z.
    `petzval_mm` is the radius of the Petzval surface: -1 / sum of P / (n n').
    """

    focal_mm: float
    front_focus_mm: float
    back_focus_mm: float
    front_principal_mm: float
    back_principal_mm: float
    petzval_mm: float


def cardinal_of(bends: Sequence[Bend]) -> Cardinal:
    """Return the first-order data of bends that begin and end in air (Smith, ch. 3)."""
    first, last = bends[0].z_mm, bends[-1].z_mm
    a, c = follow(1.0, 0.0, first, last, bends)
    _, d = follow(0.0, 1.0, first, last, bends)
    curvature = 0.0
    index = 1.0
    for bend in bends:
        curvature -= bend.power / (index * bend.index_behind)
        index = bend.index_behind
    petzval = 1.0 / curvature if curvature else math.inf
    if abs(c) < 1.0e-12:
        return Cardinal(math.inf, -math.inf, math.inf, -math.inf, math.inf, petzval)
    focal, back, front = -1.0 / c, last - a / c, first + d / c
    return Cardinal(focal, front, back, front + focal, back - focal, petzval)


@dataclass(frozen=True)
class Projection:
    """How the picture comes about, in mm along z; the magnification is negative where upside down.

    `focus_mm` is where the panel is imaged (None: nowhere behind the lenses), `screen_mm` where the
    screen stands, `last_mm` where the train ends. On a plane at z the chief ray, through the
    middle of the stop, of a panel point at the height h lands at h (at_last + (z - last) slope).
    """

    focus_mm: float | None
    screen_mm: float
    last_mm: float
    at_last: float
    slope: float

    def magnification_at(self, z_mm: float) -> float:
        """Return the size of the picture over that of the panel on a plane at z."""
        return self.at_last + (z_mm - self.last_mm) * self.slope

    @property
    def magnification(self) -> float:
        """The size of the picture on the screen over that of the panel."""
        return self.magnification_at(self.screen_mm)

    @property
    def throw_mm(self) -> float:
        """The distance from the end of the train to the screen."""
        return self.screen_mm - self.last_mm


def projection_of(
    train: Sequence[Bend], panel: Panel, stop_z: float, last: float, screen: Screen
) -> Projection | None:
    """Return how the picture comes about; None where no screen can catch it.

    `train` are the bends of all lenses; the stop and the end of the train lie at stop_z and last.
    """
    panel_z = panel.z_mm
    bends = [bend for bend in train if bend.z_mm >= panel_z]
    to_stop = [bend for bend in bends if bend.z_mm <= stop_z]
    a, _ = follow(1.0, 0.0, panel_z, stop_z, to_stop)
    b, _ = follow(0.0, 1.0, panel_z, stop_z, to_stop)
    if abs(b) < 1.0e-9 * (stop_z - panel_z):
        return None
    at_last, slope = follow(1.0, -a / b, panel_z, last, bends)
    height, falling = follow(0.0, 1.0, panel_z, last, bends)
    focus = last - height / falling if abs(falling) > 1.0e-12 else math.inf
    in_focus = focus if last < focus < math.inf else None
    if screen.distance_mm is not None:
        z = last + screen.distance_mm
    elif screen.picture_width_mm is not None:
        wanted = math.copysign(screen.picture_width_mm / panel.active_width_mm, slope)
        if slope == 0.0:
            return None
        z = last + (wanted - at_last) / slope
    elif in_focus is not None:
        z = in_focus
    else:
        return None
    found = Projection(in_focus, z, last, at_last, slope)
    return found if z > last and abs(found.magnification) > 1.0e-6 else None
