"""What holds for every valid scene: a closed ledger, finite figures, the same bits twice."""

import math

import numpy as np
from hypothesis import HealthCheck, given, settings

from photonsim.engine import trace
from photonsim.results import FIGURES
from photonsim.scene import Scene, parse_scene, scene_from_dict
from photonsim.scene.writing import to_toml
from tests.same_bits import assert_same_bits
from tests.strategies import scenes

PHOTONS = 600
LEAN = settings(
    max_examples=15,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


@given(plain=scenes())
@LEAN
def test_any_scene_closes_its_ledger_and_gives_the_same_bits_twice(plain):
    scene = scene_from_dict(plain)
    once = trace(scene, photons=PHOTONS, seed=3, threads=1)
    # A guided run ends with whole 256 histories, which stand for as many photons.
    assert PHOTONS <= once.photons < PHOTONS + 256
    assert sum(fate.photons for fate in once.fates) == once.photons
    assert len({fate.name for fate in once.fates}) == len(once.fates)
    for array in (*once.tallies.batches.values(), once.tallies.directions, once.tallies.pupil):
        assert array.dtype == np.int64
        assert np.abs(array).max(initial=0) <= once.emitted << 21
    for name, figure in FIGURES.items():
        value = once.estimate(name).value
        assert not math.isinf(value), name
        assert math.isnan(value) or not figure.of_emitted or 0.0 <= value <= 1.0
    assert_same_bits(once, trace(scene, photons=PHOTONS, seed=3, threads=2))
    part = trace(scene, photons=PHOTONS // 3, seed=3, threads=1)
    assert_same_bits(once, trace(scene, photons=PHOTONS, seed=3, resume=part))


@given(plain=scenes())
@LEAN
def test_any_scene_survives_the_way_to_a_file_and_back(plain):
    scene = scene_from_dict(plain)
    assert isinstance(scene, Scene)
    assert parse_scene(to_toml(scene)) == scene
    assert list(parse_scene(to_toml(scene)).train) == list(plain["train"])
