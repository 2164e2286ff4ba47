"""The integer tallies of a run: sums only, so that runs can be split, resumed and merged."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from photonsim.arrays import Counts
from photonsim.kernel.tallies import DIRECTION_SCALE, PANEL_SUM, Maps

__all__ = ["DIRECTION_SCALE", "MAPS", "PANEL_SUM_NAMES", "Tallies"]


PANEL_SUM_NAMES = PANEL_SUM.words
# The arrays that are kept for the run as a whole, not by batch.
MAPS = Maps._fields


@dataclass(frozen=True)
class Tallies:
    """What was counted, as kernel.tallies declares it; DEVELOPERS.md, result file, has the table.

    batches: named arrays with the batch as first axis.
    batch_photons: photons in a complete batch; the last batch may hold fewer.
    panel ... stop_sums: the maps; those of the screen are empty where the scene has none.
        What an older version did not count is an axis cut short: results.files.layout, COUNTED.
    lost: numbers of the first few histories given up.
    """

    photons: int
    batch_photons: int
    batches: dict[str, Counts]
    panel: Counts
    directions: Counts
    pupil: Counts
    spots: Counts
    stop_sums: Counts
    lost: list[int] = field(default_factory=list)

    @property
    def complete_batches(self) -> int:
        """The number of batches that hold their full count; errors come from these."""
        return self.photons // self.batch_photons

    @property
    def counts_version(self) -> int:
        """The version of the result file since which as much is counted as here."""
        return 2 if self.batches["rings"].shape[1] else 1

    def batch_sizes(self) -> Counts:
        """Return the photons in each batch [batches]."""
        sizes = np.full(len(self.batches["incident"]), self.batch_photons, dtype=np.int64)
        if len(sizes):
            sizes[-1] = self.photons - self.batch_photons * (len(sizes) - 1)
        return sizes
