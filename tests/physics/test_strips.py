"""Strips and gaps: which places a cut sheet covers, against numpy."""

import numpy as np
import pytest

from photonsim.kernel.strips import covered
from photonsim.program import build_program
from photonsim.scene import parse_scene
from tests.chance import assert_proportion
from tests.physics.tracing import box, emitter, stop, target, trace

LISTED = [(-40.0, -31.5), (-10.0, 0.0), (0.0, 2.0), (30.0, 80.0)]


def cut_sheet(strips):
    return (
        '[train.sheet]\nkind = "diffuser"\nz_mm = 5.0\nwidth_mm = 90.0\nheight_mm = 70.0\n'
        "transmittance = 0.5\nreflectance = 0.0\nhaze = 0.5\n"
        f"[train.sheet.strips]\n{strips}\n"
    )


def covered_places(strips, places):
    text = box(100.0, 10.0) + emitter() + cut_sheet(strips) + target(12.0, 50.0) + stop(13.0, 1.0)
    program = build_program(parse_scene(text))
    layer = int(np.flatnonzero(program.layer_z == 5.0)[0])
    return np.array([covered(program, layer, x, y) for x, y in places.tolist()])


def random_places():
    return np.random.default_rng(8).uniform(-48.0, 48.0, (800, 2))


def within_outline(places):
    return (np.abs(places[:, 0]) <= 45.0) & (np.abs(places[:, 1]) <= 35.0)


@pytest.mark.parametrize(("across", "axis"), [("x", 0), ("y", 1)])
@pytest.mark.parametrize("offset", [0.0, 3.3, -47.0])
def test_strips_at_a_pitch(across, axis, offset):
    places = random_places()
    strips = f'across = "{across}"\nwidth_mm = 2.5\npitch_mm = 7.0\noffset_mm = {offset}'
    from_centre = np.abs((places[:, axis] - offset + 3.5) % 7.0 - 3.5)
    expected = (from_centre < 1.25) & within_outline(places)
    assert (covered_places(strips, places) == expected).all()


@pytest.mark.parametrize(("across", "axis"), [("x", 0), ("y", 1)])
def test_listed_strips(across, axis):
    places = random_places()
    strips = f'across = "{across}"\ncovered_mm = {[list(pair) for pair in LISTED]}'
    expected = np.zeros(len(places), dtype=bool)
    for low, high in LISTED:
        expected |= (places[:, axis] >= low) & (places[:, axis] < high)
    expected &= within_outline(places)
    assert (covered_places(strips, places) == expected).all()


def test_gaps_pass_light_untouched():
    # Derived: behind perfect mirrors even light from an even floor meets the sheet's plane evenly,
    # and the sheet, 90 by 70, leaves a rim beside its strips.
    traced = trace(
        box(100.0, 10.0, height=80.0, walls="reflectance = 1.0, specular_share = 1.0")
        + emitter("width_mm = 100.0\nheight_mm = 80.0")
        + cut_sheet('across = "x"\nwidth_mm = 6.0\npitch_mm = 30.0')
        + target(10.0, 100.0, 80.0)
        + stop(10.1, 300.0),
        640_000,
    )
    covered_share = 3 * 6.0 * 70.0 / (100.0 * 80.0)
    absorbed = traced.fates["absorbed by sheet"]
    assert_proportion(absorbed, traced.photons, 0.5 * covered_share)
    assert_proportion(traced.incident.sum(), traced.photons, 1.0 - 0.5 * covered_share)
