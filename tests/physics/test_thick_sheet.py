"""Thick sheets: the shift of a plane plate from explicit geometry, and what must not change."""

import math

import numpy as np
import pytest

from photonsim.kernel import codes
from photonsim.kernel.entry import jit_entry
from photonsim.kernel.photon import Photon
from photonsim.kernel.random import start
from photonsim.program import Compiled, build_program
from photonsim.scene import scene_from_dict
from tests.contract.test_parts import TYPICAL, lamp_with
from tests.meeting import until_left

PLATE = {"kind": "clear_plate", "index": 1.49, "thickness_mm": 3.0, "thick": True}


@jit_entry
def meet_from(program, first, last, photons, fates):
    """Let photons [n, 6] meet the layers of a part; they receive where and how they leave it."""
    for number in range(photons.shape[0]):
        x, y, z, u, v, w = photons[number]
        rng = start(np.uint64(3), np.uint64(number))
        fates[number], photon = until_left(
            program, first, last, Photon(x, y, z, u, v, w, rng, None)
        )
        x, y, z, u, v, w, _, _ = photon
        photons[number, 0], photons[number, 1], photons[number, 2] = x, y, z
        photons[number, 3], photons[number, 4], photons[number, 5] = u, v, w


def through(part, place, direction, photons=400):
    _, program, layers = lamp_with(part)
    z = program.layer_z[layers[0 if direction[2] > 0.0 else 1]]
    out = np.tile([*place, z, *direction], (photons, 1))
    fates = np.empty(photons, dtype=np.int64)
    meet_from(program, *layers, out, fates)
    return out


@pytest.mark.parametrize("angle", [0.0, 30.0, 45.0, 80.0])
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_plane_plate_shifts_a_ray_as_geometry_says(angle, side):
    # t sin i (1 - cos i/(n cos r)), across the ray (Hecht, Optics, problem of chapter 4: from
    # memory; derived from two right triangles within the plate).
    sine, cosine = math.sin(math.radians(angle)), math.cos(math.radians(angle))
    out = through(PLATE, (1.0, -2.0), (0.6 * sine, 0.8 * sine, side * cosine))
    passed = out[out[:, 5] * side > 0.0]
    assert len(passed) > 100
    np.testing.assert_allclose(passed[:, 2], 23.0 if side > 0.0 else 20.0, atol=1e-12)
    inside = math.sqrt(1.0 - (sine / 1.49) ** 2)
    shift = 3.0 * sine * (1.0 - cosine / (1.49 * inside))
    along = 0.6 * (passed[:, 0] - 1.0) + 0.8 * (passed[:, 1] + 2.0)
    straight = 3.0 * sine / cosine
    np.testing.assert_allclose((straight - along) * cosine, shift, atol=1e-9)
    # What is turned back has come, in the mean of both faces, from halfway.
    back = out[out[:, 5] * side < 0.0]
    np.testing.assert_allclose(back[:, 2], 20.0 if side > 0.0 else 23.0, atol=1e-12)


def test_a_coated_film_shifts_light_by_the_index_of_its_base():
    # Ridges are a tenth of a film's thickness (common practice). What a level face turns back
    # leaves as from halfway, T tan r further on, r by Snell's law in the base (right triangles).
    film = {"kind": "prism_film", "index": 1.56, "base_index": 1.7, "thickness_mm": 2.0}
    out = through(film | {"thick": True}, (1.0, -2.0), (0.36, 0.48, 0.8))
    mirrored = np.abs(out[:, 3:] - [0.36, 0.48, -0.8]).max(axis=1) < 1e-9
    assert mirrored.sum() > 5
    shift = 2.0 * math.tan(math.asin(0.6 / 1.7))
    there = np.array([1.0 + 0.6 * shift, -2.0 + 0.8 * shift])
    np.testing.assert_allclose(out[mirrored, :2], np.tile(there, (mirrored.sum(), 1)), atol=1e-9)


def test_light_stays_within_the_edges_of_a_thick_sheet():
    out = through(PLATE | {"thickness_mm": 20.0}, (24.5, 19.5), (0.7, 0.7, math.sqrt(0.02)))
    assert (np.abs(out[:, 0]) <= 25.0).all() and (np.abs(out[:, 1]) <= 20.0).all()
    assert (out[:, 3] < 0.0).any() and (out[:, 4] < 0.0).any()
    np.testing.assert_allclose((out[:, 3:] ** 2).sum(axis=1), 1.0, atol=1e-12)


@pytest.mark.parametrize("kind", ["clear_plate", "diffuser", "prism_film"])
def test_the_default_written_out_changes_no_bit(kind):
    part = TYPICAL[kind] | {"kind": kind}
    scenes = [lamp_with(part | more)[0] for more in ({}, {"thick": False})]
    assert Compiled(scenes[0]).digest == Compiled(scenes[1]).digest
    if kind == "diffuser":
        assert Compiled(lamp_with(part | {"index": 1.49})[0]).digest == Compiled(scenes[0]).digest
    thick = build_program(lamp_with(part | {"thick": True})[0])
    assert thick.traits & codes.THICK_SHEETS
    assert not build_program(scenes[0]).traits & codes.THICK_SHEETS


def test_a_thick_sheet_behind_the_panel_is_refused():
    scene, _, _ = lamp_with(PLATE)
    plain = scene.model_dump(exclude_unset=True)
    plain["train"] = {
        "panel": plain["train"]["panel"],
        "part": PLATE | {"z_mm": 200.0, "width_mm": 50.0, "height_mm": 40.0},
        "aperture_stop": plain["train"]["aperture_stop"] | {"z_mm": 300.0},
    }
    with pytest.raises(ValueError, match="a real_lens without radii"):
        scene_from_dict(plain)
