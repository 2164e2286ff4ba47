"""Clear plate: two parallel faces and the stuff between them."""

from typing import ClassVar, Literal

from pydantic import Field

from photonsim.scene.quantities import Height
from photonsim.scene.sheet import ClearSheet


class ClearPlate(ClearSheet):
    """A flat transparent plate, such as acrylic sheet or window glass.

    >>> from photonsim import ClearPlate
    >>> ClearPlate(z_mm=40, thickness_mm=3, material="acrylic").material
    'acrylic'
    """

    words: ClassVar[str] = "clear plate"

    kind: Literal["clear_plate"] = Field(default="clear_plate", description="the kind of part")
    thickness_mm: Height = Field(
        default=2.0, description="the thickness of the plate in millimetres"
    )
