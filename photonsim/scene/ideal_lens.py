"""Ideal lens: a thin phase element that images without loss or aberration."""

from typing import Literal

from pydantic import Field

from photonsim.scene.mistakes import Mistake
from photonsim.scene.part import Part
from photonsim.scene.quantities import Length, Position, ShareAboveZero


class IdealLens(Part):
    """A thin round lens centred on the axis."""

    kind: Literal["ideal_lens"] = Field(default="ideal_lens", description="the kind of part")
    focal_mm: Position = Field(
        description="the focal length in millimetres; negative for a diverging lens"
    )
    diameter_mm: Length = Field(description="the clear diameter of the lens in millimetres")
    transmittance: ShareAboveZero = Field(
        default=1.0, description="the share of the light that the lens passes"
    )
    object_mm: Length | None = Field(
        default=None,
        description="the distance in millimetres, on the lamp's side of the lens, of the axis "
        "point that is imaged without aberration (default: infinitely far)",
    )

    @property
    def outline_mm(self) -> tuple[float | None, float | None]:
        """Outer (width, height) of the lens, its diameter twice, in millimetres."""
        return self.diameter_mm, self.diameter_mm
