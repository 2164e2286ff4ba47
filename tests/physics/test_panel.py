"""The panel: its angle table, its scatter, its frame, and what the tallies say of the light."""

import math

import numpy as np
import pytest
from scipy import integrate

from photonsim.kernel import codes
from photonsim.kernel.tallies import (
    DIRECTION_BINS,
    DIRECTION_SCALE,
    PLANE_BAND,
    PLANE_BINS,
    PUPIL_BINS,
)
from photonsim.kernel.whole import fixed
from tests.chance import assert_distribution, assert_mean, assert_proportion
from tests.physics.tracing import box, emitter, stop, target, trace

PHOTONS = 640_000
FLOOR = "width_mm = 60.0\nheight_mm = 60.0"
MIRRORS = "reflectance = 1.0, specular_share = 1.0"


def even_light(panel_lines="", hole=1000.0, photons=PHOTONS):
    """Lambertian light, the same at every pixel, and a stop close behind the panel."""
    panel = target(10.0, 60.0, columns=15, rows=15) + panel_lines
    return trace(
        box(60.0, 10.0, walls=MIRRORS) + emitter(FLOOR) + panel + stop(10.5, hole), photons
    )


def test_angle_table():
    # The table's mean over Lambertian light, by quadrature: derived.
    angles, relative = [0.0, 20.0, 40.0, 60.0, 90.0], [1.0, 0.95, 0.7, 0.4, 0.0]
    lines = f"relative_transmittance = {{ angle_deg = {angles}, relative = {relative} }}\n"
    traced = even_light(lines)
    angle = np.linspace(0.0, 90.0, 90_001)
    weight = np.sin(np.radians(2 * angle)) * math.pi / 180
    expected = np.trapezoid(np.interp(angle, angles, relative) * weight, angle)
    assert traced.incident.sum() == traced.photons
    absorbed = traced.fates["absorbed by target"]
    assert_proportion(traced.photons - absorbed, traced.photons, expected, known_to=2e-5)


def test_transmittance_is_no_photons_business():
    # Design: a factor on the count, so that no photon is wasted on it.
    assert even_light("transmittance = 0.05\n").fates["absorbed by target"] == 0


def test_scatter_in_the_panel_leaves_even_light_even():
    # Second law: Lambertian light through a scattering panel is Lambertian, and meets any part of a
    # stop close behind it as it would have. The stop sees pi/4 of the square's light at most.
    share = [even_light(haze, hole=40.0).through_stop for haze in ("", "haze = 0.8\n")]
    assert_proportion(share[1], PHOTONS, share[0] / PHOTONS, known_to=5e-4)


def test_scatter_in_the_panel_widens_a_beam():
    # Derived: from a narrow source far below, a hole in its shadow gets light only by scatter.
    def spot(panel_lines):
        return trace(
            box(60.0, 1.0)
            + emitter("diameter_mm = 1.0", cosine_power=5000.0)
            + target(50.0, 60.0)
            + panel_lines
            + stop(100.0, 8.0),
            PHOTONS,
        )

    clear, hazy = spot(""), spot("haze = 0.5\n")
    assert hazy.through_stop < 0.9 * clear.through_stop
    assert hazy.incident.sum() == pytest.approx(clear.incident.sum(), rel=1e-3)


@pytest.mark.parametrize("reflectance", [0.0, 0.6])
def test_frame(reflectance):
    # Derived: the even light falls on the frame by its area; a black floor takes what it returns.
    traced = trace(
        box(60.0, 10.0, walls=MIRRORS)
        + emitter(FLOOR)
        + target(10.0, 30.0, outer=60.0, frame=reflectance)
        + stop(11.0, 1000.0),
        PHOTONS,
    )
    assert_proportion(traced.incident.sum(), traced.photons, 0.25)
    assert_proportion(traced.fates["absorbed by target"], traced.photons, 0.75 * (1 - reflectance))
    assert_proportion(traced.back_on_floor, traced.photons, 0.75 * reflectance)


def test_tallies_of_even_light():
    # Lambert's law in every tally: even over pixels, cells, profiles and direction cosines.
    traced = even_light(hole=40.0)
    for name in ("cells", "profile_x", "profile_y"):
        counts = traced.batches[name][:, 0].sum(axis=0).ravel()
        assert_distribution(counts, np.full(len(counts), 1 / len(counts)), what=name)
    assert_distribution(traced.incident, np.full((15, 15), 1 / 225), what="pixels")
    degrees = np.sin(np.radians(np.arange(91))) ** 2
    assert_distribution(traced.polar, np.diff(degrees), what="angles")
    edges = np.linspace(-1.0, 1.0, DIRECTION_BINS + 1)
    inner = np.maximum(np.abs(edges[:-1]), np.abs(edges[1:]))
    whole = np.hypot(inner[:, None], inner[None, :]) <= 1.0
    cell_share = (edges[1] - edges[0]) ** 2 / math.pi
    shares = np.append(np.full(whole.sum(), cell_share), 1.0 - whole.sum() * cell_share)
    counts = np.append(traced.directions[whole], traced.directions[~whole].sum())
    assert_distribution(counts, shares, what="direction cosines")


def test_moments_of_even_light():
    # Lambert's law: the mean of u and v is 0, that of u**2 and v**2 is 1/4 (identity).
    traced = even_light()
    per_batch, sums = traced.batches["incident"], traced.batches["direction_sums"]
    assert (per_batch == traced.photons // len(per_batch)).all()
    for column, expected in enumerate((0.0, 0.0, 0.25, 0.25)):
        moments = sums[:, column] / per_batch / DIRECTION_SCALE
        assert_mean(moments, expected, known_to=2e-7, what=f"moment {column}")
    for column in (codes.SUM_U, codes.SUM_V, codes.SUM_UU, codes.SUM_VV):
        by_pixel = traced.panel_sums[:, :, column].sum()
        assert by_pixel == sums[:, column - codes.SUM_U].sum()


@pytest.mark.parametrize("whole", [-(1 << 19), -1, 0, 3, 1 << 19])
@pytest.mark.parametrize("part", [-0.49, 0.0, 0.49])
def test_direction_sums_are_rounded_to_the_nearest(whole, part):
    # Identity. Cutting off instead would shift every mean by 5e-7, far below the noise of a run.
    assert fixed((whole + part) / DIRECTION_SCALE, float(DIRECTION_SCALE)) == whole


def test_light_in_the_two_planes():
    # Lambert's law within 5 degrees of a plane: the projected angle t has flux cos(t)**3 or nearly,
    # from the chord of the strip of direction cosines; taken by quadrature over the strip. Derived.
    traced = even_light(photons=2 * PHOTONS)
    edges = np.radians(np.linspace(-90.0, 90.0, PLANE_BINS + 1))

    def below(angle):
        # Area of the strip |v| < b where atan2(u, w) < angle: u < sin(angle) sqrt(1 - v**2).
        return integrate.quad(
            lambda v: (1.0 + math.sin(angle)) * math.sqrt(1.0 - v * v), 0.0, PLANE_BAND
        )[0]

    area = np.array([below(edge) for edge in edges])
    for name in ("plane_x", "plane_y"):
        counts = traced.batches[name][:, 0].sum(axis=0)
        assert_distribution(counts, np.diff(area) / area[-1], what="angles in a plane")
        assert_proportion(counts.sum(), traced.photons, 2 * area[-1] / math.pi, what="in the band")


def test_pupil_is_even_for_a_far_small_source():
    # cos**4 is within 0.5 % of 1 over a hole of half-angle 2.9 degrees: an even disc.
    traced = trace(
        box(50.0, 0.1) + emitter("diameter_mm = 0.1") + target(10.0, 50.0) + stop(200.0, 20.0),
        8 * PHOTONS,
    )
    place = (np.arange(PUPIL_BINS) + 0.5) / PUPIL_BINS * 2 - 1
    square = place[:, None] ** 2 + place[None, :] ** 2
    ring = np.floor(square * 4).astype(int)
    cells = np.bincount(ring.ravel())[:3]
    counts = np.bincount(ring.ravel(), weights=traced.pupil.ravel())[:3]
    assert_distribution(counts, cells / cells.sum(), what="rings of the hole")
    assert traced.pupil.sum() == traced.through_stop
    assert traced.pupil[square > 1.05].sum() == 0
