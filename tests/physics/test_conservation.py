"""Every photon has one fate, in a lamp with every kind of part; runs add up, bit by bit."""

import numpy as np
import pytest

from photonsim.engine.record import summed
from photonsim.engine.rows import every_arrival, unpack
from photonsim.engine.workers import Worker
from photonsim.kernel import codes
from photonsim.kernel.tallies import MAP_TALLIES
from photonsim.program import Compiled
from photonsim.scene import parse_scene
from tests.physics.tracing import trace

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
    fates = lamp.batches["fates"]
    assert fates.sum() == lamp.photons
    assert (fates.sum(axis=1) == lamp.photons // len(fates)).all()


def test_every_fate_has_a_name(lamp):
    # unpack itself refuses a code that the scene does not have.
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
    assert not lamp.lost


def test_tallies_agree_with_each_other(lamp):
    incident, collected = (lamp.batches[name].sum() for name in ("incident", "collected"))
    assert lamp.incident.sum() == incident
    assert lamp.panel_sums[:, :, codes.COLLECTED].sum() == collected == lamp.through_stop
    assert lamp.directions.sum() == incident
    assert lamp.pupil.sum() == collected
    for name in ("cells", "profile_x", "profile_y", "polar"):
        assert lamp.batches[name][:, 0].sum() == incident
        assert lamp.batches[name][:, 1].sum() == collected


def test_a_run_in_pieces_is_the_run(lamp):
    # Design: sums do not depend on the order. The last part first, in uneven pieces.
    compiled = Compiled(parse_scene(LAMP))
    rows, maps = np.zeros((1, compiled.row_width), np.int64), None
    for first, end in ((200_001, PHOTONS), (0, 7), (7, 200_001)):
        worker = Worker(compiled, 77)
        worker.trace(first, end - first, 30, rows)
        maps = worker.maps if maps is None else summed([maps, worker.maps])
    every_arrival(MAP_TALLIES[0], maps.panel)
    for name, counts in unpack(rows, compiled.fate_codes).items():
        assert (counts[0] == lamp.batches[name].sum(axis=0)).all(), name
    assert (maps.panel == lamp.panel_sums).all()
    assert (maps.directions == lamp.directions).all()
    assert (maps.pupil == lamp.pupil).all()


def test_another_seed_is_another_run():
    assert (trace(LAMP, 3200, seed=78).incident != trace(LAMP, 3200, seed=77).incident).any()
