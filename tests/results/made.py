"""Tallies made by hand."""

import numpy as np

from photonsim.results import MAPS, Tallies
from photonsim.results.optics import Optics

OPTICS = Optics(100.0, 0.06, 90.0, 54.0, 0.1, {"y": (18.0, -18.0, 18.0)})


def tallies_of(batches, photons, batch_photons):
    """Return tallies of some arrays by batch, their maps empty."""
    maps = {name: np.zeros((0, 0, 6), dtype=np.int64) for name in MAPS}
    return Tallies(photons, batch_photons, batches, **maps)
