"""Diffuser: a sheet that scatters the light it passes and the light it turns back."""

from typing import Literal

from pydantic import Field

from photonsim.scene.mistakes import Mistake
from photonsim.scene.quantities import Height, Share, ShareAboveZero, ShareBelowOne
from photonsim.scene.sheet import Sheet


class Diffuser(Sheet):
    """A scattering sheet, described by what a data sheet or a bench gives."""

    kind: Literal["diffuser"] = Field(default="diffuser", description="the kind of part")
    transmittance: ShareAboveZero = Field(
        description="the total share of the light that passes, straight and scattered"
    )
    reflectance: Share = Field(description="the total share of the light that is turned back")
    haze: ShareBelowOne | None = Field(
        default=None,
        description="the share of the transmitted light that leaves by more than 2.5° from its "
        "direction (ASTM D1003)",
    )
    half_angle_deg: float | None = Field(
        default=None,
        ge=0.5,
        le=75.0,
        description="the angle in degrees from the axis at which the scattered intensity has "
        "halved, for light that comes straight on",
    )
    opal: bool = Field(
        default=False, description="true for a sheet that scatters almost Lambertian"
    )
    thickness_mm: Height = Field(
        default=0.3, description="the thickness of the diffuser in millimetres"
    )
