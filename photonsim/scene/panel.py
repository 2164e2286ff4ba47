"""The panel: the LCD, a grid of pixels in an opaque frame."""

from typing import Annotated, Literal

from pydantic import Field

from photonsim.scene.mistakes import Mistake
from photonsim.scene.model import SceneModel
from photonsim.scene.part import Part
from photonsim.scene.quantities import (
    FromList,
    Height,
    Length,
    Share,
    ShareAboveZero,
    ShareBelowOne,
)

Angle = Annotated[float, Field(ge=0.0, le=90.0)]
PixelCount = Annotated[int, Field(ge=9)]  # the nine-point evenness needs 3 x 3 fields of 3 pixels


class RelativeTransmittance(SceneModel):
    """Transmittance against the angle of incidence, relative to that straight on."""

    angle_deg: Annotated[tuple[Angle, ...], FromList] = Field(
        description="angles from the axis in degrees, rising from 0 to 90"
    )
    relative: Annotated[tuple[Share, ...], FromList] = Field(
        description="the relative transmittance at each angle, 0 to 1"
    )


class Panel(Part):
    """The LCD panel. Its transmittance is applied after the count, its angle table to photons."""

    kind: Literal["panel"] = Field(default="panel", description="the kind of part")
    columns: PixelCount = Field(description="the number of pixels along x")
    rows: PixelCount = Field(description="the number of pixels along y")
    active_width_mm: Length = Field(
        description="the width of the picture area along x in millimetres"
    )
    active_height_mm: Length = Field(
        description="the height of the picture area along y in millimetres"
    )
    outer_width_mm: Length = Field(
        description="the width of the panel with its frame along x in millimetres"
    )
    outer_height_mm: Length = Field(
        description="the height of the panel with its frame along y in millimetres"
    )
    transmittance: ShareAboveZero = Field(
        default=1.0, description="the share of the light that passes a white pixel straight on"
    )
    frame_reflectance: Share = Field(
        default=0.05, description="the share of the light that the frame reflects"
    )
    contrast: float | None = Field(
        default=None, gt=1.0, le=1.0e6, description="the contrast ratio, white against black"
    )
    haze: ShareBelowOne | None = Field(
        default=None, description="the share of the light that the panel scatters (ASTM D1003)"
    )
    relative_transmittance: RelativeTransmittance | None = Field(
        default=None, description="the table of transmittance against angle (default: none)"
    )
    thickness_mm: Height = Field(
        default=1.5, description="the thickness of the panel in millimetres"
    )

    @property
    def outline_mm(self) -> tuple[float | None, float | None]:
        """Outer (width, height) of the panel with its frame, in millimetres."""
        return self.outer_width_mm, self.outer_height_mm
