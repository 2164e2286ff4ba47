"""The array tracer that photonsim is measured against gives the same answers, by other code."""

from functools import cache

import numpy as np
import pytest

from benchmarks.whole_arrays import ArrayLamp, Counted
from photonsim.engine import trace
from photonsim.results import Result
from tests.chance import assert_proportion, assert_same_distribution, assert_same_mean
from tests.shipped import scene

PHOTONS = 200_000
# Other walls and more of the film's ways than the shipped lamps have.
MIRROR_WALLS = "e_mirror"
LAMPS = ("a_bars", "c_whole", "d_split", MIRROR_WALLS, "i_tuned")


@cache
def both(stem: str) -> tuple[Counted, Result]:
    """Histories of one law: the array tracer sends them out as the LED does, without a guide."""
    lamp = scene(stem)
    ours = trace(lamp, photons=PHOTONS, seed=12, guide="off")
    return ArrayLamp(lamp).trace(PHOTONS, 11, 100_000), ours


@pytest.mark.parametrize("stem", LAMPS)
def test_the_ledgers_agree(stem):
    arrays, result = both(stem)
    names = [fate.name for fate in result.fates]
    assert set(arrays.fates) <= set(names)
    assert sum(arrays.fates.values()) == arrays.photons == PHOTONS
    assert_same_distribution(
        [arrays.fates[name] for name in names],
        [fate.photons for fate in result.fates],
        what=f"fates, {stem}",
    )


@pytest.mark.parametrize("stem", LAMPS)
def test_the_panel_gets_as_much_light(stem):
    arrays, result = both(stem)
    for name in ("incident", "collected"):
        share = result.estimate(f"{name}_fraction")
        assert_proportion(
            int(getattr(arrays, name).sum()),
            PHOTONS,
            share.value,
            known_to=share.error,
            what=f"{name}, {stem}",
        )


@pytest.mark.parametrize("stem", LAMPS)
def test_the_light_falls_on_the_same_places(stem):
    arrays, result = both(stem)
    for name in ("incident", "collected"):
        maps = [coarse(counts) for counts in (getattr(arrays, name), result.panel_counts(name))]
        assert_same_distribution(*maps, what=f"map of {name}, {stem}")


def test_chunks_are_a_matter_of_speed_alone():
    arrays, _ = both("d_split")
    small = ArrayLamp(scene("d_split")).trace(20_000, 5, 3_000)
    assert small.photons == sum(small.fates.values()) == 20_000
    names = sorted(arrays.fates)
    assert_same_distribution(
        [small.fates[name] for name in names], [arrays.fates[name] for name in names]
    )


def test_events_are_counted_alike():
    _, result = both("d_split")
    lamp = ArrayLamp(scene("d_split"))
    ours = result.tallies.batches["events"][:-1] / result.tallies.batch_photons
    theirs = [lamp.trace(5_000, seed, 5_000).events / 5_000 for seed in range(24)]
    assert_same_mean(theirs, ours, what="events a history")


def test_parts_that_it_does_not_hold_are_refused():
    with pytest.raises(ValueError, match="array tracer"):
        ArrayLamp(scene("b_diffuser"))
    with pytest.raises(ValueError, match="array tracer"):
        ArrayLamp(scene("f_point"))


def coarse(counts: np.ndarray) -> np.ndarray:
    """Return a map summed over blocks of 34 x 30 pixels."""
    return counts.reshape(8, 34, 16, 30).sum(axis=(1, 3))
