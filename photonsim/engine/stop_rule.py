"""When to stop: by photon count, by error of a named figure, by noise of the map, or by time."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from photonsim.arrays import Whole
from photonsim.kernel.allotment import Guide
from photonsim.results import FIGURES, Estimate, Result, ResultError, figure_named
from photonsim.results.errors import whole_number
from photonsim.results.files.soundness import MOST_PHOTONS
from photonsim.results.panel.blocks import is_fit_to_print

# Where nothing else is asked for: the collected light of a lamp whose objective takes 1 % of it is
# then known to 0.15 % and mapped in 700 blocks to 5 %. A power of two has whole blocks of the
# emission's net and equal batches.
DEFAULT_PHOTONS = 1 << 25
# A relative error is not believed before there are batches enough to know it.
FEWEST_PHOTONS = 1 << 14
# A run until its map is fit to print is judged so often while its count doubles, at counts that
# follow from nothing else: on average 3 % more is traced than needed.
LOOKS_A_DOUBLING = 16


@dataclass(frozen=True)
class StopRule:
    """The rules that end a run; whichever is met first does. Without any: DEFAULT_PHOTONS.

    relative_error applies to the figure of merit `figure`. fit_to_print ends the run at the first
    of its looks, from DEFAULT_PHOTONS on, at which the map of collected light is fit to print
    (results.panel.blocks), or at once where no light is collected; the count is a function of scene
    and seed alone. Raises ResultError for values that make no sense.
    """

    photons: Whole | None = None
    relative_error: float | None = None
    seconds: float | None = None
    figure: str = "collected_fraction"
    fit_to_print: bool = False
    # What tallies can hold.
    most: int = MOST_PHOTONS

    def __post_init__(self) -> None:
        if self.photons is not None:
            whole_number("photons", self.photons, 1, self.most)
        if self.relative_error is not None and not 0.0 < self.relative_error < 1.0:
            raise ResultError(f"relative error = {self.relative_error}: must be between 0 and 1")
        if self.seconds is not None and not (0.0 < self.seconds < 1e8):
            raise ResultError(f"seconds = {self.seconds}: must be more than 0")
        object.__setattr__(self, "figure", figure_named(self.figure).name)

    def with_guide(self, guide: Guide | None) -> StopRule:
        """Return the rule for a guided run, of which tallies hold fewer photons."""
        return replace(self, most=MOST_PHOTONS // guide.counts_per_photon) if guide else self

    @property
    def most_photons(self) -> int:
        """The count at which the run ends whatever else holds."""
        if self.photons is not None:
            return int(self.photons)
        bounded = self.relative_error is not None or self.seconds is not None or self.fit_to_print
        return self.most if bounded else DEFAULT_PHOTONS

    def next_look(self, photons: int) -> int:
        """Return the count, above `photons`, beyond which no round may go."""
        if not self.fit_to_print:
            return self.most_photons
        return min(next_print_look(photons), self.most_photons)

    def needs_maps(self, photons: int) -> bool:
        """Tell whether a result of so many photons is judged by its maps."""
        return self.fit_to_print and photons == next_print_look(photons - 1)

    def reason(self, photons: int, seconds: float, so_far: Callable[[], Result]) -> str:
        """Return which rule ends the run now, or an empty text while none does.

        `so_far` gives the result, which may lack its maps unless `needs_maps` asks for them; a rule
        that needs none does not ask for it.
        """
        if self.relative_error is not None and photons >= FEWEST_PHOTONS:
            estimate = so_far().estimate(self.figure)
            if estimate.relative_error <= self.relative_error:
                words = FIGURES[self.figure].words
                return f"relative error of {words} at most {self.relative_error:g}"
        if photons >= self.most_photons:
            # More than was asked for where a run with more is continued.
            return f"photon count {photons:,}"
        if self.needs_maps(photons):
            counts = so_far().effective_counts("collected")
            if is_fit_to_print(counts):
                return "map fit to print"
            if not counts.any():
                return "no light collected, so no map to print"
        if self.seconds is not None and seconds >= self.seconds:
            return f"time {self.seconds:g} s"
        return ""


def next_print_look(photons: int) -> int:
    """Return the first count above `photons` at which a map may be found fit to print."""
    if photons < DEFAULT_PHOTONS:
        return DEFAULT_PHOTONS
    step = (1 << (photons.bit_length() - 1)) // LOOKS_A_DOUBLING
    return (photons // step + 1) * step


def forecast(estimate: Estimate, photons: int, photons_per_second: float) -> str:
    """Return what half the error would take: errors fall with the root of the count."""
    if not (estimate.error > 0.0 and math.isfinite(estimate.error)):
        return "more photons are needed before an error can be given"
    wanted = 4 * photons
    seconds = (wanted - photons) / max(photons_per_second, 1.0)
    return f"half the error takes {wanted:,} photons in all, {duration(seconds)} more"


def duration(seconds: float) -> str:
    """Return a time in words, no finer than a forecast can be."""
    if seconds < 90:
        return f"about {seconds:.0f} s"
    if seconds < 5400:
        return f"about {seconds / 60:.0f} min"
    return f"about {seconds / 3600:.0f} h"
