"""The panel: the LCD, a grid of pixels in an opaque frame."""

from collections.abc import Iterator
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from photonsim.scene.mistakes import Mistake
from photonsim.scene.model import SceneModel
from photonsim.scene.part import Part
from photonsim.scene.polariser import Direction
from photonsim.scene.quantities import (
    FromList,
    Height,
    Length,
    Share,
    ShareAboveZero,
    ShareBelowOne,
)

Angle = Annotated[float, Field(ge=0.0, le=90.0)]
PixelCount = Annotated[int, Field(ge=9)]  # the nine-point uniformity needs 3 x 3 fields of 3 pixels


class RelativeTransmittance(SceneModel):
    """Transmittance against the angle of incidence, relative to that straight on.

    >>> from photonsim import RelativeTransmittance
    >>> RelativeTransmittance(angle_deg=(0, 45, 90), relative=(1, 0.7, 0)).relative
    (1.0, 0.7, 0.0)
    """

    angle_deg: Annotated[tuple[Angle, ...], FromList] = Field(
        min_length=2,
        max_length=1000,
        description="angles from the axis in degrees, rising from 0 to 90",
    )
    relative: Annotated[tuple[Share, ...], FromList] = Field(
        min_length=2,
        max_length=1000,
        description="the relative transmittance at each angle, 0 to 1",
    )

    def contradictions(self) -> Iterator[Mistake]:
        """Angles that don't rise from 0 to 90, or a list of another length beside them."""
        angles = self.angle_deg
        if angles[0] != 0.0 or angles[-1] != 90.0:
            yield Mistake("angle_deg", "must begin with 0 and end with 90", angles)
        yield from self.unpaired("angle_deg", "relative", "angle")


# Eight tallies of eight bytes each, once per thread: 2.56 GB at the limit.
BYTES_PER_PIXEL = 64
MOST_PIXELS = 40_000_000


class Panel(Part):
    """The LCD panel. Its transmittance is applied after the count, its angle table to photons.

    >>> import photonsim
    >>> scene = photonsim.load_scene("scenes/d_split_film.toml")
    >>> scene.panel.columns, scene.panel.active_width_mm
    (480, 95.04)
    """

    words: ClassVar[str] = "panel"
    outline_keys: ClassVar[tuple[str, str]] = ("outer_width_mm", "outer_height_mm")
    unseen: ClassVar[frozenset[str]] = frozenset({"contrast", "front_faces", "cable_width_mm"})

    kind: Literal["panel"] = Field(default="panel", description="the kind of part")
    columns: PixelCount = Field(description="the number of pixels along x")
    rows: PixelCount = Field(description="the number of pixels along y")
    active_width_mm: Length = Field(
        description="the width of the picture area along x in millimetres"
    )
    active_height_mm: Length = Field(
        description="the height of the picture area along y in millimetres"
    )
    outer_width_mm: Length = Field(
        description="the width of the panel with its frame along x in millimetres"
    )
    outer_height_mm: Length = Field(
        description="the height of the panel with its frame along y in millimetres"
    )
    transmittance: ShareAboveZero = Field(
        default=1.0, description="the share of the light that passes a white pixel straight on"
    )
    frame_reflectance: Share = Field(
        default=0.05, description="the share of the light that the frame reflects"
    )
    contrast: float | None = Field(
        default=None, gt=1.0, le=1.0e6, description="the contrast ratio, white against black"
    )
    haze: ShareBelowOne | None = Field(
        default=None, description="the share of the light that the panel scatters (ASTM D1003)"
    )
    front_faces: Literal["screen", "lamp"] = Field(
        default="screen", description="the side that the panel's front is turned to"
    )
    relative_transmittance: RelativeTransmittance | None = Field(
        default=None, description="the table of transmittance against angle (default: none)"
    )
    cable_width_mm: Length | None = Field(
        default=None,
        description="the width of the panel's cable in millimetres; the board plan leaves a slot "
        "for it (default: none)",
    )
    polariser_deg: Direction | None = Field(
        default=None,
        description="the direction, in degrees, of the field of light that the polariser on the "
        "panel's lamp side passes, counter-clockwise from the x axis as seen from the screen; "
        "transmittance holds the half that it takes from unpolarised light (default: all light "
        "passes alike)",
    )
    thickness_mm: Height = Field(
        default=1.5, description="the thickness of the panel in millimetres"
    )

    def contradictions(self) -> Iterator[Mistake]:
        """More pixels than memory holds, or a frame smaller than the picture."""
        if self.columns * self.rows > MOST_PIXELS:
            needed = self.columns * self.rows * BYTES_PER_PIXEL / 1.0e9
            yield Mistake(
                "columns",
                f"with rows = {self.rows} the panel has more than {MOST_PIXELS:,} pixels",
                self.columns,
                f"it would need {needed:,.1f} GB of memory per thread; count on a coarser grid",
            )
        for side in ("width", "height"):
            active, outer = getattr(self, f"active_{side}_mm"), getattr(self, f"outer_{side}_mm")
            if outer < active:
                problem = f"must be at least active_{side}_mm = {active:g}"
                yield Mistake(f"outer_{side}_mm", problem, outer)
