"""Prism film: ridges on a flat substrate that turn oblique light towards the axis."""

from collections.abc import Iterator
from typing import ClassVar, Literal

from pydantic import Field

from photonsim.scene.diffuser import Diffuser, haze_mistakes
from photonsim.scene.mistakes import Mistake
from photonsim.scene.quantities import HalfAngle, Height, RefractiveIndex, ShareBelowOne
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
        default=0.0,
        ge=0.0,
        le=0.9,
        description="the share of the pitch that is flattened tip (film from an old screen: some "
        "0.04, from memory)",
    )
    base_index: RefractiveIndex | None = Field(
        default=None,
        description="the refractive index of the base, where the ridges are a coat on other stuff "
        "(default: that of the ridges)",
    )
    back_haze: ShareBelowOne | None = Field(
        default=None,
        description="the haze of a matt flat side, as a diffuser's, which loses no light itself "
        "(default: clear)",
    )
    back_half_angle_deg: HalfAngle | None = Field(
        default=None,
        description="the half-intensity angle of a matt flat side in degrees, as a diffuser's",
    )
    thickness_mm: Height = Field(
        default=0.25, description="the thickness of the film in millimetres"
    )

    @property
    def back(self) -> Diffuser | None:
        """The diffuser right on a matt flat side."""
        if self.back_haze is None and self.back_half_angle_deg is None:
            return None
        return Diffuser(
            z_mm=self.end_mm if self.is_thick and self.ridges == "to_lamp" else self.z_mm,
            thickness_mm=0.0,
            transmittance=1.0,
            reflectance=0.0,
            haze=self.back_haze,
            half_angle_deg=self.back_half_angle_deg,
            strips=self.strips,
            **self.given("width_mm", "height_mm"),
        )

    def contradictions(self) -> Iterator[Mistake]:
        """Also a matt side with more haze than all its scattered light makes."""
        yield from super().contradictions()
        yield from haze_mistakes(self.back_haze, self.back_half_angle_deg, "back_")
