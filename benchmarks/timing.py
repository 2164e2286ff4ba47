"""Repeats that take turns: on a busy machine the best run says most, and no two minutes agree."""

from __future__ import annotations

import statistics
import sys
from collections.abc import Callable, Mapping
from typing import NamedTuple

REPEATS = 5


class Rate(NamedTuple):
    """Something a second: the best of the repeats, their median and the lowest of them."""

    best: float
    median: float
    lowest: float

    @property
    def spread(self) -> float:
        """How far the lowest fell below the best, as a share."""
        return 1.0 - self.lowest / self.best


def taking_turns(
    measures: Mapping[str, Callable[[], float]], repeats: int = REPEATS
) -> dict[str, Rate]:
    """Return the rate of each measure, a function that works a while and returns a rate.

    All are run once before any is run again, so that a slow minute falls on all alike.
    """
    found: dict[str, list[float]] = {name: [] for name in measures}
    for _ in range(repeats):
        for name, measure in measures.items():
            found[name].append(measure())
    return {
        name: Rate(max(rates), statistics.median(rates), min(rates))
        for name, rates in found.items()
    }


def tell(line: str) -> None:
    """Say on the error stream what is being measured; the table itself comes last."""
    print(f"  {line}", file=sys.stderr, flush=True)
