"""Plates, lenses, walls and matt surfaces in polarised light: closed forms, and the field."""

import math

import numpy as np
import pytest
import tmm

from photonsim.kernel import codes
from photonsim.kernel.clear_plate import shares
from photonsim.kernel.fresnel_lens import facet_tangent
from photonsim.kernel.housing import MINUS_X, MINUS_Y, PLUS_X, PLUS_Y, turn_back
from photonsim.kernel.numbers import short
from photonsim.kernel.photon import GOES_ON, Photon
from photonsim.kernel.polarisation import Light
from photonsim.kernel.surface import MIRRORS
from photonsim.program import build_program
from photonsim.scene import parse_scene
from tests.chance import assert_mean, assert_proportion
from tests.meeting import sent_polarised
from tests.physics.film_rays import lambertian_rays
from tests.physics.stokes import linear, natural
from tests.physics.tracing import box, emitter, stop, target, trace

PHOTONS = 640_000
MANY = [PHOTONS, pytest.param(10_000_000, marks=pytest.mark.long)]
BATCHES = 40
MIRROR_WALLS = "reflectance = 1.0, specular_share = 1.0"
# Any skew direction and field: no plane of symmetry.
SKEW = np.array([0.36, -0.48, 0.8])
FIELD = np.cross(SKEW, [0.3, 0.9, -0.2])


def plates(count, index):
    return "".join(
        f'[train.plate_{k}]\nkind = "clear_plate"\nz_mm = {5.0 + 0.2 * k}\nthickness_mm = 0.1\n'
        f"index = {index}\n"
        for k in range(count)
    )


def lamp(*parts, base="base = { reflectance = 0.0 }"):
    """A lamp and the numbers of the layers of its parts, first and last."""
    text = box(1000.0, 80.0) + emitter() + "".join(parts) + target(90.0, 50.0) + stop(91.0, 10.0)
    program = build_program(parse_scene(text.replace("base = { reflectance = 0.0 }", base)))
    numbers = np.flatnonzero((program.layer_z > 4.5) & (program.layer_z < 80.0))
    return program, (int(numbers[0]), int(numbers[-1]))


def pencil(program, layers, ray, state, count, place=(0.0, 0.0, 4.5)):
    """Return (fates, rays, states) of equal rays of one state."""
    rays, places = np.tile(ray, (count, 1)), np.tile(place, (count, 1))
    return sent_polarised(program, layers, places, rays, np.tile(state, (count, 1)))


@pytest.mark.parametrize("photons", MANY)
@pytest.mark.parametrize(
    ("count", "index", "polarised", "expected"),
    [
        (1, 1.5, True, 0.850938),
        (2, 1.5, True, 0.770950),
        (2, 1.5, False, 0.758097),
        (10, 1.5, True, 0.512390),
        (2, 1.49, True, 0.774188),
        (2, 1.586, True, 0.744138),
    ],
)
def test_lambertian_light_on_parallel_plates(count, index, polarised, expected, photons):
    # Derived (check-values-2, section 2): s and p apart through all 2N faces; an unpolarised
    # program forgets them between plates. Mirror walls make the plates as good as infinite.
    text = box(50.0, 10.0, walls=MIRROR_WALLS) + emitter() + plates(count, index)
    text += target(10.0, 50.0) + stop(10.1, 200.0)
    traced = trace(text, photons, polarised=polarised)
    assert_proportion(traced.incident.sum(), traced.photons, expected, known_to=1e-6)


@pytest.mark.parametrize("photons", MANY)
@pytest.mark.parametrize(
    ("count", "index", "degree", "through"),
    [
        (1, 1.5, 0.14793, 0.87113),
        (2, 1.5, 0.25773, 0.79508),
        (5, 1.5, 0.46468, 0.68274),
        (10, 1.5, 0.63452, 0.61180),
        (1, 1.49, 0.14357, 0.87446),
        (2, 1.49, 0.25109, 0.79931),
    ],
)
def test_pile_of_plates_at_brewsters_angle(count, index, degree, through, photons):
    # P = m/(m + (2n/(n**2 - 1))**2), all reflections to and fro (Provostaye and Desains 1850, from
    # memory; derived in check-values-2, section 2): the light that comes through is p light.
    angle = math.atan(index)
    ray = [math.sin(angle), 0.0, math.cos(angle)]
    _, out, lights = pencil(*lamp(plates(count, index)), ray, [0.0] * 3, photons)
    passed = out[:, 2] > 0.0
    assert_proportion(passed.sum(), photons, through, known_to=3e-6)
    per_batch = passed.reshape(BATCHES, -1).sum(axis=1)
    found = -np.where(passed, lights[:, 0], 0.0).reshape(BATCHES, -1).sum(axis=1) / per_batch
    assert_mean(found, degree, known_to=3e-6)


def test_lossless_plate_loses_nothing_of_either_polarisation():
    # First row of the sum of both outcomes: (1, 0, 0, 0) (check-values-2, section 1d).
    for cosine in (0.05, 0.5, 1.0):
        (s_on, p_on, mixed_on), (s_back, p_back, mixed_back) = shares(cosine, 1.5, 1.0)
        assert (s_on + s_back, p_on + p_back) == pytest.approx((1.0, 1.0), abs=1e-12)
        assert abs(mixed_on) <= math.sqrt(s_on * p_on) + 1e-12
        assert abs(mixed_back) <= math.sqrt(s_back * p_back) + 1e-12


def test_u_and_v_of_a_plate_against_the_sum_of_internal_passes():
    # Derived: follow U from face to face; amplitudes by tmm, whose frame is the kernel's.
    index, kept, angle = 1.5, 0.8, 0.9
    inner = tmm.snell(1.0, index, angle).real
    r_s, r_p = (tmm.interface_r(way, 1.0, index, angle, inner) for way in "sp")
    passes = math.sqrt((1.0 - r_s**2) * (1.0 - r_p**2))
    on, back, inside = 0.0, r_s * r_p, passes
    for _ in range(50):
        inside *= kept
        on += inside * passes
        inside *= r_s * r_p * kept
        back += inside * passes
        inside *= r_s * r_p
    found_on, found_back = shares(math.cos(angle), index, kept)
    assert (found_on[2], found_back[2]) == pytest.approx((on, back), abs=1e-12)


def test_spherical_face_against_the_field_itself():
    # Fresnel's amplitudes (tmm) for the field's parts across and in the plane of incidence; p goes
    # with the ray as k x s. Two-way: what the face reflects and what it passes.
    lens = (
        '[train.lens]\nkind = "real_lens"\nz_mm = 20.0\ndiameter_mm = 30.0\nthickness_mm = 8.0\n'
        "radius_lamp_mm = 25.0\nradius_screen_mm = -60.0\nindex = 1.6\n"
    )
    program, (first, _) = lamp(lens)
    place = np.array([3.0, 7.0, program.layer_z[first]])
    fates, out, lights = pencil(program, (first, first), SKEW, linear(SKEW, FIELD)[0], 4000, place)
    assert (fates == GOES_ON).all()
    # Where the ray meets the sphere about (0, 0, z + 25).
    middle = place - [0.0, 0.0, place[2] + 25.0]
    along = middle @ SKEW
    foot = middle - (along + math.sqrt(along**2 - middle @ middle + 25.0**2)) * SKEW
    normal = -foot / 25.0
    angle = math.acos(SKEW @ normal)
    inner = tmm.snell(1.0, 1.6, angle).real
    s = np.cross(normal, SKEW) / math.sin(angle)
    parts = FIELD @ s, FIELD @ np.cross(SKEW, s)
    for amplitude, passed in ((tmm.interface_r, False), (tmm.interface_t, True)):
        met = (out[:, 2] > 0.0) == passed
        assert met.any()
        k = out[met][0]
        f_s, f_p = (amplitude(way, 1.0, 1.6, angle, inner) for way in "sp")
        field = f_s * parts[0] * s + f_p * parts[1] * np.cross(k, s)
        np.testing.assert_allclose(lights[met], linear(out[met], field), atol=1e-9)


@pytest.mark.parametrize("side", [PLUS_X, MINUS_X, PLUS_Y, MINUS_Y])
def test_mirror_wall_against_the_field_itself(side):
    # E' = 2 (N E) N - E at an ideal mirror (textbook); walls that lean by 20 degrees.
    walls, lean = np.zeros(codes.WALL_ENTRIES), math.radians(20.0)
    walls[[codes.WALL_TAN, codes.WALL_COS, codes.WALL_SIN]] = (
        math.tan(lean),
        math.cos(lean),
        math.sin(lean),
    )
    outwards = {PLUS_X: (1, 0), MINUS_X: (-1, 0), PLUS_Y: (0, 1), MINUS_Y: (0, -1)}[side]
    normal = np.array(
        [-outwards[0] * math.cos(lean), -outwards[1] * math.cos(lean), math.sin(lean)]
    )
    light = Light(*linear(SKEW, FIELD)[0], short(1))
    photon = Photon(0.0, 0.0, 0.0, *SKEW, np.uint64(1), light)
    photon = turn_back(walls, side, MIRRORS, photon)
    k, field = np.array(photon[3:6]), 2.0 * (normal @ FIELD) * normal - FIELD
    np.testing.assert_allclose(k, SKEW - 2.0 * (SKEW @ normal) * normal, atol=1e-12)
    np.testing.assert_allclose(photon.light[:3], linear(k, field)[0], atol=1e-12)
    circular = Photon(0.0, 0.0, 0.0, *SKEW, np.uint64(1), Light(0.0, 0.0, 1.0, short(1)))
    assert turn_back(walls, side, MIRRORS, circular).light.v == -1.0


@pytest.mark.parametrize(
    ("specular", "state"), [(1.0, (0.6, -0.64, -0.48)), (0.0, (0.0, 0.0, 0.0))]
)
def test_base_mirrors_a_state_or_forgets_it(specular, state):
    # A level mirror in the ray's own frame: U and V change sign (check-values-2, section 1b).
    base = f"base = {{ reflectance = 1.0, specular_share = {specular} }}"
    program, _ = lamp(plates(1, 1.5), base=base)
    _, out, lights = pencil(program, (0, 0), -SKEW, [0.6, 0.64, 0.48], 100, (9.0, 9.0, 0.0))
    assert (out[:, 2] > 0.0).all()
    np.testing.assert_allclose(lights, np.tile(state, (100, 1)), atol=1e-15)


@pytest.mark.parametrize("forgets", [0.0, 0.4, 1.0])
def test_diffuser_depolarises_by_its_share_what_it_scatters(forgets):
    # The least turn carries the field as Rodrigues' rotation does (textbook); reflected light is
    # first mirrored in the sheet. What goes straight through keeps its state.
    sheet = (
        '[train.sheet]\nkind = "diffuser"\nz_mm = 5.0\ntransmittance = 0.6\nreflectance = 0.4\n'
        f"haze = 0.7\nhalf_angle_deg = 20.0\ndepolarised_share = {forgets}\n"
    )
    _, out, lights = pencil(*lamp(sheet), SKEW, linear(SKEW, FIELD)[0], 3000)
    mirror = np.where(out[:, 2:] > 0.0, 1.0, -1.0) * [0, 0, 1] + [1, 1, 0]
    # Turned back, E' = -(E - 2 (N E) N) keeps what lies across the sheet: the sign is no matter.
    before, field = SKEW * mirror, FIELD * mirror
    axis, cosine = np.cross(before, out), (before * out).sum(axis=1)[:, None]
    turned = field * cosine + np.cross(axis, field)
    turned += axis * (axis * field).sum(axis=1)[:, None] / (1.0 + cosine)
    straight = np.abs(cosine[:, 0] - 1.0) < 1e-12
    assert 0.05 < straight.mean() < 0.4
    kept = np.where(straight, 1.0, 1.0 - forgets)[:, None]
    np.testing.assert_allclose(lights, kept * linear(out, turned), atol=1e-9)


def test_nothing_is_nan_of_light_along_the_axis():
    """Straight along z the level frame is that of light that leans towards x."""
    for ray in ([0.0, 0.0, 1.0], [0.0, 0.0, -1.0]):
        _, _, lights = pencil(*lamp(plates(2, 1.5)), ray, [0.6, 0.8, 0.0], 200)
        assert np.isfinite(lights).all()
        np.testing.assert_allclose((lights**2).sum(axis=1), 1.0, atol=1e-12)


@pytest.mark.parametrize(
    ("count", "index", "degree"),
    [(1, 1.5, 0.10100), (2, 1.5, 0.16136), (10, 1.5, 0.38545), (2, 1.49, 0.15830)],
)
def test_radial_polarisation_of_lambertian_light_through_plates(count, index, degree):
    # Derived (check-values-2, section 2): p over s of what comes through.
    rays = lambertian_rays(PHOTONS, from_flat=True, seed=3)
    program, layers = lamp(plates(count, index))
    places = np.tile([0.0, 0.0, 4.5], (PHOTONS, 1))
    _, out, lights = sent_polarised(program, layers, places, rays, natural(rays))
    passed = out[:, 2] > 0.0
    per_batch = passed.reshape(BATCHES, -1).sum(axis=1)
    found = -np.where(passed, lights[:, 0], 0.0).reshape(BATCHES, -1).sum(axis=1) / per_batch
    assert_mean(found, degree, known_to=3e-6)


def refracted(k, field, normal, before, behind):
    """Return (k, field) behind a face: Snell's law in vectors, amplitudes by tmm."""
    normal = normal * np.sign(normal @ k) / np.linalg.norm(normal)
    angle = math.acos(k @ normal)
    inner = tmm.snell(before, behind, angle).real
    on = before * k + (behind * math.cos(inner) - before * math.cos(angle)) * normal
    on /= behind
    s = np.cross(normal, k) / math.sin(angle)
    t_s, t_p = (tmm.interface_t(way, before, behind, angle, inner) for way in "sp")
    return on, t_s * (field @ s) * s + t_p * (field @ np.cross(k, s)) * np.cross(on, s)


FILM = 'kind = "prism_film"\nindex = 1.586\nalong_deg = 30.0\n'
SHEET = 'kind = "fresnel_lens"\nindex = 1.5\nfocal_mm = 40.0\ndiameter_mm = 60.0\n'


@pytest.mark.parametrize("towards", ["to_screen", "to_lamp"])
@pytest.mark.parametrize("kind", ["film", "sheet"])
def test_way_through_flat_side_and_facet_against_the_field_itself(kind, towards):
    # The straight way of skew light through both faces, by vectors in the room: tells the hand of
    # the frame that a part uses, which neither flux nor reciprocity does. A few come round by other
    # faces to the same direction.
    text = f'[train.part]\nz_mm = 20.0\n{FILM}ridges = "{towards}"\n'
    if kind == "sheet":
        text = f'[train.part]\nz_mm = 20.0\n{SHEET}grooves = "{towards}"\n'
    program, layers = lamp(text)
    place = np.array([6.0, 8.0, 20.0])
    upright = np.array([0.0, 0.0, 1.0 if towards == "to_screen" else -1.0])
    if kind == "film":
        # Of the two facets that which faces this light.
        across = np.array([-math.sin(math.pi / 6), math.cos(math.pi / 6), 0.0])
        facet, index = upright - across, 1.586
    else:
        radius = math.hypot(*place[:2])
        tangent = facet_tangent(program, layers[0], radius)
        facet, index = tangent * np.array([0.6, 0.8, 0.0]) + upright, 1.5
    faces, ray = [upright, facet], SKEW
    if towards == "to_lamp":
        faces, ray = faces[::-1], np.array([0.1, -0.2, math.sqrt(0.95)])
    start = np.cross(ray, [0.3, 0.9, -0.2])
    k, field = refracted(ray, start, faces[0], 1.0, index)
    k, field = refracted(k, field, faces[1], index, 1.0)
    _, out, lights = pencil(program, layers, ray, linear(ray, start)[0], 5000, place)
    straight = np.abs(out - k).max(axis=1) < 1e-6
    same = np.abs(lights - linear(out, field)).max(axis=1) < 1e-5
    assert straight.mean() > 0.2
    assert same[straight].mean() > 0.9
