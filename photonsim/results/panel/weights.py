"""How surely guided light is counted: by the mean weight of its photons.

A sum of independent weights w has the variance sum of w**2: m times itself, with m = sum of w**2 /
sum of w. So light is as sure as that of light / m photons of one weight, its effective photons,
(sum of w)**2 / sum of w**2 (L. Kish, Survey Sampling, 1965; compound Poisson law: Bohm and Zech,
Nucl. Instrum. Meth. A 748, 1 (2014); both from memory). Like light it adds up over places. m is
known by cell of the panel, and taken to be the same all over a cell, its spot and its place in the
stop. In the unit of all counts; 1 without a guide, up to 2 of polarised light, which the panel
weighs as well. Without light it is that of an emitted photon.
"""

from __future__ import annotations

import numpy as np

from photonsim.arrays import Counts, Reals
from photonsim.kernel.tallies import CELLS
from photonsim.results.sums import Sums
from photonsim.results.tallies import Tallies


def by_cell(s: Sums, light: int) -> Reals:
    """Return the mean weight [k, 9, 9] of one light by cell; 1 where there is none."""
    return _mean(s.squares[:, light], s.cells[:, light], 1.0)


def of_all(tallies: Tallies, light: int) -> float:
    """Return the mean weight of one light all over the panel."""
    squares, cells = (tallies.batches[name][:, light].sum() for name in ("squares", "cells"))
    return float(_mean(squares, cells, tallies.counts_per_photon))


def by_pixel(tallies: Tallies, light: int) -> Reals:
    """Return the mean weight [rows, columns] of one light at each pixel: that of its cell."""
    squares, cells = (tallies.batches[name][:, light].sum(axis=0) for name in ("squares", "cells"))
    rows, columns = ((2 * np.arange(n) + 1) * CELLS // (2 * n) for n in tallies.panel.shape[:2])
    return _mean(squares, cells, tallies.counts_per_photon)[np.ix_(rows, columns)]


def _mean(squares: Reals | Counts, light: Reals | Counts, of_none: float) -> Reals:
    found = np.full(np.shape(light), float(of_none))
    return np.divide(squares, light, out=found, where=np.asarray(light) > 0)
