"""Sheets: thin parts that light crosses, whole or cut to strips."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from pydantic import Field

from photonsim.scene.materials import OR_MATERIAL, MaterialName, index_at
from photonsim.scene.mistakes import Mistake
from photonsim.scene.part import RectangularPart
from photonsim.scene.quantities import RefractiveIndex, ShareBelowOne
from photonsim.scene.strips import Strips


class Sheet(RectangularPart):
    """A rectangular sheet centred on the axis. Light crosses it in the plane z_mm."""

    if TYPE_CHECKING:
        index: float | None  # a field of each kind

    strips: Strips | None = Field(
        default=None, description="the table that cuts the sheet to strips (default: whole)"
    )
    thick: bool = Field(
        default=False,
        description="true where light is traced through the sheet's thickness_mm and leaves beside "
        "the place where it came in; else it crosses the sheet in the plane z_mm",
    )

    @property
    def is_thick(self) -> bool:
        """Whether light is traced through its thickness."""
        return self.thick and self.thickness_mm > 0.0

    def index_at(self, wavelength_nm: float) -> float:
        """Refractive index within the sheet at a vacuum wavelength in nanometres."""
        return self.index or 1.0

    def over_one(self, state: str = "") -> Iterator[Mistake]:
        """The mistake of more light out than in; `state` begins both keys, as in "pass_"."""
        through, back = f"{state}transmittance", f"{state}reflectance"
        passed, returned = getattr(self, through), getattr(self, back)
        if passed + returned > 1.0 + 1.0e-9:  # decimals such as 0.7 + 0.3
            problem = f"with {through} = {passed:g} the sum is more than 1"
            yield Mistake(back, problem, returned, f"it can be {1.0 - passed:.4g} at most")


class ClearSheet(Sheet):
    """A sheet of transparent stuff, known by its refractive index or its material."""

    index: RefractiveIndex | None = Field(
        default=None, description="the refractive index at every wavelength"
    )
    material: MaterialName | None = Field(
        default=None, description="the name of a material with a known dispersion"
    )
    absorption_per_pass: ShareBelowOne = Field(
        default=0.0,
        description="the share of the light lost at each crossing of the sheet (a clear sheet of "
        "polycarbonate: 0.03)",
    )

    def contradictions(self) -> Iterator[Mistake]:
        """Neither index nor material, or both."""
        if not self.given("index", "material"):
            yield self.missing("index", OR_MATERIAL)
        if self.material is not None:
            yield from self.beside("material", "keep one of the two", "index")

    @property
    def kept(self) -> float:
        """The share of the light that is left after one crossing."""
        return 1.0 - self.absorption_per_pass

    def index_at(self, wavelength_nm: float) -> float:
        """Refractive index at a vacuum wavelength in nanometres."""
        if self.material is not None:
            return index_at(self.material, wavelength_nm)
        return super().index_at(wavelength_nm)
