"""The integer tallies of a run: sums only, so that runs can be split, resumed and merged."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from photonsim.arrays import Counts
from photonsim.kernel.allotment import Guide
from photonsim.kernel.tallies import DIRECTION_SCALE, PANEL_SUM, Maps

__all__ = ["DIRECTION_SCALE", "MAPS", "PANEL_SUM_NAMES", "Tallies"]


PANEL_SUM_NAMES = PANEL_SUM.words
# The arrays that are kept for the run as a whole, not by batch.
MAPS = Maps._fields


@dataclass(frozen=True)
class Tallies:
    """What was counted, as kernel.tallies declares it; results/README.md has the table.

    batches: named arrays with the batch as first axis.
    photons: histories traced.
    batch_photons: histories in a complete batch; the last batch may hold fewer.
    panel ... stop_sums: the maps; those of the screen are empty where the scene has none.
        What an older version did not count is an axis cut short: results.files.layout, COUNTED.
    guide: what guided the emission. A history then counts by its weight, in whole units of the
        least, and an emitted photon by counts_per_photon of these; without, each counts once.
    lost: numbers of the first few histories given up.
    """

    photons: int
    batch_photons: int
    batches: dict[str, Counts]
    panel: Counts
    directions: Counts
    pupil: Counts
    emission: Counts
    spots: Counts
    stop_sums: Counts
    lost: list[int] = field(default_factory=list)
    guide: Guide | None = None

    @property
    def counts_per_photon(self) -> int:
        """What an emitted photon counts for; 1 without a guide."""
        return self.guide.counts_per_photon if self.guide else 1

    @property
    def emitted(self) -> int:
        """The emitted light in the unit of all counts: every fate together."""
        return self.photons * self.counts_per_photon

    @property
    def complete_batches(self) -> int:
        """The number of batches that hold their full count; errors come from these."""
        return self.photons // self.batch_photons

    @property
    def counts_version(self) -> int:
        """The version of the result file since which as much is counted as here."""
        if self.emission.size:
            return 3
        return 2 if self.batches["rings"].shape[1] else 1

    def batch_sizes(self) -> Counts:
        """Return the histories in each batch [batches]."""
        sizes = np.full(len(self.batches["incident"]), self.batch_photons, dtype=np.int64)
        if len(sizes):
            sizes[-1] = self.photons - self.batch_photons * (len(sizes) - 1)
        return sizes
