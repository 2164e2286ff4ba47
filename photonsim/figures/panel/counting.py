"""Counts of bins with their standard errors, and how finely they may be shown."""

from __future__ import annotations

import numpy as np

from photonsim.arrays import Reals
from photonsim.results import Result
from photonsim.results.panel import weights
from photonsim.results.sums import FEWEST_BATCHES


def counts_with_errors(
    result: Result, name: str, light: int, joined: int = 1
) -> tuple[Reals, Reals]:
    """Return (counts, standard errors) [bins] of a batch tally such as 'profile_x'.

    `light` is 0 for what arrives at the panel, 1 for what is collected; `joined` neighbouring bins
    are made one. The errors come from the scatter of complete batches, the total's variance being
    photons / batch photons times that of a batch; with fewer than 32 batches from the count itself
    and the mean weight of the light (Poisson).
    """
    tallies = result.tallies
    batches = tallies.batches[name][:, light].astype(float)
    batches = batches.reshape(len(batches), -1, joined).sum(axis=2)
    counts = batches.sum(axis=0)
    complete = tallies.complete_batches
    if complete < FEWEST_BATCHES:
        return counts, np.sqrt(counts * weights.of_all(tallies, light))
    variance = batches[:complete].var(axis=0, ddof=1)
    return counts, np.sqrt(variance * tallies.photons / tallies.batch_photons)


def joined_bins(photons: float, bins: int, fewest: float, noise: float) -> int:
    """Return how many neighbouring bins to join, a power of two, so that each has a low noise.

    At least `fewest` bins are left.
    """
    joined = 1
    while bins // (2 * joined) >= fewest and photons * joined < bins / noise**2:
        joined *= 2
    return joined
