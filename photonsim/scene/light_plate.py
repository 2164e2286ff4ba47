"""Light plate: a clear plate, lit by its edges, that gives light off by dots on its back."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from photonsim.scene.glass import GlassPart
from photonsim.scene.housing import Surface
from photonsim.scene.mistakes import Mistake
from photonsim.scene.model import SceneModel
from photonsim.scene.part import RectangularPart
from photonsim.scene.quantities import FromList, Height, Length, Share


class Dots(SceneModel):
    """The share of the plate's back that dots cover, measured along the plate.

    >>> from photonsim import Dots
    >>> Dots(from_edge_mm=(0, 45, 90), share=(0.1, 0.2, 0.6)).share
    (0.1, 0.2, 0.6)
    """

    from_edge_mm: Annotated[tuple[Height, ...], FromList] = Field(
        min_length=2,
        max_length=1000,
        description="distances in millimetres from the lit edge, rising; beyond the first and the "
        "last the share stays as it is there",
    )
    share: Annotated[tuple[Share, ...], FromList] = Field(
        min_length=2,
        max_length=1000,
        description="the share of the back that is dots at each distance, 0 to 1",
    )

    def contradictions(self) -> Iterator[Mistake]:
        """Distances that don't rise, or a list of another length beside them."""
        yield from self.unpaired("from_edge_mm", "share", "distance")


class Reflector(Surface):
    """What lies behind a light plate, with a film of air between.

    >>> from photonsim import Reflector
    >>> Reflector().reflectance
    0.95
    """

    reflectance: Share = Field(default=0.95, description="the share of the light it reflects")


class LightPlate(RectangularPart, GlassPart):
    """A clear plate that emitters on its edges light, with dots on its back and a bare front.

    >>> from photonsim import LightPlate
    >>> LightPlate(z_mm=2, thickness_mm=3, material="acrylic", dot_share=0.2).edges
    'bare'
    """

    words: ClassVar[str] = "light plate"

    kind: Literal["light_plate"] = Field(default="light_plate", description="the kind of part")
    thickness_mm: Length = Field(
        default=3.0, description="the thickness of the plate in millimetres"
    )
    absorption_per_mm: float = Field(
        default=0.0,
        ge=0.0,
        le=100.0,
        description="the absorption a of its stuff: exp(-a s) of the light is left after s mm",
    )
    dot_share: Share | None = Field(
        default=None,
        description="the share of the back that dots cover; with dot_drain_mm, at the end far from "
        "the lit edge, or in the middle between two",
    )
    dot_drain_mm: Length | None = Field(
        default=None,
        description="the length c in millimetres of a graded pattern, which covers c/(s + c) of "
        "dot_share at the distance s from where it is densest (default: all over alike)",
    )
    dots: Dots | None = Field(
        default=None, description="the table of the dots' share along the plate"
    )
    dot_reflectance: Share = Field(
        default=0.95,
        description="the share of the light that a dot sends back, Lambertian within the plate",
    )
    reflector: Reflector | None = Field(
        default=None,
        description="the table of the reflector right behind the back (default: none, and light "
        "that leaves by the back goes on to the base)",
    )
    edges: Literal["bare", "mirrored", "white"] = Field(
        default="bare",
        description='the edges that are not lit: "bare", "mirrored" with a film of air between, or '
        '"white", painted or taped so that it wets the edge',
    )
    edge_reflectance: Share = Field(
        default=0.95, description="the reflectance of what lies on mirrored or white edges"
    )

    @property
    def is_thick(self) -> bool:
        """Light is followed within."""
        return True

    @property
    def densest_dots(self) -> float:
        """The share of the back that dots cover where they are densest."""
        return self.dot_share or 0.0 if self.dots is None else max(self.dots.share)

    @property
    def dots_in_words(self) -> str:
        """How dots cover the back, for people."""
        if self.dots is not None:
            first, last = (100.0 * share for share in (self.dots.share[0], self.dots.share[-1]))
            return f"dots on {first:.0f} to {last:.0f} % by the scene's table"
        words = f"dots on {100.0 * (self.dot_share or 0.0):.3g} %"
        if self.dot_drain_mm is None:
            return f"{words} all over"
        drain = f"{self.dot_drain_mm:g}"
        return f"{words} where densest, {drain}/(s + {drain}) of that s mm from there"

    def contradictions(self) -> Iterator[Mistake]:
        """Neither index nor material, or both; dots that are described twice or by half."""
        yield from super().contradictions()
        if self.dots is not None:
            yield from self.beside("dots", "give the table or the law", "dot_share", "dot_drain_mm")
        elif self.dot_drain_mm is not None:
            yield from self.lacking("dot_share")


def plates_of(train: Mapping[str, object]) -> dict[str, LightPlate]:
    """Return the light plates of a train by their names."""
    return {name: part for name, part in train.items() if isinstance(part, LightPlate)}
