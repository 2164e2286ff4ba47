"""Fresnel lens: a flat sheet with concentric grooves whose facets each bend light like a lens."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import ClassVar, Literal

from pydantic import Field

from photonsim.scene.glass import LINE_D, GlassPart
from photonsim.scene.ideal_lens import focal_mistakes
from photonsim.scene.mistakes import Mistake
from photonsim.scene.quantities import Height, Length, Position


class FresnelLens(GlassPart):
    """A grooved sheet, round or rectangular, its grooves about the axis. Light crosses it at z_mm.

    Its facets are cut so that light of 587.56 nm from one axis point goes to another. Between them
    stand the groove walls (draft faces): a mould lets go of them only if they lean a little, and
    its tips are never quite sharp. Clear walls send light astray, some of it back on to the panel;
    what meets a rounded tip is lost. The defaults, 3 degrees and a share of 0.02, are common
    practice for moulded acrylic (from memory).

    >>> from photonsim import FresnelLens
    >>> FresnelLens(z_mm=50, focal_mm=180, width_mm=120, height_mm=80, index=1.49).focal_mm
    180.0
    """

    words: ClassVar[str] = "Fresnel lens"
    kind: Literal["fresnel_lens"] = Field(default="fresnel_lens", description="the kind of part")
    focal_mm: Position = Field(
        description="the focal length in millimetres; negative for a diverging lens"
    )
    diameter_mm: Length | None = Field(
        default=None, description="the diameter of a round grooved sheet in millimetres"
    )
    width_mm: Length | None = Field(
        default=None,
        description="the width of a square or rectangular sheet along x in millimetres, in place "
        "of diameter_mm",
    )
    height_mm: Length | None = Field(
        default=None, description="the height of such a sheet along y in millimetres"
    )
    object_mm: Length | None = Field(
        default=None,
        description="the distance in millimetres, on the lamp's side, of the axis point for whose "
        "light the facets are cut (default: infinitely far)",
    )
    grooves: Literal["to_lamp", "to_screen"] = Field(
        default="to_screen", description="the side that the grooves are on"
    )
    draft_deg: float = Field(
        default=3.0,
        ge=0.0,
        le=45.0,
        description="how far the groove walls lean from upright in degrees (default: 3, common "
        "practice for moulded sheets)",
    )
    groove_walls: Literal["clear", "black"] = Field(
        default="clear",
        description='the groove walls: "clear", as moulded, or "black", rough or painted, so that '
        "light that meets them is lost",
    )
    rounded_tip_share: float = Field(
        default=0.02,
        ge=0.0,
        le=0.9,
        description="the share of each facet's width that is rounded tip; light that meets it is "
        "lost (default: 0.02, common practice)",
    )
    thickness_mm: Height = Field(
        default=2.0, description="the thickness of the sheet in millimetres"
    )

    def contradictions(self) -> Iterator[Mistake]:
        """A focal length too short to be one, or an outline said twice or by half."""
        yield from super().contradictions()
        yield from focal_mistakes(self.focal_mm)
        if self.diameter_mm is not None:
            advice = "give that of a round sheet, or width_mm and height_mm of a rectangular one"
            yield from self.beside("diameter_mm", advice, "width_mm", "height_mm")
        elif not self.given("width_mm", "height_mm"):
            yield self.missing("diameter_mm", "or width_mm and height_mm of a rectangular one")
        else:
            yield from self.lacking("width_mm", "height_mm")

    @property
    def outline_keys(self) -> tuple[str, str]:
        """The keys that hold the outer width and height; a round sheet has one for both."""
        round_one = self.diameter_mm is not None
        return ("diameter_mm", "diameter_mm") if round_one else ("width_mm", "height_mm")

    @property
    def radius_mm(self) -> float:
        """The radius of the widest groove in millimetres, in the corners of a rectangle."""
        if self.diameter_mm is not None:
            return 0.5 * self.diameter_mm
        return 0.5 * math.hypot(self.width_mm or 0.0, self.height_mm or 0.0)

    def facet_tangent(self, radius_mm: float) -> float:
        """Return the tangent of the facet's tilt against the sheet at a radius in mm.

        Positive where the facet falls outwards, as in a converging lens. By Snell's law in vector
        form the facet's normal lies along n d1 - d2, with the direction d1 inside the sheet and d2
        outside (W. J. Smith, Modern Optical Engineering, chapter on ray tracing).
        """
        index = self.index_at(LINE_D)
        flat_side, groove_side = self._sines(radius_mm)
        inside = flat_side / index
        along = index * math.sqrt(1.0 - inside**2) - math.sqrt(1.0 - groove_side**2)
        return (flat_side + groove_side) / along

    def _sines(self, radius_mm: float) -> tuple[float, float]:
        """Sines of the design ray's angles outside the flat and the grooved side, as it bends in.

        On both sides positive where the ray, followed away from the sheet, comes to the axis.
        """
        power = 1.0 / self.focal_mm
        near = 0.0 if self.object_mm is None else 1.0 / self.object_mm
        sines = [
            vergence * radius_mm / math.hypot(1.0, vergence * radius_mm)
            for vergence in (near, power - near)
        ]
        return (sines[0], sines[1]) if self.grooves == "to_screen" else (sines[1], sines[0])
