"""Emitters: where photons start, from which one, in which direction, and where faces lie."""

import math

import numpy as np
import pytest

from photonsim.kernel.emitters import emit, on_face
from photonsim.kernel.entry import jit_entry
from photonsim.kernel.random import start
from photonsim.program import build_program
from photonsim.scene import parse_scene
from tests.chance import assert_distribution, assert_proportion
from tests.physics.tracing import box, stop, target

COUNT = 400_000
BARS = """[emitters.bars]
width_mm = 4.0
height_mm = 2.0
x_mm = -10.0
y_mm = 5.0
z_mm = 1.0
columns = 3
rows = 2
pitch_x_mm = 12.0
pitch_y_mm = 9.0
flux_lm = 20.0
half_angle_deg = 45.0
"""
DISC = """[emitters.spot]
shape = "disc"
diameter_mm = 6.0
x_mm = 30.0
y_mm = -20.0
z_mm = 2.0
flux_lm = 40.0
cosine_power = 4.0
"""


@jit_entry
def emit_many(program, seed, groups, photons):
    """Write the groups [n] and (x, y, u, v, w) [n, 5] of new photons."""
    for number in range(groups.shape[0]):
        history = np.uint64(number)
        group, x, y, u, v, w, _ = emit(program, seed, history, start(seed, history))
        groups[number] = group
        photons[number, 0], photons[number, 1] = x, y
        photons[number, 2], photons[number, 3], photons[number, 4] = u, v, w


def program_of(*groups):
    return build_program(
        parse_scene(box(100.0, 10.0) + "".join(groups) + target(12.0, 50.0) + stop(13.0, 1.0))
    )


@pytest.fixture(scope="module")
def emitted():
    groups, photons = np.empty(COUNT, dtype=np.int64), np.empty((COUNT, 5))
    emit_many(program_of(BARS, DISC), np.uint64(12), groups, photons)
    return groups, photons


def test_flux_shares_the_photons(emitted):
    # 6 bars of 20 lm and a disc of 40 lm: 3 to 1.
    assert_proportion((emitted[0] == 0).sum(), COUNT, 0.75, what="bars")


def test_bars_shine_evenly(emitted):
    groups, photons = emitted
    x, y = photons[groups == 0, :2].T
    column, row = np.round((x + 22.0) / 12.0), np.round((y - 0.5) / 9.0)
    left, below = x - (column * 12.0 - 22.0), y - (row * 9.0 + 0.5)
    assert np.abs(left).max() <= 2.0
    assert np.abs(below).max() <= 1.0
    place = (row * 3 + column) * 16 + np.floor(left + 2.0) * 4 + np.floor(2.0 * (below + 1.0))
    counts = np.bincount(place.astype(int), minlength=96)
    assert_distribution(counts, np.full(96, 1 / 96), what="six bars in 4 x 4 cells")


def test_disc_shines_evenly(emitted):
    groups, photons = emitted
    x, y = photons[groups == 1, :2].T - [[30.0], [-20.0]]
    ring = np.floor((x * x + y * y) / 9.0 * 20)
    assert ring.max() < 20
    sector = ((np.arctan2(y, x) / (2 * np.pi) + 0.5) * 12).astype(int) % 12
    counts = np.bincount((ring * 12 + sector).astype(int), minlength=240)
    assert_distribution(counts, np.full(240, 1 / 240), what="disc in rings and sectors")


@pytest.mark.parametrize(("group", "exponent"), [(0, 2.0), (1, 4.0)])
def test_directions(emitted, group, exponent):
    # Half the intensity at 45 degrees is cos**2 (Moreno et al., Appl. Opt. 45, 2265 (2006), from
    # memory: m = -ln 2 / ln cos). The flux inside t is 1 - cos(t)**(m + 1): identity.
    groups, photons = emitted
    counts, _ = np.histogram(photons[groups == group, 4] ** (exponent + 1), bins=50, range=(0, 1))
    assert_distribution(counts, np.full(50, 0.02), what="flux against angle")


def test_place_and_direction_are_unrelated(emitted):
    # Derived: no draw is used twice. Bars: column of start against half of the sky.
    groups, photons = emitted
    x, y, u, v, w = photons[groups == 0].T
    column, row = np.round((x + 22.0) / 12.0), np.round((y - 0.5) / 9.0)
    left = x > column * 12.0 - 22.0
    place = ((row * 3 + column) * 2 + left) * 8 + (u > 0) * 4 + (v > 0) * 2 + (w > 0.5 ** (1 / 3))
    counts = np.bincount(place.astype(int), minlength=96)
    assert_distribution(counts, np.full(96, 1 / 96), what="place and direction")


def test_faces_against_numpy():
    program = program_of(BARS, DISC)
    places = np.random.default_rng(2).uniform(-40.0, 40.0, (3000, 2))
    x, y = places.T
    bars = np.zeros(len(places), dtype=bool)
    for centre_x in (-22.0, -10.0, 2.0):
        for centre_y in (0.5, 9.5):
            bars |= (np.abs(x - centre_x) <= 2.0) & (np.abs(y - centre_y) <= 1.0)
    disc = np.hypot(x - 30.0, y + 20.0) <= 3.0
    assert bars.any()
    assert disc.any()
    for group, expected in enumerate((bars, disc)):
        found = [on_face(program, group, a, b) for a, b in places.tolist()]
        assert (np.array(found) == expected).all()


def test_half_angle_of_a_wide_emitter():
    # 60 degrees is Lambert's law, m = 1; other pairs as in check-values section 4c.
    for half_angle, exponent in ((60.0, 1.0), (45.0, 2.0), (30.0, 4.81884), (10.0, 45.27760)):
        group = BARS.replace("half_angle_deg = 45.0", f"half_angle_deg = {half_angle}")
        scene = parse_scene(box(100.0, 10.0) + group + target(12.0, 50.0) + stop(13.0, 1.0))
        found = scene.emitters["bars"].exponent
        assert found == pytest.approx(exponent, rel=1e-5)
        assert math.cos(math.radians(half_angle)) ** found == pytest.approx(0.5)
