"""Diffuser: what was asked for is what comes out, and no light and no order is made."""

import math
from typing import Any, NamedTuple

import numpy as np
import pytest

from photonsim.kernel import codes
from photonsim.kernel.diffuser import scatter
from photonsim.kernel.entry import jit_entry
from photonsim.kernel.photon import Photon
from photonsim.kernel.random import start
from photonsim.scene.scatter import given_back_share, kept_share, lobe_of, returned_squared_radii
from tests.chance import assert_distribution, assert_mean, assert_proportion, assert_symmetric
from tests.physics.film_rays import lambertian_rays
from tests.physics.tracing import box, emitter, stop, target, trace

RAYS = 500_000
SIGMAS = [0.02, 0.1, 0.3, 0.8, 3.0, -1.0]
CELLS = 6


class Lobe(NamedTuple):
    """What of a program tells of a lobe, that of its only layer."""

    layer_real: Any
    layer_whole: Any
    tables: Any


@jit_entry
def scatter_all(program, rays, seed):
    """Scatter every ray [n, 3] in place."""
    for number in range(rays.shape[0]):
        rng = start(seed, np.uint64(number))
        u, v, w = rays[number, 0], rays[number, 1], rays[number, 2]
        photon = scatter(program, 0, Photon(0.0, 0.0, 0.0, u, v, w, rng, None), 0.0)
        rays[number, 0], rays[number, 1], rays[number, 2] = photon.u, photon.v, photon.w


def scattered(rays, sigma, direct=0.0, seed=9):
    table = returned_squared_radii(sigma) if sigma > 0.0 else np.ones(2)
    real, whole = np.zeros((1, codes.LAYER_REALS)), np.zeros((1, codes.LAYER_WHOLES), np.int64)
    real[0, [codes.LOBE_SIGMA, codes.LOBE_DIRECT]] = sigma, direct
    whole[0, codes.TABLE_COUNT] = len(table)
    out = rays.copy()
    scatter_all(Lobe(real, whole, table), out, np.uint64(seed))
    return out


def straight(count=RAYS):
    return np.tile([0.0, 0.0, 1.0], (count, 1))


@pytest.mark.parametrize("haze", [0.02, 0.3, 0.5, 0.8, 0.95, 0.99, 0.998])
def test_haze_out_is_haze_in(haze):
    # ASTM D1003: the share of the transmitted light more than 2.5 degrees from the beam. Published.
    sigma, direct = lobe_of(haze, None, False)
    out = scattered(straight(), sigma, direct)
    hazy = out[:, 2] < math.cos(math.radians(2.5))
    assert_proportion(hazy.sum(), RAYS, haze, known_to=2e-5, what="haze")


@pytest.mark.parametrize(("full_width", "haze"), [(5, 0.5), (10, 0.8409), (20, 0.9576)])
def test_haze_of_a_gaussian_lobe(full_width, haze):
    # Derived (check-values section 2): H = exp(-2.5**2/(2 s**2)), s = FWHM/2.35482, small angles.
    # Direction cosines against degrees and the cosine of intensity shift it by the tolerance.
    sigma, direct = lobe_of(None, full_width / 2, False)
    out = scattered(straight(), sigma, direct)
    found = (out[:, 2] < math.cos(math.radians(2.5))).mean()
    assert found == pytest.approx(haze, abs=0.006)


@pytest.mark.parametrize("half_angle", [2.0, 10.0, 25.0, 40.0, 55.0])
def test_half_angle_out_is_half_angle_in(half_angle):
    # The definition: intensity (flux per solid angle) at that angle is half of that straight on.
    # Compared: a cap of a twelfth of the angle, where it is 0.998 of the peak on the mean, and a
    # narrow ring about the angle, where it falls along a line.
    sigma, direct = lobe_of(None, half_angle, False)
    w = scattered(straight(), sigma, direct)[:, 2]
    edges = np.cos(np.radians([half_angle / 12, half_angle * 0.97, half_angle * 1.03]))
    cap, ring = int((w > edges[0]).sum()), int(((w < edges[1]) & (w > edges[2])).sum())
    cap_angle, ring_angle = 0.998 * (1 - edges[0]), 0.5 * (edges[1] - edges[2])
    assert_proportion(
        ring, ring + cap, ring_angle / (ring_angle + cap_angle), known_to=1e-3, what="ring and cap"
    )


def test_haze_and_half_angle_together():
    sigma, direct = lobe_of(0.6, 20.0, False)
    out = scattered(straight(), sigma, direct)
    assert_proportion((out[:, 2] == 1.0).sum(), RAYS, direct, what="direct share")
    hazy = out[:, 2] < math.cos(math.radians(2.5))
    assert_proportion(hazy.sum(), RAYS, 0.6, what="haze")
    assert sigma == lobe_of(None, 20.0, False).sigma


def test_opal_is_lambertian_from_any_side():
    # Lambert's law: the squared sine is even, whatever came in.
    slanting = np.tile([0.8, 0.0, -0.6], (RAYS, 1))
    out = scattered(slanting, -1.0)
    assert (out[:, 2] < 0.0).all()
    counts, _ = np.histogram(1.0 - out[:, 2] ** 2, bins=100, range=(0, 1))
    assert_distribution(counts, np.full(100, 0.01))


@pytest.mark.parametrize("slant", [0.0, 0.3, 0.7])
def test_shift_in_direction_cosines(slant):
    # Derived: a narrow lobe's squared distance from the beam, over 2 sigma**2, is exponential; one
    # azimuth is as good as another, at any slant.
    out = scattered(np.tile([slant, 0.0, math.sqrt(1 - slant**2)], (RAYS, 1)), 0.02)
    squared = ((out[:, 0] - slant) ** 2 + out[:, 1] ** 2) / (2 * 0.02**2)
    counts, _ = np.histogram(np.exp(-squared), bins=50, range=(0, 1))
    assert_distribution(counts, np.full(50, 0.02), what="distance")
    turn = np.arctan2(out[:, 1], out[:, 0] - slant)
    counts, _ = np.histogram(turn, bins=36, range=(-np.pi, np.pi))
    assert_distribution(counts, np.full(36, 1 / 36), what="azimuth")


def test_two_sheets_add_their_variances():
    # FWHM_out**2 = FWHM_1**2 + FWHM_2**2 for Gaussians at small angles (check-values section 2:
    # from memory of a film maker's page); exact for a lobe that shifts direction cosines.
    out = scattered(scattered(straight(), 0.03, seed=1), 0.04, seed=2)
    for cosine in (out[:, 0], out[:, 1]):
        assert_mean((cosine**2).reshape(50, -1).mean(axis=1), 0.05**2, what="variance")


@pytest.mark.parametrize("sigma", SIGMAS)
def test_no_light_is_lost_to_scatter(sigma):
    for from_flat in (True, False):
        out = scattered(lambertian_rays(RAYS, from_flat=from_flat, seed=3), sigma)
        assert ((out[:, 2] > 0.0) == from_flat).all()
        assert np.abs((out**2).sum(axis=1) - 1.0).max() < 1e-14


@pytest.mark.parametrize("sigma", [0.02, 0.3, 3.0])
def test_share_given_back(sigma):
    # The closed form against quadrature over the disc of direction cosines: derived.
    squared = np.linspace(0.0, 1.0, 200_001)
    by_quadrature = np.trapezoid(1.0 - kept_share(squared, sigma), squared)
    assert given_back_share(sigma) == pytest.approx(by_quadrature, rel=1e-8)


def ring_and_sector(rays, rings, sectors):
    ring = np.minimum(((rays[:, :2] ** 2).sum(axis=1) * rings).astype(int), rings - 1)
    turn = np.arctan2(rays[:, 1], rays[:, 0]) / (2 * np.pi) + 0.5
    return ring * sectors + (turn * sectors).astype(int) % sectors


@pytest.mark.parametrize("sigma", SIGMAS)
def test_reciprocity(sigma):
    # f(i, o) = f(o, i) (Helmholtz). In light that is even over direction cosines the counts from
    # cell i to cell o and from o to i are then alike: derived.
    rays = lambertian_rays(RAYS, from_flat=True, seed=4)
    out = scattered(rays, sigma)
    place = ring_and_sector(rays, 8, 6) * 48 + ring_and_sector(out, 8, 6)
    assert_symmetric(np.bincount(place, minlength=48 * 48).reshape(48, 48))


@pytest.mark.parametrize("sigma", SIGMAS)
def test_even_light_stays_even(sigma):
    # Second law of thermodynamics: even radiance in, even radiance out.
    out = scattered(lambertian_rays(2 * RAYS, from_flat=True, seed=5), sigma)
    counts = np.bincount(ring_and_sector(out, 40, 12), minlength=480)
    assert_distribution(counts, np.full(480, 1 / 480), what="rings and sectors")


def test_shares_of_a_sheet_in_a_lamp():
    # Derived: behind perfect mirrors all light meets the sheet once; then it is passed, absorbed,
    # or turned back to a black base.
    sheet = (
        '[train.sheet]\nkind = "diffuser"\nz_mm = 5.0\ntransmittance = 0.6\nreflectance = 0.3\n'
        "haze = 0.9\n"
    )
    mirrors = box(50.0, 10.0, walls="reflectance = 1.0, specular_share = 1.0")
    traced = trace(mirrors + emitter() + sheet + target(10.0, 50.0) + stop(10.1, 200.0), 640_000)
    found = (
        traced.incident.sum(),
        traced.fates["absorbed by base"],
        traced.fates["absorbed by sheet"],
    )
    for count, share in zip(found, (0.6, 0.3, 0.1), strict=True):
        assert_proportion(count, traced.photons, share)
