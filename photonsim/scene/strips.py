"""Strips: a sheet that covers part of its area and leaves gaps."""

import itertools
import math
from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from photonsim.scene.mistakes import Mistake, join_path, write_value
from photonsim.scene.model import SceneModel
from photonsim.scene.quantities import FromList, Length, Position

Interval = Annotated[tuple[Position, Position], FromList]

# Far more strips than anyone cuts, and still a short list for the tracer to search.
MOST_STRIPS = 10_000


class Strips(SceneModel):
    """Which parts of a sheet are covered: a list of intervals, or equal strips at a pitch.

    >>> from photonsim import Strips
    >>> Strips(across="y", width_mm=12, pitch_mm=18, offset_mm=9).pitch_mm
    18.0
    """

    across: Literal["x", "y"] = Field(
        description='the axis along which strips and gaps alternate, "x" or "y"'
    )
    covered_mm: Annotated[tuple[Interval, ...], FromList] | None = Field(
        default=None,
        min_length=1,
        max_length=MOST_STRIPS,
        description="the covered intervals in millimetres, a list such as [[-40, -30], [30, 40]]",
    )
    width_mm: Length | None = Field(
        default=None, description="the width of each strip in millimetres"
    )
    pitch_mm: Length | None = Field(
        default=None, description="the distance between the centres of two strips in millimetres"
    )
    offset_mm: Position = Field(
        default=0.0, description="the place of one strip's centre in millimetres"
    )

    def contradictions(self) -> Iterator[Mistake]:
        """Both ways to describe the strips or neither, or strips that run into one another."""
        periodic = [
            key for key in ("width_mm", "pitch_mm", "offset_mm") if key in self.model_fields_set
        ]
        if self.covered_mm is not None:
            advice = "give either the list of intervals or width_mm and pitch_mm"
            yield from self.beside("covered_mm", advice, *periodic)
            yield from _interval_mistakes(self.covered_mm)
        elif not self.given(*periodic):
            yield self.missing("covered_mm", "or give width_mm and pitch_mm")
        elif self.width_mm is None or self.pitch_mm is None:
            yield from self.lacking("width_mm", "pitch_mm")
        elif self.pitch_mm <= self.width_mm:
            yield Mistake(
                "pitch_mm",
                f"must be greater than width_mm = {self.width_mm:g}",
                self.pitch_mm,
                "without gaps, leave the strips out",
            )

    def intervals_mm(self, low: float, high: float) -> list[tuple[float, float]]:
        """Covered intervals within low..high, rising, clipped to it, in millimetres."""
        if self.covered_mm is not None:
            spans = sorted(self.covered_mm)
        elif self.width_mm is None or self.pitch_mm is None:
            return []  # contradictions() refuses such a table
        else:
            half, offset = 0.5 * self.width_mm, self.offset_mm
            first = math.ceil((low - offset - half) / self.pitch_mm)
            last = math.floor((high - offset + half) / self.pitch_mm)
            centres = [offset + index * self.pitch_mm for index in range(first, last + 1)]
            spans = [(centre - half, centre + half) for centre in centres]
        clipped = [(max(start, low), min(end, high)) for start, end in spans]
        return [(start, end) for start, end in clipped if start < end]


def _interval_mistakes(covered: tuple[tuple[float, float], ...]) -> Iterator[Mistake]:
    empty = [place for place, span in enumerate(covered) if span[0] >= span[1]]
    for place in empty:
        problem = "the first number must be less than the second"
        yield Mistake(join_path("covered_mm", place), problem, covered[place])
    if empty:
        return
    ordered = sorted(range(len(covered)), key=covered.__getitem__)
    for before, after in itertools.pairwise(ordered):
        if covered[after][0] < covered[before][1]:
            problem = f"overlaps the interval {write_value(covered[before])}"
            yield Mistake(join_path("covered_mm", after), problem, covered[after])
