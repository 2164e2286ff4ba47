"""Sheets: thin parts that light crosses, whole or cut to strips."""

from collections.abc import Iterator

from pydantic import Field

from photonsim.scene.materials import OR_MATERIAL, MaterialName, index_at
from photonsim.scene.mistakes import Mistake
from photonsim.scene.part import RectangularPart
from photonsim.scene.quantities import RefractiveIndex, ShareBelowOne
from photonsim.scene.strips import Strips

USUAL_INDEX = 1.49


class Sheet(RectangularPart):
    """A rectangular sheet centred on the axis. Light crosses it in the plane z_mm."""

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
        """Refractive index within a thick sheet: its own, or that of acrylic (common practice)."""
        return float(getattr(self, "index", USUAL_INDEX))


class ClearSheet(Sheet):
    """A sheet of transparent stuff, known by its refractive index or its material."""

    index: RefractiveIndex | None = Field(
        default=None, description="the refractive index at every wavelength"
    )
    material: MaterialName | None = Field(
        default=None, description="the name of a material with a known dispersion"
    )
    absorption_per_pass: ShareBelowOne = Field(
        default=0.0, description="the share of the light lost at each crossing of the sheet"
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
        return self.index or 1.0
