"""Fresnel's equations and Snell's law against a thin-film library and published reflectances."""

import math

import numpy as np
import pytest
import tmm
from scipy import integrate

from photonsim.kernel.prism_film import meet_face
from tests.physics.faces import reflectance

GENERATOR = np.random.default_rng(4)
PAIRS = [
    (float(a), float(b), float(c))
    for a, b, c in zip(
        GENERATOR.uniform(1.0, 2.5, 200),
        GENERATOR.uniform(1.0, 2.5, 200),
        GENERATOR.uniform(0.0, 1.0, 200),
        strict=True,
    )
]
STATES = GENERATOR.integers(1, 2**63, len(PAIRS), dtype=np.uint64)


def test_against_tmm():
    # tmm (S. Byrnes, arXiv 1603.02720), an independent library: interface_R for s and p.
    compared = 0
    for n_before, n_behind, cosine in PAIRS:
        angle = math.acos(cosine)
        if n_before * math.sin(angle) >= n_behind:
            continue
        found = reflectance(cosine, n_before / n_behind)
        refracted = tmm.snell(n_before, n_behind, angle).real
        both = [tmm.interface_R(p, n_before, n_behind, angle, refracted) for p in "sp"]
        assert found == pytest.approx(sum(both) / 2, abs=1e-12)
        compared += 1
    assert compared > 100


def test_snell():
    # n1 sin t1 = n2 sin t2: the definition of the index (Hecht, Optics, section 4.4).
    passed = 0
    for rng, (_, n, cosine) in zip(STATES, PAIRS, strict=True):
        _, beyond, inside, _ = meet_face(None, cosine, False, n * n - 1.0, n * n, rng)
        if inside:
            sine = math.sqrt(1.0 - (beyond / n) ** 2)
            assert n * sine == pytest.approx(math.sqrt(1.0 - cosine**2), abs=1e-13)
            passed += 1
    assert passed > 100


def test_straight_on():
    # ((n - 1)/(n + 1))**2; 4 % for glass of 1.5 (Hecht, Optics, section 4.6): published.
    assert reflectance(1.0, 1 / 1.5) == pytest.approx(0.04, abs=1e-15)
    assert reflectance(1.0, 1.5) == pytest.approx(0.04, abs=1e-15)


def test_brewster():
    # At tan t = n the p light is not reflected; the s light by ((n**2-1)/(n**2+1))**2: derived.
    n = 1.586
    found = reflectance(math.cos(math.atan(n)), 1 / n)
    assert found == pytest.approx(0.5 * ((n * n - 1) / (n * n + 1)) ** 2, abs=1e-15)


def test_both_ways_alike():
    # A face reflects the same share of a ray and of the ray that runs back along it: reciprocity.
    for n_before, n_behind, cosine in PAIRS:
        squared = 1.0 - (n_before / n_behind) ** 2 * (1.0 - cosine**2)
        if squared > 0.0:
            there = reflectance(cosine, n_before / n_behind)
            back = reflectance(math.sqrt(squared), n_behind / n_before)
            assert back == pytest.approx(there, abs=1e-11)


def test_critical_angle():
    # sin t = 1/n: 39.088 degrees for 1.586 (check-values section 1b; identity).
    critical = math.asin(1 / 1.586)
    assert math.degrees(critical) == pytest.approx(39.088, abs=5e-4)
    square, states = 1.586**2, np.random.default_rng(1).integers(1, 2**63, 40, dtype=np.uint64)
    for beyond in (1e-9, -1e-3):
        normal = 1.586 * math.cos(critical + beyond)
        held = [meet_face(None, normal, True, square - 1.0, square, rng)[2] for rng in states]
        assert all(held) == (beyond > 0.0)


def diffuse_reflectance(eta):
    """Reflectance of a face in Lambertian light: the mean over the squared sine."""
    limit = min(1.0, 1.0 / eta**2)
    within = integrate.quad(
        lambda s: reflectance(math.sqrt(1.0 - s), eta), 0.0, limit, epsabs=1e-10, limit=500
    )[0]
    return within + 1.0 - limit


@pytest.mark.parametrize(
    ("n", "from_air", "from_inside"),
    [
        # D. B. Judd, J. Res. NBS 29, 329 (1942), prints 0.0918 and 0.596 for 1.5: from memory,
        # recomputed. The other two are derived.
        (1.5, 0.091778, 0.596346),
        (1.49, 0.090306, 0.590246),
        (1.586, 0.104245, 0.643891),
    ],
)
def test_diffuse_light(n, from_air, from_inside):
    entering, leaving = diffuse_reflectance(1 / n), diffuse_reflectance(n)
    assert entering == pytest.approx(from_air, abs=1e-6)
    assert leaving == pytest.approx(from_inside, abs=1e-6)
    # Étendue: what enters fills a cone of 1/n**2, so the shares passed differ by that. Derived.
    assert 1 - leaving == pytest.approx((1 - entering) / n**2, abs=1e-7)
