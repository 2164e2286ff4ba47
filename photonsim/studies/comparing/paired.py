"""The difference between two designs, with the error that shared luck leaves.

Two runs with one seed, one count and one guide traced the same histories, so batch k of one had the
same luck as batch k of the other, and the error of the difference is that of the paired differences
(common random numbers; Law and Kelton, Simulation Modeling and Analysis, ch. 11: from memory).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from photonsim.results import Estimate, Result, figure_named
from photonsim.results.measured import Measured, measured
from photonsim.results.remarks.caveats import reach_of_given_up


def are_paired(one: Result, other: Result) -> bool:
    """Tell whether two results shared their luck: same seed, same histories, same guide."""
    shared = [(result.seed, result.photons, result.guide_digest) for result in (one, other)]
    return shared[0] == shared[1]


def difference(one: Result, other: Result, name: str) -> Estimate:
    """Return figure `name` of one result minus that of the other, with its standard error.

    Without shared luck the errors add in quadrature.
    What either gave up adds up to the difference's `systematic`.
    """
    return _less(one, other, name, 1.0)


def ratio(one: Result, other: Result, name: str) -> Estimate:
    """Return figure `name` of one result over that of the other; nan where the other's is 0.

    To first order, a/b strays by (δa - (a/b) δb) / b (propagation of errors, JCGM 100:2008, 5.1).
    """
    above, below = (result.estimate(name).value for result in (one, other))
    if not below:
        return Estimate(math.nan, math.nan)
    found = _less(one, other, name, above / below)
    parts = (found.error / abs(below), found.degrees, found.systematic / abs(below))
    return Estimate(above / below, *parts)


def _less(one: Result, other: Result, name: str, times: float) -> Estimate:
    """Return a figure of one result minus so many times that of the other."""
    unknown = reach_of_given_up(one, name) + abs(times) * reach_of_given_up(other, name)
    first, second = one.estimate(name), other.estimate(name)
    value = first.value - times * second.value
    if not are_paired(one, other):
        error = math.hypot(first.error, times * second.error)
        return Estimate(value, error, min(first.degrees, second.degrees), unknown)
    figure = figure_named(name)
    ours, theirs = (measured(figure, result.samples, result.optics) for result in (one, other))
    with np.errstate(invalid="ignore"):  # both withheld
        deviations = ours.deviations - times * theirs.deviations
    found = Measured(value, deviations, ours.degrees).estimate
    return replace(found, systematic=unknown)
