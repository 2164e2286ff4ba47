"""The housing: the box, its base and its side walls."""

import math
from collections.abc import Iterator
from typing import ClassVar

from pydantic import Field

from photonsim.scene.mistakes import Mistake
from photonsim.scene.model import SceneModel
from photonsim.scene.quantities import Height, Length, Share


class Surface(SceneModel):
    """An opaque face that reflects part of the light and absorbs the rest."""

    reflectance: Share = Field(default=0.05, description="the share of the light it reflects")
    specular_share: Share = Field(
        default=0.0,
        description="the share of the reflected light that leaves as from a mirror; the rest "
        "leaves Lambertian",
    )


class Base(Surface):
    """The board at z = 0 that carries the emitters.

    >>> from photonsim import Base
    >>> Base(reflectance=0.05).reflectance
    0.05
    """


class Walls(Surface):
    """The four side walls. Where they don't reach, light that leaves sideways has escaped.

    >>> from photonsim import Walls
    >>> Walls(reflectance=0.9, specular_share=1).specular_share
    1.0
    """

    taper_deg: float = Field(
        default=0.0,
        ge=-60.0,
        le=60.0,
        description="the draft angle of the walls in degrees; positive opens towards the screen",
    )
    from_mm: Height = Field(
        default=0.0, description="the height in millimetres at which the walls begin"
    )
    to_mm: Height | None = Field(
        default=None,
        description="the height in millimetres at which the walls end (default: housing.depth_mm)",
    )


class Housing(SceneModel):
    """The box around the emitters, centred on the axis, with its base at z = 0.

    >>> from photonsim import Housing
    >>> Housing(width_mm=108, height_mm=70, depth_mm=45).opening_mm(45)
    (108.0, 70.0)
    """

    unseen: ClassVar[frozenset[str]] = frozenset({"stock_mm"})

    width_mm: Length = Field(
        description="the inner width of the housing at its base, along x, in millimetres"
    )
    height_mm: Length = Field(
        description="the inner height of the housing at its base, along y, in millimetres"
    )
    depth_mm: Length = Field(description="the extent of the housing along z in millimetres")
    stock_mm: Height = Field(
        default=0.0,
        le=100.0,
        description="the thickness in millimetres of the board that box and plates are cut from; "
        "light does not see it (default: 0, thin card)",
    )
    base: Base = Field(default=Base(), description="the table of the board with the emitters")
    walls: Walls | None = Field(
        default=None, description="the table of the side walls (default: open sides)"
    )

    @property
    def wall_range_mm(self) -> tuple[float, float] | None:
        """Heights (from, to) between which there are walls, in millimetres; None without walls."""
        if self.walls is None:
            return None
        end = self.depth_mm if self.walls.to_mm is None else self.walls.to_mm
        return self.walls.from_mm, end

    def opening_mm(self, z_mm: float) -> tuple[float, float]:
        """Inner (width, height) of the housing at the height z_mm, in millimetres.

        The taper counts from the base, so a wall that covers part of the depth lies on the same
        plane as one that covers all of it. Raises ValueError outside 0..depth_mm.
        """
        if not 0.0 <= z_mm <= self.depth_mm:
            raise ValueError(f"z_mm = {z_mm} lies outside the housing, 0 to {self.depth_mm} mm")
        slope = math.tan(math.radians(self.walls.taper_deg)) if self.walls else 0.0
        return self.width_mm + 2.0 * z_mm * slope, self.height_mm + 2.0 * z_mm * slope

    def contradictions(self) -> Iterator[Mistake]:
        """A taper that closes the box, or walls that lie outside its depth."""
        if self.walls is None or self.wall_range_mm is None:
            return
        if min(self.opening_mm(self.depth_mm)) <= 0.0:
            narrower = min(self.width_mm, self.height_mm)
            steepest = math.degrees(math.atan(narrower / (2.0 * self.depth_mm)))
            yield Mistake(
                "walls.taper_deg",
                "closes the housing before its full depth",
                self.walls.taper_deg,
                f"keep it above -{steepest:.1f}",
            )
        start, end = self.wall_range_mm
        if end > self.depth_mm:
            yield Mistake(
                "walls.to_mm",
                f"lies beyond the housing's depth_mm = {self.depth_mm:g}",
                end,
                "shorten the walls or deepen the housing",
            )
        if start >= end:
            problem = f"must be less than the height at which the walls end, {end:g}"
            yield Mistake("walls.from_mm", problem, start)
