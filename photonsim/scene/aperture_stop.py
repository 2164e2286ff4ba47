"""The aperture stop: the hole that decides which light makes the picture."""

from typing import ClassVar, Literal

from pydantic import Field

from photonsim.scene.part import Part
from photonsim.scene.quantities import Length


class ApertureStop(Part):
    """A round hole centred on the axis; what misses it is stopped.

    >>> from photonsim import ApertureStop
    >>> ApertureStop(z_mm=230, diameter_mm=40).diameter_mm
    40.0
    """

    words: ClassVar[str] = "aperture stop"
    outline_keys: ClassVar[tuple[str, str]] = ("diameter_mm", "diameter_mm")

    kind: Literal["aperture_stop"] = Field(default="aperture_stop", description="the kind of part")
    diameter_mm: Length = Field(description="the diameter of the hole in millimetres")
