"""The aperture stop: the hole that decides which light makes the picture."""

from typing import Literal

from pydantic import Field

from photonsim.scene.part import Part
from photonsim.scene.quantities import Length


class ApertureStop(Part):
    """A round hole centred on the axis; what misses it is stopped."""

    kind: Literal["aperture_stop"] = Field(default="aperture_stop", description="the kind of part")
    diameter_mm: Length = Field(description="the diameter of the hole in millimetres")

    @property
    def outline_mm(self) -> tuple[float | None, float | None]:
        """Extent (width, height) of the hole, its diameter twice, in millimetres."""
        return self.diameter_mm, self.diameter_mm
