"""What a lens is made of: a named material, or an index with or without an Abbe number."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import Field

from photonsim.scene.materials import OR_MATERIAL, MaterialName, index_at
from photonsim.scene.mistakes import Mistake
from photonsim.scene.part import Part
from photonsim.scene.quantities import AbbeNumber, RefractiveIndex

# Fraunhofer lines d, F and C in nanometres, on which index and Abbe number are given.
LINE_D, LINE_F, LINE_C = 587.56, 486.13, 656.27


class GlassPart(Part):
    """A part of transparent stuff, known by its material or by its index and Abbe number."""

    material: MaterialName | None = Field(
        default=None, description="the name of a material with a known dispersion"
    )
    index: RefractiveIndex | None = Field(
        default=None, description="the refractive index n_d, at 587.56 nm"
    )
    abbe: AbbeNumber | None = Field(
        default=None,
        description="the Abbe number V_d beside index (default: the same index at every "
        "wavelength)",
    )

    def contradictions(self) -> Iterator[Mistake]:
        """Neither index nor material, or both."""
        if not self.given("index", "material"):
            yield self.missing("index", OR_MATERIAL)
        if self.material is not None:
            yield from self.beside("material", "keep one of the two", "index", "abbe")[:1]

    def index_at(self, wavelength_nm: float) -> float:
        """Refractive index at a vacuum wavelength in nanometres.

        From index and Abbe number by Cauchy's n = A + B / λ², the two constants set by n_d and
        V_d = (n_d - 1) / (n_F - n_C) (W. J. Smith, Modern Optical Engineering, 4th ed., p. 115).
        """
        if self.material is not None:
            return index_at(self.material, wavelength_nm)
        index = self.index or 1.0
        if self.abbe is None:
            return index
        step = (index - 1.0) / self.abbe / (LINE_F**-2 - LINE_C**-2)
        return index + step * (wavelength_nm**-2 - LINE_D**-2)
