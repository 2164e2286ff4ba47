"""Counts of bins with their standard errors, and how finely they may be shown."""

from __future__ import annotations

import numpy as np

from photonsim.arrays import Reals
from photonsim.results import Result
from photonsim.results.panel import weights


def counts_with_errors(
    result: Result, name: str, light: int, joined: int = 1
) -> tuple[Reals, Reals]:
    """Return (counts, standard errors) [bins] of a batch tally such as 'profile_x'.

    `light` is 0 for what arrives at the panel, 1 for what is collected; `joined` neighbouring bins
    are made one. The errors come from the scatter of complete samples (results.sums), the total's
    variance being photons / sample photons times that of a sample; with too few from the count
    itself and the mean weight of the light (Poisson).
    """
    tallies, samples = result.tallies, result.samples
    batches = tallies.batches[name][:, light].astype(float)
    batches = batches.reshape(len(batches), -1, joined).sum(axis=2)
    counts = batches.sum(axis=0)
    if not samples.are_enough:
        return counts, np.sqrt(counts * weights.of_all(tallies, light))
    each = samples.each(name)[:, light]
    variance = each.reshape(len(each), -1, joined).sum(axis=2).var(axis=0, ddof=1)
    return counts, np.sqrt(variance * tallies.photons / samples.photons)


def joined_bins(photons: float, bins: int, fewest: float, noise: float) -> int:
    """Return how many neighbouring bins to join, a power of two, so that each has a low noise.

    At least `fewest` bins are left.
    """
    joined = 1
    while bins // (2 * joined) >= fewest and photons * joined < bins / noise**2:
        joined *= 2
    return joined
