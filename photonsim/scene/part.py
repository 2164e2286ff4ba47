"""What every part of the optical train has in common."""

from typing import TYPE_CHECKING, ClassVar

from pydantic import Field

from photonsim.scene.model import SceneModel
from photonsim.scene.quantities import Height, Length


class Part(SceneModel):
    """A part that stands across the axis at a height z_mm."""

    # What a person calls it.
    words: ClassVar[str]
    if TYPE_CHECKING:
        # A figure of each model's class, but for parts that may have this outline or that.
        @property
        def outline_keys(self) -> tuple[str, str]:
            """The keys that hold the outer width and height; a round part has one for both."""

        # A field of each model, which allows its own name alone; scene/train.py tells them by it.
        @property
        def kind(self) -> str:
            """The name of the kind of part, as in kernel/codes.py."""

    z_mm: Length = Field(description="the height of the part above the base in millimetres")
    thickness_mm: Height = Field(
        default=0.0, description="the thickness of the part along z in millimetres"
    )

    @property
    def end_mm(self) -> float:
        """The height in millimetres at which the part ends towards the screen."""
        return self.z_mm + self.thickness_mm

    @property
    def is_thick(self) -> bool:
        """Whether light is traced through its thickness, from one layer to another."""
        return False

    @property
    def outline_mm(self) -> tuple[float | None, float | None]:
        """Outer (width, height) as written, in millimetres; None where it follows the housing.

        A round part gives its diameter twice.
        """
        width, height = (getattr(self, key) for key in self.outline_keys)
        return width, height


class RectangularPart(Part):
    """A rectangular part centred on the axis, as large as the housing's opening unless told."""

    outline_keys: ClassVar[tuple[str, str]] = ("width_mm", "height_mm")

    width_mm: Length | None = Field(
        default=None,
        description="the width of the part along x in millimetres (default: the housing's "
        "opening at its height)",
    )
    height_mm: Length | None = Field(
        default=None,
        description="the height of the part along y in millimetres (default: the housing's "
        "opening at its height)",
    )
