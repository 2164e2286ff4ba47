"""The same photons counted twice: every tally of two results agrees to the last bit."""

import numpy as np

from photonsim.results import MAPS, Result


def assert_same_bits(one: Result, other: Result) -> None:
    """Fail unless two results hold the same counts, whatever the way they were made."""
    assert one.photons == other.photons
    assert one.guide_digest == other.guide_digest
    assert one.tallies.batch_photons == other.tallies.batch_photons
    for name, array in one.tallies.batches.items():
        np.testing.assert_array_equal(array, other.tallies.batches[name], err_msg=name)
    for name in MAPS:
        np.testing.assert_array_equal(getattr(one.tallies, name), getattr(other.tallies, name))
    assert one.tallies.lost == other.tallies.lost
