"""Sums over batches: of all of them, and of all but one, from which the jackknife has its errors.

The delete-one jackknife (Quenouille 1949, Tukey 1958; Efron, The Jackknife, the Bootstrap and Other
Resampling Plans, 1982, eq. 3.2) gives an error to any smooth function of sums:
var = (g - 1)/g * sum over batches of (value without it - their mean)**2.
For the least or largest of near-equal values, where a single batch moves too little to show which
of them it might be, balanced half-samples stand in for it (McCarthy, Rev. Int. Stat. Inst. 37, 239
(1969); Efron, chapter 8: from memory). Either way a figure has deviations whose sum of squares is
its variance, and those of two runs that shared their luck can be subtracted one by one.
In runs of less than a million photons batches are parts of one block of the emission's net, and
errors of cells are too large by up to 0.3 of the scatter, that of an 80 % radius up to a third: at
2**17 guided photons, over 400 seeds of four lamps; at 2**20 it is within a fifth again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from photonsim.arrays import Reals
from photonsim.results.estimate import Estimate
from photonsim.results.tallies import Tallies

FEWEST_BATCHES = 32


class Sums:
    """Named sums with a leading axis of replicates: attribute access to the batch arrays.

    `photons` and, for instance, `collected` are [k]; `cells` is [k, 2, 9, 9]. `photons` is the
    emitted light, in the unit of all counts.
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


def total(tallies: Tallies, *names: str) -> Sums:
    """Return the sums over all photons, as one replicate: those named, or all."""
    arrays = {name: _summed(tallies.batches[name])[None] for name in names or tallies.batches}
    return Sums(np.array([float(tallies.emitted)]), arrays)


def of_each(tallies: Tallies) -> Sums:
    """Return what each batch counted, as one replicate each."""
    arrays = {name: array.astype(float) for name, array in tallies.batches.items()}
    return Sums(tallies.batch_sizes().astype(float), arrays)


def without_each(tallies: Tallies, *names: str) -> Sums:
    """Return the sums that leave out one complete batch each, [g] replicates: as in total."""
    g = tallies.complete_batches
    arrays = {}
    for name in names or tallies.batches:
        batches = tallies.batches[name][:g]
        arrays[name] = _summed(batches)[None] - batches.astype(np.float64)
    return Sums(
        np.full(g, float(tallies.batch_photons * tallies.counts_per_photon * (g - 1))), arrays
    )


def half_samples(tallies: Tallies, names: Sequence[str]) -> Sums:
    """Return named sums of balanced halves of the complete batches, each on the scale of all.

    Replicate r adds sum of s_rb (batch b - mean batch) to the total, with signs s from the columns
    of a Hadamard matrix but the first: for any linear figure the mean of the squared deviations is
    exactly the variance from the scatter of the batches. [R] replicates, R the power of two above
    the count of batches.
    """
    g = tallies.complete_batches
    signs = _hadamard(g)[:, 1 : g + 1] * np.sqrt(g / max(g - 1, 1))
    arrays = {}
    for name in names:
        batches = tallies.batches[name][:g].astype(np.float64)
        strays = (batches - batches.mean(axis=0)).reshape(g, -1)
        arrays[name] = _summed(tallies.batches[name]) + (signs @ strays).reshape(
            -1, *batches.shape[1:]
        )
    return Sums(np.full(len(signs), float(tallies.emitted)), arrays)


def half_sample_deviations(replicates: Reals) -> Reals:
    """Return deviations [R, ...] of half-sample replicates; their squares sum to the variance."""
    return (replicates - replicates.mean(axis=0)) / np.sqrt(len(replicates))


def jackknife_deviations(replicates: Reals) -> Reals:
    """Return deviations [g, ...] of delete-one replicates; their squares sum to the variance."""
    g = len(replicates)
    with np.errstate(invalid="ignore"):  # of infinite replicates: nan, which says it
        return (replicates - replicates.mean(axis=0)) * np.sqrt((g - 1) / g)


def error_of(deviations: Reals, batches: int) -> Reals:
    """Return errors [...] from deviations [n, ...]; nan below FEWEST_BATCHES."""
    if batches < FEWEST_BATCHES:
        return np.full(deviations.shape[1:], np.nan)
    return np.asarray(np.sqrt(np.sum(deviations**2, axis=0)))


def estimate(everything: Sums, without: Sums, function: Callable[[Sums], Reals]) -> Estimate:
    """Return a function of `everything` with its jackknife error from the sums `without` each."""
    value = float(function(everything)[0])
    batches = len(without.photons)
    if batches < FEWEST_BATCHES:
        # Of a single batch nothing would be left: 0 photons, and 0/0.
        return Estimate(value, float("nan"), max(batches - 1, 1))
    deviations = jackknife_deviations(function(without))
    return Estimate(value, float(error_of(deviations, batches)), batches - 1)


def estimates(tallies: Tallies, function: Callable[[Sums], Reals]) -> tuple[Reals, Reals]:
    """Return (values, jackknife errors) [...] of a function of sums that gives [k, ...]."""
    values, without = function(total(tallies))[0], without_each(tallies)
    if len(without.photons) < FEWEST_BATCHES:
        # Of a single batch nothing would be left: 0 photons, and 0/0.
        return values, np.full_like(values, np.nan)
    return values, error_of(jackknife_deviations(function(without)), len(without.photons))


def _summed(array: NDArray[np.int64]) -> Reals:
    """Return the sums over batches to the last bit of double precision, at any count.

    Direction sums of 10**14 photons pass 2**63: the halves of each number are added by themselves.
    """
    high, low = array >> 32, array & 0xFFFFFFFF
    return np.asarray(high.sum(axis=0) * 2.0**32 + low.sum(axis=0))


def _hadamard(above: int) -> Reals:
    """Return Sylvester's matrix of signs [R, R] with orthogonal columns, R > `above`."""
    signs = np.ones((1, 1))
    while len(signs) <= above:
        signs = np.block([[signs, signs], [signs, -signs]])
    return signs
