"""Fresnel lenses in the kernel: design conjugates, losses, the way back."""

import math

import numpy as np
import pytest

from photonsim.kernel import codes, fresnel_lens
from photonsim.kernel.photon import GOES_ON, Photon
from photonsim.kernel.random import start
from photonsim.program import build_program
from tests.chance import assert_proportion
from tests.physics.lens_scenes import scene_with

SHEET = """
[train.sheet]
kind = "fresnel_lens"
z_mm = 200.0
focal_mm = {focal}
diameter_mm = 110.0
object_mm = {near}
grooves = "{grooves}"
material = "acrylic"
"""


def sheet(focal, near, grooves):
    scene = scene_with(SHEET.format(focal=focal, near=near, grooves=grooves))
    scene = scene.model_copy(
        update={"light": scene.light.model_copy(update={"wavelengths_nm": (587.56,)})}
    )
    program = build_program(scene)
    return program, int(np.flatnonzero(program.layer_kind == codes.FRESNEL_LENS)[0])


def crossings(program, layer, x, y, u, v, w, count):
    """Yield (alive, u, v, w) of a ray sent at the sheet again and again."""
    for number in range(count):
        rng = np.uint64(start(np.uint64(2), np.uint64(number)))
        photon = Photon(x, y, program.layer_z[layer], u, v, w, rng)
        fate, photon = fresnel_lens.cross(program, layer, 0, photon)
        yield fate == GOES_ON, photon.u, photon.v, photon.w


def passed(program, layer, x, y, u, v, w):
    for alive, *direction in crossings(program, layer, x, y, u, v, w, 400):
        if alive and direction[2] * w > 0.0:
            return direction
    raise AssertionError("the sheet never let the ray through")


@pytest.mark.parametrize("grooves", ["to_lamp", "to_screen"])
@pytest.mark.parametrize(("focal", "near"), [(120.0, 200.0), (120.0, 80.0), (-150.0, 300.0)])
def test_it_images_its_design_conjugates_exactly(grooves, focal, near):
    """1/a + 1/b = 1/f (Hecht, Optics, section 5.2), here at every radius, by Snell's law alone."""
    program, layer = sheet(focal, near, grooves)
    for radius, turn in ((5.0, 0.3), (20.0, 2.0), (33.0, 4.0), (54.0, 5.5)):
        x, y = radius * math.cos(turn), radius * math.sin(turn)
        way = math.hypot(radius, near)
        u, v, w = passed(program, layer, x, y, x / way, y / way, near / way)
        assert y * u - x * v == pytest.approx(0.0, abs=1e-9), "it stays in its plane"
        vergence = -(x * u + y * v) / (radius * radius * w)
        assert vergence == pytest.approx(1.0 / focal - 1.0 / near, abs=2e-6 / radius)


@pytest.mark.parametrize("grooves", ["to_lamp", "to_screen"])
def test_the_way_back_is_the_same_and_as_likely(grooves):
    """Helmholtz reciprocity: the reversed ray retraces, with the same transmittance."""
    program, layer = sheet(120.0, 200.0, grooves)
    x, y, u, v = 30.0, 12.0, 0.15, -0.08
    w = math.sqrt(1.0 - u * u - v * v)
    out = passed(program, layer, x, y, u, v, w)
    back = passed(program, layer, x, y, *(-value for value in out))
    np.testing.assert_allclose(back, (-u, -v, -w), atol=1e-12)
    tries = 20_000
    there = sum(
        alive and new[2] > 0.0 for alive, *new in crossings(program, layer, x, y, u, v, w, tries)
    )
    again = sum(
        alive and new[2] < 0.0
        for alive, *new in crossings(program, layer, x, y, *(-value for value in out), tries)
    )
    assert there / tries == pytest.approx(again / tries, abs=5.0 * math.sqrt(0.5 / tries))


def tooth_loss(tangent, inside, outside, rays=200_000):
    """Follow rays across a row of teeth of pitch 1 whose facets fall to the right."""
    place = (np.arange(rays) + 0.5) / rays
    # From the foot of the teeth (height 0) up: the facet of tooth 0 is z = tangent (1 - r), its
    # wall stands at r = 0. In the sheet, r = place + inside z.
    meets = (tangent * (1.0 - place)) / (1.0 + tangent * inside)
    r = place + inside * meets
    struck = r < 0.0
    height = tangent * (1.0 - r)
    if outside > 0.0:
        struck |= height + (1.0 - r) / outside < tangent
    return struck.mean()


@pytest.mark.parametrize(
    ("tangent", "inside", "outside"),
    [(0.5, 0.2, -0.3), (0.5, -0.2, -0.3), (0.8, 0.0, 0.5), (0.3, 0.1, 0.9)],
)
def test_loss_at_the_groove_walls_agrees_with_rays_across_a_row_of_teeth(tangent, inside, outside):
    found = fresnel_lens.wall_loss(tangent, inside, outside)
    assert found == pytest.approx(tooth_loss(tangent, inside, outside), abs=2e-3)


def test_flat_middle_loses_what_two_faces_reflect():
    """On axis a flat sheet: of (1 - R)**2 with R = ((n - 1)/(n + 1))**2 (Hecht, section 4.6)."""
    program, layer = sheet(120.0, 200.0, "to_screen")
    index = program.layer_index[layer, 0]
    face = ((index - 1.0) / (index + 1.0)) ** 2
    tries = 20_000
    hits = sum(
        alive and new[2] > 0.0
        for alive, *new in crossings(program, layer, 0.0, 0.0, 0.0, 0.0, 1.0, tries)
    )
    assert_proportion(hits, tries, (1.0 - face) ** 2)
