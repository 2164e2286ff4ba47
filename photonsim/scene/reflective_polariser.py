"""Reflective polariser: a sheet that turns back the light of one direction of the field."""

from typing import ClassVar, Literal

from pydantic import Field

from photonsim.scene.polariser import Polariser, share_of
from photonsim.scene.quantities import Height, Share, ShareAboveZero


class ReflectivePolariser(Polariser):
    """The film, like a dull mirror, that lies uppermost in many backlights.

    What it turns back a white, matt base sends again, depolarised. Its figures are plausible ones
    (gains of 1.3 to 1.7 in makers' data sheets, from memory), no maker's.

    >>> from photonsim import ReflectivePolariser
    >>> ReflectivePolariser(z_mm=20, pass_deg=0).block_reflectance
    0.96
    """

    words: ClassVar[str] = "reflective polariser"

    kind: Literal["reflective_polariser"] = Field(
        default="reflective_polariser", description="the kind of part"
    )
    pass_transmittance: ShareAboveZero = share_of("passes", "along", 0.88)
    block_transmittance: Share = share_of("passes", "across", 0.02)
    pass_reflectance: Share = share_of("is turned back", "along", 0.10)
    block_reflectance: Share = share_of("is turned back", "across", 0.96)
    thickness_mm: Height = Field(
        default=0.3, description="the thickness of the polariser in millimetres"
    )
