"""Arrays of LEDs above which the light is flattest: Moreno, Avendaño-Alejo, Tzonchev.

Appl. Opt. 45, 2265 (2006). An emitter whose intensity goes with cos**n is that paper's m = n + 1.
"""

import math

import numpy as np
import pytest

from photonsim.kernel.tallies import PROFILE_BINS
from tests.chance import assert_distribution, assert_mean
from tests.physics.tracing import box, emitter, stop, target, trace

PHOTONS = 3_200_000
DISTANCE = 50.0
WINDOW = 30.0
CELLS = 15


def flattest_square(power):
    """Spacing of a 2 x 2 square over its distance: sqrt(4/(m + 2)), m = power + 1."""
    return math.sqrt(4.0 / (power + 3.0))


def test_flattest_spacings():
    # A true Lambertian 2 x 2 square is flattest at a spacing equal to its distance. The formula was
    # seen in a secondary source and recomputed (check-values section 4c).
    assert flattest_square(1.0) == 1.0
    for power in (1.0, 2.0, 6.0):
        spacing, step = flattest_square(power) * DISTANCE, 0.05
        ahead = irradiance(power, spacing, np.array([-step, 0.0, step]), np.array([0.0]))[0]
        curvature = (ahead[0] - 2 * ahead[1] + ahead[2]) / step**2 / ahead[1]
        assert abs(curvature) < 1e-7


def irradiance(power, spacing, x, y):
    """E of a 2 x 2 square of points on the plane, [len(y), len(x)]: z**(n+1)/r**(n+3) each."""
    total = np.zeros((len(y), len(x)))
    for centre_x in (-0.5 * spacing, 0.5 * spacing):
        for centre_y in (-0.5 * spacing, 0.5 * spacing):
            square = (x[None, :] - centre_x) ** 2 + (y[:, None] - centre_y) ** 2 + DISTANCE**2
            total += DISTANCE ** (power + 1) / square ** ((power + 3) / 2)
    return total


def square_of_leds(power, spacing):
    return trace(
        box(200.0, 1.0)
        + emitter(
            columns=2, rows=2, pitch_x_mm=spacing, pitch_y_mm=spacing, cosine_power=float(power)
        )
        + target(DISTANCE, WINDOW, columns=CELLS, rows=CELLS)
        + stop(DISTANCE + 1.0, 1.0),
        PHOTONS,
    )


@pytest.mark.parametrize("power", [1.0, 4.0])
@pytest.mark.parametrize("of_flattest", [0.7, 1.0, 1.3])
def test_square_of_four(power, of_flattest):
    spacing = of_flattest * flattest_square(power) * DISTANCE
    traced = square_of_leds(power, spacing)
    fine = (np.arange(10 * CELLS) + 0.5) * WINDOW / (10 * CELLS) - WINDOW / 2
    cells = irradiance(power, spacing, fine, fine).reshape(CELLS, 10, CELLS, 10).mean(axis=(1, 3))
    assert_distribution(traced.incident, cells / cells.sum(), what="window over four LEDs")


@pytest.mark.parametrize(
    ("of_flattest", "least", "most"),
    [(0.7, -0.03, -0.005), (1.0, -1e-3, 1e-3), (1.7, 0.005, 0.03)],
)
def test_too_near_domes_and_too_far_dips(of_flattest, least, most):
    # The curvature across the window, as the mean of P2 (Legendre) over the profile: it changes its
    # sign at the flattest spacing. By the formula, and by photons.
    spacing = of_flattest * DISTANCE
    # Middles of 600 steps: with both ends among 601 points the mean would be off by 0.0017.
    fine = ((np.arange(600) + 0.5) / 600 - 0.5) * WINDOW
    profile = irradiance(1.0, spacing, fine, fine).mean(axis=0)
    expected = np.average(legendre(fine / (WINDOW / 2)), weights=profile)
    assert least < expected < most
    profiles = square_of_leds(1.0, spacing).batches["profile_x"][:, 0]
    place = (np.arange(PROFILE_BINS) + 0.5) / PROFILE_BINS * 2 - 1
    found = (profiles @ legendre(place)) / profiles.sum(axis=1)
    assert_mean(found, expected, known_to=1e-4, what="curvature")


def legendre(place):
    """P2, 1 at the ends of -1..1 and -1/2 in the middle, with the mean 0."""
    return 1.5 * place**2 - 0.5
