"""Polarising sheets against the laws of Malus and others, and against fields as vectors in a room.

Rows of check-values-2.md, section 3. The vectors: a sheet passes E along k × c and k × (k × c),
by the roots of its transmittances, k the direction in its plastic; a mirror image M (z turned
round) of what it sends back has the sign of a metal's: E' = -M E.
"""

import math

import numpy as np
import pytest

from photonsim.kernel.photon import GOES_ON
from tests.chance import assert_proportion
from tests.physics.polarised_rays import IDEAL, in_air, sent, sheet, stack, through

PENCIL = 400_000
# A hair off the axis, where the level frame's s lies along y, and p along -x.
UP = (2.0**-60, 0.0, 1.0)
NATURAL = (0.0, 0.0, 0.0)
REAL = "pass_transmittance = 0.80\nblock_transmittance = 0.0005\n"


def linear(angle_deg):
    """The state of light straight up whose field lies at an angle from x."""
    double = math.radians(2.0 * angle_deg)
    return -math.cos(double), -math.sin(double), 0.0


@pytest.mark.parametrize("turn", [0.0, 20.0, 45.0, 70.0, 90.0, -30.0])
@pytest.mark.parametrize("axis", [0.0, 33.0, 90.0])
@pytest.mark.parametrize("direction", [UP, (0.0, 0.0, 1.0)])
def test_malus_polarised(axis, turn, direction):
    # cos² of the angle between field and pass axis: textbook.
    passed = through(stack(sheet(1, axis)), direction, linear(axis + turn), PENCIL // 8)
    assert_proportion(passed, PENCIL // 8, max(math.cos(math.radians(turn)) ** 2, 1e-30))


@pytest.mark.parametrize(
    ("turn", "share"), [(0.0, 0.32), (30.0, 0.2401), (45.0, 0.1602), (90.0, 0.0004)]
)
def test_two_equal_sheets(turn, share):
    # k1 k2 + (k1 - k2)²/2 cos²: derived (R. C. Jones; West and Jones, JOSA 41, 976: from memory).
    sheets = stack(sheet(1, 17.0, REAL), sheet(2, 17.0 + turn, REAL))
    assert_proportion(through(sheets, UP, NATURAL, PENCIL), PENCIL, share)


@pytest.mark.parametrize(("count", "share"), [(2, 0.25), (3, 0.421875), (10, 0.780546)])
def test_many_sheets_turn_light_by_a_quarter(count, share):
    # cos^2N (90°/N) behind a first sheet: derived.
    sheets = [sheet(k, 90.0 * k / count) for k in range(count + 1)]
    passed = through(stack(*sheets), UP, NATURAL, PENCIL)
    assert_proportion(passed, PENCIL, 0.5 * share)


# In the plane at 45° to both axes: ½ (u²/(1 - u²))², u² = sin²θ/(2 n²): derived.
LEAKS = [
    (1.0, 30.0, 0.010204),
    (1.0, 45.0, 0.055556),
    (1.0, 60.0, 0.180000),
    (1.0, 80.0, 0.443171),
    (1.5, 30.0, 0.001730),
    (1.5, 45.0, 0.007812),
    (1.5, 80.0, 0.037739),
]


@pytest.mark.parametrize(("index", "slant", "share"), LEAKS)
@pytest.mark.parametrize("azimuth", [0.0, 77.0])
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_slanting_light_through_crossed_sheets(index, slant, share, azimuth, side):
    crossed = stack(sheet(1, azimuth + 45.0), sheet(2, azimuth - 45.0))
    crossed = in_air(crossed) if index == 1.0 else crossed
    sine, turn = math.sin(math.radians(slant)), math.radians(azimuth)
    direction = sine * math.cos(turn), sine * math.sin(turn), side * math.cos(math.radians(slant))
    passed = through(crossed, direction, NATURAL, PENCIL)
    # Printed to six digits.
    assert_proportion(passed, PENCIL, share, known_to=3e-7)


def lambertian(count, seed=4):
    generator = np.random.default_rng(seed)
    radius, turn = np.sqrt(generator.random(count)), 2.0 * np.pi * generator.random(count)
    return np.stack(
        [radius * np.cos(turn), radius * np.sin(turn), np.sqrt(1.0 - radius**2)], axis=1
    )


@pytest.mark.parametrize(
    "photons",
    [pytest.param(2**21), pytest.param(2**23, marks=pytest.mark.long)],
)
def test_light_from_all_sides_through_crossed_sheets(photons):
    # 0.070796 of Lambertian light in an index of 1: quadrature.
    rays = lambertian(photons)
    fates, out, _ = sent(in_air(stack(sheet(1, 10.0), sheet(2, 100.0))), rays, 0.0 * rays)
    passed = int(((fates == GOES_ON) & (out[:, 2] > 0.0)).sum())
    assert_proportion(passed, photons, 0.070796, known_to=3e-7)


FIGURES = {
    "absorbing": "pass_transmittance = 0.84\nblock_transmittance = 0.02\n",
    "reflective": "pass_transmittance = 0.6\nblock_transmittance = 0.1\n"
    "pass_reflectance = 0.3\nblock_reflectance = 0.8\n",
}
SHARES = {"absorbing": ((0.84, 0.02), (0.0, 0.0)), "reflective": ((0.6, 0.1), (0.3, 0.8))}


def random_states(count):
    """Fully polarised states of any kind, and directions from both sides."""
    generator = np.random.default_rng(8)
    states = generator.standard_normal((count, 3))
    rays = lambertian(count, 9) * [1.0, 1.0, 1.0]
    rays[:, 2] *= generator.choice([-1.0, 1.0], count)
    return rays, states / np.linalg.norm(states, axis=1)[:, None]


def frame(rays):
    """The axes s and p of the level frame."""
    s = np.cross([0.0, 0.0, 1.0], rays)
    s /= np.linalg.norm(s, axis=1)[:, None]
    return s, np.cross(rays, s)


def fields_of(states, rays):
    """Complex fields of fully polarised light of intensity 1: Q = |Es|² - |Ep|², U + iV = 2 Es Ep*.

    Es is taken real, which leaves out a phase that nobody sees.
    """
    s, p = frame(rays)
    real = np.sqrt(0.5 * (1.0 + states[:, 0]))
    other = (states[:, 1] - 1j * states[:, 2]) / (2.0 * real)
    return real[:, None] * s + other[:, None] * p


def states_of(fields, rays):
    """Intensity [n], and Q, U, V over it [n, 3]."""
    s, p = frame(rays)
    along, across = (fields * s).sum(axis=1), (fields * p).sum(axis=1)
    both = 2.0 * along * across.conj()
    intensity = np.abs(along) ** 2 + np.abs(across) ** 2
    difference = np.abs(along) ** 2 - np.abs(across) ** 2
    return intensity, np.stack([difference, both.real, both.imag], axis=1) / intensity[:, None]


@pytest.mark.parametrize("kind", sorted(FIGURES))
@pytest.mark.parametrize("pass_deg", [0.0, 25.0, 140.0])
def test_states_behind_a_sheet_are_those_of_fields_in_the_room(kind, pass_deg):
    rays, states = random_states(20_000)
    fates, out, found = sent(stack(sheet(1, pass_deg, FIGURES[kind], kind)), rays, states)
    # In the plastic s stays, and p turns with the direction: fields go over by their parts.
    inside = rays / [1.5, 1.5, 1.0]
    inside[:, 2] = np.copysign(np.sqrt(1.0 - inside[:, 0] ** 2 - inside[:, 1] ** 2), rays[:, 2])
    fields = fields_of(states, inside)
    turn = math.radians(pass_deg)
    e = np.cross(inside, [math.sin(turn), -math.cos(turn), 0.0])
    e /= np.linalg.norm(e, axis=1)[:, None]
    p = np.cross(inside, e)
    mirror = np.array([1.0, 1.0, -1.0])
    back = out[:, 2] * rays[:, 2] < 0.0
    for which, shares in zip((~back, back), SHARES[kind], strict=True):
        alive = which & (fates == GOES_ON)
        parts = [
            math.sqrt(share) * (fields * axis).sum(axis=1)[:, None] * axis
            for share, axis in zip(shares, (e, p), strict=True)
        ]
        after = sum(parts)
        directions = inside
        if which is back:
            after, directions = -mirror * after, mirror * inside
        if alive.any():
            expected = states_of(after[alive], directions[alive])[1]
            np.testing.assert_allclose(found[alive], expected, atol=1e-9)
        chances = (np.abs(after) ** 2).sum(axis=1)
        assert_proportion(int(alive.sum()), len(rays), chances.mean())


@pytest.mark.parametrize("kind", sorted(FIGURES))
def test_no_light_is_polarised_by_more_than_all_of_it(kind):
    rays, states = random_states(50_000)
    states *= np.random.default_rng(2).random(50_000)[:, None]
    fates, _, found = sent(stack(sheet(1, 71.0, FIGURES[kind], kind)), rays, states)
    assert (found[fates == GOES_ON] ** 2).sum(axis=1).max() < 1.0 + 1e-12


def test_ideal_sheets_in_line_are_one():
    rays, states = random_states(20_000)
    sheets = [sheet(k, 30.0, IDEAL) for k in (1, 2)]
    one, two = (sent(stack(*sheets[:count]), rays, states)[0] for count in (1, 2))
    assert ((two == GOES_ON) == (one == GOES_ON)).mean() > 1.0 - 1e-12
