"""A test that may be looked at again and again: the odds of a false alarm hold over all looks.

Under no difference, the statistics z at looks with information t (photons so far over all photons)
move as B(t)/sqrt(t) with Brownian motion B. The chance that |z| ever reaches a boundary follows by
integrating from look to look (Armitage, McPherson and Rowe, J. R. Stat. Soc. A 132, 235 (1969)),
and the one boundary for all looks that gives the wanted odds is Pocock's (Biometrika 64, 191
(1977)).
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr, ndtri

from photonsim.arrays import Reals
from photonsim.results import Estimate

# Gauss-Legendre nodes for one look; 96 give the odds to 1e-9 for looks whose counts double.
NODES = 96
FIRST_LOOK = 1 << 15
LARGEST_Z = 37.0


def doubling_looks(most_photons: int) -> tuple[int, ...]:
    """Return the photon counts of the looks: doubling from 32,768, the last at most the limit."""
    doublings = max(most_photons // FIRST_LOOK, 1).bit_length()
    return tuple(FIRST_LOOK << k for k in range(doublings))


@lru_cache(maxsize=256)
def false_alarm_odds(boundary: float, looks: tuple[int, ...]) -> float:
    """Return the chance that |z| reaches a boundary at any of the looks if nothing differs."""
    times = np.array(looks, dtype=float) / looks[-1]
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    reach = boundary * math.sqrt(times[0])
    places = reach * nodes
    density = _normal(places, math.sqrt(times[0]))
    for before, now in pairwise(times):
        step = math.sqrt(now - before)
        next_places = boundary * math.sqrt(now) * nodes
        moves = _normal(next_places[:, None] - places[None, :], step)
        density = moves @ (density * weights * reach)
        places, reach = next_places, boundary * math.sqrt(now)
    return float(1.0 - np.sum(density * weights * reach))


def _normal(places: Reals, spread: float) -> Reals:
    # scipy.stats, which has it too, takes 0.5 s of a start.
    return np.exp(-((places / spread) ** 2) / 2.0) / math.sqrt(2.0 * math.pi) / spread


@lru_cache(maxsize=256)
def boundary_for(odds: float, looks: tuple[int, ...]) -> float:
    """Return the |z| from which a difference is called real, for false alarms at these odds."""
    # Between testing once and Bonferroni's bound over the looks.
    once, shared = -ndtri(0.5 * odds), -ndtri(0.5 * odds / len(looks))
    if len(looks) == 1:
        return float(once)
    return float(brentq(lambda c: false_alarm_odds(c, looks) - odds, once - 0.01, shared + 0.01))


def z_of(difference: Estimate) -> float:
    """Return a difference over its error as the normal deviate with the same odds.

    With an error from few batches, value over error has Student's t, whose tails are longer. Only
    what of the difference lies beyond its systematic bound counts.
    """
    if math.isnan(difference.value):
        return 0.0
    if difference.error > 0.0 and math.isinf(difference.degrees):
        return difference.beyond_systematic / difference.error
    tail = max(0.5 * difference.chance_of_zero, float(ndtr(-LARGEST_Z)))
    return math.copysign(float(ndtri(tail)), difference.value)
