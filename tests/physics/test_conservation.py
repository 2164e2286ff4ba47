"""Every photon has one fate, in a lamp with every kind of part; runs add up, bit by bit."""

import numpy as np
import pytest

from photonsim.kernel import codes
from photonsim.kernel.tally import trace_range
from photonsim.program import build_program, fates_of
from photonsim.program.layers import layers_of
from photonsim.scene import parse_scene
from tests.physics.tracing import empty_tallies, trace

# The backdrop projector of a puppet theatre, with one of everything.
LAMP = """
light = { wavelengths_nm = [450.0, 550.0, 620.0], shares = [0.2, 0.5, 0.3] }

[housing]
width_mm = 110.0
height_mm = 70.0
depth_mm = 45.0
base = { reflectance = 0.85 }
walls = { reflectance = 0.9, specular_share = 0.6, taper_deg = 4.0, from_mm = 3.0, to_mm = 40.0 }

[emitters.bars]
width_mm = 1.2
height_mm = 2.8
z_mm = 1.0
columns = 12
rows = 3
pitch_x_mm = 8.0
pitch_y_mm = 20.0
flux_lm = 20.0

[emitters.spot]
shape = "disc"
diameter_mm = 5.0
y_mm = 10.0
z_mm = 2.0
flux_lm = 200.0
half_angle_deg = 50.0

[train.haze_sheet]
kind = "diffuser"
z_mm = 12.0
transmittance = 0.7
reflectance = 0.25
haze = 0.9

[train.bars_film]
kind = "prism_film"
z_mm = 20.0
material = "polycarbonate"
absorption_per_pass = 0.01
flat_tip_share = 0.05
strips = { across = "x", width_mm = 6.0, pitch_mm = 8.0 }

[train.cross_film]
kind = "prism_film"
z_mm = 21.0
index = 1.56
along_deg = 90.0
ridges = "to_lamp"

[train.cover]
kind = "clear_plate"
z_mm = 30.0
material = "acrylic"
absorption_per_pass = 0.02
thickness_mm = 2.0

[train.field_lens]
kind = "ideal_lens"
z_mm = 50.0
focal_mm = 180.0
diameter_mm = 135.0
transmittance = 0.92

[train.screen]
kind = "panel"
z_mm = 55.0
columns = 32
rows = 18
active_width_mm = 95.0
active_height_mm = 54.0
outer_width_mm = 110.0
outer_height_mm = 66.0
frame_reflectance = 0.1
haze = 0.05
relative_transmittance = { angle_deg = [0.0, 30.0, 90.0], relative = [1.0, 0.9, 0.2] }

[train.objective]
kind = "ideal_lens"
z_mm = 230.0
focal_mm = 160.0
diameter_mm = 60.0
object_mm = 175.0

[train.stop]
kind = "aperture_stop"
z_mm = 231.0
diameter_mm = 40.0
"""
PHOTONS = 32 * 8192


@pytest.fixture(scope="module")
def lamp():
    return trace(LAMP, PHOTONS, seed=77)


def test_every_photon_has_one_fate(lamp):
    fates = lamp.rows[:, codes.ROW_FATES :]
    assert fates.sum() == lamp.photons
    assert (fates.sum(axis=1) == lamp.photons // len(fates)).all()


def test_every_fate_has_a_name(lamp):
    named = {fate.code for fate in fates_of(layers_of(parse_scene(LAMP)))}
    happened = np.flatnonzero(lamp.rows[:, codes.ROW_FATES :].sum(axis=0))
    assert set(happened.tolist()) <= named
    assert sum(lamp.fates.values()) == lamp.photons


def test_every_kind_of_fate_happens(lamp):
    for name in (
        "through the stop",
        "escaped sideways",
        "absorbed by walls",
        "absorbed by base",
        "absorbed by bars",
        "absorbed by haze_sheet",
        "absorbed by bars_film",
        "absorbed by cover",
        "absorbed by field_lens",
        "absorbed by screen",
        "stopped by rim of stop",
        "stopped by rim of objective",
        "escaped past screen",
    ):
        assert lamp.fates[name] > 0, name
    assert lamp.fates["absorbed by cross_film"] == 0


def test_the_guard_takes_none(lamp):
    # Design: below one in a million on shipped scenes.
    assert lamp.fates["given up (numerical guard)"] == 0
    assert lamp.lost[0] == 0


def test_tallies_agree_with_each_other(lamp):
    totals = lamp.rows.sum(axis=0)
    incident, collected = totals[codes.ROW_INCIDENT], totals[codes.ROW_COLLECTED]
    assert lamp.incident.sum() == incident
    assert lamp.panel_sums[:, :, codes.COLLECTED].sum() == collected == lamp.through_stop
    assert lamp.directions.sum() == incident
    assert lamp.pupil.sum() == collected
    cells = codes.CELLS**2
    for first, size in (
        (codes.ROW_CELLS, cells),
        (codes.ROW_PROFILE_X, codes.PROFILE_BINS),
        (codes.ROW_PROFILE_Y, codes.PROFILE_BINS),
        (codes.ROW_POLAR, codes.POLAR_BINS),
    ):
        assert totals[first : first + size].sum() == incident
        assert totals[first + size : first + 2 * size].sum() == collected


def test_a_run_in_pieces_is_the_run(lamp):
    # Design: sums do not depend on the order. The last part first, in uneven pieces.
    scene = parse_scene(LAMP)
    program = build_program(scene)
    tallies = empty_tallies(scene, program, 1)
    for first, end in ((200_001, PHOTONS), (0, 7), (7, 200_001)):
        piece = empty_tallies(scene, program, 1)
        trace_range(program, np.uint64(77), np.uint64(first), end - first, np.uint64(30), *piece)
        for total, part in zip(tallies, piece, strict=True):
            total += part
    rows, panel_sums, directions, pupil, *_ = tallies
    assert (rows.sum(axis=0) == lamp.rows.sum(axis=0)).all()
    assert (panel_sums == lamp.panel_sums).all()
    assert (directions == lamp.directions).all()
    assert (pupil == lamp.pupil).all()


def test_another_seed_is_another_run():
    assert (trace(LAMP, 3200, seed=78).incident != trace(LAMP, 3200, seed=77).incident).any()
