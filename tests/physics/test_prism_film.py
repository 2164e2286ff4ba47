"""Prism film: the angles at which light leaves it, against Snell's law worked out by hand.

With beta the tilt of the facets (45 degrees for a right-angled apex), light that comes at theta to
the flat face leaves a facet at phi = beta - asin(n sin(beta - theta')), where n sin theta' is
sin theta. The figures are those of check-values section 1b: derived, and recomputed here.
"""

import math

import numpy as np
import pytest

from photonsim.kernel.photon import GOES_ON, Photon
from photonsim.kernel.prism_film import cross
from photonsim.kernel.random import start
from photonsim.program import build_program
from photonsim.scene import parse_scene
from tests.chance import assert_proportion
from tests.physics.faces import reflectance
from tests.physics.film_rays import Film, beam, send
from tests.physics.tracing import box, emitter, stop, target

RAYS = 20_000


def exit_angle(theta, index, facet=45.0):
    """Angle (degrees) of light that came at theta and crossed one facet."""
    inner = math.asin(math.sin(math.radians(theta)) / index)
    return facet - math.degrees(math.asin(index * math.sin(math.radians(facet) - inner)))


def onset(index):
    """Smallest angle (degrees) in the cross-section at which a right-angled film passes light."""
    return math.degrees(math.asin(index * math.sin(math.pi / 4 - math.asin(1.0 / index))))


def passed(film, theta, elevation=0.0, count=RAYS):
    outcomes, out = send(film, beam(theta, elevation, count))
    assert (outcomes == 1).all()
    return out[out[:, 2] > 0.0]


def commonest_angle(rays):
    """The angle across the ridges, in degrees, that most rays share, and their share."""
    angles, counts = np.unique(
        np.round(np.degrees(np.arctan2(rays[:, 0], rays[:, 2])), 9), return_counts=True
    )
    return angles[counts.argmax()], counts.max() / len(rays)


EXIT_ANGLES = {
    10: -37.72,
    15: -22.43,
    20: -13.57,
    25: -6.45,
    30: -0.29,
    35: 5.21,
    40: 10.20,
    50: 18.88,
    60: 25.90,
    70: 31.17,
    80: 34.47,
}


@pytest.mark.parametrize(("theta", "phi"), list(EXIT_ANGLES.items()))
def test_exit_angle(theta, phi):
    assert exit_angle(theta, 1.586) == pytest.approx(phi, abs=0.006)
    found, share = commonest_angle(passed(Film(1.586), theta))
    assert found == pytest.approx(exit_angle(theta, 1.586), abs=1e-8)
    assert share > 0.3


@pytest.mark.parametrize("apex", [70.0, 100.0, 120.0])
def test_exit_angle_of_other_apexes(apex):
    film = Film(1.49, apex_deg=apex)
    expected = exit_angle(40.0, 1.49, facet=90.0 - apex / 2)
    assert commonest_angle(passed(film, 40.0))[0] == pytest.approx(expected, abs=1e-8)


@pytest.mark.parametrize(
    ("index", "on_axis_from"),
    [(1.49, 25.302), (1.5, 25.812), (1.56, 28.899), (1.586, 30.254), (1.6, 30.990)],
)
def test_light_that_leaves_along_the_axis(index, on_axis_from):
    theta = math.degrees(
        math.asin(index * math.sin(math.pi / 4 - math.asin(math.sqrt(0.5) / index)))
    )
    assert theta == pytest.approx(on_axis_from, abs=6e-4)
    assert commonest_angle(passed(Film(index), theta))[0] == pytest.approx(0.0, abs=1e-8)


@pytest.mark.parametrize(
    ("index", "first"),
    [(1.49, 4.241), (1.5, 4.788), (1.56, 8.021), (1.586, 9.401), (1.6, 10.141)],
)
def test_nothing_passes_below_the_onset(index, first):
    assert onset(index) == pytest.approx(first, abs=6e-4)
    for theta in (0.0, 0.5 * first, onset(index) - 1e-6):
        assert len(passed(Film(index), theta)) == 0
        assert len(passed(Film(index), -theta)) == 0
    assert len(passed(Film(index), onset(index) + 0.01)) > 0


@pytest.mark.parametrize("index", [1.49, 1.586, 1.7])
def test_nothing_passes_in_the_plane_of_the_ridges(index):
    for elevation in (1.0, 20.0, 45.0, 70.0, 89.0):
        assert len(passed(Film(index), 0.0, elevation)) == 0


@pytest.mark.parametrize("elevation", [10.0, 25.0, 40.0])
@pytest.mark.parametrize("theta", [30.0, 45.0])
def test_skew_light_by_bravais(theta, elevation):
    # Out of the cross-section's plane the index becomes sqrt(n**2 - sin**2 a)/cos a (Bravais;
    # check-values section 1b), and the cosine along the ridges is kept.
    sine, cosine = math.sin(math.radians(elevation)), math.cos(math.radians(elevation))
    rays = passed(Film(1.586), theta, elevation)
    expected = exit_angle(theta, math.sqrt(1.586**2 - sine**2) / cosine)
    assert commonest_angle(rays)[0] == pytest.approx(expected, abs=1e-8)
    assert np.abs(rays[:, 1] - sine).max() < 1e-13


def test_left_and_right_are_alike():
    right, left = passed(Film(), 30.0), passed(Film(), -30.0)
    assert commonest_angle(left)[0] == pytest.approx(-commonest_angle(right)[0], abs=1e-8)


def test_directions_keep_unit_length():
    _, out = send(Film(1.586, tip=0.2), beam(50.0, 20.0, RAYS))
    assert np.abs((out**2).sum(axis=1) - 1.0).max() < 1e-13


@pytest.mark.parametrize("kept", [1.0, 0.9])
@pytest.mark.parametrize("from_flat", [True, False])
def test_all_tip_is_a_clear_plate(from_flat, kept):
    # Derived: ridges that are all flat make a plate. It sums one polarisation mean per face, as the
    # film does, so the plate's series is written out with that mean here.
    film, angle = Film(1.5, tip=1.0 - 1e-9, kept=kept), 55.0
    outcomes, out = send(film, beam(angle, 0.0, 200_000, from_flat=from_flat))
    face = reflectance(math.cos(math.radians(angle)), 1 / 1.5)
    through = (1 - face) ** 2 * kept / (1 - (face * kept) ** 2)
    went_through = (outcomes == 1) & ((out[:, 2] > 0.0) == from_flat)
    assert_proportion(went_through.sum(), len(out), through, what="through")
    turned_back = (outcomes == 1) & ((out[:, 2] > 0.0) != from_flat)
    assert_proportion(turned_back.sum(), len(out), face * (1 + through * kept), what="back")
    angles = np.degrees(np.arccos(np.abs(out[outcomes == 1, 2])))
    assert np.abs(angles - angle).max() < 1e-9


def film_in_a_lamp(along, ridges):
    """The program of a lamp with one film, and the film's layer."""
    text = box(50.0, 10.0) + emitter() + target(12.0, 50.0) + stop(13.0, 10.0)
    film = (
        f'[train.film]\nkind = "prism_film"\nz_mm = 5.0\nindex = 1.586\nalong_deg = {along}\n'
        f'ridges = "{ridges}"\n'
    )
    program = build_program(parse_scene(text.replace("[train.target]", film + "[train.target]")))
    return program, int(np.flatnonzero(program.layer_z == 5.0)[0])


def through_lamp_film(along, ridges, direction, tries):
    """Outgoing directions [n, 3] of light in `direction` that crosses the film in a lamp."""
    program, layer = film_in_a_lamp(along, ridges)
    found = []
    for history in range(tries):
        rng = np.uint64(start(np.uint64(3), np.uint64(history)))
        fate, photon = cross(program, layer, 0, Photon(0.0, 0.0, 5.0, *direction, rng, None))
        if fate == GOES_ON and photon.w * direction[2] > 0.0:
            found.append((photon.u, photon.v, photon.w))
    return np.array(found).reshape(-1, 3)


@pytest.mark.parametrize("along", [0.0, 35.0, 90.0, -60.0])
def test_turned_film_in_a_lamp(along):
    # along_deg counts from x towards y. Light in the plane of the ridges is all turned back, light
    # across them at 30.254 degrees leaves along the axis.
    turn, tilt = math.radians(along), math.radians(30.25447)
    ridge = np.array([math.cos(turn), math.sin(turn)]) * math.sin(tilt)
    in_plane = through_lamp_film(along, "to_screen", (*ridge, math.cos(tilt)), 100)
    assert len(in_plane) == 0
    across = through_lamp_film(along, "to_screen", (-ridge[1], ridge[0], math.cos(tilt)), 100)
    straight = np.hypot(across[:, 0], across[:, 1]) < 1e-5
    assert straight.mean() > 0.3


def test_film_turned_over_in_a_lamp():
    # Ridges to the lamp, light straight on: a facet turns it by 45 - asin(sin 45 / n) degrees and
    # the flat face on to asin(n sin of that) = 30.254 for n = 1.586: the path above, backwards.
    rays = through_lamp_film(0.0, "to_lamp", (1e-12, 1e-12, 1.0), 300)
    slants = np.degrees(np.arctan2(rays[:, 1], rays[:, 2]))
    for side in (-30.25447, 30.25447):
        assert (np.abs(slants - side) < 1e-4).mean() > 0.3
    # And light from the screen's side meets the flat face there: none passes straight on.
    assert len(through_lamp_film(0.0, "to_lamp", (1e-12, 1e-12, -1.0), 50)) == 0
