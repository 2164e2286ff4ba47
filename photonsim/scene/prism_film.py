"""Prism film: ridges on a flat substrate that turn oblique light towards the axis."""

from typing import ClassVar, Literal

from pydantic import Field

from photonsim.scene.quantities import Height
from photonsim.scene.sheet import ClearSheet


class PrismFilm(ClearSheet):
    """A film of parallel ridges. Its pitch is far below everything else and is not described.

    >>> from photonsim import PrismFilm
    >>> PrismFilm(z_mm=14, index=1.586).apex_deg
    90.0
    """

    words: ClassVar[str] = "prism film"

    kind: Literal["prism_film"] = Field(default="prism_film", description="the kind of part")
    apex_deg: float = Field(
        default=90.0, ge=40.0, le=140.0, description="the apex angle of the ridges in degrees"
    )
    ridges: Literal["to_screen", "to_lamp"] = Field(
        default="to_screen", description='the side the ridges face, "to_screen" or "to_lamp"'
    )
    along_deg: float = Field(
        default=0.0,
        ge=-360.0,
        le=360.0,
        description="the direction of the ridges in the sheet in degrees, counter-clockwise from "
        "the x axis as seen from the screen",
    )
    flat_tip_share: float = Field(
        default=0.0, ge=0.0, le=0.9, description="the share of the pitch that is flattened tip"
    )
    thickness_mm: Height = Field(
        default=0.25, description="the thickness of the film in millimetres"
    )
