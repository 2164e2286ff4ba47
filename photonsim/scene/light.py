"""The wavelengths that the emitters send out."""

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from photonsim.scene.mistakes import Mistake
from photonsim.scene.model import SceneModel
from photonsim.scene.quantities import FromList

# 380 nm to 780 nm is the visible range in which CIE 15 tabulates its colour-matching functions.
Wavelength = Annotated[float, Field(ge=380.0, le=780.0)]
Weight = Annotated[float, Field(ge=0.0)]


class Light(SceneModel):
    """A small set of wavelengths and the share of the photons that carries each.

    >>> from photonsim import Light
    >>> Light().mean_nm
    550.0
    """

    wavelengths_nm: Annotated[tuple[Wavelength, ...], FromList] = Field(
        default=(550.0,),
        min_length=1,
        max_length=16,
        description="the wavelengths of the light in nanometres, 1 to 16 of them",
    )
    shares: Annotated[tuple[Weight, ...], FromList] | None = Field(
        default=None,
        description="the share of the photons at each wavelength, in any scale (default: equal)",
    )

    def contradictions(self) -> Iterator[Mistake]:
        """Wavelengths that repeat, or shares that don't belong to them."""
        count = len(self.wavelengths_nm)
        if len(set(self.wavelengths_nm)) < count:
            yield Mistake("wavelengths_nm", "a wavelength stands here twice", self.wavelengths_nm)
        if self.shares is None:
            return
        if len(self.shares) != count:
            problem = f"must have one share for each of the {count} wavelengths"
            yield Mistake("shares", problem, self.shares)
        if sum(self.shares) <= 0.0:
            yield Mistake("shares", "at least one share must be greater than 0", self.shares)

    @property
    def mean_nm(self) -> float:
        """The mean wavelength of the photons, for which first-order data hold."""
        pairs = zip(self.wavelengths_nm, self.normalised_shares, strict=True)
        return sum(wavelength * share for wavelength, share in pairs)

    @property
    def normalised_shares(self) -> tuple[float, ...]:
        """The shares scaled to a sum of 1, one for each wavelength."""
        weights = self.shares or (1.0,) * len(self.wavelengths_nm)
        total = sum(weights)
        return tuple(weight / total for weight in weights)
