"""Stokes vectors at a face, and their frames: a thin-film library, Fresnel's rhomb, reciprocity.

Conventions as kernel/polarisation.py says; only the sign of V depends on the sign of time.
"""

import cmath
import math

import numpy as np
import pytest
import tmm

from photonsim.kernel.fresnel import meet, meet_beyond_critical
from photonsim.kernel.polarisation import (
    Light,
    carried,
    into_plane,
    mirrored,
    natural,
    out_of_plane,
    share,
    turn,
)

REFLECTS, PASSES = 0.0, 1.0 - 2.0**-32
# Stokes vectors of light whose means tell a whole Mueller matrix.
STATES = np.array([[1.0, 0, 0, 0], [1, 1, 0, 0], [1, 0, 1, 0], [1, 0, 0, 1]])
# Of a ray turned back, whose p is the opposite one.
BACK = np.diag([1.0, 1.0, -1.0, 1.0])


def light_of(stokes):
    return Light(*(stokes[1:] / stokes[0]).tolist(), 1)


def stokes_of(light, intensity):
    return intensity * np.array([1.0, light.q, light.u, light.v])


def met(stokes, n_before, n_behind, cosine, number):
    """Return the Stokes vector, in the plane of incidence, of what a face reflects or passes."""
    light, before = light_of(stokes), n_before * cosine
    ratio = (n_behind / n_before) ** 2
    squared = n_behind**2 - n_before**2 * (1.0 - cosine**2)
    if squared <= 0.0:
        return stokes_of(meet_beyond_critical(light, before, -squared, ratio), stokes[0])
    behind = math.sqrt(squared)
    reflected, after = meet(light, before, behind, ratio, number)
    assert reflected == (number == REFLECTS)
    r_s = (before - behind) / (before + behind)
    r_p = (ratio * before - behind) / (ratio * before + behind)
    chance = share(light, r_s * r_s, r_p * r_p)
    return stokes_of(after, stokes[0] * (chance if reflected else 1.0 - chance))


def mueller(step):
    """Return the Mueller matrix [4, 4] of a linear step from Stokes vector to Stokes vector."""
    after = np.array([step(state) for state in STATES])
    after[1:] -= after[0]
    return after.T


@pytest.mark.parametrize(
    ("angle_deg", "expected"),
    [(30.0, (0.041523, 0.016273, -0.038201, 0.0)), (75.0, (0.253061, 0.146295, 0.206488, 0.0))],
)
def test_light_at_45_degrees_reflected_by_glass(angle_deg, expected):
    # Check-values-2, section 1b: U changes its sign at Brewster's angle; still wholly polarised.
    found = met(STATES[2], 1.0, 1.5, math.cos(math.radians(angle_deg)), REFLECTS)
    assert found == pytest.approx(expected, abs=1e-6)
    assert np.linalg.norm(found[1:]) == pytest.approx(found[0], rel=1e-12)


def test_whole_matrix_against_tmm():
    # tmm (S. Byrnes, arXiv 1603.02720): complex amplitudes of both polarisations; check-values-2,
    # section 1a, makes them matrices. Total reflection among them.
    generator = np.random.default_rng(4)
    total = 0
    for n_before, n_behind, cosine in generator.uniform([1, 1, 0], [2.5, 2.5, 1], (100, 3)):
        angle = math.acos(cosine)
        inner = tmm.snell(n_before, n_behind, angle)
        r_s, r_p = (tmm.interface_r(way, n_before, n_behind, angle, inner) for way in "sp")
        t_s, t_p = (tmm.interface_T(way, n_before, n_behind, angle, inner) for way in "sp")
        cases = [(REFLECTS, abs(r_s) ** 2, abs(r_p) ** 2, r_s * np.conj(r_p))]
        if n_before * math.sin(angle) < n_behind:
            cases += [(PASSES, t_s, t_p, math.sqrt(t_s * t_p))]
        else:
            total += 1
        for number, s, p, mixed in cases:
            expected = np.zeros((4, 4))
            expected[:2, :2] = 0.5 * np.array([[s + p, s - p], [s - p, s + p]])
            expected[2:, 2:] = [[mixed.real, -mixed.imag], [mixed.imag, mixed.real]]
            found = mueller(lambda light: met(light, n_before, n_behind, cosine, number))  # noqa: B023
            np.testing.assert_allclose(found, expected, atol=1e-12)
    assert 10 < total < 90


@pytest.mark.parametrize(
    ("index", "angle_deg", "delay_deg"),
    [
        # Born and Wolf, section 1.5.4: the rhomb of n = 1.51, at 48 deg 37' and 54 deg 37'.
        (1.51, 48 + 37 / 60, 44.994),
        (1.51, 54 + 37 / 60, 45.003),
        # Derived: 2 atan(1/3); and 1.586 (check-values-2, section 1c).
        (1.5, 45.0, 36.8699),
        (1.586, 45.0, 48.7082),
        (1.586, 60.0, 43.1856),
    ],
)
def test_delay_of_total_reflection(index, angle_deg, delay_deg):
    found = met(STATES[2], index, 1.0, math.cos(math.radians(angle_deg)), REFLECTS)
    delay = math.degrees(cmath.phase(complex(found[2], found[3])))
    assert delay == pytest.approx(delay_deg, abs=1e-3)


def test_fresnels_rhomb():
    # Two reflections at 54.6231 degrees in glass of 1.51 make light at 45 degrees circular.
    light = STATES[2]
    for _ in range(2):
        light = met(light, 1.51, 1.0, math.cos(math.radians(54.6231)), REFLECTS)
    assert light[:3] == pytest.approx((1.0, 0.0, 0.0), abs=1e-5)
    assert abs(light[3]) == pytest.approx(1.0, abs=1e-5)


def level_frame(k):
    """Return the unit vectors (s, p) of the level frame."""
    s = np.cross([0.0, 0.0, 1.0], k)
    s = s / np.linalg.norm(s) if s.any() else np.array([0.0, 1.0, 0.0])
    return s, np.cross(k / np.linalg.norm(k), s)


def some_directions(count, seed=2):
    rays = np.random.default_rng(seed).normal(size=(count, 3))
    return rays / np.linalg.norm(rays, axis=1)[:, None]


@pytest.mark.parametrize(
    "ray", [*some_directions(20), *np.array([[0.0, 0, 1], [0, 0, -1], [1, 0, 0], [0, -1, 0]])]
)
@pytest.mark.parametrize("axis", some_directions(3, seed=3))
def test_turn_into_another_plane(ray, axis):
    """The angle against the frames' own vectors; any length of the direction; nothing is NaN."""
    axis = np.cross(axis, ray)
    cosine, sine = turn(tuple(1.5 * ray), 1.5, tuple(axis))
    s, p = level_frame(ray)
    angle = math.atan2(axis @ p, axis @ s)
    assert (cosine, sine) == pytest.approx((math.cos(2 * angle), math.sin(2 * angle)), abs=1e-12)


def test_no_axis_turns_nothing():
    """Straight on there is no plane of incidence."""
    for ray in ((0.0, 0.0, 1.0), (0.6, 0.0, -0.8)):
        assert turn(ray, 1.0, (0.0, 0.0, 0.0)) == (1.0, 0.0)


def field_of(light, k):
    """Return the field vector of linearly polarised light."""
    s, p = level_frame(k)
    half = 0.5 * math.atan2(light.u, light.q)
    return math.cos(half) * s + math.sin(half) * p


def same_axis(one, other):
    return abs(one @ other) == pytest.approx(1.0, abs=1e-12)


def test_mirror_and_least_turn_against_the_field_itself():
    # An ideal mirror turns round what of the field lies along it (E along a conductor vanishes);
    # the least turn is Rodrigues' rotation about k x k' (textbook formulas).
    for before, normal, after in some_directions(60).reshape(20, 3, 3):
        turned = 0.3 + 6.0 * before[0]
        light = Light(math.cos(turned), math.sin(turned), 0.0, 1)
        field = field_of(light, before)
        image = before - 2.0 * (before @ normal) * normal
        found = mirrored(light, tuple(before), tuple(image), tuple(normal))
        assert same_axis(field_of(found, image), field - 2.0 * (field @ normal) * normal)
        axis = np.cross(before, after)
        cosine = before @ after
        rotated = field * cosine + np.cross(axis, field)
        rotated += axis * (axis @ field) / (1.0 + cosine)
        found = carried(light, tuple(before), tuple(after))
        assert same_axis(field_of(found, after), rotated)
        circular = Light(0.0, 0.0, 1.0, 1)
        assert mirrored(circular, tuple(before), tuple(image), tuple(normal)).v == -1.0
        assert carried(circular, tuple(before), tuple(after)).v == 1.0


class Face:
    """A face met on a way: unit normal, indices before and behind, and which outcome."""

    def __init__(self, normal, before, behind, reflects):
        self.normal, self.before, self.behind = normal, before, behind
        self.reflects = reflects

    def after(self, k):
        """Return the unit direction after the face."""
        along = k @ self.normal
        if self.reflects:
            return k - 2.0 * along * self.normal
        squared = self.behind**2 - self.before**2 * (1.0 - along**2)
        bend = math.copysign(math.sqrt(squared), along) - self.before * along
        return (self.before * k + bend * self.normal) / self.behind

    def matrix(self, k):
        """Return the Mueller matrix from level frame to level frame."""
        axis, after = tuple(np.cross(self.normal, k)), self.after(k)
        behind = self.before if self.reflects else self.behind

        def step(stokes):
            light = into_plane(light_of(stokes), tuple(self.before * k), self.before, axis)
            number = REFLECTS if self.reflects else PASSES
            cosine = abs(k @ self.normal)
            stokes = met(stokes_of(light, stokes[0]), self.before, self.behind, cosine, number)
            light = out_of_plane(light_of(stokes), tuple(behind * after), behind, axis)
            return stokes_of(light, stokes[0])

        return mueller(step)


def chain_of_faces(generator, k):
    """Return 2 to 6 faces in any planes, and the directions before and after each."""
    faces, ways, index = [], [k], generator.uniform(1.0, 2.0)
    for normal in some_directions(generator.integers(2, 7), seed=generator.integers(10**6)):
        behind = generator.uniform(1.0, 2.0)
        squared = behind**2 - index**2 * (1.0 - (ways[-1] @ normal) ** 2)
        face = Face(normal, index, behind, squared <= 0.0 or generator.random() < 0.5)
        faces.append(face)
        ways.append(face.after(ways[-1]))
        index = index if face.reflects else behind
    return faces, ways


def test_chains_of_faces_are_reciprocal_and_lose_nothing():
    # M back = D M^T D (check-values-2, section 1d; van de Hulst, ch. 5, from memory). The flux of a
    # ray per its own area and angle is what goes both ways alike: T there is T back.
    generator = np.random.default_rng(8)
    for _ in range(40):
        faces, ways = chain_of_faces(generator, some_directions(1, generator.integers(10**6))[0])
        there, back = np.eye(4), np.eye(4)
        for face, way in zip(faces, ways, strict=False):
            there = face.matrix(way) @ there
        for face, way in zip(faces[::-1], ways[:0:-1], strict=True):
            indices = (face.before, face.behind)
            before, behind = indices if face.reflects else indices[::-1]
            turned_round = Face(face.normal, before, behind, face.reflects)
            back = turned_round.matrix(-way) @ back
        np.testing.assert_allclose(back, BACK @ there.T @ BACK, atol=1e-11)
        assert there[0, 0] + np.linalg.norm(there[0, 1:]) <= 1.0 + 1e-12


def test_a_face_loses_nothing_of_any_state():
    # First row of the sum of both outcomes: (1, 0, 0, 0) (check-values-2, section 1d).
    both = [mueller(lambda light, n=n: met(light, 1.0, 1.586, 0.6, n)) for n in (REFLECTS, PASSES)]
    np.testing.assert_allclose(sum(both)[0], [1.0, 0.0, 0.0, 0.0], atol=1e-12)


def test_natural_light_counts_once():
    assert natural(0.5) == (0.0, 0.0, 0.0, 1)
