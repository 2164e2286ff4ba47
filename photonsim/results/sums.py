"""Sums over batches: of all of them, and of all but one, from which the jackknife has its errors.

The delete-one jackknife (Quenouille 1949, Tukey 1958; Efron, The Jackknife, the Bootstrap and Other
Resampling Plans, 1982, eq. 3.2) gives an error to any smooth function of sums:
var = (g - 1)/g * sum over batches of (value without it - their mean)**2.
For the least or largest of several near-equal values it errs on the safe side: measured on nine
points, by up to a factor of 1.7, and 2.4 in runs of less than a million photons, whose batches are
parts of one block of the emission's net.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from photonsim.results.estimate import Estimate
from photonsim.results.tallies import Tallies

Reals = NDArray[np.float64]
FEWEST_BATCHES = 32


class Sums:
    """Named sums with a leading axis of replicates: attribute access to the batch arrays.

    `photons` and, for instance, `collected` are [k]; `cells` is [k, 2, 9, 9].
    """

    def __init__(self, photons: Reals, arrays: dict[str, Reals]) -> None:
        self.photons = photons
        self._arrays = arrays

    def __getattr__(self, name: str) -> Reals:
        if name == "_arrays":  # not there yet while a copy is made in another process
            raise AttributeError(name)
        try:
            return self._arrays[name]
        except KeyError:
            raise AttributeError(name) from None


def total(tallies: Tallies) -> Sums:
    """Return the sums over all photons, as one replicate."""
    return Sums(
        np.array([float(tallies.photons)]),
        {name: _summed(array)[None] for name, array in tallies.batches.items()},
    )


def without_each(tallies: Tallies, batches: int | None = None) -> Sums:
    """Return the sums that leave out one complete batch each, [g] replicates.

    With `batches`, only the first that many complete batches are used.
    """
    g = tallies.complete_batches if batches is None else batches
    arrays = {
        name: _summed(array[:g])[None] - array[:g].astype(np.float64)
        for name, array in tallies.batches.items()
    }
    return Sums(np.full(g, float(tallies.batch_photons * (g - 1))), arrays)


def jackknife_errors(replicates: Reals) -> Reals:
    """Return errors [...] from delete-one replicates [g, ...]; nan below FEWEST_BATCHES."""
    g = len(replicates)
    if g < FEWEST_BATCHES:
        return np.full(replicates.shape[1:], np.nan)
    squares = (replicates - replicates.mean(axis=0)) ** 2
    return np.asarray(np.sqrt((g - 1) / g * np.sum(squares, axis=0)))


def jackknife_error(replicates: Reals) -> float:
    """Return the standard error from delete-one replicates [g]; nan below FEWEST_BATCHES."""
    finite = np.all(np.isfinite(replicates))
    return float(jackknife_errors(replicates)) if finite else float("nan")


def estimate(
    everything: Sums,
    without: Sums,
    function: Callable[[Sums], Reals],
    steady: Callable[[Sums], Reals] | None = None,
) -> Estimate:
    """Return a function of `everything` with its jackknife error from the sums `without` each.

    `steady` stands in for the function when the error is sought, where the function itself is
    clipped or otherwise not smooth.
    """
    value = float(function(everything)[0])
    batches = len(without.photons)
    if batches < FEWEST_BATCHES:
        # Of a single batch nothing would be left: 0 photons, and 0/0.
        return Estimate(value, float("nan"), max(batches - 1, 1))
    return Estimate(value, jackknife_error((steady or function)(without)), batches - 1)


def estimates(tallies: Tallies, function: Callable[[Sums], Reals]) -> tuple[Reals, Reals]:
    """Return (values, jackknife errors) [...] of a function of sums that gives [k, ...]."""
    values, without = function(total(tallies))[0], without_each(tallies)
    if len(without.photons) < FEWEST_BATCHES:
        # Of a single batch nothing would be left: 0 photons, and 0/0.
        return values, np.full_like(values, np.nan)
    return values, jackknife_errors(function(without))


def _summed(array: NDArray[np.int64]) -> Reals:
    # Whole numbers stay exact in double precision up to 2**53, far above any count here.
    return array.sum(axis=0).astype(np.float64)
