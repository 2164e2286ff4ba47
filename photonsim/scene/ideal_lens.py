"""Ideal lens: a thin phase element that images without loss or aberration."""

from collections.abc import Iterator
from typing import ClassVar, Literal

from pydantic import Field

from photonsim.scene.mistakes import Mistake
from photonsim.scene.part import Part
from photonsim.scene.quantities import Length, Position, ShareAboveZero

# No lens that a lamp is built with is stronger, and 0 has no meaning.
SHORTEST_FOCAL_MM = 1.0


class IdealLens(Part):
    """A thin round lens centred on the axis.

    >>> from photonsim import IdealLens
    >>> IdealLens(z_mm=50, focal_mm=180, diameter_mm=130).focal_mm
    180.0
    """

    words: ClassVar[str] = "ideal lens"
    outline_keys: ClassVar[tuple[str, str]] = ("diameter_mm", "diameter_mm")

    kind: Literal["ideal_lens"] = Field(default="ideal_lens", description="the kind of part")
    focal_mm: Position = Field(
        description="the focal length in millimetres; negative for a diverging lens"
    )
    diameter_mm: Length = Field(description="the clear diameter of the lens in millimetres")
    transmittance: ShareAboveZero = Field(
        default=1.0, description="the share of the light that the lens passes"
    )
    object_mm: Length | None = Field(
        default=None,
        description="the distance in millimetres, on the lamp's side of the lens, of the axis "
        "point that is imaged without aberration (default: infinitely far)",
    )

    @property
    def conjugates_mm(self) -> tuple[float | None, float | None]:
        """Distances (lamp side, screen side) of the points it images to one another, in mm.

        1/a + 1/b = 1/f, each positive where the point is real (Hecht, Optics, section 5.2); None
        stands for infinity.
        """
        if self.object_mm is None:
            return None, self.focal_mm
        power = 1.0 / self.focal_mm - 1.0 / self.object_mm
        return self.object_mm, 1.0 / power if abs(power * self.object_mm) > 1e-12 else None

    def contradictions(self) -> Iterator[Mistake]:
        """A focal length too short to be one."""
        return focal_mistakes(self.focal_mm)


def focal_mistakes(focal_mm: float) -> Iterator[Mistake]:
    """The mistake of a focal length too short to be one."""
    if abs(focal_mm) < SHORTEST_FOCAL_MM:
        problem = f"must be at least {SHORTEST_FOCAL_MM:g} or at most -{SHORTEST_FOCAL_MM:g}"
        yield Mistake("focal_mm", problem, focal_mm)
