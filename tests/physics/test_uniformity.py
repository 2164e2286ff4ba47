"""Nine- and thirteen-point figures of a whole scene against the cosine-fourth law.

Under a small Lambertian source a plane is lit by cos**4 t (W. J. Smith, Modern Optical Engineering,
4th edition, p. 259, Eq. 12.9). The nine points are the centres of 3 x 3 equal fields, the four more
lie in the corners (ISO 11315-1, IEC 61947-1: from memory); each is read over a 81st of the area.
"""

import numpy as np
import pytest

from photonsim.engine import trace
from photonsim.results import FIGURES
from photonsim.scene import parse_scene
from tests.chance import assert_coverage, assert_mean
from tests.physics.tracing import box, emitter, stop, target

WIDTH, HEIGHT, DISTANCE = 90.0, 54.0, 60.0
BATCHES, PHOTONS = 32, 1 << 16
FINE = 288


SCENE = parse_scene(
    box(400.0, 1.0) + emitter() + target(DISTANCE, WIDTH, HEIGHT) + stop(DISTANCE + 1.0, 1.0)
)


@pytest.fixture(scope="module")
def light():
    """Light on 288 x 288 places by the cosine-fourth law, over the light emitted."""
    x, y = ((np.arange(FINE) + 0.5) * side / FINE - 0.5 * side for side in (WIDTH, HEIGHT))
    squared = x[None, :] ** 2 + y[:, None] ** 2
    lit = (1.0 + squared / DISTANCE**2) ** -2 / (np.pi * DISTANCE**2)
    return lit * WIDTH * HEIGHT / FINE**2


@pytest.fixture(scope="module")
def cells(light):
    """Light on 9 x 9 cells by quadrature."""
    return light.reshape(9, FINE // 9, 9, FINE // 9).sum(axis=(1, 3))


@pytest.fixture(scope="module")
def results():
    return [trace(SCENE, photons=PHOTONS, seed=seed, threads=1) for seed in range(BATCHES)]


def test_light_at_nine_points(cells, results):
    # The cosine-fourth law (Smith, p. 259, Eq. 12.9) at the middle, a side's and a corner's field.
    for row, column in ((1, 1), (1, 0), (0, 0)):
        found = [
            result.tallies.batches["cells"][:, 0, 1::3, 1::3].sum(axis=0)[row, column]
            / result.emitted
            for result in results
        ]
        assert_mean(found, cells[1::3, 1::3][row, column], what=f"field {row}, {column}")


def test_uniformity_deviation_and_darkest_edge(light, cells, results):
    # Minimum over mean and over maximum of the nine (ISO 11315-1), how far the farthest of thirteen
    # lies from the mean of the nine, and the darkest of the outermost 32nds and the corners.
    nine, corners = cells[1::3, 1::3], cells[::8, ::8]
    points = np.concatenate([nine.ravel(), corners.ravel()])
    strips = [
        light[:, : FINE // 32].mean(),
        light[: FINE // 32].mean(),
        corners.min() * 81 / FINE**2,
    ]
    expected = {
        "incident_uniformity": nine.min() / nine.mean(),
        "incident_uniformity_max": nine.min() / nine.max(),
        "incident_deviation_13": np.abs(points - nine.mean()).max() / nine.mean(),
        "incident_darkest_edge": min(strips) / light.mean(),
    }
    for name, value in expected.items():
        found = [result.estimate(name) for result in results]
        values, errors = np.array([(one.value, one.error) for one in found]).T
        assert_coverage(values, errors, value, what=FIGURES[name].words)
