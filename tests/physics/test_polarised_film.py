"""Prism film in polarised light: check-values-2, sections 1c, 1d and 5.

The rows that are marked TRACED there come from another program's trace, each with its own error.
"""

import numpy as np
import pytest

from tests.chance import assert_mean, assert_proportion, assert_same_mean
from tests.physics.film_rays import Film, lambertian_rays, send_polarised
from tests.physics.stokes import behind_sheet, linear, natural, through_sheet

RAYS = 400_000
BATCHES = 40
# The axis that a sheet blocks, for a field across the ridges and one along them.
ACROSS, ALONG = np.array([0.0, 1.0, 0.0]), np.array([1.0, 0.0, 0.0])
FIELDS = {"across": ACROSS, "along": ALONG}


def states_of(rays, field):
    return natural(rays) if field == "any" else behind_sheet(rays, FIELDS[field])


def passed(film, rays, states, seed=5):
    """Return (which rays came out on the other side, all directions, all states)."""
    _, out, lights = send_polarised(film, rays, states, seed)
    return out[:, 2] * rays[:, 2] > 0.0, out, lights


def straight(count, away):
    return np.tile([0.0, 0.0, away], (count, 1))


def cone(count, degrees):
    """Even light on the ridges within an angle from the axis."""
    generator = np.random.default_rng(3)
    radius = np.sin(np.radians(degrees)) * np.sqrt(generator.random(count))
    turn = 2.0 * np.pi * generator.random(count)
    x, y = radius * np.cos(turn), radius * np.sin(turn)
    return np.stack([x, y, -np.sqrt(1.0 - radius**2)], axis=1)


@pytest.mark.parametrize(
    ("index", "field", "expected"),
    [
        (1.49, "any", 0.5477),
        (1.49, "across", 0.5738),
        (1.49, "along", 0.5435),
        (1.586, "any", 0.4616),
        (1.586, "across", 0.4937),
        (1.586, "along", 0.4537),
    ],
)
def test_lambertian_light_by_polarisation(index, field, expected):
    # Check-values-2, section 5: an independent trace, +- 0.0004.
    rays = lambertian_rays(RAYS, from_flat=True, seed=1)
    through, *_ = passed(Film(index), rays, states_of(rays, field))
    assert_proportion(through.sum(), RAYS, expected, known_to=4e-4)


@pytest.mark.parametrize(
    ("index", "field", "expected", "in_cone"),
    [
        (1.49, "any", 0.9610, None),
        (1.49, "across", 0.9798, 0.9795),
        (1.49, "along", 0.9428, 0.9425),
        (1.586, "any", 0.9458, None),
        (1.586, "across", 0.9750, 0.9750),
        (1.586, "along", 0.9174, 0.9154),
    ],
)
def test_light_straight_down_on_the_ridges(index, field, expected, in_cone):
    # Check-values-2, section 5: T(0) in reverse, and the cone of f/4.25; a trace, +- 0.0002.
    for rays, value in ((straight(RAYS, -1.0), expected), (cone(RAYS, 6.71), in_cone)):
        if value is not None:
            through, *_ = passed(Film(index), rays, states_of(rays, field))
            assert_proportion(through.sum(), RAYS, value, known_to=2e-4)


@pytest.mark.parametrize(
    ("index", "degrees", "expected", "known_to"),
    [
        (1.49, 10.0, 0.0213, 7e-4),
        (1.49, 20.0, 0.0246, 4e-4),
        (1.49, 90.0, 0.0504, 2e-4),
        (1.586, 10.0, 0.0321, 8e-4),
        (1.586, 20.0, 0.0401, 4e-4),
        (1.586, 90.0, 0.0706, 2e-4),
    ],
)
def test_polarisation_of_what_leaves(index, degrees, expected, known_to):
    # Check-values-2, section 5: Q/I, plus across the ridges; a trace with the error in brackets.
    # U forgotten at each face would give 0.0316 within 20 degrees at 1.586.
    means = []
    for seed in range(BATCHES):
        rays = lambertian_rays(RAYS // 8, from_flat=True, seed=seed)
        through, out, lights = passed(Film(index), rays, natural(rays), seed)
        near = through & (out[:, 2] > np.cos(np.radians(degrees)))
        means.append(2.0 * through_sheet(out[near], lights[near], ACROSS).mean() - 1.0)
    assert_mean(means, expected, known_to=known_to)


@pytest.mark.parametrize("count", [RAYS, pytest.param(10_000_000, marks=pytest.mark.long)])
@pytest.mark.parametrize(
    ("index", "net", "circular"), [(1.5, -0.24800, 0.86400), (1.586, 0.12205, 0.90199)]
)
def test_roof_of_90_degrees(index, net, circular, count):
    # Derived (check-values-2, section 1c): all comes straight back, E at 45 degrees to the ridges
    # as -cos 2d, |V| as sin 2d, d the delay at 45 degrees, with the flat side's Fresnel share in
    # and out. Without the phase it would be -1 each round, whatever the geometry.
    rays = straight(count, 1.0)
    _, out, lights = send_polarised(Film(index), rays, linear(rays, [1.0, 1.0, 0.0]))
    np.testing.assert_allclose(out, -rays, atol=1e-12)
    same = linear(-rays[:1], [1.0, 1.0, 0.0])[0, 1]
    batches = lights.reshape(BATCHES, -1, 3).mean(axis=1)
    assert_mean(same * batches[:, 1], net)
    assert_mean(np.abs(batches[:, 2]), circular)
    assert np.abs(lights[:, 0]).max() < 1e-12


@pytest.mark.parametrize("field", ["across", "along"])
def test_field_along_or_across_the_ridges_comes_back_from_the_roof_as_it_was(field):
    # Symmetry (check-values-2, section 1c).
    rays = straight(100, 1.0)
    states = states_of(rays, field)
    _, _, lights = send_polarised(Film(1.5), rays, states)
    np.testing.assert_allclose(lights[:, 0], states[:, 0], atol=1e-12)


@pytest.mark.parametrize("field", ["across", "along"])
def test_polarised_light_in_is_analysed_light_out_the_other_way(field):
    # Check-values-2, section 1d: the share through of Lambertian light of one state is twice the
    # flux behind an analyser of that state, of unpolarised light from the other side.
    there, back = [], []
    for seed in range(BATCHES):
        rays = lambertian_rays(RAYS // BATCHES, from_flat=True, seed=seed)
        there.append(passed(Film(), rays, states_of(rays, field), seed)[0].mean())
        rays = lambertian_rays(RAYS // BATCHES, from_flat=False, seed=1000 + seed)
        through, out, lights = passed(Film(), rays, natural(rays), 1000 + seed)
        behind = through_sheet(out[through], lights[through], FIELDS[field])
        back.append(2.0 * behind.sum() / len(rays))
    assert_same_mean(there, back)


def test_no_state_grows_beyond_its_light():
    """Q**2 + U**2 + V**2 <= I**2 after hundreds of faces; unity stays unity."""
    rays = lambertian_rays(RAYS, from_flat=True, seed=7)
    for states in (natural(rays), behind_sheet(rays, np.array([0.6, 0.8, 0.0]))):
        _, _, lights = send_polarised(Film(tip=0.1), rays, states)
        assert (lights**2).sum(axis=1).max() < 1.0 + 1e-10
    np.testing.assert_allclose((lights**2).sum(axis=1), 1.0, atol=1e-9)
