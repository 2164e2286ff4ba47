"""How long to trace a design of a study: to a wanted error, by counts that depend on no clock.

A run that stops by error ends where its rounds happen to end, and those follow the clock. In a
study the counts must come out the same after a kill, on another machine or on a cluster, so here
the next count is forecast from the error that was reached.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from photonsim.engine.rows import batch_shift
from photonsim.results import Result, ResultError, figure_named

# 2**16 photons give a collected fraction of 2 % to 1.6 % of itself, in 0.03 s.
FIRST_PHOTONS = 1 << 16
# Aim short of the goal: errors are known to a tenth, and early ones are too large (results.sums).
# Photons too many cost more than another look, and looks so far apart are too few to pick luck out.
AIM = 0.8
LEAST_STEP, LARGEST_STEP = 1.1, 16
# A limit is decided when a figure lies two errors from it, or so near that it makes no odds.
DECIDED = 2.0
NEAR_ENOUGH = 0.02

# Takes photons and traces on to them from what it traced before.
Tracer = Callable[[int], Result]


@dataclass(frozen=True)
class Effort:
    """The wanted relative error of a figure, and the most photons to spend on it.

    `limits` are figures and values from which they must be told apart besides: photons go on until
    each lies two standard errors off, or its error is 2 % of the limit.
    """

    relative_error: float = 0.01
    figure: str = "collected_fraction"
    most_photons: int = 20_000_000
    limits: tuple[tuple[str, float], ...] = ()

    def __post_init__(self) -> None:
        if not 0.0 < self.relative_error < 1.0:
            raise ResultError(f"relative error = {self.relative_error}: must be between 0 and 1")
        object.__setattr__(self, "figure", figure_named(self.figure).name)
        if self.most_photons < 1:
            raise ResultError(f"photons = {self.most_photons}: must be at least 1")

    def trace(self, tracer: Tracer) -> Result:
        """Trace with a `tracer` until the error is met or the photons are spent."""
        photons = min(FIRST_PHOTONS, self.most_photons)
        result = tracer(photons)
        while photons < self.most_photons and (short := self.shortfall(result)) > 1.0:
            factor = min(max(short**2 * AIM, LEAST_STEP), LARGEST_STEP)
            photons = min(whole_batches(int(result.photons * factor)), self.most_photons)
            result = tracer(photons)
        return result

    def shortfall(self, result: Result) -> float:
        """Return the largest ratio of an error that was reached to the one that is wanted."""
        ratios = [result.estimate(self.figure).relative_error / self.relative_error]
        for figure, value in self.limits:
            estimate = result.estimate(figure)
            if estimate.is_withheld:
                return math.inf
            if math.isnan(estimate.value):
                continue  # a figure that the lamp does not have
            wanted = max(abs(estimate.value - value) / DECIDED, NEAR_ENOUGH * abs(value))
            ratios.append(estimate.error / wanted if wanted else math.inf)
        return max(math.inf if math.isnan(ratio) else ratio for ratio in ratios)


def whole_batches(photons: int) -> int:
    """Return a count, at least the given one, whose batches are all complete."""
    size = 1 << batch_shift(photons)
    return -(-photons // size) * size
