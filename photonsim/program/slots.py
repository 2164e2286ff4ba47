"""The slots of a guide as the kernel reads them, from how many histories each cell gets."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from photonsim.arrays import Counts
from photonsim.kernel import codes
from photonsim.kernel.tallies import EMISSION_CELLS, EMISSION_RINGS

HILBERT_BITS = 6


def slots_of(doublings: Counts) -> NDArray[np.int32]:
    """Return the entry of every slot; cell c has 2**doublings[c] slots in a row.

    Cells of most slots come first, so that each row begins at a multiple of its length. Those of
    as many follow a curve of Hilbert's over the disc: a part of a block's slots, as a batch smaller
    than a block has them, is then spread evenly over neighbours, and totals gain by it.
    """
    cells = np.lexsort([places_on_curve(), -doublings])
    each = doublings[cells]
    ring = np.sqrt(cells // 4).astype(np.int64)
    entry = cells - 4 * ring**2 | ring << codes.GUIDE_RING | each << codes.GUIDE_DOUBLINGS
    entry |= (doublings.max() - each) << codes.GUIDE_WEIGHT
    # In 32 bits the table fits into a processor's first cache.
    return np.repeat(entry, 1 << each).astype(np.int32)


@lru_cache(maxsize=1)
def places_on_curve() -> Counts:
    """Return where each cell's middle lies on Hilbert's curve over 64 by 64 squares.

    D. Hilbert, Math. Ann. 38, 459 (1891): each quarter of a square holds the curve again, turned.
    No middle lies near an edge between squares, so rounding cannot tell machines apart.
    """
    cells = np.arange(EMISSION_CELLS)
    ring = np.sqrt(cells // 4).astype(np.int64)
    turn = (cells - 4 * ring**2 + 0.5) / (4 * (2 * ring + 1))
    radius = ring + 0.5
    x = np.floor(EMISSION_RINGS + radius * np.cos(2.0 * np.pi * turn)).astype(np.int64)
    y = np.floor(EMISSION_RINGS + radius * np.sin(2.0 * np.pi * turn)).astype(np.int64)
    place = np.zeros_like(cells)
    for bit in reversed(range(HILBERT_BITS)):
        right, up = x >> bit & 1, y >> bit & 1
        place = 4 * place + (3 * right ^ up)
        # Below the middle the curve is turned: mirrored where right, and x and y change places.
        turned, mirrored = up == 0, (up == 0) & (right == 1)
        last = (1 << bit) - 1
        x, y = np.where(mirrored, last - (x & last), x), np.where(mirrored, last - (y & last), y)
        x, y = np.where(turned, y, x), np.where(turned, x, y)
    return place
