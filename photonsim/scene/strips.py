"""Strips: a sheet that covers part of its area and leaves gaps."""

import math
from typing import Annotated, Literal

from pydantic import Field

from photonsim.scene.mistakes import Mistake
from photonsim.scene.model import SceneModel
from photonsim.scene.quantities import FromList, Length, Position

Interval = Annotated[tuple[Position, Position], FromList]


class Strips(SceneModel):
    """Which parts of a sheet are covered: a list of intervals, or equal strips at a pitch."""

    across: Literal["x", "y"] = Field(
        description='the axis along which strips and gaps alternate, "x" or "y"'
    )
    covered_mm: Annotated[tuple[Interval, ...], FromList] | None = Field(
        default=None,
        description="the covered intervals in millimetres, a list such as [[-40, -30], [30, 40]]",
    )
    width_mm: Length | None = Field(
        default=None, description="the width of each strip in millimetres"
    )
    pitch_mm: Length | None = Field(
        default=None, description="the distance between the centres of two strips in millimetres"
    )
    offset_mm: Position | None = Field(
        default=None, description="the place of one strip's centre in millimetres (default: 0)"
    )

    def intervals_mm(self, low: float, high: float) -> list[tuple[float, float]]:
        """Covered intervals within low..high, rising, clipped to it, in millimetres."""
        if self.covered_mm is not None:
            spans = sorted(self.covered_mm)
        elif self.width_mm is None or self.pitch_mm is None:
            return []  # contradictions() refuses such a table
        else:
            half, offset = 0.5 * self.width_mm, self.offset_mm or 0.0
            first = math.ceil((low - offset - half) / self.pitch_mm)
            last = math.floor((high - offset + half) / self.pitch_mm)
            centres = [offset + index * self.pitch_mm for index in range(first, last + 1)]
            spans = [(centre - half, centre + half) for centre in centres]
        clipped = [(max(start, low), min(end, high)) for start, end in spans]
        return [(start, end) for start, end in clipped if start < end]
