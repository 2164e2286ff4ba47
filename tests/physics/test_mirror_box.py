"""Mirror boxes by the method of images: emitter, walls and target together, cell by cell."""

import numpy as np
import pytest
from scipy.special import k1

from tests.chance import assert_distribution, assert_proportion
from tests.physics.tracing import box, emitter, stop, target, trace
from tests.physics.view_factors import element_to_cells

PHOTONS = 1_280_000
SIDE = 100.0
CELLS = 9


def mirrors(reflectance):
    return f"reflectance = {reflectance}, specular_share = 1.0"


def folded_cells(ratio, reflectance, images):
    """Share of a central Lambertian point's light in each cell at height ratio * side, by images.

    The image cells of order (i, j) lie where mirrors put them and get reflectance**(|i| + |j|).
    """
    orders = np.arange(-images, images + 1)
    x = np.linspace(-images - 0.5, images + 0.5, len(orders) * CELLS + 1)
    cells = element_to_cells(x, x, ratio).reshape(len(orders), CELLS, len(orders), CELLS)
    cells = cells.transpose(0, 2, 1, 3).copy()
    odd = orders % 2 != 0
    cells[odd] = cells[odd][:, :, ::-1, :]
    cells[:, odd] = cells[:, odd][:, :, :, ::-1]
    weight = float(reflectance) ** (np.abs(orders)[:, None] + np.abs(orders)[None, :])
    return (weight[:, :, None, None] * cells).sum(axis=(0, 1))


def irradiance(ratio, reflectance, x, y, images=400):
    """E d**2 / flux at (x, y) in units of the side: the sum of check-values section 4b."""
    orders = np.arange(-images, images + 1)
    across = (orders + np.where(orders % 2, -x, x))[:, None]
    up = (orders + np.where(orders % 2, -y, y))[None, :]
    weight = float(reflectance) ** (np.abs(orders)[:, None] + np.abs(orders)[None, :])
    return (weight * ratio**2 / (np.pi * (across**2 + up**2 + ratio**2) ** 2)).sum()


TABLE = [
    (0.5, 0.95, 0.96262, 1.58508, 0.84717, 0.66111),
    (0.5, 0.0, 0.55413, 1.27324, 0.31831, 0.14147),
    (1.0, 0.95, 0.91598, 0.94800, 0.91128, 0.88409),
    (1.0, 0.0, 0.23946, 0.31831, 0.20372, 0.14147),
    (2.0, 0.95, 0.84080, 0.84283, 0.83984, 0.83687),
]


@pytest.mark.parametrize(("ratio", "reflectance", "share", "centre", "edge", "corner"), TABLE)
def test_mirror_box(ratio, reflectance, share, centre, edge, corner):
    # Check-values section 4b: derived by images, recomputed here point by point and by cells.
    places = ((0.0, 0.0), (0.5, 0.0), (0.5, 0.5))
    found = [irradiance(ratio, reflectance, x, y) for x, y in places]
    assert found == pytest.approx([centre, edge, corner], abs=2e-5)
    cells = folded_cells(ratio, reflectance, images=90 if reflectance else 0)
    assert cells.sum() == pytest.approx(share, abs=2e-5)
    traced = trace(
        box(SIDE, ratio * SIDE, walls=mirrors(reflectance))
        + emitter()
        + target(ratio * SIDE, SIDE)
        + stop(ratio * SIDE + 1.0, 1.0),
        PHOTONS,
    )
    assert_proportion(traced.incident.sum(), traced.photons, share, known_to=1e-5)
    assert_distribution(traced.incident, cells / cells.sum(), what="cells")


def lattice_waves(ratio):
    """Orders and weights of the waves of E/mean above an endless square lattice of pitch 1.

    Check-values section 4d, derived: weight h(2 pi sqrt(a**2 + b**2) z/d), h(u) = u K1(u), for
    cos 2 pi (a x + b y), Lambertian points.
    """
    orders = np.arange(-12, 13)
    u = 2 * np.pi * np.hypot(orders[:, None], orders[None, :]) * ratio
    return orders, np.where(u > 0, u * k1(np.where(u > 0, u, 1.0)), 1.0)


def lattice(ratio, x, y):
    """That sum at one place, in pitches from an emitter."""
    orders, weight = lattice_waves(ratio)
    return np.cos(2 * np.pi * orders * x) @ weight @ np.cos(2 * np.pi * orders * y)


def lattice_cells(ratio, per_pitch):
    """Its means over per_pitch x per_pitch cells of one pitch with the emitter in the middle."""
    orders, weight = lattice_waves(ratio)
    places = (np.arange(per_pitch) + 0.5) / per_pitch - 0.5
    waves = np.cos(2 * np.pi * orders * places[:, None]) * np.sinc(orders / per_pitch)
    return waves @ weight @ waves.T


@pytest.mark.parametrize(
    ("ratio", "over", "edge", "middle"),
    [
        (0.5, 1.615660, 0.891275, 0.710002),
        (0.8, 1.091633, 0.989229, 0.932797),
        (1.0, 1.027053, 0.997912, 0.977380),
        (1.5, 1.001321, 0.999970, 0.998741),
    ],
)
def test_board_between_mirrors_is_an_endless_lattice(ratio, over, edge, middle):
    # Check-values section 4d: outer emitters half a pitch from perfect mirrors.
    places = ((0.0, 0.0), (0.5, 0.0), (0.5, 0.5))
    found = [lattice(ratio, x, y) for x, y in places]
    assert found == pytest.approx([over, edge, middle], abs=2e-6)
    pitch, columns, rows, per_pitch = 20.0, 4, 3, 6
    width, height, distance = columns * pitch, rows * pitch, ratio * pitch
    traced = trace(
        box(width, distance, height=height, walls=mirrors(1.0))
        + emitter(columns=columns, rows=rows, pitch_x_mm=pitch, pitch_y_mm=pitch)
        + target(distance, width, height, columns=columns * per_pitch, rows=rows * per_pitch)
        + stop(distance + 1.0, 1.0),
        PHOTONS,
    )
    assert traced.incident.sum() == traced.photons
    cells = np.tile(lattice_cells(ratio, per_pitch), (rows, columns))
    assert_distribution(traced.incident, cells / cells.sum(), what="pixels over the board")


def test_the_lattice_and_the_images_agree():
    # Two ways to one figure: 4d is 4b for perfect mirrors.
    for ratio in (0.5, 1.0):
        for x, y in ((0.0, 0.0), (0.5, 0.5), (0.2, 0.35)):
            images = irradiance(ratio, 1.0, x, y, images=600)
            assert images == pytest.approx(lattice(ratio, x, y), abs=2e-5)


@pytest.mark.parametrize("length", [0.4, 1.1])
def test_mixing_rod(length):
    # Published, coarse: a hollow square pipe with an off-centre Lambertian source deviates from
    # evenness by more than 20 % where it is shorter than half its width, by less than 10 % where it
    # is longer than its width and its walls reflect more than 90 % (JOSA A 23, 427 (2006)).
    traced = trace(
        box(SIDE, length * SIDE, walls=mirrors(0.95))
        + emitter("width_mm = 10.0\nheight_mm = 10.0", x_mm=10.0)
        + target(length * SIDE, SIDE)
        + stop(length * SIDE + 1.0, 1.0),
        PHOTONS,
    )
    deviation = traced.incident.std() / traced.incident.mean()
    assert deviation > 0.2 if length < 0.5 else deviation < 0.1
