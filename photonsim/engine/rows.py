"""Batch rows: sums for every batch, in a number of batches that stays between 64 and 128.

The batch size is a function of the photon count alone, so that a run gives the same batches
however it was split: it starts at 256 photons and doubles, neighbours joined, whenever more than
128 batches would be needed. Sums are whole numbers, so joining loses nothing.
"""

from __future__ import annotations

import math

import numpy as np

from photonsim.arrays import Counts
from photonsim.kernel import codes
from photonsim.kernel.tallies import (
    BATCH_TALLIES,
    COLUMN,
    END,
    LIGHT,
    PANEL_SUM,
    ROW_FATES,
    Tally,
)
from photonsim.results.files.soundness import MOST_BATCHES

# 32 batches, the fewest that give an error, take 8,192 photons.
SMALLEST_SHIFT = 8
# The tallies that stand in a row by columns of their own, and which.
SECTIONS = [
    (tally, slice(COLUMN[tally.name], COLUMN[tally.name] + math.prod(tally.shape)))
    for tally in BATCH_TALLIES
    if tally.name in COLUMN and tally.by != END
]
# Places on a tally's second axis that follow from others: see from_others.
NOT_COUNTED = {
    "screen": [
        codes.SCREEN_COUNT,
        codes.SCREEN_STRAY,
        codes.SCREEN_DX,
        codes.SCREEN_DY,
        codes.SCREEN_DYY,
    ],
    "colours": [codes.GREEN],
}


def batch_shift(photons: int) -> int:
    """Return the base-2 logarithm of the batch size for a run of so many photons."""
    return max(((photons - 1) // MOST_BATCHES).bit_length(), SMALLEST_SHIFT)


class BatchRows:
    """The rows of a run, grown range by range from history 0 on."""

    def __init__(self, width: int) -> None:
        self.width = width
        self.photons = 0
        self.shift = SMALLEST_SHIFT
        # Made once, and zero where no row is yet: fresh memory for each round takes longer.
        self._room: Counts = np.zeros((MOST_BATCHES, width), dtype=np.int64)
        self.rows = self._room[:0]

    def make_room(self, photons: int) -> None:
        """Grow to hold histories 0 .. photons - 1, joining batches as needed."""
        while self.shift < batch_shift(photons):
            joined = (len(self.rows) + 1) // 2
            pairs = self._room[: 2 * joined]
            pairs[:joined] = pairs[0::2] + pairs[1::2]
            pairs[joined:] = 0
            self.rows = self._room[:joined]
            self.shift += 1
        self.end_at(photons)

    def end_of_size(self, first: int) -> int:
        """Return the largest count of which batches have the size that they have after `first`."""
        return MOST_BATCHES << batch_shift(first + 1)

    def end_at(self, photons: int) -> None:
        """Hold histories 0 .. photons - 1; none beyond were traced."""
        self.rows = self._room[: -(-photons >> self.shift)]
        self.photons = photons

    def add(self, first: int, rows: Counts) -> None:
        """Add the rows of a range that starts at history `first`, at the present batch size."""
        start = first >> self.shift
        self.rows[start : start + len(rows)] += rows

    def rows_for(self, first: int, count: int) -> Counts:
        """Return empty rows for a range of histories, at the present batch size."""
        batches = ((first + count - 1) >> self.shift) - (first >> self.shift) + 1
        return np.zeros((batches, self.width), dtype=np.int64)


def unpack(rows: Counts, fate_codes: list[int]) -> dict[str, Counts]:
    """Return rows as named arrays with the batch as first axis."""
    named: dict[str, Counts] = {}
    for tally, columns in SECTIONS:
        named[tally.name] = rows[:, columns].copy().reshape(len(rows), *tally.shape)
        every_arrival(tally, named[tally.name])
    from_others(named)
    fates = rows[:, ROW_FATES:]
    named["fates"] = fates[:, fate_codes].copy()
    if named["fates"].sum() != fates.sum():
        raise AssertionError("the kernel reported a fate that the scene does not have")
    lights = named["cells"].sum(axis=(2, 3))
    named["incident"], named["collected"] = lights[:, 0].copy(), lights[:, 1].copy()
    return named


def pack(named: dict[str, Counts], fate_codes: list[int], width: int) -> Counts:
    """Return named arrays as rows again; the inverse of unpack."""
    batches = len(named["incident"])
    rows = np.zeros((batches, width), dtype=np.int64)
    for tally, columns in SECTIONS:
        counts = named[tally.name].copy()
        if tally.name == "squares":
            counts -= named["cells"]
        every_arrival(tally, counts, -1)
        if tally.name in NOT_COUNTED:
            counts[:, NOT_COUNTED[tally.name]] = 0
        rows[:, columns] = counts.reshape(batches, -1)
    rows[:, ROW_FATES + np.array(fate_codes)] = named["fates"]
    return rows


def every_arrival(tally: Tally, counts: Counts, sign: int = 1) -> None:
    """Turn counts of arrivals, made under one of two lights, into arriving and collected, in place.

    The kernel counts an arrival once: with those that go on through the stop, or with those that
    do not. With `sign` -1, the way back.
    """
    if LIGHT in tally.axes:
        counts[:, 0] += sign * counts[:, 1]
    elif PANEL_SUM in tally.axes:
        counts[..., codes.INCIDENT] += sign * counts[..., codes.COLLECTED]


def from_others(named: dict[str, Counts]) -> None:
    """Fill in, in place, what the kernel need not add to since other tallies have it.

    The sums over rings leave 15 of a landing's 23 additions, of green light; all else is counted as
    it is. Of a squared weight the kernel adds what exceeds the weight: nothing without a guide.
    """
    named["squares"] += named["cells"]
    screen, colours = named["screen"], named["colours"]
    light, d_x, d_y, squared, stray = np.moveaxis(named["rings"].sum(axis=1), 1, 0)
    yy = squared - screen[:, codes.SCREEN_DXX]
    screen[:, NOT_COUNTED["screen"]] = np.stack([light, stray, d_x, d_y, yy], axis=1)
    every = np.stack([light, d_x, d_y], axis=1)
    colours[:, codes.GREEN] = every - colours[:, codes.BLUE] - colours[:, codes.RED]
