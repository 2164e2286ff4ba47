"""Blocks of pixels: how a map of the panel is divided, and how surely each block is counted.

Counts are those of effective photons (results.panel.weights). A block's is taken as Poisson's, so
that its counting noise is 1/sqrt(count): the emission's net spreads photons a little more evenly
(DEVELOPERS.md, Chance), which errs on the safe side. The noise of a map is that of its median
block: half of the blocks are surer.
"""

from __future__ import annotations

import math
from typing import TypeVar

import numpy as np

from photonsim.arrays import Counts, Reals

Numbers = TypeVar("Numbers", Counts, Reals)

# A map to look at: 400 photons in the median block, and as many blocks as they allow.
BLOCK_NOISE = 0.05
FEWEST_BLOCKS = 700
# A map to publish; as fine as print shows at the width of half a page, so none is drawn finer.
PRINT_NOISE = 0.03
PRINT_BLOCKS = 2000
# A map of fewer columns shows nothing.
FEWEST_COLUMNS = 9


def block_edges(size: int, blocks: int) -> Counts:
    """Return the pixels [blocks + 1] at which blocks begin, the last one the end of them all.

    Blocks are alike to a pixel: a narrow one left over at the edge would look like a fault of the
    lamp.
    """
    return np.arange(blocks + 1) * size // blocks


def block_shape(shape: tuple[int, ...], columns: int) -> tuple[int, int]:
    """Return (rows, columns) of nearly square blocks of a panel of [rows, columns] pixels."""
    columns = min(max(columns, 1), shape[1])
    return max(1, round(columns * shape[0] / shape[1])), columns


def block_sums(array: Numbers, columns: int) -> Numbers:
    """Return sums over nearly square blocks of pixels, in so many columns of them."""
    rows, columns = block_shape(array.shape, columns)
    sums = np.add.reduceat(array, block_edges(array.shape[0], rows)[:-1], axis=0)
    return np.add.reduceat(sums, block_edges(array.shape[1], columns)[:-1], axis=1)


def median_count(counts: Reals, columns: int) -> float:
    """Return the count in the median block, as if blocks were alike in size to a hair."""
    sums = block_sums(counts, columns)
    pixels = block_sums(np.ones(counts.shape, dtype=np.int64), columns)
    return float(np.median(sums / pixels)) * counts.size / sums.size


def block_noise(counts: Reals, columns: int) -> float:
    """Return the relative counting noise of the median block; infinite where that holds nothing."""
    median = median_count(counts, columns)
    return median**-0.5 if median else math.inf


def quiet_columns(counts: Reals, noise: float, most: int) -> int:
    """Return the most columns of blocks, at most `most`, at which a map has so little noise.

    At least FEWEST_COLUMNS, whatever their noise.
    """
    mean = float(counts.sum()) * noise * noise
    by_mean = math.sqrt(mean * counts.shape[1] / counts.shape[0])
    # The median block of a lamp that is dim over half of the panel counts less than the mean one.
    columns = int(min(1.1 * by_mean + 1.0, most, counts.shape[1]))
    while columns > FEWEST_COLUMNS and block_noise(counts, columns) > noise:
        columns -= 1
    return max(columns, min(FEWEST_COLUMNS, counts.shape[1]))


def columns_for(shape: tuple[int, ...], blocks: int) -> int:
    """Return the fewest columns of at least so many blocks in all, or one for each pixel."""
    columns = max(1, int(math.sqrt(blocks * shape[1] / shape[0])))
    while columns < shape[1] and math.prod(block_shape(shape, columns)) < blocks:
        columns += 1
    return columns


def print_columns(shape: tuple[int, ...]) -> int:
    """Return the columns of blocks of a map fit to print."""
    return columns_for(shape, PRINT_BLOCKS)


def is_fit_to_print(counts: Reals) -> bool:
    """Tell whether a map of counts has PRINT_BLOCKS blocks with no more than PRINT_NOISE."""
    return block_noise(counts, print_columns(counts.shape)) <= PRINT_NOISE


def photons_for(counts: Reals, photons: int, blocks: int, noise: float) -> float:
    """Return about how many photons a map in so many blocks with so little noise takes.

    `photons` gave the counts. Noise falls with the root of the count, and the median of blocks that
    are surely counted stands for that of finer ones. Infinite where nothing was counted.
    """
    columns = columns_for(counts.shape, blocks)
    sure = quiet_columns(counts, BLOCK_NOISE, columns)
    shown = math.prod(block_shape(counts.shape, columns))
    counted = median_count(counts, sure) * math.prod(block_shape(counts.shape, sure)) / shown
    # Of a few photons in all, of which the median block has none, their mean must do.
    counted = counted or float(counts.sum()) / shown
    return photons / (counted * noise**2) if counted else math.inf


def about(photons: float) -> str:
    """Return a forecast count in words, rounded up to two digits: 'about 110,000,000'."""
    step = 10 ** max(int(math.log10(max(photons, 1.0))) - 1, 0)
    return f"about {math.ceil(photons / step) * step:,}"
