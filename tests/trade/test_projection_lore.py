"""What makers tell each other about objectives and lamps, shown on scenes. Common practice."""

import numpy as np

from photonsim.engine import trace
from photonsim.results import screen_of
from tests.shipped import scene


def test_a_magnifier_warps_where_two_lenses_about_the_stop_do_not():
    """A lens far from the stop warps; with a like one on the other side it is put right again."""
    far = scene("g", stop="z_mm = 230.0 => z_mm = 190.0")
    one, two = (screen_of(trace(lamp, photons=20_000)) for lamp in (far, scene("d")))
    warped, straight = (abs(view.distortion(view.corner_mm)) for view in (one, two))
    assert warped > 0.02, "seen at once on a straight edge"
    assert straight < 0.002


def test_an_anastigmat_is_sharp_to_the_corners_where_a_magnifier_is_not():
    simple, fine = (trace(scene(name), photons=400_000) for name in ("g", "h"))
    assert simple.estimate("blur").value > 5.0 * fine.estimate("blur").value
    assert fine.estimate("blur_corner").value < 1.0


def test_light_that_fills_less_of_the_stop_is_sharper_at_the_edge():
    """A lamp that shines in a wide angle bleeds at the edges; more parallel light is sharper."""
    wide, narrow = (trace(scene(name), photons=400_000) for name in ("d", "f"))
    bleeding, sharp = (run.estimate("blur_corner") for run in (wide, narrow))
    assert bleeding.value > 1.5 * sharp.value
    filled = [
        np.count_nonzero(run.tallies.pupil.sum(axis=0) > 0.1 * run.tallies.pupil.sum(axis=0).max())
        for run in (wide, narrow)
    ]
    assert filled[0] > filled[1]
