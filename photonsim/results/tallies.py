"""The integer tallies of a run: sums only, so that runs can be split, resumed and merged."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Counts = NDArray[np.int64]

# Panel sums, in the order of the last axis of `panel`. Direction cosines count in 2**-20.
PANEL_SUM_NAMES = ("incident", "collected", "sum_u", "sum_v", "sum_uu", "sum_vv")
DIRECTION_SCALE = 1 << 20
DIRECTION_BINS = 90
PUPIL_BINS = 64
# What is kept for every batch besides its fates: the shape behind the axis of batches.
BATCH_SHAPES: dict[str, tuple[int, ...]] = {
    "incident": (),
    "collected": (),
    "direction_sums": (4,),
    "events": (),
    "cells": (2, 9, 9),
    "profile_x": (2, 128),
    "profile_y": (2, 128),
    "polar": (2, 90),
    "plane_x": (2, 90),
    "plane_y": (2, 90),
    "screen": (11, 9, 9),
    "colours": (3, 3, 9, 9),
    "rings": (8, 5, 9, 9),
}
# With a screen these are kept too; without one they are empty.
SCREEN_SHAPES: dict[str, tuple[int, ...]] = {
    "spots": (9, 9, 5, 32, 32),
    "stop_sums": (9, 9, 16, 16, 5),
}

# The arrays that are kept for the run as a whole, not by batch.
MAPS = ("panel", "directions", "pupil", "spots", "stop_sums")


@dataclass(frozen=True)
class Tallies:
    """What was counted.

    batches: named arrays with the batch as first axis (see DEVELOPERS.md, result file).
    batch_photons: photons in a complete batch; the last batch may hold fewer.
    panel: [rows, columns, 6] PANEL_SUM_NAMES; row 0 is the lowest y, column 0 the lowest x.
    directions: [90, 90] arrivals at the panel over the direction cosines (v, u) from -1 to 1.
    pupil: [64, 64] over the square around the stop's hole (y, x).
    spots: [9, 9, 5, 32, 32] light on the screen by cell of the panel (y, x) and place (y, x) in the
        smallest of five squares around the chief ray that holds it, each half as wide as the one
        before; stop_sums: [9, 9, 16, 16, 5] by cell and place in the stop (y, x): photons, offsets
        dx and dy on the panel's scale in 2**-20 mm, dx**2 + dy**2, photons of odd blocks.
        Both are empty where the scene has no screen.
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

    def batch_sizes(self) -> Counts:
        """Return the photons in each batch [batches]."""
        sizes = np.full(len(self.batches["incident"]), self.batch_photons, dtype=np.int64)
        if len(sizes):
            sizes[-1] = self.photons - self.batch_photons * (len(sizes) - 1)
        return sizes
