"""A figure of merit measured: its value, and how it strays, from which its error comes."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cached_property
from typing import NamedTuple

import numpy as np

from photonsim.arrays import Counts, Reals
from photonsim.kernel.tallies import SLOTS
from photonsim.results import sums
from photonsim.results.estimate import Estimate
from photonsim.results.optics import Optics
from photonsim.results.panel import weights
from photonsim.results.registry import FIGURES, Figure
from photonsim.results.tallies import Tallies

FEWEST_BATCHES = 32
# Whole blocks, by which an error is known to 18 %.
FEWEST_BLOCKS = 16
# Of sums with k replicates, [k, ...].
Function = Callable[[sums.Sums], Reals]


class Samples:
    """What a run's figures are made from: the sums of all batches, and samples that stray.

    A sample is a batch, or a block of the emission's net where there are many whole ones.
    """

    def __init__(self, tallies: Tallies) -> None:
        self._tallies = tallies
        are_many = tallies.photons >= FEWEST_BLOCKS * SLOTS
        self._joined = max(SLOTS // tallies.batch_photons if are_many else 1, 1)
        # Histories of a sample, complete samples, and whether they are enough to know an error.
        self.photons = tallies.batch_photons * self._joined
        self.count = tallies.photons // self.photons
        self.are_enough = tallies.complete_batches >= FEWEST_BATCHES
        # Of the jackknife by samples, and of half-samples by batches.
        self.degrees = max(self.count - 1, 1)
        self.degrees_of_halves = max(tallies.complete_batches - 1, 1)
        # A table of differences asks for each figure several times.
        self.known: dict[str, Measured] = {}

    def effective_photons(self, light: int) -> float:
        """Return by how many photons of one weight a light is known: see results.panel.weights."""
        return float(self.total.cells[0, light].sum()) / weights.of_all(self._tallies, light)

    def each(self, name: str) -> Counts:
        """Return what each complete sample counted, [g, ...]."""
        batches = self._tallies.batches[name][: self.count * self._joined]
        return batches.reshape(self.count, self._joined, *batches.shape[1:]).sum(axis=1)

    @property
    def batches(self) -> sums.Sums:
        """What each batch counted, as one replicate each."""
        batches = self._tallies.batches
        sizes = self._tallies.batch_sizes().astype(float)
        return sums.Sums(sizes, lambda name: batches[name].astype(float))

    @cached_property
    def total(self) -> sums.Sums:
        """The sums over all photons, as one replicate."""
        return sums.Sums(np.array([float(self._tallies.emitted)]), self._total)

    @cached_property
    def without_each(self) -> sums.Sums:
        """The sums that leave out one sample each, [g] replicates.

        None where there are too few for an error.
        """
        g = self.count if self.are_enough else 0
        light = self.photons * self._tallies.counts_per_photon * (g - 1)
        return sums.Sums(np.full(g, float(light)), self._without_each)

    @cached_property
    def halves(self) -> sums.Sums:
        """The sums of balanced halves of the complete batches, each on the scale of all.

        Replicate r adds sum of s_rb (batch b - mean batch) to the total, with signs s from the
        columns of a Hadamard matrix but the first: for any linear figure the mean of the squared
        deviations is exactly the variance from the scatter of the batches. [R] replicates, R the
        power of two above the count of batches.
        """
        replicates = 1 << self._tallies.complete_batches.bit_length()
        return sums.Sums(np.full(replicates, float(self._tallies.emitted)), self._halves)

    def _total(self, name: str) -> Reals:
        return sums.summed(self._tallies.batches[name])[None]

    def _without_each(self, name: str) -> Reals:
        each = self.each(name) if self.are_enough else self.each(name)[:0]
        return sums.summed(each)[None] - each.astype(np.float64)

    def _halves(self, name: str) -> Reals:
        g = self._tallies.complete_batches
        batches = self._tallies.batches[name][:g].astype(np.float64)
        strays = (batches - batches.mean(axis=0)) * np.sqrt(g / max(g - 1, 1))
        return sums.summed(self._tallies.batches[name]) + sums.signed_sums(strays)

    def estimate(self, function: Function, curved: bool = False) -> Estimate:
        """Return a function of sums with its jackknife error; a `curved` one without its bias."""
        return self.jackknifed(function, curved).estimate

    def estimates(self, function: Function) -> tuple[Reals, Reals]:
        """Return (values, jackknife errors) [...] of a function of sums that gives [k, ...]."""
        values, deviations = sums.jackknifed(self.total, self.without_each, function)
        return values, np.sqrt(np.sum(deviations**2, axis=0))

    def jackknifed(self, function: Function, curved: bool = False) -> Measured:
        """Return a function of sums with its jackknife deviations; see `estimate`."""
        value, deviations = sums.jackknifed(self.total, self.without_each, function, curved)
        return Measured(float(value), deviations, self.degrees)


class Measured(NamedTuple):
    """A value and its deviations [n], whose squares sum to the squared error.

    Deviations of two results that shared their luck belong together, one by one. A single nan
    stands for an error that is not known, a single infinite one for a value that is not.
    """

    value: float
    deviations: Reals
    degrees: int

    @property
    def estimate(self) -> Estimate:
        """The value with its standard error."""
        return Estimate(self.value, float(np.sqrt(np.sum(self.deviations**2))), self.degrees)


def measured(figure: Figure, samples: Samples, optics: Optics) -> Measured:
    """Return a figure of merit as a run's samples give it.

    An extreme is withheld, nan with an infinite deviation, where there is so little light that the
    readings that it is chosen from would be noise.
    """
    if FIGURES.get(figure.name) is not figure:
        return _measured(figure, samples, optics)
    if figure.name not in samples.known:
        samples.known[figure.name] = _measured(figure, samples, optics)
    return samples.known[figure.name]


def _measured(figure: Figure, samples: Samples, optics: Optics) -> Measured:
    if figure.extreme is not None:
        return _extreme(figure, samples, optics)
    if figure.rough and samples.are_enough:
        deviations = sums.half_sample_deviations(figure.function(samples.halves, optics))
        value = float(figure.function(samples.total, optics)[0])
        return Measured(value, deviations, samples.degrees_of_halves)
    return samples.jackknifed(lambda s: figure.function(s, optics), figure.curved)


def _extreme(figure: Figure, samples: Samples, optics: Optics) -> Measured:
    assert figure.extreme is not None
    degrees = samples.degrees_of_halves
    withheld = Measured(math.nan, np.array([math.inf]), degrees)
    if not samples.are_enough:
        return withheld
    strayed = figure.function(samples.halves, optics)
    if strayed.shape[1] == 0:
        return Measured(math.nan, np.array([math.nan]), degrees)
    if samples.effective_photons(figure.light) < figure.fewest:
        return withheld
    deviations = sums.half_sample_deviations(strayed)
    covariance = deviations.T @ deviations
    readings = figure.function(samples.total, optics)
    if covariance.diagonal().all():
        deviations = sums.half_sample_deviations(figure.extreme(strayed, covariance))
    else:
        # Of a place where no photon came nobody knows how little light it gets.
        covariance, deviations = np.zeros_like(covariance), np.array([math.nan])
    return Measured(float(figure.extreme(readings, covariance)[0]), deviations, degrees)
