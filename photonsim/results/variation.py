"""Coefficient of variation over the panel, with the share that is counting noise removed."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from photonsim.results.estimate import Estimate

# Pixels are joined to about this many blocks across: a lamp's unevenness is far coarser, and
# single pixels, with a photon or two each, would drown it in noise.
BLOCKS = 48


def pixel_variation(counts: NDArray[np.int64]) -> Estimate:
    """Return the standard deviation over the mean of a map of counts [rows, columns].

    Counts are Poisson about the true light, so their variance is the true variance plus the mean
    (law of total variance); the error follows from the fourth moment of the blocks. The emission's
    net spreads them a little more evenly, so that too much is taken off where few were counted: on
    the shipped lamps less than an error, but on the point lamp 1 at 10**6 photons, 3 at 10**5.
    """
    side = max(1, round(counts.shape[1] / BLOCKS))
    # Only whole blocks: a narrower one at the edge would look dark.
    rows, columns = counts.shape[0] // side, counts.shape[1] // side
    whole = counts[: rows * side, : columns * side].reshape(rows, side, columns, side)
    blocks = whole.sum(axis=(1, 3)).astype(float).ravel()
    mean = blocks.mean()
    if mean <= 0.0 or blocks.size < 4:
        return Estimate(math.nan, math.nan)
    deviations = blocks - mean
    variance = float((deviations**2).sum() / (blocks.size - 1))
    squared = (variance - mean) / mean**2
    error_squared = math.sqrt(max((deviations**4).mean() - variance**2, 0.0) / blocks.size)
    error_squared /= mean**2
    value = math.sqrt(max(squared, 0.0))
    # Where the variation drowns in noise, the error is that of the root of its own uncertainty.
    error = error_squared / (2.0 * value) if squared > error_squared else math.sqrt(error_squared)
    return Estimate(value, error, blocks.size - 1)
