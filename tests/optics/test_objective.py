"""The pupils of an objective against a printed ray trace and thin-lens conjugates."""

import math

import pytest

from photonsim.optics.objective import entrance_pupil, exit_pupil
from tests.physics.lens_scenes import scene_with, triplet_at


def with_stop(lenses, z, diameter):
    scene = scene_with(lenses)
    stop = scene.stop.model_copy(update={"z_mm": z, "diameter_mm": diameter})
    return scene.model_copy(update={"train": scene.train | {scene.stop_name: stop}})


def test_entrance_pupil_of_the_printed_triplet():
    """W. J. Smith, Modern Optical Engineering, 4th ed., Table 6.1: the chief ray starts at
    y = -6.411174, u = 0.21, the axial ray at y = 14.6 meets the stop at 10.298026; p. 119: f/3.47.
    """
    scene = with_stop(triplet_at(200.0), 223.33, 2.0 * 10.298026)
    z, diameter = entrance_pupil(scene, scene.bends())
    assert z - 200.0 == pytest.approx(6.411174 / 0.21, abs=1e-4)
    assert diameter == pytest.approx(29.2, abs=2e-5)
    assert 101.181 / diameter == pytest.approx(3.47, abs=0.005)


def test_pupils_of_a_thin_lens_are_images_of_its_stop():
    """Thin-lens conjugates (identity): 50 mm from a lens of 100 mm a stop looks 100 mm away, twice
    as large; with the stop on the other side the pupils change places."""
    lens = "[train.thin]\nkind = 'ideal_lens'\nz_mm = {}\nfocal_mm = 100.0\ndiameter_mm = 60.0\n"
    before = with_stop(lens.format(150.0), 200.0, 10.0)
    assert entrance_pupil(before, before.bends()) == pytest.approx((250.0, 20.0))
    assert exit_pupil(before, before.bends()) == (200.0, 10.0)
    behind = with_stop(lens.format(250.0), 200.0, 10.0)
    assert entrance_pupil(behind, behind.bends()) == (200.0, 10.0)
    assert exit_pupil(behind, behind.bends()) == pytest.approx((150.0, 20.0))
    telecentric = with_stop(lens.format(150.0), 250.0, 10.0)
    assert entrance_pupil(telecentric, telecentric.bends()) == (math.inf, math.inf)
