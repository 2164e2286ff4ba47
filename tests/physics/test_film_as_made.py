"""Films as they are made: ridges that are a coat on a base of another index, and matt flat sides.

Other tests of the two: reciprocity in tests/contract, Lambertian light and beams against the plain
tracer in test_prism_film_light.py.
"""

import math

import numpy as np
import pytest
import tmm

from photonsim.program import Compiled, build_program
from photonsim.scene import SceneError, parse_scene
from tests.chance import assert_proportion, assert_same_distribution
from tests.physics.film_rays import Film, beam, lambertian_rays, send, send_polarised
from tests.physics.stokes import linear, natural
from tests.physics.tracing import box, emitter, stop, target, trace

RAYS = 400_000
CELLS = 6
# All of the ridge is flat tip, and so the film a stack of level faces.
LEVEL = 1.0 - 1e-9
NM = 550.0
THICK_NM = 2.0e6
STACKS = [(1.65, 1.56), (1.4, 1.7), (2.5, 1.2), (1.2, 2.5)]


def stack_shares(base, coat, angle, polarisations, from_flat, absorbed=0.0):
    """Shares (through, back) by tmm of air, base, coat and air: incoherent, each wave by itself.

    A complex index of the base takes the share `absorbed` in one crossing straight on.
    """
    k = -math.log(1.0 - absorbed) * NM / (4.0 * math.pi * THICK_NM)
    indices = [1.0, base + 1j * k, coat, 1.0][:: 1 if from_flat else -1]
    layers = indices, [math.inf, THICK_NM, THICK_NM, math.inf], ["i"] * 4, angle, NM
    waves = [tmm.inc_tmm(polarisation, *layers) for polarisation in polarisations]
    return [sum(wave[name] for wave in waves) / len(waves) for name in "TR"]


def assert_shares(outcomes, out, from_flat, through, back):
    went_on = (out[:, 2] > 0.0) == from_flat
    left = outcomes == 1
    assert_proportion((left & went_on).sum(), len(out), through, what="through")
    assert_proportion((left & ~went_on).sum(), len(out), back, what="back")


@pytest.mark.parametrize("from_flat", [True, False])
@pytest.mark.parametrize(("base", "coat"), STACKS)
def test_straight_on_through_three_level_faces(base, coat, from_flat):
    # tmm.inc_tmm. Straight on both polarisations are alike, so light without a state is right too.
    for absorbed in (0.0, 0.1):
        film = Film(coat, tip=LEVEL, kept=1.0 - absorbed, base=base)
        outcomes, out = send(film, beam(0.0, 0.0, RAYS, from_flat=from_flat))
        expected = stack_shares(base, coat, 0.0, "s", from_flat, absorbed)
        assert_shares(outcomes, out, from_flat, *expected)


@pytest.mark.parametrize("from_flat", [True, False])
@pytest.mark.parametrize(("base", "coat"), STACKS)
@pytest.mark.parametrize("polarisation", ["s", "p", "sp"])
def test_slanting_polarised_light_through_three_level_faces(base, coat, from_flat, polarisation):
    # tmm.inc_tmm, s and p by themselves; s lies along the ridges here.
    angle = 65.0
    rays = beam(angle, 0.0, RAYS, from_flat=from_flat)
    states = natural(rays)
    if polarisation != "sp":
        states[:, 0] = 1.0 if polarisation == "s" else -1.0
    film = Film(coat, tip=LEVEL, base=base)
    outcomes, out, lights = send_polarised(film, rays, states)
    expected = stack_shares(base, coat, math.radians(angle), polarisation, from_flat)
    assert_shares(outcomes, out, from_flat, *expected)
    if polarisation != "sp":
        np.testing.assert_allclose(lights[:, 0], states[:, 0], atol=1e-9)


def test_phase_of_a_roof_is_the_coats_own():
    # Derived (check-values-2, section 1c, the roof of 90 degrees): E at 45 degrees to the ridges
    # comes back as -cos 2d each round, d the delay of total reflection at 45 degrees in the coat,
    # tan(d/2) = cos 45 sqrt(sin**2 45 - 1/n**2)/sin**2 45, and the base's three-face reflectance r
    # stands for the flat side's: U = r + (1-r)**2 sum r**(m-1) (-1)**m cos 2 m d.
    coat, base = 1.7, 1.4
    rays = np.tile([0.0, 0.0, 1.0], (RAYS, 1))
    states = linear(rays, [1.0, 1.0, 0.0])
    _, out, lights = send_polarised(Film(coat, base=base), rays, states)
    np.testing.assert_allclose(out, -rays, atol=1e-12)
    one, two = ((base - 1.0) / (base + 1.0)) ** 2, ((coat - base) / (coat + base)) ** 2
    back = 1.0 - (1.0 - one) * (1.0 - two) / (1.0 - one * two)
    delay = 2.0 * math.atan(math.sqrt(0.5) * math.sqrt(0.5 - 1.0 / coat**2) / 0.5)
    rounds = np.arange(1, 60)
    waves = (back ** (rounds - 1.0)) * (-1.0) ** rounds * np.cos(2.0 * rounds * delay)
    expected = back + (1.0 - back) ** 2 * waves.sum()
    same = linear(-rays[:1], [1.0, 1.0, 0.0])[0, 1]
    found = same * lights[:, 1]
    error = found.std() / math.sqrt(RAYS)
    assert abs(found.mean() - expected) < 5.0 * error


@pytest.mark.parametrize("from_flat", [True, False])
def test_a_base_of_the_ridges_own_index_changes_nothing(from_flat):
    films = [Film(1.586, tip=0.1, kept=0.9, base=base) for base in (1.0, 1.586)]
    tables = []
    for seed, film in enumerate(films):
        rays = lambertian_rays(RAYS, from_flat=from_flat, seed=20 + seed)
        outcomes, out = send(film, rays, seed)
        cells = np.minimum(((out[:, :2] + 1.0) * 0.5 * CELLS).astype(int), CELLS - 1)
        cell = 1 + (cells[:, 0] * CELLS + cells[:, 1]) * 2 + (out[:, 2] > 0.0)
        cell[outcomes != 1] = 0
        tables.append(np.bincount(cell, minlength=2 * CELLS * CELLS + 1))
    assert_same_distribution(*tables)


FILM = '[train.film]\nkind = "prism_film"\nz_mm = 5.0\nindex = 1.586\nthickness_mm = 0.0\n'
MIRRORS = "reflectance = 1.0, specular_share = 1.0"


def lamp(keys="", more="", base=0.0):
    """TOML of a film over a point of Lambertian light between mirrors, as good as infinite."""
    parts = FILM + keys + more + target(10.0, 50.0) + stop(10.1, 200.0)
    return box(50.0, 10.0, base=base, walls=MIRRORS) + emitter() + parts


def test_a_base_is_kept_by_wavelength_and_only_where_it_is_given():
    plain, coated = (build_program(parse_scene(lamp(k))) for k in ("", "base_index = 1.65\n"))
    assert (plain.layer_index_below == 1.0).all()
    film = int(np.flatnonzero(coated.layer_z == 5.0)[0])
    assert coated.layer_index_below[film].tolist() == [1.65]
    assert plain.traits != coated.traits


@pytest.mark.parametrize(
    "keys", ["", "back_haze = 0.9\n", 'back_half_angle_deg = 25.0\nridges = "to_lamp"\n']
)
def test_a_matt_side_leaves_even_light_even(keys):
    # Check-values-2, section 5: of Lambertian light a film of n = 1.586 passes 0.4626, polarisation
    # forgotten at each face, by an independent trace of +- 0.0004. A lossless diffuser neither
    # makes Lambertian light uneven nor keeps any; by reciprocity the ridges' side is alike.
    traced = trace(lamp(keys), 640_000)
    assert_proportion(traced.incident.sum(), traced.photons, 0.4626, known_to=4e-4)
    assert (
        traced.fates["absorbed by base"]
        + traced.fates["absorbed by source"]
        + int(traced.incident.sum())
        == traced.photons
    )


@pytest.mark.parametrize("ridges", ["to_screen", "to_lamp"])
def test_a_matt_side_is_a_diffuser_right_before_the_flat_side(ridges):
    # The same lamp with the diffuser as a sheet of its own, a hair's breadth off.
    z_mm = 4.999 if ridges == "to_screen" else 5.001
    sheet = (
        f'[train.sheet]\nkind = "diffuser"\nz_mm = {z_mm}\nthickness_mm = 0.0\n'
        "transmittance = 1.0\nreflectance = 0.0\nhaze = 0.8\n"
    )
    facing = f'ridges = "{ridges}"\n'
    one = trace(lamp(facing + "back_haze = 0.8\n", base=0.8), 640_000)
    film = FILM + facing
    parts = sheet + film if ridges == "to_screen" else film + sheet
    two = trace(lamp(base=0.8).replace(FILM, parts), 640_000, seed=2)
    assert_same_distribution(one.polar, two.polar)
    for fate in ("absorbed by base", "through the stop"):
        assert_proportion(
            one.fates[fate],
            one.photons,
            two.fates[fate] / two.photons,
            known_to=math.sqrt(0.25 / two.photons),
        )


def test_keys_of_films_as_made_say_what_is_wrong():
    with pytest.raises(
        SceneError, match=r"back_haze = 0.9: with back_half_angle_deg = 2 it can be"
    ):
        parse_scene(lamp("back_haze = 0.9\nback_half_angle_deg = 2.0\n"))
    names = Compiled(parse_scene(lamp("back_haze = 0.9\n"))).fate_names
    assert ("absorbed by film (back side)", "absorbed") in names
    assert ("absorbed by film", "absorbed") in names
