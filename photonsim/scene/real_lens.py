"""Real lens: two spherical or conic faces of glass, with all their errors and losses."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import ClassVar, Literal

from pydantic import Field

from photonsim.scene.glass import GlassPart
from photonsim.scene.mistakes import Mistake
from photonsim.scene.part import Part
from photonsim.scene.quantities import Conic, Length, Position, ShareBelowOne

# Heights are sums of thicknesses: what differs by a nanometre touches.
TOUCHING_MM = 1.0e-6


class RealLens(GlassPart):
    """A round lens centred on the axis, its lamp-side vertex at z_mm.

    Lenses whose touching faces are alike - the same height and the same radius - are cemented.

    >>> from photonsim import RealLens
    >>> RealLens(z_mm=208, thickness_mm=6, diameter_mm=56, radius_lamp_mm=176, index=1.5).end_mm
    214.0
    """

    words: ClassVar[str] = "lens"
    outline_keys: ClassVar[tuple[str, str]] = ("diameter_mm", "diameter_mm")

    kind: Literal["real_lens"] = Field(default="real_lens", description="the kind of part")
    thickness_mm: Length = Field(description="the thickness on the axis in millimetres")
    diameter_mm: Length = Field(description="the free diameter of the lens in millimetres")
    radius_lamp_mm: Position | None = Field(
        default=None,
        description="the radius of the face towards the lamp in millimetres, positive where its "
        "centre lies on the screen's side (default: flat)",
    )
    radius_screen_mm: Position | None = Field(
        default=None,
        description="the radius of the face towards the screen in millimetres, positive where its "
        "centre lies on the screen's side (default: flat)",
    )
    conic_lamp: Conic = Field(
        default=0.0, description="the conic constant of the face towards the lamp; 0 is a sphere"
    )
    conic_screen: Conic = Field(
        default=0.0, description="the conic constant of the face towards the screen; 0 is a sphere"
    )
    coating_reflectance: ShareBelowOne | None = Field(
        default=None,
        description="the share of the light that each coated face reflects (default: uncoated, by "
        "Fresnel's equations)",
    )

    @property
    def curvatures(self) -> tuple[float, float]:
        """Curvatures 1/radius of the two faces in 1/mm; 0 is flat."""
        return tuple(  # type: ignore[return-value]
            0.0 if radius is None else 1.0 / radius
            for radius in (self.radius_lamp_mm, self.radius_screen_mm)
        )

    @property
    def edge_thickness_mm(self) -> float:
        """Thickness at the rim of the free diameter in millimetres."""
        lamp, screen = self.curvatures
        half = 0.5 * self.diameter_mm
        return (
            self.thickness_mm
            + sag_mm(screen, self.conic_screen, half)
            - sag_mm(lamp, self.conic_lamp, half)
        )

    def profile_mm(self, heights_mm: Sequence[float]) -> tuple[list[float], list[float]]:
        """How far the two faces lie from the planes through their vertices, at heights in mm."""
        (lamp, screen), (near, far) = self.curvatures, (self.conic_lamp, self.conic_screen)
        return (
            [sag_mm(lamp, near, height) for height in heights_mm],
            [sag_mm(screen, far, height) for height in heights_mm],
        )

    def contradictions(self) -> Iterator[Mistake]:
        """Faces too strongly curved for the diameter, or that cut each other before the rim."""
        found = [*super().contradictions(), *self._face_mistakes()]
        yield from found
        if not found and self.edge_thickness_mm < -1.0e-6:
            yield Mistake(
                "thickness_mm",
                "the two faces would cross before the rim: with this diameter it must be at least "
                f"{self.thickness_mm - self.edge_thickness_mm:.4g}",
                self.thickness_mm,
            )

    def _face_mistakes(self) -> Iterator[Mistake]:
        half = 0.5 * self.diameter_mm
        for side in ("lamp", "screen"):
            key = f"radius_{side}_mm"
            radius, conic = getattr(self, key), getattr(self, f"conic_{side}")
            if radius == 0.0:
                yield Mistake(key, "must not be 0", radius, "leave it out for a flat face")
            elif radius is not None and (1.0 + conic) * half * half >= radius * radius:
                problem = f"such a face does not reach diameter_mm = {self.diameter_mm:g}"
                yield Mistake(key, problem, radius)


def cemented(before: Part, after: Part) -> bool:
    """Tell whether two parts, one behind the other, are lenses that share a face."""
    return (
        isinstance(before, RealLens)
        and isinstance(after, RealLens)
        and math.isclose(before.end_mm, after.z_mm, abs_tol=TOUCHING_MM)
        and before.radius_screen_mm == after.radius_lamp_mm
        and before.conic_screen == after.conic_lamp
    )


def sag_mm(curvature: float, conic: float, height_mm: float) -> float:
    """Return how far a face lies from the plane through its vertex at a height, in mm.

    c h² / (1 + sqrt(1 - (1 + k) c² h²)) (W. J. Smith, Modern Optical Engineering, section on conic
    surfaces).
    """
    squared = curvature * height_mm * height_mm
    return squared / (1.0 + math.sqrt(1.0 - (1.0 + conic) * curvature * squared))
