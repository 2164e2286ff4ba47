"""Coefficient of variation over the panel, with the share that is counting noise removed."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from photonsim.results.estimate import Estimate
from photonsim.results.sums import FEWEST_BATCHES
from photonsim.results.tallies import Tallies

# Pixels are joined to about this many blocks across: a lamp's unevenness is far coarser, and
# single pixels, with a photon or two each, would drown it in noise.
BLOCKS = 48


# Photons of the emission's net in one block (kernel/digital_net.py): batches of fewer are parts of
# a block, and do not show how evenly it spreads its photons.
NET_BLOCK = 1 << 13
# The net's evening out, 1 over the share less 1, goes about as this power of a place's area:
# measured from cells to blocks on four lamps, both lights, 0.7 to 1.0 (150 seeds of 2**17 photons).
AREA_POWER = 0.75


def panel_variation(tallies: Tallies, light: int) -> Estimate:
    """Return the variation of one light over the panel of a run, as in pixel_variation.

    Withheld where the batches are less than a block of the emission's net, below a million photons:
    its noise is less than that of a count, down to half in a cell, and how much less only whole
    blocks tell.
    """
    if tallies.batch_photons < NET_BLOCK or tallies.complete_batches < FEWEST_BATCHES:
        return Estimate(math.nan, math.inf)
    cells = tallies.batches["cells"][: tallies.complete_batches, light].astype(float)
    if not cells.any():
        return Estimate(math.nan, math.nan)
    counts = tallies.panel[:, :, light]
    mean = cells.mean(axis=0)
    cell_share = min(cells.var(axis=0, ddof=1).sum() / mean.sum(), 1.0)
    area = _side(counts) ** 2 / (counts.size / cells[0].size)
    share = 1.0 / (1.0 + (1.0 / cell_share - 1.0) * min(area, 1.0) ** AREA_POWER)
    # Of the noise, what looks like the unevenness itself, coarse as that is, moves the figure.
    uneven = mean - mean.mean()
    alike = (cells * uneven).sum(axis=(1, 2)).var(ddof=1) / (uneven**2 * mean).sum()
    return pixel_variation(counts, share, min(alike, 1.0))


def pixel_variation(counts: NDArray[np.int64], share: float = 1.0, alike: float = 1.0) -> Estimate:
    """Return the standard deviation over the mean of a map of counts [rows, columns].

    Counts stray about the true light with a variance of their mean (Poisson) times `share`, so that
    theirs is the true variance plus this (law of total variance). The error is that of the counting
    noise alone, since the blocks of a lamp are fixed and no draw from a law: for the squared
    variation q of n blocks of mean m, with M the mean cube of the true deviations, its variance is
    (4 (m**3 (q - q**2) + M) + 2 m**2 (1 + q)) / (n m**4), from the Poisson moments to the fourth;
    `alike` is the share of the noise in the first term, which is spread over the panel as the
    unevenness is, and `share` squared that in the second. The root keeps the sign of q. On average
    it would be too small by e**2 / (8 q**1.5), for an error e of q: that is put back, no more than
    where q is e.
    """
    side = _side(counts)
    # Only whole blocks: a narrower one at the edge would look dark.
    rows, columns = counts.shape[0] // side, counts.shape[1] // side
    whole = counts[: rows * side, : columns * side].reshape(rows, side, columns, side)
    blocks = whole.sum(axis=(1, 3)).astype(float).ravel()
    mean = blocks.mean()
    if mean <= 0.0 or blocks.size < 4:
        return Estimate(math.nan, math.nan)
    deviations = blocks - mean
    squared = (float((deviations**2).sum() / (blocks.size - 1)) - share * mean) / mean**2
    error = _error_of_squared(deviations, mean, squared, share, alike)
    shifted = squared + 0.25 * error**2 / max(abs(squared), error)
    value = math.copysign(math.sqrt(abs(shifted)), shifted)
    # Where the variation drowns in noise, the error is that of the root of its own uncertainty.
    return Estimate(value, error / max(2.0 * abs(value), math.sqrt(error)), blocks.size - 1)


def _side(counts: NDArray[np.int64]) -> int:
    return max(1, round(counts.shape[1] / BLOCKS))


def _error_of_squared(
    deviations: NDArray[np.float64], mean: float, squared: float, share: float, alike: float
) -> float:
    # Expected cube of a deviation: that of the truth, 3 times its variance, and the mean.
    cube = float((deviations**3).mean()) - mean * (1.0 + 3.0 * mean * squared)
    signal = max(mean**3 * (squared - squared**2) + cube, 0.0)
    noise = mean**2 * (1.0 + max(squared, 0.0))
    return math.sqrt((4.0 * alike * signal + 2.0 * share**2 * noise) / deviations.size) / mean**2
