"""When to stop: by photon count, by relative error of a named figure, or by time."""

from __future__ import annotations

import math
from dataclasses import dataclass

from photonsim.results import FIGURES, Estimate, Result, ResultError

DEFAULT_PHOTONS = 1_000_000
# A relative error is not believed before there are batches enough to know it.
FEWEST_PHOTONS = 1 << 14
# Of so many histories one in 3,000 shares random numbers with another; see kernel.random.
MOST_PHOTONS = 10**14


@dataclass(frozen=True)
class StopRule:
    """The rules that end a run; whichever is met first does. Without any: 1,000,000 photons.

    relative_error applies to the figure of merit `figure`. Raises ResultError for values that
    make no sense.
    """

    photons: int | None = None
    relative_error: float | None = None
    seconds: float | None = None
    figure: str = "collected_fraction"

    def __post_init__(self) -> None:
        if self.photons is not None and not 1 <= self.photons <= MOST_PHOTONS:
            raise ResultError(f"photons = {self.photons}: must be from 1 to {MOST_PHOTONS:.0e}")
        if self.relative_error is not None and not 0.0 < self.relative_error < 1.0:
            raise ResultError(f"relative error = {self.relative_error}: must be between 0 and 1")
        if self.seconds is not None and not (0.0 < self.seconds < 1e8):
            raise ResultError(f"seconds = {self.seconds}: must be more than 0")
        if self.figure not in FIGURES:
            raise ResultError(f"no figure {self.figure!r}; there are {', '.join(FIGURES)}")

    @property
    def most_photons(self) -> int:
        """The count at which the run ends whatever else holds."""
        if self.photons is not None:
            return self.photons
        bounded = self.relative_error is not None or self.seconds is not None
        return MOST_PHOTONS if bounded else DEFAULT_PHOTONS

    def reason(self, result: Result, seconds: float) -> str:
        """Return which rule ends the run now, or an empty text while none does."""
        if self.relative_error is not None and result.photons >= FEWEST_PHOTONS:
            estimate = result.estimate(self.figure)
            if estimate.relative_error <= self.relative_error:
                return f"relative error of {self.figure} at most {self.relative_error:g}"
        if result.photons >= self.most_photons:
            return f"photon count {result.photons:,}"
        if self.seconds is not None and seconds >= self.seconds:
            return f"time {self.seconds:g} s"
        return ""


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
