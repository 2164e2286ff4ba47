"""Points and directions drawn by the kernel against the laws they should follow."""

import numpy as np
import pytest
from scipy import stats

from photonsim.kernel.entry import jit_entry
from photonsim.kernel.random import next_state, start, uniform_as
from photonsim.kernel.sampling import (
    cosine_power,
    disc,
    gaussian_pair,
    inverse_cumulative,
    lambertian,
    unit_circle,
)
from tests.chance import assert_distribution, assert_mean, assert_proportion

COUNT = 400_000
LAMBERTIAN, COSINE_POWER, DISC, GAUSSIAN, CIRCLE, TABLE = range(6)
NO_TABLE = np.zeros(2)


@jit_entry
def fill(law, seed, exponent, table, points):
    """Write points [count, 3] of a law; what a law does not give stays 0."""
    for number in range(points.shape[0]):
        rng = next_state(start(seed, np.uint64(number)))
        first = uniform_as(1.0, rng)
        second = uniform_as(1.0, next_state(rng))
        a, b, c = 0.0, 0.0, 0.0
        if law == LAMBERTIAN:
            a, b, c = lambertian(first, second)
        elif law == COSINE_POWER:
            a, b, c = cosine_power(first, second, 1.0 / (exponent + 1.0))
        elif law == DISC:
            a, b = disc(first, second)
        elif law == GAUSSIAN:
            a, b = gaussian_pair(first, second)
        elif law == CIRCLE:
            a, b = unit_circle(first)
            c = first
        else:
            a = inverse_cumulative(first, table, 0, table.shape[0])
        points[number, 0], points[number, 1], points[number, 2] = a, b, c


def draw(law, exponent=1.0, table=NO_TABLE):
    points = np.empty((COUNT, 3))
    fill(law, np.uint64(7), exponent, table, points)
    return points.T


def assert_even(values, low, high, what, bins=200):
    counts, _ = np.histogram(values, bins=bins, range=(low, high))
    assert counts.sum() == len(values)
    assert_distribution(counts, np.full(bins, 1 / bins), what=what)


def circle_by_numpy(turn):
    """Cosine and sine of 2 pi turn; quarter turns are taken off first, which is exact.

    numpy's cosine of 2 pi turn itself would be off by up to 1e-15, from rounding its argument.
    """
    quarter = np.round(4.0 * turn)
    angle = (turn - quarter / 4.0) * 2.0 * np.pi
    rotated = (np.cos(angle) + 1j * np.sin(angle)) * np.array([1, 1j, -1, -1j])[
        quarter.astype(int) % 4
    ]
    return rotated.real, rotated.imag


def test_unit_circle_against_numpy():
    cosine, sine, turn = draw(CIRCLE)
    expected = circle_by_numpy(turn)
    assert np.abs(cosine - expected[0]).max() < 5e-16
    assert np.abs(sine - expected[1]).max() < 5e-16


def test_unit_circle_where_its_polynomials_meet():
    # Eighths of a turn, and the numbers just below and above.
    eighths = np.arange(8) / 8
    turns = np.concatenate([eighths, np.nextafter(eighths, 1), np.nextafter(eighths[1:], 0)])
    found = np.array([unit_circle(turn) for turn in turns.tolist()]).T
    assert np.abs(found - circle_by_numpy(turns)).max() < 5e-16


def test_directions_have_unit_length():
    for u, v, w in (draw(LAMBERTIAN), draw(COSINE_POWER, 4.8), draw(COSINE_POWER, 0.0)):
        assert np.abs(u * u + v * v + w * w - 1.0).max() < 1e-14
        assert (w > 0.0).all()


def test_lambertian_fills_the_disc_of_direction_cosines():
    # Lambert's law: flux inside an angle t is sin(t)**2, and all azimuths are alike. Identity.
    u, v, w = draw(LAMBERTIAN)
    assert_even(1.0 - w * w, 0.0, 1.0, "sine squared")
    assert_even(np.arctan2(v, u), -np.pi, np.pi, "azimuth")


@pytest.mark.parametrize("exponent", [0.0, 0.5, 1.0, 2.0, 4.81884, 45.2776, 5000.0])
def test_cosine_power_against_its_flux_law(exponent):
    # Flux inside t is 1 - cos(t)**(m + 1): identity. So cos**(m + 1) is even.
    u, v, w = draw(COSINE_POWER, exponent)
    assert_even(w ** (exponent + 1.0), 0.0, 1.0, f"cos**{exponent + 1}")
    assert_even(np.arctan2(v, u), -np.pi, np.pi, "azimuth")


@pytest.mark.parametrize(
    ("exponent", "share"), [(1, 0.25), (2, 0.350481), (4, 0.512861), (8, 0.725984)]
)
def test_flux_inside_thirty_degrees(exponent, share):
    # Exact, by the identity above; the figures as tabulated in check-values section 8.
    inside = draw(COSINE_POWER, float(exponent))[2] > np.cos(np.radians(30))
    assert_proportion(int(inside.sum()), COUNT, share, what=f"cos^{exponent} inside 30 degrees")


def test_disc_is_even():
    x, y, _ = draw(DISC)
    assert_even(x * x + y * y, 0.0, 1.0, "squared radius")
    assert_even(np.arctan2(y, x), -np.pi, np.pi, "azimuth")


def test_gaussian_pair():
    # The normal law of scipy.stats; independence by the azimuth and by the covariance.
    a, b, _ = draw(GAUSSIAN)
    for values in (a, b):
        assert_even(stats.norm.cdf(values), 0.0, 1.0, "normal deviate")
    assert_even(np.arctan2(b, a), -np.pi, np.pi, "azimuth")
    assert_mean((a * b).reshape(50, -1).mean(axis=1), 0.0, what="covariance")


def test_inverse_cumulative_between_nodes_is_a_line():
    # Derived: a table with nodes 0, 1, 4 at probabilities 0, 1/2, 1 puts half the numbers evenly
    # into 0..1 and half evenly into 1..4.
    values = draw(TABLE, table=np.array([0.0, 1.0, 4.0]))[0]
    counts, _ = np.histogram(values, bins=np.linspace(0.0, 4.0, 41))
    assert_distribution(counts, np.repeat([0.5 / 10, 0.5 / 30], [10, 30]), what="tabulated law")


def test_inverse_cumulative_starts_where_its_table_starts():
    table = np.array([9.0, 9.0, 2.0, 3.0, 9.0])
    assert inverse_cumulative(0.25, table, 2, 2) == 2.25
    assert inverse_cumulative(0.0, table, 2, 2) == 2.0
