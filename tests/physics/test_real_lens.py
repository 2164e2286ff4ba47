"""Real lenses in the kernel: exact traces, energy, cemented faces and coatings."""

import math

import numpy as np
import pytest

from photonsim.kernel import codes, real_lens
from photonsim.kernel.photon import GOES_ON, Photon
from photonsim.kernel.random import start
from photonsim.program import build_program
from photonsim.scene import parse_scene
from tests.chance import assert_proportion
from tests.physics.lens_scenes import PLANO, TRIPLET, scene_with, triplet_at

ATTEMPTS = 200


def refracted(program, layer, wavelength, x, y, z, u, v, w):
    """Cross one face; luck is tried until the face lets the ray through."""
    for number in range(ATTEMPTS):
        rng = np.uint64(start(np.uint64(1), np.uint64(number)))
        photon = Photon(x, y, z, u, v, w, rng, None)
        fate, photon = real_lens.cross(program, layer, wavelength, photon)
        assert fate == GOES_ON
        if photon.w * w > 0.0:
            return photon[:6]
    raise AssertionError("the face never let the ray through")


def trace_up(program, x, y, z, u, v, w):
    """Trace a ray through every face of a program that lies above it."""
    for layer in np.flatnonzero(program.layer_kind == codes.LENS_FACE):
        way = (program.layer_z[layer] - z) / w
        plane = (x + way * u, y + way * v, program.layer_z[layer])
        x, y, z, u, v, w = refracted(program, int(layer), 0, *plane, u, v, w)
    return x, y, z, u, v, w


def longitudinal_aberration(program, height, paraxial_focus):
    x, _, z, u, _, w = trace_up(program, height, 0.0, 100.0, 0.0, 0.0, 1.0)
    return z - x / u * w - paraxial_focus


@pytest.mark.parametrize(
    ("height", "aberration"),
    [(14.6, 0.057491), (10.324, -0.375721), (7.3, -0.261724), (3.65, -0.077214)],
)
def test_triplet_exact_trace(height, aberration):
    """Prescription: W. J. Smith, Modern Optical Engineering, 4th ed., p. 119. LSA: derived."""
    program = build_program(scene_with(triplet_at(200.0)))
    last = 200.0 + 39.08
    found = longitudinal_aberration(program, height, last + 77.40535)
    assert found == pytest.approx(aberration, abs=6e-6)


@pytest.mark.parametrize(
    ("height", "first", "back", "aberrations"),
    [
        (5.0, "convex", 96.703586, (0.272515, 0.0136852)),
        (10.0, "convex", 96.703586, (1.099269, 0.1118860)),
        (5.0, "plane", 100.0, (1.081305, 0.0545226)),
        (10.0, "plane", 100.0, (4.381839, 0.4536305)),
    ],
)
def test_plano_convex_exact_trace(height, first, back, aberrations):
    """n = 1.5168, R = 51.68, t = 5: exact trace both ways round (derived, check-values 7b)."""
    program = build_program(scene_with(PLANO[first]))
    x, _, z, u, _, w = trace_up(program, height, 0.0, 100.0, 0.0, 0.0, 1.0)
    focus = 205.0 + back
    assert focus - (z - x / u * w) == pytest.approx(aberrations[0], abs=2e-6)
    assert abs(x + (focus - z) / w * u) == pytest.approx(aberrations[1], abs=2e-6)


def test_conic_mirror_of_nature_a_hyperbola_focuses_exactly():
    """A plano-hyperbolic lens, k = -n**2, brings parallel light to one point at any height.

    (Hecht, Optics, section 5.2: aspherical surfaces; f = R/(n - 1) behind the vertex.)
    """
    lens = """
[train.lens]
kind = "real_lens"
z_mm = 200.0
thickness_mm = 20.0
diameter_mm = 60.0
radius_screen_mm = -50.0
conic_screen = -2.25
index = 1.5
"""
    program = build_program(scene_with(lens))
    for height in (1.0, 10.0, 29.0):
        x, _, z, u, _, w = trace_up(program, height, 0.0, 100.0, 0.0, 0.0, 1.0)
        assert z - x / u * w == pytest.approx(220.0 + 50.0 / 0.5, abs=1e-9)


def exact_skew_trace(faces, place, direction):
    """An independent trace in vectors: Newton's method on the sag, Snell as n x (d x n)."""
    place, direction = np.array(place), np.array(direction)
    for vertex, curvature, conic, before, behind in faces:

        def height(point, c=curvature, k=conic, z=vertex):
            r2 = point[0] ** 2 + point[1] ** 2
            return point[2] - z - c * r2 / (1.0 + math.sqrt(1.0 - (1.0 + k) * c * c * r2))

        way = (vertex - place[2]) / direction[2]
        for _ in range(60):
            here = height(place + way * direction)
            slope = (height(place + (way + 1e-5) * direction) - here) / 1e-5
            way -= here / slope
            if abs(here) < 1e-13:
                break
        place = place + way * direction
        r2 = place[0] ** 2 + place[1] ** 2
        root = math.sqrt(1.0 - (1.0 + conic) * curvature**2 * r2)
        gradient = np.array([-curvature * place[0] / root, -curvature * place[1] / root, 1.0])
        unit = gradient / np.linalg.norm(gradient)
        across = before / behind * np.cross(unit, np.cross(direction, unit))
        direction = across + math.sqrt(1.0 - across @ across) * unit
    return place, direction


def test_skew_rays_agree_with_an_independent_vector_formula_to_1e_9():
    program = build_program(scene_with(triplet_at(200.0)))
    faces = []
    for k, (radius, glass) in enumerate(TRIPLET.faces):
        before = 1.0 if k == 0 else TRIPLET.faces[k - 1][1]
        faces.append((200.0 + TRIPLET.heights[k], 1.0 / radius, 0.0, before, glass))
    rng = np.random.default_rng(3)
    for _ in range(40):
        x, y = rng.uniform(-5.0, 5.0, 2)
        u, v = rng.uniform(-0.1, 0.1, 2)
        w = math.sqrt(1.0 - u * u - v * v)
        found = trace_up(program, x, y, 198.0, u, v, w)
        place, direction = exact_skew_trace(faces, (x, y, 198.0), (u, v, w))
        np.testing.assert_allclose(found[:3], place, atol=1e-9)
        np.testing.assert_allclose(found[3:], direction, atol=1e-9)


def test_a_ray_goes_back_the_way_it_came():
    """Reciprocity (Helmholtz): reversed behind the triplet, a ray returns to its start."""
    program = build_program(scene_with(triplet_at(200.0)))
    begin = (3.0, -2.0, 198.0, 0.05, 0.03, math.sqrt(1.0 - 0.0034))
    x, y, z, u, v, w = trace_up(program, *begin)
    u, v, w = -u, -v, -w
    for layer in np.flatnonzero(program.layer_kind == codes.LENS_FACE)[::-1]:
        way = (program.layer_z[layer] - z) / w
        plane = (x + way * u, y + way * v, program.layer_z[layer])
        x, y, z, u, v, w = refracted(program, int(layer), 0, *plane, u, v, w)
    way = (198.0 - z) / w
    np.testing.assert_allclose((x + way * u, y + way * v), begin[:2], atol=1e-10)
    np.testing.assert_allclose((u, v, w), [-value for value in begin[3:]], atol=1e-12)


@pytest.mark.parametrize(("coating", "expected"), [(None, 0.04), (0.01, 0.01)])
def test_share_reflected_at_the_vertex(coating, expected):
    """((n - 1)/(n + 1))**2 = 0.04 for n = 1.5 (Hecht, Optics, section 4.6), or the coating's."""
    lens = PLANO["convex"].replace("1.5168", "1.5")
    if coating is not None:
        lens += f"coating_reflectance = {coating}\n"
    program = build_program(scene_with(lens))
    layer = int(np.flatnonzero(program.layer_kind == codes.LENS_FACE)[0])
    back = 0
    photons = 20_000
    for number in range(photons):
        rng = np.uint64(start(np.uint64(4), np.uint64(number)))
        photon = Photon(0.0, 0.0, 200.0, 0.0, 0.0, 1.0, rng, None)
        back += real_lens.cross(program, layer, 0, photon)[1].w < 0.0
    assert_proportion(back, photons, expected)


def test_lenses_that_touch_alike_are_cemented():
    """The printed doublet (W. J. Smith, pp. 41-43) has three faces, not four."""
    doublet = """
[train.crown]
kind = "real_lens"
z_mm = 300.0
thickness_mm = 10.0
diameter_mm = 30.0
radius_lamp_mm = 50.0
radius_screen_mm = -50.0
index = 1.5

[train.flint]
kind = "real_lens"
z_mm = 310.0
thickness_mm = 2.0
diameter_mm = 30.0
radius_lamp_mm = -50.0
index = 1.6
"""
    program = build_program(scene_with(doublet))
    faces = np.flatnonzero(program.layer_kind == codes.LENS_FACE)
    np.testing.assert_array_equal(program.layer_z[faces], [300.0, 310.0, 312.0])
    np.testing.assert_array_equal(program.layer_index_below[faces, 0], [1.0, 1.5, 1.6])
    np.testing.assert_array_equal(program.layer_index[faces, 0], [1.5, 1.6, 1.0])
    # The printed paraxial image, l = -300, h = 20: l' = 199.6846, h' = -14.0187.
    small = 1e-5
    x, _, z, u, _, w = trace_up(program, 0.0, 0.0, 0.0, small, 0.0, math.sqrt(1.0 - small**2))
    assert z - x / u * w == pytest.approx(312.0 + 199.6846, abs=1e-3)
    assert parse_scene(scene_with(doublet).text).train["flint"].index == 1.6
