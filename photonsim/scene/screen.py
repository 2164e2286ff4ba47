"""The screen: where it stands, what it does with the light, and from which side it is watched."""

from collections.abc import Iterator
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from photonsim.scene.mistakes import Mistake
from photonsim.scene.model import SceneModel
from photonsim.scene.quantities import Length, NotVanishing


class Screen(SceneModel):
    """A screen across the axis beyond the train.

    It stands at the distance given, or where the picture has the width given, or, without either,
    where the lenses bring the panel to a focus.

    >>> from photonsim import Screen
    >>> Screen(distance_mm=2810, room_lux=0.1).room_lux
    0.1
    """

    unseen: ClassVar[frozenset[str]] = frozenset({"gain", "room_lux", "watched_from", "mirrors"})

    distance_mm: Length | None = Field(
        default=None,
        description="the distance in millimetres from the end of the train to the screen",
    )
    picture_width_mm: Length | None = Field(
        default=None,
        description="the width of the picture in millimetres, which sets the screen's distance",
    )
    gain: Annotated[float, Field(gt=0.0, le=100.0), NotVanishing] = Field(
        default=1.0,
        description="the luminance straight on relative to a perfectly white matt screen",
    )
    room_lux: Annotated[float, Field(ge=0.0, le=2.0e5)] = Field(
        default=0.0, description="the illuminance on the screen by the room's own light, in lux"
    )
    watched_from: Literal["front", "rear"] = Field(
        default="front",
        description="the side of the audience: with the projector (front) or behind the screen",
    )
    mirrors: Annotated[int, Field(ge=0, le=9)] = Field(
        default=0, description="the number of flat mirrors between panel and screen"
    )

    def contradictions(self) -> Iterator[Mistake]:
        """Both a distance and a width."""
        if self.distance_mm is not None:
            yield from self.beside("distance_mm", "keep one of the two", "picture_width_mm")
