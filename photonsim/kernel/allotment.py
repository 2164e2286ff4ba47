"""The guide of an emission: how many histories leave into each cell of directions, and which.

A short pilot counts the collected light by the cell it was emitted into (kernel/guide.py has the
cells). With n of a block's 8,192 histories in each of 4,096 cells, every one of weight 2/n, the
second moment of the collected light is the sum of p / n, p a cell's share of it. It is least for n
in proportion to the root of p; here n is a power of two and at least 1, so that no weight is above
2 and light that the pilot did not see is not lost.

To each cell's light an eighth of the mean is added. Collected light then has as many photons for
its time, on the shipped lamps, and all that arrives at the panel scatters less: of its cells the
variance is up to 1.8 times that without a guide, instead of 2.4.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from photonsim.arrays import Counts
from photonsim.kernel.tallies import EMISSION_CELLS, EMISSION_RINGS, MOST_DOUBLINGS, SLOTS

# Each 256 histories of an aligned range take one of each 32 slots. So slots of one weight come in
# bundles of 32, and the weights of such a range sum to its photons exactly.
EXACT_HISTORIES = 256
BUNDLE = SLOTS // EXACT_HISTORIES
# How many cells there are in each ring; which ring each cell lies in, and its place there.
SECTORS = 4 * (2 * np.arange(EMISSION_RINGS, dtype=np.int64) + 1)
RING = np.repeat(np.arange(EMISSION_RINGS, dtype=np.int64), SECTORS)
SECTOR = np.arange(EMISSION_CELLS, dtype=np.int64) - 4 * RING**2
# In a slot's entry the cell's sector, from these bits on its ring, its doublings, and by how many
# doublings its weight is above the least.
RING_AT, DOUBLINGS_AT, WEIGHT_AT = 8, 13, 16
HILBERT_BITS = 6


@dataclass(frozen=True, eq=False)
class Guide:
    """A guide as its pilot found it.

    collected: the pilot's collected photons by cell of emission [EMISSION_CELLS].
    photons: the histories of the pilot. origin: whose pilot it was, in words.
    """

    collected: Counts
    photons: int
    origin: str

    @cached_property
    def doublings(self) -> Counts:
        """The base-2 logarithm of each cell's histories in a block [EMISSION_CELLS]."""
        return allotted(smoothed(self.collected))

    @cached_property
    def slots(self) -> NDArray[np.int32]:
        """The entry of every slot [SLOTS], as kernel.guide reads it: each cell's lie in a row.

        Cells of most slots come first, so that each row begins at a multiple of its length. Those
        of as many follow a curve of Hilbert's over the disc: a part of a block's slots, as a batch
        smaller than a block has them, is then spread evenly over neighbours, and totals gain by it.
        """
        entry = SECTOR | RING << RING_AT | self.doublings << DOUBLINGS_AT
        entry |= (self.doublings.max() - self.doublings) << WEIGHT_AT
        cells = np.lexsort([places_on_curve(), -self.doublings])
        # In 32 bits the table fits into a processor's first cache.
        return np.repeat(entry[cells], 1 << self.doublings[cells]).astype(np.int32)

    @property
    def heaviest(self) -> int:
        """The greatest weight of a history, in units of the least."""
        return 1 << int(self.doublings.max() - self.doublings.min())

    @property
    def counts_per_photon(self) -> int:
        """What an emitted photon counts for, in units of the least weight."""
        return 1 << int(self.doublings.max() - 1)

    def gain_for(self, collected: Counts) -> float:
        """How many times less variance it brings where light is collected by cell as given."""
        weighted = int((collected << (MOST_DOUBLINGS - self.doublings)).sum())
        return (int(collected.sum()) << (MOST_DOUBLINGS - 1)) / max(weighted, 1)

    @cached_property
    def digest(self) -> str:
        """The SHA-256 digest of the allotment: guides of one digest trace the same histories."""
        return hashlib.sha256(self.doublings.astype("<i8").tobytes()).hexdigest()


def digest_of(guide: Guide | None) -> str:
    """Return the digest of a guide; empty without one."""
    return guide.digest if guide else ""


def smoothed(counts: Counts) -> Counts:
    """Return counts by cell summed over a cell and its eight neighbours.

    Those beside it in its ring, and in the rings inside and outside the three at the same turn. At
    the centre and the rim the ring itself stands for the one that is not there.
    """
    total = np.zeros_like(counts)
    for step in (-1, 0, 1):
        other = np.clip(RING + step, 0, EMISSION_RINGS - 1)
        there = (2 * SECTOR + 1) * SECTORS[other] // (2 * SECTORS[RING])
        for turn in (-1, 0, 1):
            total += counts[4 * other**2 + (there + turn) % SECTORS[other]]
    return total


def allotted(counts: Counts) -> Counts:
    """Return by cell how often its histories are doubled from 1, for so much light in each.

    Half of a block's slots give every cell one. The rest go, a bundle of 32 at a time, to where
    doubling takes most from the sum of p / n. Whole numbers only, so that it is the same on every
    machine; of equals the cell of the lower number comes first.
    """
    light = 8 * EMISSION_CELLS * counts + counts.sum()
    ranked = np.argsort(-light, kind="stable")
    # To double n = 2**level histories of c cells takes c n slots, and half their p / n.
    gains = [
        light[ranked].reshape(-1, BUNDLE >> level).sum(axis=1) << (MOST_DOUBLINGS - level)
        for level in range(MOST_DOUBLINGS)
    ]
    level_of = np.repeat(np.arange(MOST_DOUBLINGS), [len(each) for each in gains])
    best = np.argsort(-np.concatenate(gains), kind="stable")[: (SLOTS - EMISSION_CELLS) // BUNDLE]
    doublings = np.zeros(EMISSION_CELLS, dtype=np.int64)
    for level, bundles in enumerate(np.bincount(level_of[best], minlength=MOST_DOUBLINGS)):
        doublings[ranked[: bundles * (BUNDLE >> level)]] += 1
    return doublings


def places_on_curve() -> Counts:
    """Return where each cell's middle lies on Hilbert's curve over 64 by 64 squares.

    D. Hilbert, Math. Ann. 38, 459 (1891): each quarter of a square holds the curve again, turned.
    No middle lies near an edge between squares, so rounding cannot tell machines apart.
    """
    curve = np.zeros((1, 1), dtype=np.int64)  # [x, y]
    for _ in range(HILBERT_BITS):
        n = curve.size
        curve = np.block([[curve.T, n + curve], [3 * n + curve[::-1, ::-1].T, 2 * n + curve]])
    turn = 2.0 * np.pi * (SECTOR + 0.5) / SECTORS[RING]
    x = np.floor(EMISSION_RINGS + (RING + 0.5) * np.cos(turn)).astype(np.int64)
    y = np.floor(EMISSION_RINGS + (RING + 0.5) * np.sin(turn)).astype(np.int64)
    return np.asarray(curve[x, y])


# Of an even guide each history counts once.
EVEN = Guide(np.zeros(EMISSION_CELLS, dtype=np.int64), 0, "no pilot")
