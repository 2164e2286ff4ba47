"""Reflective polariser: a sheet that turns back the light of one direction of the field."""

from typing import ClassVar, Literal

from pydantic import Field

from photonsim.scene.polariser import Polariser
from photonsim.scene.quantities import Height, Share, ShareAboveZero


class ReflectivePolariser(Polariser):
    """The film, like a dull mirror, that lies uppermost in many backlights.

    What it turns back a white, matt base sends again, depolarised. Its figures are plausible ones,
    no maker's.

    >>> from photonsim import ReflectivePolariser
    >>> ReflectivePolariser(z_mm=20, pass_deg=0).block_reflectance
    0.96
    """

    words: ClassVar[str] = "reflective polariser"

    kind: Literal["reflective_polariser"] = Field(
        default="reflective_polariser", description="the kind of part"
    )
    pass_transmittance: ShareAboveZero = Field(
        default=0.88,
        description="the share that passes of light polarised along pass_deg (default: plausible)",
    )
    block_transmittance: Share = Field(
        default=0.02,
        description="the share that passes of light polarised across pass_deg (default: plausible)",
    )
    pass_reflectance: Share = Field(
        default=0.10,
        description="the share turned back of light polarised along pass_deg (default: plausible)",
    )
    block_reflectance: Share = Field(
        default=0.96,
        description="the share turned back of light polarised across pass_deg (default: plausible)",
    )
    thickness_mm: Height = Field(
        default=0.3, description="the thickness of the polariser in millimetres"
    )
