"""Polarising sheets: what the absorbing and the reflective one have in common."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field

from photonsim.scene.mistakes import Mistake
from photonsim.scene.part import Part
from photonsim.scene.quantities import RefractiveIndex
from photonsim.scene.sheet import Sheet

Direction = Annotated[float, Field(ge=-360.0, le=360.0)]
# In what polarising sheets and a panel's polarisers act: the plastic that they are made of.
PLASTIC = 1.5


def share_of(way: str, state: str, typical: float) -> Any:
    """Return the field of a share of light that goes a way, polarised along or across the axis."""
    words = f"the share that {way} of light polarised {state} pass_deg (default: typical)"
    return Field(default=typical, description=words)


class Polariser(Sheet):
    """A sheet that passes one direction of the light's field and blocks the one across it.

    What its faces reflect is part of its figures, which hold for light from any direction.
    """

    if TYPE_CHECKING:
        # Fields of each model, with figures of its own; what only absorbs turns nothing back.
        pass_transmittance: float
        block_transmittance: float
        pass_reflectance: float
        block_reflectance: float

    pass_deg: Direction = Field(
        description="the direction in the sheet, in degrees, of the field of light that passes "
        "straight on, counter-clockwise from the x axis as seen from the screen"
    )
    index: RefractiveIndex = Field(
        default=PLASTIC,
        description="the refractive index of the stuff in which the sheet acts on slanting light",
    )

    def contradictions(self) -> Iterator[Mistake]:
        """More light out than in, or an axis that blocks more than the direction across it."""
        if self.block_transmittance > self.pass_transmittance:
            yield Mistake(
                "block_transmittance",
                f"is more than pass_transmittance = {self.pass_transmittance:g}",
                self.block_transmittance,
                "turn pass_deg by 90 and exchange the figures of pass and block",
            )
        yield from self.over_one("pass_")
        yield from self.over_one("block_")


def pass_axis_deg(part: Part) -> float | None:
    """Return the direction in degrees of the field that a part passes; None where it has none."""
    return part.pass_deg if isinstance(part, Polariser) else getattr(part, "polariser_deg", None)
