"""Sums over batches: of all of them, and of all but one, from which the jackknife has its errors.

The delete-one jackknife (Quenouille 1949, Tukey 1958; Efron, The Jackknife, the Bootstrap and Other
Resampling Plans, 1982, eq. 3.2) gives an error to any smooth function of sums:
var = (g - 1)/g * sum over batches of (value without it - their mean)**2.
For the least or largest of near-equal values, where a single batch moves too little to show which
of them it might be, balanced half-samples stand in for it (McCarthy, Rev. Int. Stat. Inst. 37, 239
(1969); Efron, chapter 8: from memory). Either way a figure has deviations whose sum of squares is
its variance, and those of two runs that shared their luck can be subtracted one by one.

In runs of less than a million photons batches are parts of a block of the emission's net, whose
parts avoid each other: errors would be too large by up to 0.3 of the scatter. From 16 whole blocks
on, 2**17 photons, these stand in for them, but for half-samples: extremes go by the error of each
of their readings, which 16 blocks tell to 18 % only. Over 250 seeds of the split film at 2**17
blocks gave them a bias of up to -0.28 stated errors, batches one of -0.10 to 0.17; the stated error
was 0.93 to 1.06 times the scatter by either.

A curved figure, such as the root of a variance, is off by some b / n for n photons, on average. The
replicates that leave out a g-th of them say by how much: their mean lies b / (n (g - 1)) farther
off than the figure itself (Quenouille, Biometrika 43, 353 (1956): from memory).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from photonsim.arrays import Reals


class Sums:
    """Named sums with a leading axis of replicates: attribute access to the batch arrays.

    `photons` and, for instance, `collected` are [k]; `cells` is [k, 2, 9, 9]. `photons` is the
    emitted light, in the unit of all counts. `read` gives an array by its name, or raises KeyError;
    it is asked once for each that a figure needs.
    """

    def __init__(self, photons: Reals, read: Callable[[str], Reals]) -> None:
        self.photons = photons
        self._read = read

    def __getattr__(self, name: str) -> Reals:
        if name == "_read":  # not there yet while a copy is made in another process
            raise AttributeError(name)
        try:
            found = self._read(name)
        except KeyError:
            raise AttributeError(name) from None
        setattr(self, name, found)
        return found

    def joined(self) -> Sums:
        """Return the sums, as one replicate, of which [g] replicates leave out a g-th each."""
        others = max(len(self.photons) - 1, 1)
        return Sums(
            self.photons.sum()[None] / others,
            lambda name: getattr(self, name).sum(axis=0)[None] / others,
        )


def half_sample_deviations(replicates: Reals) -> Reals:
    """Return deviations [R, ...] of half-sample replicates; their squares sum to the variance."""
    return (replicates - replicates.mean(axis=0)) / np.sqrt(len(replicates))


def jackknife_deviations(replicates: Reals) -> Reals:
    """Return deviations [g, ...] of delete-one replicates; their squares sum to the variance."""
    g = len(replicates)
    with np.errstate(invalid="ignore"):  # of infinite replicates: nan, which says it
        return (replicates - replicates.mean(axis=0)) * np.sqrt((g - 1) / g)


def jackknifed(
    everything: Sums, without: Sums, function: Callable[[Sums], Reals], curved: bool = False
) -> tuple[Reals, Reals]:
    """Return a function of `everything` [...], and its deviations [g, ...] by the sums `without`.

    A `curved` one, which is never below 0, is freed of its bias. Without sums all of [1, ...] nan.
    """
    value = function(everything)[0]
    if not len(without.photons):
        return value, np.full((1, *np.shape(value)), np.nan)
    replicates = function(without)
    if curved:
        bias = (len(replicates) - 1) * (replicates.mean(axis=0) - function(without.joined())[0])
        value = np.where(np.isfinite(bias), np.maximum(value - bias, 0.0), value)
    return value, jackknife_deviations(replicates)


def signed_sums(terms: Reals) -> Reals:
    """Return sums of terms [g, ...] with the signs of a Hadamard matrix, [R, ...].

    Those of the columns but the first of Sylvester's, [[H, H], [H, -H]] of the smaller one H, by
    the fast transform: a product with it would wait for threads of its own.
    """
    others, replicates = terms.shape[1:], 1 << len(terms).bit_length()
    sums = np.zeros((replicates, *others))
    sums[1 : len(terms) + 1] = terms
    half = 1
    while half < replicates:
        pairs = sums.reshape(-1, 2, half, *others)
        first, second = pairs[:, 0], pairs[:, 1]
        sums = np.stack([first + second, first - second], axis=1).reshape(sums.shape)
        half *= 2
    return sums


def summed(array: NDArray[np.int64]) -> Reals:
    """Return the sums over batches to the last bit of double precision, at any count.

    Direction sums of 10**14 photons pass 2**63: the halves of each number are added by themselves.
    """
    high, low = array >> 32, array & 0xFFFFFFFF
    return np.asarray(high.sum(axis=0) * 2.0**32 + low.sum(axis=0))
