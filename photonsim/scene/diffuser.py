"""Diffuser: a sheet that scatters the light it passes and the light it turns back."""

from collections.abc import Iterator
from typing import ClassVar, Literal

from pydantic import Field

from photonsim.scene.mistakes import Mistake
from photonsim.scene.quantities import (
    HalfAngle,
    Height,
    RefractiveIndex,
    Share,
    ShareAboveZero,
    ShareBelowOne,
)
from photonsim.scene.scatter import most_haze
from photonsim.scene.sheet import Sheet


def haze_mistakes(
    haze: float | None, half_angle_deg: float | None, prefix: str = ""
) -> Iterator[Mistake]:
    """More haze than a sheet of this half angle can have; `prefix` is that of both keys."""
    most = 1.0 if half_angle_deg is None else most_haze(half_angle_deg)
    if haze is not None and haze > most:
        yield Mistake(
            f"{prefix}haze",
            f"with {prefix}half_angle_deg = {half_angle_deg:g} it can be {most:.4g} at most, for a "
            "sheet that scatters all it passes",
            haze,
            "give the one you trust more",
        )


class Diffuser(Sheet):
    """A scattering sheet, described by what a data sheet or a bench gives.

    >>> from photonsim import Diffuser
    >>> Diffuser(z_mm=20, transmittance=0.6, reflectance=0.3, opal=True).opal
    True
    """

    words: ClassVar[str] = "diffuser"

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
    half_angle_deg: HalfAngle | None = Field(
        default=None,
        description="the angle in degrees from the axis at which the scattered intensity has "
        "halved, for light that comes straight on",
    )
    opal: bool = Field(
        default=False, description="true for a sheet that scatters almost Lambertian"
    )
    depolarised_share: Share = Field(
        default=1.0,
        description="the share of polarised light that the sheet makes unpolarised where it "
        "scatters it; what goes straight through keeps its state",
    )
    index: RefractiveIndex = Field(
        default=1.49,
        description="the refractive index within the diffuser, where it is thick (default: common "
        "practice)",
    )
    thickness_mm: Height = Field(
        default=0.3, description="the thickness of the diffuser in millimetres"
    )

    def contradictions(self) -> Iterator[Mistake]:
        """More light out than in, or a scatter that is described twice or not at all."""
        yield from self.over_one()
        lobe = ("haze", "half_angle_deg")
        if self.opal:
            yield from self.beside("opal", "an opal sheet needs no other figure", *lobe)
        elif not self.given(*lobe):
            yield self.missing("haze", "or give half_angle_deg, or opal = true")
        else:
            yield from haze_mistakes(self.haze, self.half_angle_deg)
