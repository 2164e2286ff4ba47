"""Absorbing polariser: a sheet that takes the light of one direction of the field."""

from typing import ClassVar, Literal

from pydantic import Field

from photonsim.scene.polariser import Polariser, share_of
from photonsim.scene.quantities import Height, Share, ShareAboveZero


class AbsorbingPolariser(Polariser):
    """A polarising film such as lies on both sides of a panel.

    Its figures are typical of film with iodine: 42 % of unpolarised light pass one sheet, 0.04 %
    two crossed ones (data sheets, from memory).

    >>> from photonsim import AbsorbingPolariser
    >>> AbsorbingPolariser(z_mm=20, pass_deg=90).pass_transmittance
    0.84
    """

    words: ClassVar[str] = "absorbing polariser"
    pass_reflectance: ClassVar[float] = 0.0  # type: ignore[misc]
    block_reflectance: ClassVar[float] = 0.0  # type: ignore[misc]

    kind: Literal["absorbing_polariser"] = Field(
        default="absorbing_polariser", description="the kind of part"
    )
    pass_transmittance: ShareAboveZero = share_of("passes", "along", 0.84)
    block_transmittance: Share = share_of("passes", "across", 0.0005)
    thickness_mm: Height = Field(
        default=0.2, description="the thickness of the polariser in millimetres"
    )
