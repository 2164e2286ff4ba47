"""Walls and opaque faces: where light meets them and how it leaves."""

import math

import numpy as np
import pytest

from photonsim.kernel import codes
from photonsim.kernel.entry import jit_entry
from photonsim.kernel.housing import (
    MINUS_X,
    MINUS_Y,
    NOWHERE,
    PLUS_X,
    PLUS_Y,
    choose_at_wall,
    next_wall,
    turn_back,
)
from photonsim.kernel.photon import GOES_ON, Photon
from photonsim.kernel.random import start
from photonsim.kernel.surface import ABSORBS, meet_level
from photonsim.program import build_program
from photonsim.scene import parse_scene
from tests.chance import assert_distribution, assert_proportion
from tests.physics.tracing import box, emitter, stop, target

COUNT = 300_000
SIDES = {PLUS_X: (1, 0), MINUS_X: (-1, 0), PLUS_Y: (0, 1), MINUS_Y: (0, -1)}
TAPERS = [0.0, 20.0, -15.0]


def walls_of(taper, reflectance=1.0, specular_share=1.0):
    walls = np.zeros(codes.WALL_ENTRIES)
    walls[codes.WALL_REFLECTANCE] = reflectance
    walls[codes.WALL_SPECULAR_SHARE] = specular_share
    walls[codes.WALL_HALF_X], walls[codes.WALL_HALF_Y] = 50.0, 30.0
    angle = math.radians(taper)
    walls[codes.WALL_TAN], walls[codes.WALL_COS] = math.tan(angle), math.cos(angle)
    walls[codes.WALL_SIN] = math.sin(angle)
    return walls


def inward_normal(side, taper):
    """A wall that opens towards the screen looks a little towards it."""
    across = SIDES[side]
    angle = math.radians(taper)
    return np.array([-across[0] * math.cos(angle), -across[1] * math.cos(angle), math.sin(angle)])


def towards(side, taper, generator):
    """A random direction that meets the wall from inside."""
    while True:
        direction = generator.normal(size=3)
        direction /= np.linalg.norm(direction)
        if direction @ inward_normal(side, taper) < -1e-3:
            return direction


@jit_entry
def meet_many(walls, side, u, v, w, seed, out):
    """Let one direction meet a wall over and over; out [n, 4] gets the directions and `alive`."""
    for number in range(out.shape[0]):
        rng = start(seed, np.uint64(number))
        choice, rng = choose_at_wall(walls, u, rng)
        photon = turn_back(walls, side, choice, Photon(0.0, 0.0, 0.0, u, v, w, rng, None))
        out[number, 0], out[number, 1], out[number, 2] = photon.u, photon.v, photon.w
        out[number, 3] = choice != ABSORBS


@jit_entry
def meet_level_many(program, layer, u, v, w, seed, out):
    """The same for a face across the axis."""
    for number in range(out.shape[0]):
        rng = start(seed, np.uint64(number))
        fate, photon = meet_level(program, layer, Photon(0.0, 0.0, 0.0, u, v, w, rng, None))
        out[number, 0], out[number, 1], out[number, 2] = photon.u, photon.v, photon.w
        out[number, 3] = fate == GOES_ON


@pytest.mark.parametrize("taper", TAPERS)
@pytest.mark.parametrize("side", SIDES)
def test_mirror(side, taper):
    # The law of reflection, d - 2 (d n) n (Hecht, Optics, section 4.3).
    generator, normal = np.random.default_rng(side), inward_normal(side, taper)
    out = np.empty((1, 4))
    for _ in range(50):
        direction = towards(side, taper, generator)
        meet_many(walls_of(taper), side, *direction, np.uint64(1), out)
        assert out[0, 3] == 1.0
        assert np.abs(out[0, :3] - (direction - 2 * (direction @ normal) * normal)).max() < 1e-14


@pytest.mark.parametrize("taper", TAPERS)
@pytest.mark.parametrize("side", SIDES)
def test_lambertian_about_the_walls_own_normal(side, taper):
    # Lambert's law: the two cosines in the wall fill the unit disc evenly.
    normal = inward_normal(side, taper)
    along = np.array([-normal[1], normal[0], 0.0]) / math.hypot(normal[0], normal[1])
    rising = np.cross(normal, along)
    direction = towards(side, taper, np.random.default_rng(3))
    out = np.empty((COUNT, 4))
    meet_many(walls_of(taper, specular_share=0.0), side, *direction, np.uint64(2), out)
    rays = out[:, :3]
    assert np.abs((rays**2).sum(axis=1) - 1.0).max() < 1e-14
    assert (rays @ normal > -1e-15).all()
    first, second = rays @ along, rays @ rising
    ring = np.minimum(((first**2 + second**2) * 20).astype(int), 19)
    sector = ((np.arctan2(second, first) / (2 * np.pi) + 0.5) * 12).astype(int) % 12
    counts = np.bincount(ring * 12 + sector, minlength=240)
    assert_distribution(counts, np.full(240, 1 / 240), what="rings and sectors")


def test_shares_of_a_wall():
    out = np.empty((COUNT, 4))
    direction = np.array([0.6, 0.0, 0.8])
    meet_many(walls_of(0.0, 0.7, 0.4), PLUS_X, *direction, np.uint64(3), out)
    alive = out[:, 3] == 1.0
    mirrored = alive & (np.abs(out[:, :3] - [-0.6, 0.0, 0.8]).max(axis=1) < 1e-14)
    assert_proportion(alive.sum(), COUNT, 0.7, what="reflected")
    assert_proportion(mirrored.sum(), COUNT, 0.28, what="mirrored")


@pytest.mark.parametrize("w", [0.8, -0.8])
def test_face_across_the_axis(w):
    out = np.empty((COUNT, 4))
    base = box(50.0, 5.0).replace("reflectance = 0.0", "reflectance = 0.5, specular_share = 0.2")
    lamp = base + emitter() + target(10.0, 50.0) + stop(30.0, 10.0)
    meet_level_many(build_program(parse_scene(lamp)), 0, 0.6, 0.0, w, np.uint64(4), out)
    alive = out[:, 3] == 1.0
    mirrored = alive & (out[:, 0] == 0.6) & (out[:, 1] == 0.0)
    assert (out[alive, 2] * w < 0.0).all()
    assert_proportion(alive.sum(), COUNT, 0.5, what="reflected")
    assert_proportion(mirrored.sum(), COUNT, 0.1, what="mirrored")
    scattered = out[alive & ~mirrored]
    counts, _ = np.histogram(scattered[:, 2] ** 2, bins=50, range=(0, 1))
    assert_distribution(counts, np.full(50, 0.02), what="squared cosine")


@pytest.mark.parametrize("taper", TAPERS)
def test_nearest_wall_against_numpy(taper):
    # Derived: the four planes n (p - q) = 0, the least positive distance.
    generator, walls = np.random.default_rng(6), walls_of(taper)
    for _ in range(300):
        place = generator.uniform(-1.0, 1.0, 3) * [35.0, 15.0, 20.0] + [0.0, 0.0, 20.0]
        direction = generator.normal(size=3)
        direction /= np.linalg.norm(direction)
        expected, nearest = NOWHERE, math.inf
        for side, across in SIDES.items():
            normal = inward_normal(side, taper)
            speed = -direction @ normal
            if speed > 0.0:
                foot = np.array([50.0 * across[0], 30.0 * across[1], 0.0])
                distance = (place - foot) @ normal / speed
                if distance < nearest:
                    expected, nearest = side, distance
        side, distance = next_wall(walls, Photon(*place, *direction, 0, None))
        assert side == expected
        if expected != NOWHERE:
            assert distance == pytest.approx(nearest, abs=1e-9, rel=1e-12)
