"""How long to trace one design of a study: to a wanted error, by counts that depend on nothing else.

A run that stops by error ends where its rounds happen to end, and those follow the clock. In a study
the counts must come out the same after a kill, on another machine or on a cluster, so here the next
count is forecast from the error that was reached.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from photonsim.engine.rows import batch_shift
from photonsim.results import FIGURES, Result, ResultError

# 2**16 photons give a collected fraction of 2 % to 2.7 % of itself, in 0.03 s.
FIRST_PHOTONS = 1 << 16
# Aim past the goal: a forecast that falls short by a hair costs another call.
RESERVE = 1.03
LARGEST_STEP = 16

Tracer = Callable[[int, Result | None], Result]


@dataclass(frozen=True)
class Effort:
    """The wanted relative error of a figure, and the most photons to spend on it."""

    relative_error: float = 0.01
    figure: str = "collected_fraction"
    most_photons: int = 20_000_000

    def __post_init__(self) -> None:
        if not 0.0 < self.relative_error < 1.0:
            raise ResultError(f"relative error = {self.relative_error}: must be between 0 and 1")
        if self.figure not in FIGURES:
            raise ResultError(f"no figure {self.figure!r}; there are {', '.join(FIGURES)}")
        if self.most_photons < 1:
            raise ResultError(f"photons = {self.most_photons}: must be at least 1")

    def trace(self, tracer: Tracer) -> Result:
        """Trace with `tracer(photons, earlier)` until the error is met or the photons are spent."""
        photons = min(FIRST_PHOTONS, self.most_photons)
        result = tracer(photons, None)
        while photons < self.most_photons and not self.is_met(result):
            photons = self._next(result)
            result = tracer(photons, result)
        return result

    def is_met(self, result: Result) -> bool:
        """Tell whether a result is as sure as wanted."""
        return result.estimate(self.figure).relative_error <= self.relative_error

    def _next(self, result: Result) -> int:
        relative = result.estimate(self.figure).relative_error
        # not (a < b) also holds for nan: too few photons arrived to know an error.
        factor = (relative / self.relative_error) ** 2 * RESERVE
        factor = factor if factor < LARGEST_STEP else LARGEST_STEP
        return min(whole_batches(int(result.photons * max(factor, 1.05))), self.most_photons)


def whole_batches(photons: int) -> int:
    """Return a count, at least the given one, whose batches are all complete."""
    size = 1 << batch_shift(photons)
    return -(-photons // size) * size
